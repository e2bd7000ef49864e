"""The search for switched outputs against every way there is, and what a person laid."""

from itertools import permutations, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quoting.sizing.brief_wiring import LaidOut
from quoting.sizing.outputs_fit import Modules, Want, place_all
from quoting.sizing.outputs_laid import lay_out

QUICK = settings(max_examples=150, deadline=None)
AMPS = st.sampled_from([1.0, 2.0, 3.0, 4.0, 5.0, 6.5, 8.0])


@st.composite
def cases(draw: st.DrawFn) -> tuple[list[Want], Modules]:
    limits = tuple(draw(st.lists(st.sampled_from([2.0, 5.0, 10.0]), min_size=1, max_size=3)))
    count = draw(st.integers(1, 2))
    modules = Modules(limits, draw(st.floats(max(limits), sum(limits) + 0.5)), count)
    supplies = st.sampled_from(["", "", "U5"])
    wants = [
        Want(f"c{i}", f"Circuit {i}", amps, draw(st.sampled_from([0.0, amps * 1.25])), draw(supplies))
        for i, amps in enumerate(draw(st.lists(AMPS, min_size=1, max_size=5)))
    ]
    return wants, modules


def fits(wants: list[Want], modules: Modules, places: dict[str, tuple[int, int]]) -> bool:
    """The rules, written for reading."""
    if len(set(places.values())) != len(places):
        return False
    for m in range(modules.count):
        on = [w for w in wants if places[w.key][0] == m]
        if sum(w.current_a for w in on) > modules.total_a + 1e-9 or len({w.supply for w in on}) > 1:
            return False
    return all(
        modules.limits_a[places[w.key][1]] + 1e-9 >= max(w.current_a, w.device_a) and places[w.key][0] < modules.count
        for w in wants
    )


def by_trying(wants: list[Want], modules: Modules) -> bool:
    """Whether any placement fits: every one is tried."""
    outputs = list(product(range(modules.count), range(len(modules.limits_a))))
    return any(
        fits(wants, modules, {w.key: place for w, place in zip(wants, way, strict=True)})
        for way in permutations(outputs, len(wants))
    )


@given(cases())
@QUICK
def test_a_placement_is_found_exactly_where_there_is_one(case: tuple[list[Want], Modules]) -> None:
    wants, modules = case

    found = place_all(wants, modules)

    assert (found is not None) == by_trying(wants, modules)
    assert found is None or (set(found) == {w.key for w in wants} and fits(wants, modules, found))


@given(cases(), st.lists(st.tuples(st.integers(0, 4), st.integers(1, 3), st.integers(1, 3)), max_size=4))
@QUICK
def test_a_layout_never_breaks_a_limit_and_never_costs_a_circuit_its_place(
    case: tuple[list[Want], Modules], given_places: list[tuple[int, int, int]]
) -> None:
    wants, modules = case
    layout = [LaidOut(circuit=f"c{i}", module=m, channel=c) for i, m, c in {x[0]: x for x in given_places}.values()]

    bare, laid = lay_out(wants, modules), lay_out(wants, modules, layout)

    on = [w for w in wants if w.key in laid.places]
    assert fits(on, modules, dict(laid.places))
    assert set(laid.places) == set(bare.places)  # what a person lays costs no circuit its output
    assert {w.key for w in laid.unplaced} == {w.key for w in wants} - set(laid.places)
    for one in layout:
        kept = one.circuit in laid.by_hand
        assert kept == (one.circuit not in {r.circuit for r in laid.refused})
        if kept:
            assert laid.places[one.circuit] == (one.module - 1, one.channel - 1)


def test_first_fit_fails_where_the_search_finds_a_way() -> None:
    """6 + 5 + 4 + 3 + 2 A on two modules of 10 A: first fit puts 6 and 4 apart too late."""
    wants = [Want(f"c{i}", "", amps) for i, amps in enumerate((4.0, 4.0, 3.0, 3.0, 3.0, 3.0))]
    modules = Modules((5.0, 5.0, 5.0), 10.0, 2)

    found = place_all(wants, modules)

    assert found is not None
    assert fits(wants, modules, found)
    sums = [sum(w.current_a for w in wants if found[w.key][0] == m) for m in (0, 1)]
    assert sums == [10.0, 10.0]  # the only way: 4 + 3 + 3 twice


