"""The vehicle from above: places, ways, names; nothing over anything else, everything to scale."""

from __future__ import annotations

import math
from itertools import combinations, pairwise, product

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from fitouts.starter_sets import SETS
from quoting.drawings.placing import Rect
from quoting.drawings.plan_names import spread
from quoting.drawings.plan_places import APART_M, place
from quoting.drawings.plan_routes import lay
from quoting.drawings.vehicle_plan import PAPERS_MM, SCALES, VehiclePlan, draw_plan
from quoting.sizing.brief import Hitch, Position, Run, Vehicle
from quoting.sizing.errors import SizingError
from quoting.sizing.plan_check import findings
from tests.quoting.drawings import looking
from tests.quoting.sizing.many_circuits import many_made


def vehicle(positions: list[Position], runs: list[Run] = [], **more) -> Vehicle:  # noqa: B006 never changed
    values = {"name": "Van", "nominal_v": 12, "alternator_control": "fixed", "length_m": 5.0, "width_m": 1.9}
    return Vehicle(**{**values, **more}, positions=tuple(positions), runs=tuple(runs))


def of_set(chosen, **more) -> Vehicle:
    keys = {spot.name: f"p{i}" for i, spot in enumerate(chosen.spots)}
    spots = [
        Position(
            key=keys[s.name], name=s.name, engine_space=s.engine_space, x_m=s.at_m[0], y_m=s.at_m[1], usual_place=True
        )
        for s in chosen.spots
    ]
    runs = [Run(a=keys[a], b=keys[b], length_m=metres) for a, b, metres in chosen.runs]
    return vehicle(spots, runs, length_m=None, width_m=None, **more)


def assert_readable(plan: VehiclePlan) -> None:
    assert plan.sheet.unplaced == ()
    assert looking.overlaps(plan.sheet.drawing) == []
    assert looking.outside(plan.sheet.drawing) == []
    assert [text for text in looking.struck(plan.sheet.drawing) if not text.isdigit()] == []  # numbers stand on discs


@pytest.mark.parametrize("chosen", SETS, ids=lambda chosen: chosen.key)
def test_usual_places_are_inside_and_no_run_of_a_set_is_under_the_straight_line(chosen):
    spots = {spot.name: spot for spot in chosen.spots}

    for spot in chosen.spots:
        assert 0 <= spot.at_m[0] <= chosen.length_m
        assert abs(spot.at_m[1]) <= chosen.width_m / 2
    for a, b, metres in chosen.runs:
        assert math.dist(spots[a].at_m, spots[b].at_m) <= metres
    assert len({spot.at_m for spot in chosen.spots}) == len(chosen.spots)


@pytest.mark.parametrize("chosen", SETS, ids=lambda chosen: chosen.key)
def test_plans_of_usual_places_are_readable_and_say_they_are_not_measured(chosen):
    plan = draw_plan(of_set(chosen, is_trailer="trailer" in chosen.key))

    assert_readable(plan)
    said = " ".join(seen.text for seen in looking.strings(plan.sheet.drawing))
    assert "usual place, not measured" in said
    assert "was not measured" in said


@pytest.mark.parametrize("paper", PAPERS_MM)
@pytest.mark.parametrize(("circuits", "more"), [(5, {}), (20, {"trailer": True, "senses": 4}), (60, {})])
def test_plans_of_designs_are_readable(circuits, more, paper):
    brief, appraisal = many_made(circuits, **more)
    plan = draw_plan(brief.vehicle, appraisal, paper=paper)

    assert_readable(plan)
    assert plan.sheet.width_mm <= PAPERS_MM[paper][0]
    assert plan.sheet.height_mm <= PAPERS_MM[paper][1]


def test_every_position_and_run_stands_on_the_drawing():
    brief, appraisal = many_made(20, trailer=True, senses=4)
    plan = draw_plan(brief.vehicle, appraisal)
    texts = [seen.text for seen in looking.strings(plan.sheet.drawing)]

    words = " ".join(texts)
    for position in brief.vehicle.positions:
        assert all(word in words for word in position.name.split())
    for lane in plan.lanes:
        assert str(lane.number) in texts
    assert len(plan.lanes) == len(brief.vehicle.runs) + 1


def test_every_circuit_lies_in_the_runs_it_passes():
    brief, appraisal = many_made(20, trailer=True)
    plan = draw_plan(brief.vehicle, appraisal)

    laid = {(c.tag, frozenset((x.a.position.key, x.b.position.key))) for x in plan.lanes for c in x.circuits}
    assert laid == {(c.tag, frozenset(pair)) for c in appraisal.circuits for pair in pairwise(c.passes)}


