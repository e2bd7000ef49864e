"""Whatever a system is made of, nothing overlaps, nothing is lost, and each reference is answered."""

from __future__ import annotations

from types import SimpleNamespace

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from quoting.drawings import single_line
from tests.quoting.sizing.many_circuits import many_made

from .looking import outside, overlaps, struck, words_of
from .samples import System, whole, with_trailer

NAMES = st.sampled_from(
    [
        "Pump",
        "Kühlschrankinnenbeleuchtungssteuergerätezusatzheizung links hinten",
        "Ανεμιστήρας οροφής και αντλία πόσιμου νερού",
        "A very long name that somebody typed, with every detail of what it feeds and where that is, down to the shelf",
        "W" * 120,
        "Ω" * 40 + " " + "i" * 79,
    ]
)


@st.composite
def systems(draw) -> System:
    batteries = draw(st.integers(1, 4))
    made = whole(
        draw(st.sampled_from([1, 5, 12, 20, 40])),
        senses=draw(st.sampled_from([0, 1, 7, 20])),
        starter=draw(st.sampled_from([0, 1, 9])),
        batteries=batteries,
        strings=draw(st.integers(1, 4)),
        separate=draw(st.booleans()),
        inverter=draw(st.booleans()),
        converter=draw(st.booleans()),
    )
    name, marked = draw(NAMES), draw(st.sets(st.sampled_from([n.tag for n in made.nodes]), max_size=12))
    nodes = tuple(n.model_copy(update={"name": name}) if n.tag in marked else n for n in made.nodes)
    circuits = tuple(c.model_copy(update={"name": name}) if c.target in marked else c for c in made.circuits)
    made = System(nodes, circuits, made.ac)
    crossing = draw(st.sampled_from([(), ("L11",), ("C1", "C2", "C3"), ("L31",), ("L40",)]))
    return with_trailer(made, crossing) if crossing else made


@settings(max_examples=8, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])
@given(systems(), st.sampled_from(["A4", "A3"]))
def test_every_text_has_its_place(made, paper):
    check(made, single_line.sheets(made, paper=paper))


@pytest.mark.parametrize("paper", ["A4", "A3"])
@pytest.mark.parametrize(
    "of",
    [
        {"circuits": 5},
        {"circuits": 20, "batteries": 2, "strings": 2, "senses": 4, "trailer": True},
        {"circuits": 60, "volts": 24, "batteries": 3, "strings": 3, "senses": 8, "starter_loads": 4, "converters": 2},
    ],
    ids=["5", "20 in a trailer", "60 at 24 V"],
)
def test_systems_that_the_sizing_made(of, paper):
    _, made = many_made(**of)

    check(made, single_line.sheets(made, paper=paper))


def check(made, sheets) -> None:
    for sheet in sheets:
        assert sheet.unplaced == ()
        assert (overlaps(sheet.drawing), outside(sheet.drawing), struck(sheet.drawing)) == ([], [], [])
    words = {word.strip("()*") for word in words_of(sheets)}  # a sheet of notes has a tag's signs in one run with it
    asked = {each.tag for each in (*made.nodes, *made.circuits)}
    asked |= {device.tag for circuit in made.circuits for device in circuit.devices}
    asked |= {tag for link in made.ac for tag in (link.source, link.target)}
    assert asked - words == set()
    stood = [tag for sheet in sheets for tag in sheet.spots]
    assert {node.tag for node in made.nodes} - set(stood) == set()
    marked = {(n, ref.port) for n, sheet in enumerate(sheets, start=1) for ref in sheet.references}
    for number, sheet in enumerate(sheets, start=1):
        for ref in sheet.references:
            assert ref.to_sheet <= len(sheets), ref
            other = "row" if ref.port.end == "node" else "node"
            names = {ref.port.name, ref.port.name.split("/")[0]}
            assert any((ref.to_sheet, (name, other)) in marked for name in names), (number, ref)


def test_a_text_without_room_gets_a_number_and_stands_on_a_sheet_of_notes(monkeypatch):
    """Nothing is refused: here no text finds a place beside its part, but for those of the last sheet."""
    from quoting.drawings.canvas import Canvas

    made = whole(2)
    monkeypatch.setattr(Canvas, "_set_apart", lambda self, wish: False)
    put = Canvas._set
    monkeypatch.setattr(
        Canvas,
        "_set",
        lambda self, places: put(self, places) if isinstance(places, list) and len(places) == 1 else False,
    )

    sheets = single_line.sheets(made)

    noted = [text for sheet in sheets for text in sheet.noted]
    said = "".join("".join(box.text.split()) for sheet in sheets if not sheet.spots for box in sheet.texts)
    assert noted
    assert [text for text in noted if "".join(text.split()) not in said] == []


def test_a_text_that_is_pushed_aside_has_a_line_back():
    made = whole(4)
    crowd = tuple(c.model_copy(update={"area_mm2": 123.75, "run_m": 888.8}) for c in made.circuits)

    sheets = single_line.sheets(SimpleNamespace(nodes=made.nodes, circuits=crowd, ac=made.ac))

    check(SimpleNamespace(nodes=made.nodes, circuits=crowd, ac=made.ac), sheets)
