"""Papers read back: pages, feet, totals, awkward names, faces, sameness."""

from __future__ import annotations

import copy
import re
from io import BytesIO

import pytest
from pypdf import PdfReader
from reportlab.lib.units import mm

from quoting import words
from quoting.documents.layout import SIDE
from quoting.documents.render import RENDERER_VERSION, render
from quoting.sizing.appraisal import Appraisal
from tests.quoting.documents import sample
from tests.quoting.documents.reading import BODIES, faces, flat, pages, paper, pieces
from tests.quoting.documents.test_content import line

KINDS = tuple(BODIES)
BUILT_FROM = ("diagram", "wiring", "plan", "labels", "fuse_map")
"""They name the vehicle alone, in one running line."""
AWKWARD = 'Fuse <5 A & "holder" №7'
LONG = "Refrigerator with a name that goes on and on " * 5
UNBROKEN = "X" * 200


@pytest.mark.parametrize("kind", KINDS)
def test_every_page_says_whose_it_is_and_which_of_how_many(kind):
    made = paper(kind)

    texts = pages(made.pdf)

    assert made.version == RENDERER_VERSION
    assert made.pages == len(texts)
    for number, text in enumerate(texts, 1):
        assert f"page {number} of {len(texts)}" in text
        assert "Kestrel Flat Auto Electrical" in text
        assert "checksum 2ee5 2c65 6a1e 3069" in text
        assert "0417" in text


@pytest.mark.parametrize("kind", KINDS)
def test_same_snapshot_same_bytes(kind):
    again = render(kind, BODIES[kind](), copy.deepcopy(sample.PERSONAL), sample.CHECKSUM)

    assert again.pdf == paper(kind).pdf


@pytest.mark.parametrize("kind", KINDS)
def test_only_our_embedded_faces_are_in_the_file(kind):
    found = faces(paper(kind).pdf)

    assert {name.split("+")[1] for name in found} <= {"InterRegular", "InterMedium", "InterSemiBold"}
    assert set(found.values()) == {True}


@pytest.mark.parametrize("kind", KINDS)
def test_nothing_is_printed_small_or_outside_the_margins(kind):
    made = paper(kind)
    wide = float(PdfReader(BytesIO(made.pdf)).pages[0].mediabox.width)

    sheets = {number for number, text in enumerate(pages(made.pdf), 1) if re.search(r"^Sheet \d of \d", text, re.M)}
    drawn = sheets | {1} if kind in ("diagram", "plan") else set()
    labels = set(range(1, made.pages)) if kind == "labels" else set()
    small = [p for p in pieces(made.pdf) if p.size < 6.99 and p.page not in drawn | labels]
    outside = [p for p in pieces(made.pdf) if (p.x < SIDE - 1 or p.right > wide - SIDE + 1.5) and p.page not in labels]

    assert small == []
    assert outside == []


@pytest.mark.parametrize("kind", KINDS)
def test_findings_stand_on_every_paper(kind):
    body = BODIES[kind]()
    titles = [words.finding_words(f)[0] for f in Appraisal.model_validate(_strict(body["appraisal"])).findings]

    text = flat(paper(kind).pdf)

    assert titles
    assert [title for title in titles if title.replace("\u00a0", " ") not in text] == []


def _strict(raw):
    import json

    return Appraisal.model_validate_json(json.dumps(raw)).model_dump()


def test_the_quote_prints_its_totals():
    body = sample.quote_body()

    text = flat(paper("quote").pdf)

    for name in ("total", "tax", "net", "deposit"):
        whole, _dot, cents = body["offer"][name].partition(".")
        assert f"{int(whole):,}.{cents}" in text
    assert "Quote Q-0417, revision B issued 12 March 2026, replaces revision A of 5 March 2026" in text