def test_distances_are_to_scale():
    spots = [
        Position(key="a", name="A", x_m=0.5, y_m=0.6),
        Position(key="b", name="B", x_m=4.5, y_m=-0.4),
    ]
    plan = draw_plan(vehicle(spots))
    (ax, ay), (bx, by) = plan.centres_mm["a"], plan.centres_mm["b"]

    assert plan.scale == 25
    assert bx - ax == pytest.approx(4.0 * 1000 / 25)
    assert by - ay == pytest.approx(1.0 * 1000 / 25)


def test_the_largest_scale_that_fits_is_taken():
    spots = [Position(key="a", name="A", x_m=0.5, y_m=0.0)]
    scales = [draw_plan(vehicle(spots, length_m=metres)).scale for metres in (2.0, 4.0, 5.0, 6.0, 9.0, 15.0, 25.0)]

    assert scales == sorted(scales)
    assert set(scales) <= set(SCALES)
    assert draw_plan(vehicle(spots, length_m=6.0), paper="a3").scale < draw_plan(vehicle(spots, length_m=6.0)).scale


def test_measured_places_stand_where_they_were_measured():
    spots = [Position(key=k, name=k, x_m=x, y_m=y) for k, x, y in (("a", 0.5, 0.5), ("b", 3.0, -0.5))]
    spots.append(Position(key="c", name="c"))
    placed = place(vehicle(spots, [Run(a="b", b="c", length_m=1.0)]))

    assert [(s.x_m, s.y_m, s.how) for s in placed.spots[:2]] == [(0.5, 0.5, "measured"), (3.0, -0.5, "measured")]
    assert placed.spots[2].how == "lengths"
    far = math.dist((3.0, -0.5), (placed.spots[2].x_m, placed.spots[2].y_m))
    assert far == pytest.approx(0.75, abs=0.15)


def test_a_known_layout_is_found_again_from_its_lengths():
    """Four places along the sides; cable a third longer than the straight line, as a loom is."""
    at = {"engine": (0.8, 0.0), "seat": (2.2, -0.6), "left": (3.8, -0.6), "right": (3.8, 0.6)}
    spots = [Position(key=k, name=k, engine_space=k == "engine") for k in at]
    pairs = [("engine", "seat"), ("seat", "left"), ("left", "right"), ("seat", "right"), ("engine", "right")]
    runs = [Run(a=a, b=b, length_m=math.dist(at[a], at[b]) / 0.75) for a, b in pairs]
    placed = place(vehicle(spots, runs))

    found = {s.position.key: (s.x_m, s.y_m) for s in placed.spots}
    for a, b in pairs:
        assert math.dist(found[a], found[b]) == pytest.approx(math.dist(at[a], at[b]), rel=0.25)
    assert found["engine"][0] < found["seat"][0] < found["left"][0]


def test_front_is_left_right_side_is_above_and_the_trailer_behind():
    spots = [
        Position(key="a", name="A", x_m=0.5, y_m=0.6),
        Position(key="b", name="B", x_m=4.5, y_m=-0.6),
        Position(key="c", name="C", x_m=0.0, y_m=0.0, on_trailer=True),
        Position(key="d", name="D", x_m=3.0, y_m=0.6, on_trailer=True),
    ]
    plan = draw_plan(
        vehicle(spots, hitch=Hitch(tow="b", trailer="c", length_m=1.0), trailer_length_m=4.0, trailer_width_m=1.8)
    )
    at = plan.centres_mm

    assert at["a"][0] < at["b"][0] < at["c"][0] < at["d"][0]
    assert at["a"][1] < at["c"][1] < at["b"][1]
    assert at["d"][1] == at["a"][1]
    assert plan.lanes[-1].is_hitch
    assert plan.lanes[-1].straight_m is None


def test_a_run_under_the_straight_line_is_told_only_between_measured_places():
    a, b = Position(key="a", name="A", x_m=0.5, y_m=0.0), Position(key="b", name="B", x_m=1.9, y_m=0.0)
    short = vehicle([a, b], [Run(a="a", b="b", length_m=0.8)])
    usual = vehicle([a, b.model_copy(update={"usual_place": True})], [Run(a="a", b="b", length_m=0.8)])

    assert [(f.level, f.code, f.params["length_m"], f.params["straight_m"]) for f in findings(short)] == [
        ("warning", "run_under_straight", 0.8, 1.4)
    ]
    assert findings(usual) == ()
    assert "run 1" in " ".join(seen.text for seen in looking.strings(draw_plan(short).sheet.drawing))
    assert findings(vehicle([a, b], [Run(a="a", b="b", length_m=1.36)])) == ()


def test_a_picked_circuit_is_drawn_out():
    brief, appraisal = many_made(20)
    circuit = next(c for c in appraisal.circuits if len(c.passes) > 1)
    lines = looking.shapes_of(draw_plan(brief.vehicle, appraisal, picked=circuit.tag).sheet.drawing)
    accents = [s for s in lines if getattr(s, "strokeColor", None) is not None and s.strokeColor.hexval() == "0x0a5957"]

    assert len(accents) == len(circuit.passes) - 1


