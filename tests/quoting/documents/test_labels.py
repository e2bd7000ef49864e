"""Labels: where they lie on their sheets, that every circuit and device has its own, that no text leaves its label."""

from __future__ import annotations

from io import BytesIO
from itertools import pairwise

import pytest
from pypdf import PdfReader
from reportlab.lib.units import mm

from quoting.documents import forms
from quoting.documents.builders import content_of, open_for
from quoting.documents.content_wiring import Label
from quoting.documents.label_sheets import SHEETS
from quoting.documents.label_text import LEAST_PT, laid
from quoting.documents.render import render
from quoting.documents.tracing import allowed_numbers, numbers_on
from tests.quoting.documents import sample
from tests.quoting.documents.many import design_of
from tests.quoting.documents.reading import flat, pieces

LONG = "Refrigerator with a name that goes on and on " * 5


def labels_of(body):
    return content_of("labels", open_for("labels", body, sample.PERSONAL, sample.CHECKSUM)).labels


@pytest.mark.parametrize(
    ("code", "left_mm", "top_mm", "last_x_mm", "last_y_mm"),
    [
        # by hand, rows and columns in the middle: (210 - 3 × 63.5 - 2 × 2.5) / 2 = 7.25, (297 - 7 × 38.1) / 2 = 15.15
        ("a4-3x7", 7.25, 15.15, 139.25, 243.75),
        ("a4-4x10", 8.0, 21.5, 153.5, 250.1),  # (210 - 4 × 48.5) / 2, (297 - 10 × 25.4) / 2
        ("a4-5x13", 4.75, 10.7, 167.15, 265.1),  # (210 - 5 × 38.1 - 4 × 2.5) / 2, (297 - 13 × 21.2) / 2
        ("letter-3x10", 4.8, 12.7, 144.4, 241.3),  # (215.9 - 3 × 66.7 - 2 × 3.1) / 2, (279.4 - 10 × 25.4) / 2
        ("letter-4x20", 7.65, 12.7, 163.8, 254.0),  # (215.9 - 4 × 44.45 - 3 × 7.6) / 2, (279.4 - 20 × 12.7) / 2
    ],
)
def test_labels_lie_where_their_measures_say(code, left_mm, top_mm, last_x_mm, last_y_mm):
    sheet = SHEETS[code]

    assert sheet.place(1) == pytest.approx((left_mm, top_mm))
    assert sheet.place(sheet.count) == pytest.approx((last_x_mm, last_y_mm))


@pytest.mark.parametrize("code", SHEETS)
def test_no_two_labels_of_a_sheet_touch_and_all_are_on_the_page(code):
    sheet = SHEETS[code]
    places = [sheet.place(n) for n in range(1, sheet.count + 1)]

    assert len(set(places)) == sheet.count
    assert min(x for x, _y in places) >= 4
    assert max(x for x, _y in places) + sheet.width_mm <= sheet.page_mm[0] - 4
    assert max(y for _x, y in places) + sheet.height_mm <= sheet.page_mm[1] - 4
    for (ax, ay), (bx, by) in pairwise(places):
        assert (bx - ax >= sheet.width_mm - 1e-9) or (by - ay >= sheet.height_mm - 1e-9)


def test_a_label_the_sheet_does_not_have_is_refused():
    with pytest.raises(ValueError, match="label 22 is not on a sheet of 21"):
        SHEETS["a4-3x7"].place(22)