@pytest.mark.parametrize(("count", "least", "most"), [(3, 3, 4), (300, 9, 13)])
def test_quotes_of_three_and_of_three_hundred_lines(count, least, most):
    body = sample.quote_body()
    groups = ("storage", "charging", "distribution", "labour")
    lines = [line(f"Line {n}", group=groups[n * len(groups) // count]) for n in range(count)]
    body["offer"] = sample.offer_of(lines)

    made = render("quote", body, sample.PERSONAL, sample.CHECKSUM)

    text = flat(made.pdf)
    assert least <= made.pages <= most
    assert [n for n in range(count) if f"Line {n} " not in text] == []
    assert f"page {made.pages} of {made.pages}" in text


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("name", [AWKWARD, LONG, UNBROKEN, "<b>bold</b> &amp; 王"])
def test_awkward_names_are_printed_as_they_are(kind, name):
    body = BODIES[kind]()
    personal = copy.deepcopy(sample.PERSONAL)
    personal["customer"]["name"] = name
    body["vehicle"]["name"] = name[:80]
    body["job"]["title"] = name
    for each in body.get("fitted") or ():
        each["name"] = name[:120]
    if "offer" in body:
        body["offer"]["lines"][0]["name"] = name

    made = render(kind, body, personal, sample.CHECKSUM)

    wide = float(PdfReader(BytesIO(made.pdf)).pages[0].mediabox.width)
    edge = wide - (5 * mm if kind == "labels" else SIDE)  # labels go nearly to the edge of their sheet
    assert [p for p in pieces(made.pdf) if p.right > edge + 1.5] == []
    if kind not in BUILT_FROM:
        expected = name.replace("王", "[U+738B]")
        assert _bare(expected) in _bare("".join(pages(made.pdf)))


def _bare(text: str) -> str:
    return re.sub(r"\s", "", text)


def test_a_very_long_note_goes_on_over_pages():
    body = sample.quote_body()
    body["quote"]["note"] = "A long note about the rack. " * 700

    made = render("quote", body, sample.PERSONAL, sample.CHECKSUM)

    assert flat(made.pdf).count("rack.") == 700


def test_a_row_taller_than_a_page_is_printed_whole():
    body = sample.quote_body()
    body["offer"]["lines"][0]["name"] = "battery tray " * 900

    made = render("quote", body, sample.PERSONAL, sample.CHECKSUM)

    assert flat(made.pdf).count("battery tray") == 900


@pytest.mark.parametrize("kind", KINDS)
def test_erased_people_are_named_as_erased(kind):
    made = render(kind, BODIES[kind](), None, sample.CHECKSUM)

    text = flat(made.pdf)

    assert "Oyelaran" not in text
    assert "KFX" not in text
    assert kind in BUILT_FROM or "erased on request" in text


def test_the_emergency_is_alone_on_the_last_page():
    texts = pages(paper("handover").pdf)

    assert "Emergency" in texts[-1]
    assert "Care" not in texts[-1]
    assert [n for n, text in enumerate(texts[:-1]) if "Emergency\n" in text] == []
    assert "call 000." in " ".join(texts[-1].split())


@pytest.mark.parametrize("kind", ["diagram", "wiring", "plan", "labels", "test_sheet"])
def test_papers_for_hands_on_wiring_carry_the_cautions(kind):
    text = flat(paper(kind).pdf)

    for words_ in (
        "is for licensed people under local rules",
        "Fit and close the fuse at the source last",
        "thousands of amperes",
        "Solar leads are live in daylight",
        "Alternator and starter circuits",
        "the installer answers for the work",
    ):
        assert words_ in text


@pytest.mark.parametrize("kind", KINDS)
def test_no_paper_claims_compliance_or_prints_a_link(kind):
    text = flat(paper(kind).pdf).lower()

    assert "complies" not in text
    assert "compliant" not in text
    assert "http" not in text
    assert all("/Annots" not in page for page in PdfReader(BytesIO(paper(kind).pdf)).pages)


@pytest.mark.parametrize("kind", KINDS)
def test_without_mains_voltage_no_paper_speaks_of_an_inverter(kind):
    made = render(kind, BODIES[kind](sample.without_mains), sample.PERSONAL, sample.CHECKSUM)

    text = flat(made.pdf).lower()

    assert "residual-current" not in text
    assert "all but mains" not in text
    assert kind == "quote" or "for the licensed person" not in text


@pytest.mark.parametrize("kind", KINDS)
def test_what_the_catalogue_lacks_stands_on_every_paper(kind):
    made = render(kind, BODIES[kind](sample.without_parts), sample.PERSONAL, sample.CHECKSUM)

    assert "Not met. The catalogue has" in flat(made.pdf) or "Not met The catalogue has" in flat(made.pdf)


def test_a_filled_sheet_prints_what_was_read():
    body = sample.as_built_body()
    made = render("test_sheet", body, sample.PERSONAL, sample.CHECKSUM)

    text = flat(made.pdf)

    feed = next(each for each in body["readings"] if each["key"] == "drop_positive:L1")
    assert "Ines Okafor-Brandt" in text
    assert "Lug at the socket pressed again" in text
    assert f"≤ {feed['maximum']:.3f} {feed['value']:.3f} V" in text
