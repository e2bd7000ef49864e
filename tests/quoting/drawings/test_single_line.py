"""The diagram is checked by reading the finished drawing back, not by asking the register that placed its texts."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from quoting.drawings import single_line, wording
from quoting.drawings.pen import Faces
from quoting.sizing.errors import SizingError

from .looking import outside, overlaps, struck, words_of
from .samples import circuit, device, node, system

PAPER_MM = 168.0

SYSTEMS = {
    "1": {"loads": 1},
    "5": {"loads": 5},
    "12, a charger each": {"loads": 12, "separate": True, "batteries": 2},
    "20": {"loads": 20},
    "9, converter": {"loads": 9, "converter": True, "batteries": 3},
    "8, two strings": {"loads": 8, "strings": 2},
    "6, no inverter": {"loads": 6, "inverter": False},
    "40": {"loads": 40, "separate": True, "batteries": 4, "strings": 2},
    "60": {"loads": 60, "batteries": 2},
    "10 strings, 9 batteries": {"loads": 3, "separate": True, "strings": 10, "batteries": 9},
    "10 strings into one housing": {"loads": 3, "strings": 10},
}


@pytest.fixture(params=SYSTEMS.values(), ids=SYSTEMS.keys())
def drawn(request):
    made = system(**request.param)
    return made, single_line.sheets(made)


def test_every_text_has_found_a_place(drawn):
    _, sheets = drawn

    assert [sheet.unplaced for sheet in sheets] == [()] * len(sheets)


def test_no_two_texts_overlap_and_none_leaves_the_sheet(drawn):
    _, sheets = drawn

    assert [overlaps(sheet.drawing) for sheet in sheets] == [[]] * len(sheets)
    assert [outside(sheet.drawing) for sheet in sheets] == [[]] * len(sheets)


def test_no_conductor_runs_through_a_text(drawn):
    _, sheets = drawn

    assert [struck(sheet.drawing) for sheet in sheets] == [[]] * len(sheets)


def test_every_node_circuit_and_device_is_on_the_sheets(drawn):
    made, sheets = drawn

    words = words_of(sheets)

    asked = {each.tag for each in (*made.nodes, *made.circuits)}
    asked |= {each.tag for one in made.circuits for each in one.devices}
    asked -= {"AC1"}  # the outlet of circuit C90, whose tag stands beside it
    assert asked - words == set()


def test_sheets_keep_the_height_of_the_paper(drawn):
    _, sheets = drawn

    assert {sheet.height_mm for sheet in sheets} == {PAPER_MM}


def test_one_sheet_grows_instead_of_being_split():
    sheet = single_line.draw(system(40))

    assert sheet.height_mm > PAPER_MM
    assert sheet.unplaced == ()
    assert overlaps(sheet.drawing) == []


def test_sizes_lengths_ratings_currents_and_drops_are_printed():
    made = system(2)

    texts = {box.text for box in single_line.draw(made).texts}

    assert "L11 25mm² 5.2m" in texts  # engine feed
    assert "F1 70A 5kA" in texts
    assert "1.5mm² 1.0m" in texts  # C1
    assert "C1 Monitor and control 0.5A drop 1.2%" in texts


def test_cautions_and_the_230_v_zone_follow_what_is_drawn():
    full = " ".join(sorted(words_of([single_line.draw(system(2))])))
    direct = single_line.draw(
        SimpleNamespace(
            nodes=(node("B1", "battery", "gel"), node("W1", "busbar", "positive")),
            circuits=(circuit("L1", "battery_main", "B1", "W1", devices=(device("F1", "fuse", 100),)),),
        )
    )
    bare = words_of([direct])

    assert "230 V: licensed person" in full
    assert {"licensed", "daylight."} <= set(full.split())
    assert "230 V: licensed person" not in bare
    assert "daylight." not in bare
    assert {"amperes.", "installer"} <= bare


def test_a_stub_names_the_sheet_its_circuits_are_on():
    first, second = single_line.sheets(system(20))

    assert "13 circuits: sheet 2" in words_of([first])
    assert {"Sheet 2 of 2", "C20", "continued"} <= words_of([second])
    assert "C20" not in words_of([first])


def test_strings_of_one_array_meet_before_one_converter():
    one = single_line.draw(system(2, separate=True))
    three = single_line.draw(system(2, separate=True, strings=3))

    assert {"PV1", "PV2", "PV3", "L42"} <= words_of([three])
    assert _slanted(three.drawing) == _slanted(one.drawing)  # as many converters


def _slanted(drawing) -> int:
    """Converters of 10 mm, counted by their diagonals."""
    count = 0
    for shape in drawing.contents:
        points = getattr(shape, "points", ())
        if len(points) == 4 and abs(abs(points[0] - points[2]) - 28.346) < 0.01:
            count += abs(abs(points[1] - points[3]) - 28.346) < 0.01
    return count


def test_what_has_no_place_in_the_picture_is_printed_below_it():
    made = system(2)
    odd = node("Z9", "monitor", "second display")
    sense = circuit("S1", "sense", "W1", "P1", name="Voltage sense", area_mm2=0.75, run_m=1.2)

    words = words_of([single_line.draw(SimpleNamespace(nodes=(*made.nodes, odd), circuits=(*made.circuits, sense)))])

    assert {"Z9", "display", "S1", "sense", "0.75"} <= words


@pytest.mark.parametrize(
    "name",
    [
        "Fuse <5 A & holder",
        "A very long name that somebody typed for a circuit, with every detail of the thing it feeds and where it is",
        "W" * 120,
        "冷蔵庫 Ω ≥ 5 °C",
    ],
)
def test_awkward_names_are_wrapped_and_kept_whole(name):
    made = system(4)
    load = made.circuits[-1].model_copy(update={"name": name})
    nodes = tuple(
        n.model_copy(update={"name": name}) if n.tag in ("U1", "B1", "G1", "PV1", "W2") else n for n in made.nodes
    )

    sheets = single_line.sheets(SimpleNamespace(nodes=nodes, circuits=(*made.circuits[:-1], load)))

    assert [sheet.unplaced for sheet in sheets] == [()] * len(sheets)
    assert [overlaps(sheet.drawing) for sheet in sheets] == [[]] * len(sheets)
    said = "".join(box.text for sheet in sheets for box in sheet.texts if box.text.startswith(load.tag))
    assert name.replace(" ", "") in said.replace(" ", "")


def test_longer_words_of_another_language_still_fit():
    def longer(code, **params):
        said = wording.english(code, **params)
        return said if code == "number" else said + " äöü"

    sheets = single_line.sheets(system(8, separate=True), words=longer)

    assert [sheet.unplaced for sheet in sheets] == [()] * len(sheets)


def test_numbers_go_through_the_words():
    def comma(code, **params):
        said = wording.english(code, **params)
        return said.replace(".", ",") if code == "number" else said

    assert "14,4" in words_of([single_line.draw(system(2), words=comma)])


def test_other_fonts_can_be_given():
    faces = Faces("Helvetica", "Helvetica", "Helvetica-Bold")

    sheet = single_line.draw(system(5), faces=faces)

    assert sheet.unplaced == ()
    assert {shape.fontName for shape in sheet.drawing.contents if hasattr(shape, "text")} == {
        "Helvetica",
        "Helvetica-Bold",
    }


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"width_mm": 200}, r"width_mm is 200 mm; it must be at least 261 mm"),
        ({"height_mm": 50}, r"height_mm is 50 mm; it must be at least 100 mm"),
    ],
)
def test_a_sheet_too_small_is_refused(change, message):
    with pytest.raises(SizingError, match=message):
        single_line.draw(system(2), **change)


def test_nothing_to_draw_is_refused():
    with pytest.raises(SizingError, match="nodes is missing"):
        single_line.sheets(SimpleNamespace(nodes=(), circuits=()))
