"""The diagram is checked by reading the finished drawing back, not by asking the register that placed its texts."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from quoting.drawings import single_line, wording
from quoting.drawings.pen import Faces
from quoting.drawings.reading import read
from quoting.sizing.errors import SizingError

from .looking import in_outline, outside, overlaps, shapes_of, strings, struck, words_of
from .samples import caravan, circuit, device, loads_in_trailer, node, one_sheet, system, whole

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
WHOLE = {
    "5, all there is": {"loads": 5},
    "20, a charger each, 20 senses": {"loads": 20, "separate": True, "batteries": 2, "senses": 20},
    "60, all there is": {"loads": 60, "batteries": 4, "strings": 4, "senses": 20, "converter": True},
    "no inverter, many on the starter side": {"loads": 3, "inverter": False, "starter": 30},
}
CASES = [
    *((name, paper, system, more) for name, more in SYSTEMS.items() for paper in ("A4", "A3")),
    *((name, paper, whole, more) for name, more in WHOLE.items() for paper in ("A4", "A3")),
    ("caravan", "A4", caravan, {}),
    ("caravan", "A3", caravan, {}),
    ("loads in a trailer", "A4", loads_in_trailer, {}),
]


@pytest.fixture(
    params=[case[1:] for case in CASES], ids=[f"{name}, {paper}" for name, paper, *_ in CASES], scope="module"
)
def drawn(request):
    paper, make, more = request.param
    made = make(**more)
    return made, single_line.sheets(made, paper=paper)


def test_every_text_has_found_a_place(drawn):
    _, sheets = drawn

    assert [(sheet.unplaced, sheet.noted) for sheet in sheets] == [((), ())] * len(sheets)


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
    asked |= {tag for link in made.ac for tag in (link.source, link.target)}
    if not made.ac:
        asked -= {"AC1"}  # the outlet of circuit C90, whose tag stands beside it
    assert asked - words == set()
    ways = {tag for text in words for tag in text.split(", ")}
    assert {link.tag for link in made.ac} - ways == set()


def test_every_node_stands_on_one_sheet(drawn):
    made, sheets = drawn

    stood = [tag for sheet in sheets for tag in sheet.spots]

    twice = {tag for tag in stood if stood.count(tag) > 1}
    repeated = {node.tag for node in made.nodes if node.what in ("charger", "controller")}  # with too many strings
    if sum(node.what == "battery" for node in made.nodes) > 4:
        repeated |= {"N1", "P1", "W0", "W5"}  # the rest of a bank is drawn with its negative and link
    assert twice <= repeated
    assert {node.tag for node in made.nodes} - set(stood) == set()


def test_sheets_keep_to_the_paper(drawn):
    _, sheets = drawn

    assert {(sheet.width_mm, sheet.height_mm) for sheet in sheets} <= {(261.0, 168.0), (384.0, 255.0)}
    assert len({sheet.height_mm for sheet in sheets}) == 1


def test_each_end_of_an_interrupted_line_names_the_other(drawn):
    """Read from the references, and that each says so in words."""
    _, sheets = drawn
    ends = {ref.port: (number, ref) for number, sheet in enumerate(sheets, start=1) for ref in sheet.references}

    for port, (number, ref) in ends.items():
        base = port.name.split("/")[0]
        names = [port.name, base] if port.end == "row" else [port.name]
        other = next(ends[port._replace(name=n, end=END[port.end])] for n in names if (n, END[port.end]) in ends)
        assert (ref.to_sheet, ref.to_field) == (other[0], other[1].field), port
        said = f"sheet {ref.to_sheet}, {ref.to_field}" if ref.to_sheet != number else ref.to_field
        assert said in words_of([sheets[number - 1]]), port


END = {"node": "row", "row": "node"}


def test_the_key_explains_every_sign_that_is_used(drawn):
    made, sheets = drawn

    last = " ".join(sorted(words_of(sheets)))

    assert ("signal lead" in last) == any(c.role == "sense" for c in made.circuits)
    assert ("trailer coupling" in last) == any(c.crosses_hitch for c in made.circuits)
    assert ("* Settled by hand" in " ".join(box.text for s in sheets for box in s.texts)) == any(
        c.changed for c in made.circuits
    )


def test_sizes_lengths_ratings_currents_and_drops_are_printed():
    made = system(2)

    texts = {box.text for box in one_sheet(made).texts}

    assert "L11 25mm² 5.2m" in texts  # engine feed
    assert "F1 70A 5kA" in texts
    assert "1.5mm² 1.0m" in texts  # C1
    assert "C1 Monitor and control 0.5A drop 1.2%" in texts


def test_a_conductor_of_an_unusual_colour_says_so_by_its_letters():
    """IEC 60757 (M): yellow is YE."""
    made = system(4)
    circuits = [c.model_copy(update={"negative_colour": "black"}) for c in made.circuits]
    circuits[-1] = circuits[-1].model_copy(update={"colour": "yellow"})

    texts = {box.text for box in one_sheet(SimpleNamespace(nodes=made.nodes, circuits=circuits)).texts}

    assert any("1.5mm² YE" in text for text in texts)
    assert not any("mm² RD" in text for text in texts)
    assert any("the positive, red (RD); a negative of the same size, black (BK)" in text for text in texts)


def test_what_stays_is_thin_and_in_brackets_and_what_was_changed_has_its_sign():
    sheet = one_sheet(whole(5))

    texts = {box.text for box in sheet.texts}

    assert "(L11) 25mm² 5.2m" in texts
    assert any(text.startswith("C2* Refrigerator") for text in texts)
    assert any("In the vehicle already and stays" in text for text in texts)


def test_the_trailer_is_outlined_from_the_coupling_on():
    made = caravan()
    plan = read(made)

    assert {"G1", "B0"} & plan.trailer == set()
    assert {"U1", "W1", "B1", "C1"} <= plan.trailer
    assert "Trailer" in words_of(single_line.sheets(made))
    assert read(loads_in_trailer()).trailer == {"C2", "C5"}
    assert "Trailer" not in words_of(single_line.sheets(system(5)))


def test_what_a_lead_across_the_coupling_has_on_the_vehicle_is_outside_the_outline():
    """Its fuse is at the starter battery, its sensor in the cab; the part that reads them is in the trailer."""
    made = caravan()
    fused = circuit("T98", "sense", "B0", "P1", crosses_hitch=True, devices=(device("F98", "fuse", 2),))
    cab = circuit("T99", "sense", "S99", "P1", crosses_hitch=True)
    nodes = (*made.nodes, node("S99", "sensor", "Cab door", watches="digital"))

    plan = read(SimpleNamespace(nodes=nodes, circuits=(*made.circuits, fused, cab)))
    drawing = one_sheet(SimpleNamespace(nodes=nodes, circuits=(*made.circuits, fused, cab), ac=made.ac)).drawing

    assert "S99" not in plan.trailer
    assert "P1" in plan.trailer
    assert not any(in_outline(drawing, tag) for tag in ("G1", "B0", "F98", "T98", "S99", "T99"))
    assert all(in_outline(drawing, tag) for tag in ("F2", "U1", "W1", "C1", "T90", "S1"))
    assert (overlaps(drawing), outside(drawing), struck(drawing)) == ([], [], [])


def test_a_battery_lead_says_its_size_at_its_own_line():
    """Not over the next row, where it could be read as another's."""
    drawing = one_sheet(system(4, batteries=2)).drawing
    seen = {each.text: each for each in strings(drawing)}

    for battery, lead, fuse in (("B1", "L20", "F20"), ("B2", "L21", "F21")):
        assert seen[lead].y0 <= seen[fuse].y0 <= seen[battery].y0
        assert seen[lead].x0 > seen[fuse].x1