def test_equal_vehicles_give_equal_drawings():
    brief, appraisal = many_made(20, trailer=True)
    first, again = (draw_plan(brief.vehicle, appraisal) for _ in range(2))

    assert first.centres_mm == again.centres_mm
    assert looking.strings(first.sheet.drawing) == looking.strings(again.sheet.drawing)


def test_an_unknown_paper_is_refused():
    with pytest.raises(SizingError, match="paper"):
        draw_plan(vehicle([Position(key="a", name="A")]), paper="a5")


def test_names_in_order_keep_their_order_and_their_room():
    at = spread([5, 6, 7, 90, 91], [10, 20, 10, 30, 10], 0, 120)

    for (x, width), after in zip(zip(at, [10, 20, 10, 30], strict=False), at[1:], strict=True):
        assert x + width <= after + 1e-9
    assert at[0] >= 0
    assert at[-1] + 10 <= 120 + 1e-9


def test_no_two_runs_lie_on_one_another():
    hub = (50.0, 25.0)
    outer = [(x, y) for x in (10.0, 30.0, 70.0, 90.0) for y in (6.0, 44.0)]
    routes = lay([(hub, end) for end in outer], [hub, *outer], Rect(0, 0, 100, 50))

    assert [route[-1] for route in routes] != []
    for one, other in combinations(routes, 2):
        for piece, beside in product(pairwise(one), pairwise(other)):
            assert shared_mm(piece, beside) < 0.5


def shared_mm(piece, other) -> float:
    """Length on which two straight pieces lie on one another."""
    for axis in (0, 1):
        if len({point[axis] for point in (*piece, *other)}) == 1:
            spans = [sorted(point[1 - axis] for point in each) for each in (piece, other)]
            return min(spans[0][1], spans[1][1]) - max(spans[0][0], spans[1][0])
    return 0.0


NAMES = st.text("abcdefgh ÄΩß", min_size=1, max_size=60).filter(str.strip)


@st.composite
def vehicles(draw) -> Vehicle:
    """Any number of places, measured, usual or neither, along and across one another; runs between any two."""
    count = draw(st.integers(1, 12))
    trailer = draw(st.booleans())
    spots = []
    for i in range(count):
        known = draw(st.booleans())
        x, y = draw(st.floats(0, 5)), draw(st.floats(-0.9, 0.9))
        place_ = {"x_m": x, "y_m": y, "usual_place": draw(st.booleans())} if known else {}
        behind = trailer and i % 2 == 1
        spots.append(
            Position(key=f"p{i}", name=draw(NAMES), engine_space=draw(st.booleans()), on_trailer=behind, **place_)
        )
    pairs = draw(st.sets(st.tuples(st.integers(0, count - 1), st.integers(0, count - 1)), max_size=14))
    runs = [
        Run(a=f"p{a}", b=f"p{b}", length_m=draw(st.floats(0.1, 12)))
        for a, b in sorted({tuple(sorted(pair)) for pair in pairs})
        if a != b and spots[a].on_trailer == spots[b].on_trailer
    ]
    hitch = Hitch(tow="p0", trailer="p1", length_m=1.0) if trailer and count > 1 else None
    return vehicle(spots, runs, hitch=hitch)


@settings(max_examples=30, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(vehicles())
def test_any_vehicle_has_a_readable_plan_inside_its_outline(any_vehicle):
    plan = draw_plan(any_vehicle)

    assert_readable(plan)
    for spot in plan.placed.spots:
        outline = plan.placed.trailer if spot.position.on_trailer else plan.placed.tow
        assert 0 <= spot.x_m <= outline.length_m
        assert abs(spot.y_m) <= outline.width_m / 2


def test_places_by_length_are_apart():
    brief, _ = many_made(20)
    spots = [s for s in place(brief.vehicle).spots if s.how == "lengths"]

    assert min(math.dist((a.x_m, a.y_m), (b.x_m, b.y_m)) for a in spots for b in spots if a is not b) > APART_M / 2


@pytest.mark.parametrize("count", [40, 200])
def test_more_names_than_fit_stand_as_letters(count):
    spots = [
        Position(
            key=f"p{i}",
            name=f"Locker {i}",
            x_m=0.2 + 4.6 * (i % 20) / 20,
            y_m=-0.9 + 1.8 * (i // 20) / max(1, count // 20),
        )
        for i in range(count)
    ]
    plan = draw_plan(vehicle(spots))

    assert plan.letters.keys() == {s.key for s in spots}
    assert plan.sheet.unplaced == () or count > 120