PUMP, FRIDGE = Want("pump", "Water pump", 12.4, 15.0), Want("fridge", "Refrigerator", 4.0, 5.0)
LAMP, FAN = Want("lamp", "Lamps", 2.0, 3.0), Want("fan", "Fan", 3.0, 5.0, "converter 1")
MODULES = Modules((15.0, 10.0, 5.0), 18.0, 2)


@pytest.mark.parametrize(
    ("circuit", "module", "channel", "code", "said"),
    [
        ("pump", 1, 2, "over_output", {"limit_a": 10.0, "current_a": 12.4, "over_a": 2.4}),
        ("pump", 3, 1, "no_such_output", {"modules": 2, "outputs": 3}),
        ("pump", 1, 4, "no_such_output", {"modules": 2, "outputs": 3}),
        ("gone", 1, 1, "no_such_circuit", {}),
        ("stereo", 1, 1, "hard_wired", {}),
        ("fan", 1, 2, "other_supply", {"other": "Refrigerator"}),
    ],
)
def test_a_place_that_does_not_fit_is_refused_with_numbers(circuit, module, channel, code, said) -> None:
    layout = [LaidOut(circuit="fridge", module=1, channel=3), LaidOut(circuit=circuit, module=module, channel=channel)]

    laid = lay_out([PUMP, FRIDGE, LAMP, FAN], MODULES, layout, {"stereo": "Stereo"})

    assert [(r.circuit, r.code) for r in laid.refused] == [(circuit, code)]
    assert said.items() <= dict(laid.refused[0].params).items()
    assert laid.by_hand == {"fridge"}


def test_the_device_before_an_output_that_does_not_protect_is_within_its_limit() -> None:
    laid = lay_out([Want("pump", "Pump", 9.0, 15.0)], MODULES, [LaidOut(circuit="pump", module=1, channel=2)])

    assert [(r.code, r.params["over_a"]) for r in laid.refused] == [("device_over_output", 5.0)]
    assert laid.places["pump"] == (0, 0)


def test_a_module_is_not_filled_over_its_whole() -> None:
    wants = [Want("a", "A", 10.0), Want("b", "B", 9.0)]
    layout = [LaidOut(circuit="a", module=1, channel=1), LaidOut(circuit="b", module=1, channel=2)]

    laid = lay_out(wants, MODULES, layout)

    assert [(r.circuit, r.code, r.params["over_a"]) for r in laid.refused] == [("b", "over_module", 1.0)]
    assert laid.places == {"a": (0, 0), "b": (1, 1)}


def test_a_place_that_leaves_another_circuit_none_is_refused_and_names_it() -> None:
    wants = [Want("big", "Compressor", 14.0), Want("small", "Lamps", 2.0)]

    laid = lay_out(wants, Modules((15.0, 5.0), 30.0, 1), [LaidOut(circuit="small", module=1, channel=1)])

    assert [(r.code, r.params["other"], r.params["other_a"]) for r in laid.refused] == [
        ("leaves_no_place", "Compressor", 14.0)
    ]
    assert laid.places == {"big": (0, 0), "small": (0, 1)}


def test_where_not_all_can_be_placed_the_largest_are_left_out() -> None:
    wants = [Want("big", "Compressor", 16.0), Want("a", "A", 9.0), Want("b", "B", 9.0), Want("c", "C", 9.0)]

    laid = lay_out(wants, Modules((10.0, 10.0), 18.0, 1))

    assert [w.key for w in laid.unplaced] == ["big", "c"]
    assert set(laid.places) == {"a", "b"}


def test_sixty_circuits_are_placed_and_where_a_module_lacks_as_many_as_can_be() -> None:
    limits = (25.0, 25.0, 15.0, 15.0, 10.0, 10.0, 10.0, 10.0)
    wants = [Want(f"c{i:02}", f"C{i}", 2.0 + (i * 7 % 23) / 2) for i in range(60)]

    found = place_all(wants, Modules(limits, 70.0, 8))
    laid = lay_out(wants, Modules(limits, 70.0, 7))

    assert found is not None
    assert fits(wants, Modules(limits, 70.0, 8), found)
    assert len(laid.places) == 56
    assert len(laid.unplaced) == 4