def test_the_bus_is_named_away_from_the_unit_beside_it():
    seen = {each.text: each for each in strings(one_sheet(system(4, separate=True)).drawing)}

    assert seen["W1"].x0 - max(s.x1 for s in seen.values() if s.y0 == seen["U1"].y0 and s.x0 < seen["W1"].x0) > 4


def test_cautions_and_the_230_v_zone_follow_what_is_drawn():
    full = " ".join(sorted(words_of([one_sheet(system(2))])))
    direct = one_sheet(
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

    stub = next(ref for ref in first.references if ref.port == ("W3", "node"))
    assert (stub.to_sheet, stub.to_field) == (2, second.references[0].field)
    assert {"circuits:", "13"} <= words_of([first])
    assert {"Sheet 2 of 2", "C20", "continued"} <= words_of([second])
    assert "C20" not in words_of([first])


def test_many_small_boards_go_on_round_the_same_bus_on_further_sheets():
    made = system(3)
    boards = [node(f"W{i}", "board", f"Board {i}") for i in range(10, 30)]
    feeds = [
        circuit(f"L{90 + i}", "distribution", "W1", f"W{i}", devices=(device(f"F{90 + i}", "fuse", 50),))
        for i in range(10, 30)
    ]
    loads = [node(f"C{100 + i}", "load", f"Load {i}") for i in range(10, 30)]
    ways = [circuit(f"C{100 + i}", "load", f"W{i}", f"C{100 + i}", name=f"Load {i}") for i in range(10, 30)]

    sheets = single_line.sheets(
        SimpleNamespace(nodes=(*made.nodes, *boards, *loads), circuits=(*made.circuits, *feeds, *ways))
    )

    assert len(sheets) > 2
    assert {f"W{i}" for i in range(10, 30)} | {f"L{90 + i}" for i in range(10, 30)} <= words_of(sheets)
    assert [s for s in sheets if {"W1", "continued"} <= words_of([s])] == list(sheets[1:])
    for number in range(2, len(sheets) + 1):
        up, down = (
            next(r for s in sheets for r in s.references if r.port == (f"W1#{number}", e)) for e in ("row", "node")
        )
        assert (up.to_sheet, down.to_sheet, up.to_field) == (1, number, down.field)


def test_strings_of_one_array_meet_before_one_converter():
    one = one_sheet(system(2, separate=True))
    three = one_sheet(system(2, separate=True, strings=3))

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
    stray = circuit("L99", "control", "Q0", "P1", name="From nowhere", area_mm2=0.75, run_m=1.2)

    words = words_of([one_sheet(SimpleNamespace(nodes=(*made.nodes, odd), circuits=(*made.circuits, stray)))])

    assert {"Z9", "display", "L99", "nowhere", "0.75"} <= words


def test_a_circuit_between_parts_of_the_picture_is_a_row_that_names_them():
    made = system(3, batteries=2)
    odd = circuit("L98", "charger_output", "B2", "W3", name="Odd link")

    sheet = one_sheet(SimpleNamespace(nodes=made.nodes, circuits=(*made.circuits, odd)))

    ends = {ref.port: ref for ref in sheet.references}
    assert {("B2*", "node"), ("B2*", "row"), ("L98", "node"), ("L98", "row")} == set(ends)
    assert ends[("L98", "row")].to_field == sheet.spots["W3"]


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

    assert "14,4" in words_of([one_sheet(system(2), words=comma)])


def test_other_fonts_can_be_given():
    faces = Faces("Helvetica", "Helvetica", "Helvetica-Bold")

    sheet = one_sheet(system(5), faces=faces)

    assert sheet.unplaced == ()
    assert {shape.fontName for shape in shapes_of(sheet.drawing) if hasattr(shape, "text")} == {
        "Helvetica",
        "Helvetica-Bold",
    }


def test_a_paper_nobody_knows_is_refused():
    with pytest.raises(SizingError, match=r"paper: no such paper as 'A2'; it must be one of A4, A3"):
        single_line.sheets(system(2), paper="A2")


def test_nothing_to_draw_is_refused():
    with pytest.raises(SizingError, match="nodes is missing"):
        single_line.sheets(SimpleNamespace(nodes=(), circuits=()))


def test_facts_of_a_node_stand_in_one_order_whatever_order_they_come_in():
    """A frozen record sorts them by name: page and paper must read alike."""
    made = system(3, separate=True, batteries=2)
    turned = [n.model_copy(update={"params": dict(sorted(n.params.items(), reverse=True))}) for n in made.nodes]

    said = [box.text for box in one_sheet(made).texts]

    assert said == [box.text for box in one_sheet(SimpleNamespace(nodes=turned, circuits=made.circuits)).texts]
    assert any("12.8V 200Ah" in text for text in said)
