"""Conduit: outside diameters, fill, the fewest that take a bundle, and every way in use covered."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quoting.sizing.appraisal import Circuit
from quoting.sizing.parts import Catalogue
from quoting.sizing.sleeves import Sleeved, conductors_of, hottest_c, sleeve
from quoting.sizing.sleeves_fill import (
    OUTSIDE_MM,
    Bundle,
    Strand,
    estimated_outside_mm,
    fewest,
    fill_limit_ratio,
    goes_in,
)
from tests.quoting.sizing.many_circuits import many, many_brief, many_made
from tests.quoting.sizing.wiring_case import part


def circuit(tag: str, area_mm2: float, **more) -> Circuit:
    values = {
        "tag": tag, "name": tag, "role": "load", "source": "W1", "target": tag, "from_position": "a",
        "to_position": "b", "current_a": 10.0, "run_m": 2.0, "area_mm2": area_mm2,
        "conductor": f"cable_{area_mm2:g}_red",
        "insulation_c": 105.0, "ambient_c": 45.0, "bundled": 1, "ampacity_a": 40.0, "drop_v": 0.1, "drop_total_v": 0.1,
        "drop_ratio": 0.01, "drop_limit_ratio": 0.05, "voltage_v": 12.0, "drop_iso_v": 0.1, "decided_by": "least",
        "passes": ("a", "b"),
    }  # fmt: skip
    return Circuit(**{**values, **more})


def test_no_copper_is_thinner_than_its_wall_leaves_room_for():
    for area, outside in OUTSIDE_MM.items():
        assert outside > math.sqrt(4 * area / math.pi)
    assert list(OUTSIDE_MM.values()) == sorted(OUTSIDE_MM.values())


@given(st.floats(0.1, 300))
def test_estimate_rises_with_area_and_is_never_under_the_listed(area):
    assert estimated_outside_mm(area) >= math.sqrt(4 * area / math.pi)
    assert estimated_outside_mm(area) <= estimated_outside_mm(area * 1.5)


def fill_by_hand(bundle: Bundle, inner_mm: float) -> bool:
    """The rule as the table has it, written again."""
    discs = [d for strand in bundle for d in strand.discs_mm2]
    allowed = {1: 0.53, 2: 0.31}.get(len(discs), 0.40)
    return sum(discs) <= allowed * math.pi * inner_mm**2 / 4 * (1 + 1e-9)


def fewest_by_trying(strands: list[Strand], inner_mm: float) -> int | None:
    """Every way to part the strands into groups."""
    best: int | None = None

    def part_of(index: int, groups: list[list[Strand]]) -> None:
        nonlocal best
        if index == len(strands):
            if all(fill_by_hand(tuple(g), inner_mm) for g in groups) and (best is None or len(groups) < best):
                best = len(groups)
            return
        for group in groups:
            group.append(strands[index])
            part_of(index + 1, groups)
            group.pop()
        part_of(index + 1, [*groups, [strands[index]]])

    part_of(0, [])
    return best


STRANDS = st.lists(
    st.lists(st.floats(1.5, 120.0), min_size=1, max_size=2).map(lambda discs: Strand("C", tuple(discs))),
    min_size=1,
    max_size=6,
)


@settings(max_examples=60, deadline=None)
@given(STRANDS, st.sampled_from([7.0, 10.0, 14.0, 20.0, 29.0]))
def test_as_few_conduits_as_trying_everything_finds(strands, inner_mm):
    found = fewest(strands, inner_mm)

    assert (len(found) if found else None) == fewest_by_trying(strands, inner_mm)
    if found:
        assert all(fill_by_hand(bundle, inner_mm) for bundle in found)
        assert sorted(s.discs_mm2 for b in found for s in b) == sorted(s.discs_mm2 for s in strands)


def test_two_alone_may_fill_less_than_three():
    pair, third = Strand("C1", (20.0, 20.0)), Strand("C2", (1.0,))
    inner = math.sqrt(4 / math.pi * 41 / 0.36)

    assert not goes_in((pair,), inner)
    assert goes_in((pair, third), inner)
    assert fewest([pair, third], inner) == ((pair, third),)


def brief_with(*covers: dict, **more):
    raw = many(5, **more)
    raw["catalogue"] = [x for x in raw["catalogue"] if x["kind"] not in ("conduit", "grommet")] + list(covers)
    from quoting.sizing.brief import read

    return read(raw)


def conduit(inner_mm: float, max_c: float = 105.0, **more) -> dict:
    return part(
        f"cover_{inner_mm:g}_{max_c:g}",
        "conduit",
        inner_mm + max_c / 100,
        form="conduit",
        inner_mm=inner_mm,
        max_c=max_c,
        **more,
    )


def along(brief, *sizes: float, **more) -> list[Circuit]:
    run = brief.vehicle.runs[0]
    parts = Catalogue.of(brief)
    from catalog.kinds.capabilities import Conducting

    keys = {a.can.area_mm2: a.part.key for a in parts.having(Conducting) if a.can.colour == "red"}
    return [
        circuit(f"C{i}", area, conductor=keys[area], passes=(run.a, run.b), **more) for i, area in enumerate(sizes, 1)
    ]


def test_smallest_conduit_that_takes_everything():
    brief = brief_with(conduit(10), conduit(14), conduit(20))
    circuits = along(brief, 2.5, 2.5)
    use = sleeve(brief, circuits).uses[0]

    outside = [
        Catalogue.of(brief).part(key).spec["outside_mm"]
        for c in circuits
        for key, _ in conductors_of(Catalogue.of(brief), c)
    ]
    filled = sum(math.pi * d**2 / 4 for d in outside)
    assert use.conductors == 4
    assert use.conductors_mm2 == pytest.approx(filled, abs=0.01)
    smallest = min(d for d in (10, 14, 20) if filled <= 0.4 * math.pi * d**2 / 4)
    assert use.inner_mm == smallest
    assert use.fill_ratio == pytest.approx(filled / (math.pi * smallest**2 / 4), abs=1e-4)
    assert not use.estimated


def test_a_pair_too_thick_lies_one_to_a_conduit():
    brief = brief_with(conduit(15))
    use = sleeve(brief, along(brief, 35.0)).uses[0]

    assert (use.count, use.limit_ratio, use.inner_mm) == (2, 0.53, 15.0)


def test_too_thick_for_any_says_which_size_is_asked():
    brief = brief_with(conduit(7), conduit(10))
    found = sleeve(brief, along(brief, 70.0))

    assert [(s.code, s.need.code, s.params["unit"], s.params["best_value"]) for s in found.shortfalls] == [
        ("too_small", "sleeving", "mm", 10.0)
    ]
    disc = found.uses[0].conductors_mm2 / 2
    assert found.shortfalls[0].params["asked"] == pytest.approx(math.sqrt(4 * disc / math.pi / 0.53), abs=0.01)
    assert found.uses[0].part == ""


def test_conduit_stands_the_heat_of_air_and_load():
    brief = brief_with(conduit(20, 70.0), conduit(20, 105.0))
    cool = sleeve(brief, along(brief, 2.5, current_a=1.0)).uses[0]
    full = sleeve(brief, along(brief, 2.5, current_a=40.0)).uses[0]

    air = max(p.ambient_c for p in brief.vehicle.positions if p.key in (cool.a, cool.b))
    assert full.hottest_c == pytest.approx(air + 60.0)
    assert full.part.endswith("_105")
    assert air < 69
    assert cool.part.endswith("_70")


def test_hotter_than_any_conduit_is_a_shortfall_in_degrees():
    brief = brief_with(conduit(20, 70.0))
    found = sleeve(brief, along(brief, 2.5, current_a=40.0))

    assert [(s.code, s.params["unit"], s.params["best_value"]) for s in found.shortfalls] == [("too_small", "°C", 70.0)]


def test_a_conductor_at_its_ampacity_is_as_hot_as_its_class():
    assert hottest_c([circuit("C1", 2.5, current_a=40.0)], 45.0) == pytest.approx(105.0)
    assert hottest_c([circuit("C1", 2.5, current_a=20.0)], 45.0) == pytest.approx(60.0)
    assert hottest_c([], 45.0) == 45.0


def test_a_catalogue_without_conduit_is_a_note_and_blocks_nothing():
    brief = brief_with()
    found = sleeve(brief, along(brief, 2.5))

    assert found.shortfalls == ()
    assert [(f.level, f.code) for f in found.findings] == [("info", "no_conduit_listed")]
    assert [use.part for use in found.uses] == [""]


def test_large_conductors_lie_apart():
    brief = brief_with(conduit(20), conduit(29))
    uses = sleeve(brief, along(brief, 2.5, 35.0, 4.0), apart_mm2=25.0).uses

    assert [(use.circuits, use.alone) for use in uses] == [(("C1", "C3"), False), (("C2",), True)]


def test_what_stays_keeps_its_cover_and_a_body_return_lays_one():
    brief = brief_with(conduit(20))
    stays, body = along(brief, 2.5, 2.5)
    uses = sleeve(
        brief, [stays.model_copy(update={"stays": True}), body.model_copy(update={"return_by": "chassis"})]
    ).uses

    assert [(use.circuits, use.conductors) for use in uses] == [(("C2",), 1)]


def covered(found: Sleeved) -> set[tuple[str, frozenset[str]]]:
    return {(tag, frozenset((use.a, use.b))) for use in found.uses for tag in use.circuits}


@pytest.mark.parametrize("more", [{}, {"trailer": True}, {"volts": 24, "batteries": 2}])
def test_every_way_that_a_circuit_passes_is_covered_but_the_drawbar(more):
    brief, appraisal = many_made(20, **more)
    found = sleeve(brief, appraisal.circuits)

    hitch = brief.vehicle.hitch
    drawbar = frozenset((hitch.tow, hitch.trailer)) if hitch else None
    wanted = {(c.tag, frozenset(pair)) for c in appraisal.circuits for pair in pairwise(c.passes)}
    assert covered(found) == {x for x in wanted if x[1] != drawbar}
    assert found.shortfalls == ()
    for use in found.uses:
        assert use.fill_ratio <= use.limit_ratio
        assert fill_limit_ratio(1) >= use.limit_ratio


def test_metres_to_buy_are_the_ways_with_spare():
    _brief, made = many_made(20)
    lines = [line for line in made.bill if line.rule in ("sleeve", "grommet")]

    for line in lines:
        if line.rule == "sleeve":
            laid = sum(use.length_m * use.count for use in made.sleeves if use.part == line.part)
            assert line.quantity == pytest.approx(math.ceil(round(laid * 11, 6)) / 10)
            assert line.unit == "m"
        else:
            assert line.quantity == sum(use.count for use in made.sleeves if use.grommet == line.part)
    assert {line.part for line in lines if line.rule == "sleeve"} == {use.part for use in made.sleeves}


def test_a_grommet_where_the_way_leaves_the_engine_space():
    brief, appraisal = many_made(20)
    passing = [use for use in sleeve(brief, appraisal.circuits).uses if use.passes_wall]
    hot = {p.key for p in brief.vehicle.positions if p.engine_space}

    assert passing
    assert all((use.a in hot) != (use.b in hot) for use in passing)
    for use in passing:
        grommet, cover = (Catalogue.of(brief).part(key).spec for key in (use.grommet, use.part))
        assert grommet["inner_mm"] >= cover["outside_mm"]


def test_two_sheets_of_the_same_brief_agree():
    brief, appraisal = many_made(20)

    assert sleeve(brief, appraisal.circuits) == sleeve(many_brief(20), appraisal.circuits)