@pytest.mark.parametrize("form", ["a4-3x7", "a4-5x13+64", "letter-4x20-flag+7"])
def test_text_on_paper_lies_in_its_label_to_a_tenth_of_a_millimetre(form):
    body = sample.design_body()
    expected, how = labels_of(body), forms.labels_of(form)

    made = render("labels", body, sample.PERSONAL, sample.CHECKSUM, form)

    height = float(PdfReader(BytesIO(made.pdf)).pages[0].mediabox.height)
    assert height == pytest.approx(how.sheet.page_mm[1] * mm, abs=0.05 * mm)
    found: dict[int, list[str]] = {}
    sheets = -(-(len(expected) + how.first - 1) // how.sheet.count)
    for piece in pieces(made.pdf):
        if piece.page > sheets or piece.y > height - (how.sheet.top_mm - 3) * mm:
            continue  # pages of words, and whose the sheet is
        number = label_under(how.sheet, piece.x / mm, (height - piece.y) / mm, piece.right / mm)
        at = (piece.page - 1) * how.sheet.count + number - how.first
        found.setdefault(at, []).append(piece.text)
    assert sorted(found) == list(range(len(expected)))
    for at, label in enumerate(expected):
        assert found[at][0].strip() == label.tag
        assert found[at].count(found[at][0]) == (2 if how.flag else 1)


def label_under(sheet, x_mm, y_mm, right_mm):
    """The one label in which a text lies, its whole width and baseline."""
    for number in range(1, sheet.count + 1):
        left, top = sheet.place(number)
        across = left - 0.1 <= x_mm and right_mm <= left + sheet.width_mm + 0.1
        if across and top - 0.1 <= y_mm <= top + sheet.height_mm + 0.1:
            return number
    raise AssertionError(f"text at {x_mm:.1f}, {y_mm:.1f} mm to {right_mm:.1f} mm lies on no label")


@pytest.mark.parametrize("code", SHEETS)
@pytest.mark.parametrize("name", ["Lamp", LONG, "X" * 200])
def test_texts_of_a_label_fit_it_and_never_overlap(code, name):
    sheet = SHEETS[code]
    width, height = sheet.width_mm * mm, sheet.height_mm * mm

    for box in (width, (width - min(10, sheet.width_mm / 5) * mm) / 2):
        placed = laid(Label("C128", "2.5 mm²", (name, "to W12, Front locker", "here Rear door")), box, height)

        assert {text.size >= LEAST_PT for text in placed} == {True}
        assert all(text.x >= 0 and text.x + text.width <= box + 0.01 for text in placed)
        assert all(text.y - 0.24 * text.size >= -0.01 and text.y + 0.76 * text.size <= height for text in placed)
        for i, one in enumerate(placed):
            for other in placed[i + 1 :]:
                apart = one.y - other.y
                beside = other.x >= one.x + one.width or one.x >= other.x + other.width
                assert beside or abs(apart) >= 0.7 * min(one.size, other.size)


def test_a_label_that_is_large_enough_says_everything():
    placed = laid(Label("C4", "4 mm²", ("Refrigerator", "to Galley", "here W2, Fuse board")), 63.5 * mm, 38.1 * mm)

    assert [text.text for text in placed] == ["C4", "4 mm²", "Refrigerator", "to Galley", "here W2, Fuse board"]


@pytest.mark.parametrize("circuits", [5, 20, 60])
def test_both_ends_of_every_circuit_and_every_device_have_a_label(circuits):
    body = design_of(circuits, trailer=circuits == 20, senses=4 if circuits == 60 else 0)

    tags = [label.tag for label in labels_of(body)]

    for circuit in body["appraisal"]["circuits"]:
        assert tags.count(circuit["tag"]) == 2
        assert [tags.count(device["tag"]) for device in circuit["devices"]] == [1] * len(circuit["devices"])
    devices = sum(len(circuit["devices"]) for circuit in body["appraisal"]["circuits"])
    assert len(tags) == 2 * len(body["appraisal"]["circuits"]) + devices


def test_labels_of_a_big_system_fill_many_sheets():
    body = design_of(60, batteries=2, senses=6)
    count = len(labels_of(body))

    made = render("labels", body, sample.PERSONAL, sample.CHECKSUM)

    sheets = -(-count // 21)
    assert sheets > 10
    assert f"{count} labels on {sheets} sheets" in flat(made.pdf)
    assert made.pages == len(PdfReader(BytesIO(made.pdf)).pages) > sheets


def test_the_page_of_words_says_how_to_print_and_how_many():
    body = sample.design_body()
    count = len(labels_of(body))

    text = flat(render("labels", body, sample.PERSONAL, sample.CHECKSUM, "a4-4x10-flag+5").pdf)

    assert f"{count} labels on 2 sheets: A4, 4 × 10 of 48.5 × 25.4 mm, flags, from no. 5" in text
    assert "Print at full size" in text
    assert "100 mm" in text


@pytest.mark.parametrize("form", ["a4-5x13-flag+5", "letter-3x10"])
def test_numbers_on_other_sheets_are_traced(form):
    body = sample.design_body()
    made = render("labels", body, sample.PERSONAL, sample.CHECKSUM, form)

    allowed = allowed_numbers(body, sample.PERSONAL, form)

    assert [token for _page, token in numbers_on(made.pdf) if token not in allowed] == []


@pytest.mark.parametrize(
    ("kind", "form", "first", "kept"),
    [
        ("labels", "", 1, ""),
        ("labels", "a4-3x7", 1, ""),
        ("labels", "a4-3x7", 21, "a4-3x7+21"),
        ("labels", "letter-4x20-flag", 80, "letter-4x20-flag+80"),
        ("labels", "letter-4x20-flag+80", 1, "letter-4x20-flag+80"),
        ("diagram", "a4", 1, ""),
        ("diagram", "a3", 1, "a3"),
        ("fuse_map", "a5", 1, "a5"),
        ("quote", "", 1, ""),
    ],
)
def test_forms_are_kept_in_one_spelling(kind, form, first, kept):
    assert forms.clean(kind, form, first) == kept
    assert forms.clean(kind, kept) == kept
    assert len(kept) <= 20


@pytest.mark.parametrize(
    ("kind", "form", "first", "words"),
    [
        ("labels", "a4-3x7", 22, "The first free label is 22; this sheet has labels 1 to 21."),
        ("labels", "a4-3x7", 0, "The first free label is 0; this sheet has labels 1 to 21."),
        ("labels", "a4-3x7+x", 1, "The first free label is x; this sheet has labels 1 to 21."),
        ("labels", "a4-3x7+" + "9" * 5000, 1, "The first free label is 999999999999; this sheet has labels 1 to 21."),
        ("labels", "a4-9x9", 1, "There is no form “a4-9x9” for this paper"),
        ("fuse_map", "a3", 1, "There is no form “a3” for this paper; there is: A4, A5."),
        ("quote", "a4", 1, "There is no form “a4” for this paper; there is: one form."),
    ],
)
def test_forms_that_are_not_there_are_refused_in_words(kind, form, first, words):
    with pytest.raises(forms.UnknownForm) as refused:
        forms.clean(kind, form, first)

    assert words in str(refused.value)


def test_letter_sheets_come_first_where_they_are_sold():
    assert forms.forms_for("labels", "US")[0][0].startswith("letter")
    assert forms.forms_for("labels", "AU")[0] == ("a4-3x7", "A4, 3 × 7 of 63.5 × 38.1 mm")
    assert forms.forms_for("test_sheet", "AU") == ()
