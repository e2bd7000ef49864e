"""The bill: everything the wiring takes, by rule, in whole quantities; nothing dropped silently."""

from __future__ import annotations

import math
from collections import defaultdict
from typing import Any

import pytest

from catalog.kinds.capabilities import Conducting, Holding, Protecting, Terminating
from quoting.sizing.appraisal import BillLine
from quoting.sizing.bill import GROUPS, make_bill
from quoting.sizing.choice import choose
from quoting.sizing.circuits import Wiring, design_circuits
from quoting.sizing.parts import Catalogue
from quoting.wording.rules import RULE
from tests.quoting.sizing.wiring_case import battery, brief_of, case, loads, needs, parts_of, without


def billed(raw: dict[str, Any] | None = None, **change: Any) -> tuple[tuple[BillLine, ...], Wiring]:
    brief, asked = brief_of(raw), needs(**change)
    choice = choose(brief, asked)
    wiring = design_circuits(brief, choice, loads(brief), asked)
    return make_bill(brief, choice, wiring), wiring


def quantities(lines: tuple[BillLine, ...], rule: str) -> dict[str, float]:
    return {x.part: x.quantity for x in lines if x.rule == rule}


def test_every_device_of_the_wiring_is_on_the_bill_once() -> None:
    lines, wiring = billed()
    wanted: dict[str, float] = defaultdict(float)
    for c in wiring.circuits:
        for d in c.devices:
            if d.what != "channel":
                wanted[d.part] += 1

    got = quantities(lines, "protects") | quantities(lines, "isolator")
    assert got == dict(wanted)


def test_every_fuse_has_a_way_in_a_holder_of_its_series_that_takes_it() -> None:
    brief = brief_of()
    lines, wiring = billed()
    parts = Catalogue(brief)
    ways: dict[str, int] = defaultdict(int)
    for key, n in quantities(lines, "holder").items():
        can = parts.can(key, Holding)
        ways[can.series] += int(n) * can.ways
    fuses: dict[str, int] = defaultdict(int)
    for c in wiring.circuits:
        for d in c.devices:
            if d.what == "fuse":
                fuses[parts.can(d.part, Protecting).series] += 1

    assert fuses
    assert all(ways[series] >= count for series, count in fuses.items())


def test_cable_is_bought_by_size_and_colour_with_its_spare() -> None:
    lines, wiring = billed()
    runs: dict[float, float] = defaultdict(float)
    for c in wiring.circuits:
        if c.role != "negative_bond":
            runs[c.area_mm2] += c.run_m
    positive, negative = quantities(lines, "cable_positive"), quantities(lines, "cable_negative")

    for area, run_m in runs.items():
        asked_m = math.ceil(round(run_m * 1.1 * 10, 6)) / 10
        assert positive[f"cable_{area:g}_red"] == pytest.approx(asked_m)
        assert negative[f"cable_{area:g}_black"] == pytest.approx(asked_m)


def test_terminals_match_area_and_the_busbars_stud() -> None:
    brief = brief_of()
    lines, wiring = billed()
    parts = Catalogue(brief)
    areas = {c.tag: c.area_mm2 for c in wiring.circuits}
    ends: dict[float, float] = defaultdict(float)
    for line in lines:
        if line.rule == "terminal":
            can = parts.can(line.part, Terminating)
            ends[can.area_mm2] += line.quantity
            assert {areas[tag] for tag in line.circuits} == {can.area_mm2}
    # two ends of each conductor, two for each device or switched output in the positive, two at the shunt
    wanted: dict[float, float] = defaultdict(float)
    for c in wiring.circuits:
        shunt = 2 if c.role == "battery_main" and c.target == "W1" else 0
        wanted[c.area_mm2] += 2 if c.role == "negative_bond" else 4 + 2 * len(c.devices) + shunt

    assert dict(ends) == dict(wanted)
    main = [x for x in lines if x.rule == "terminal" and x.part == "lug_95_8"]
    assert sum(x.quantity for x in main) >= 4


def test_mass_is_the_sum_of_the_parts() -> None:
    lines, _ = billed()
    parts = parts_of(brief_of())

    for line in lines:
        if line.part:
            assert line.mass_kg == pytest.approx(parts[line.part].mass_kg * line.quantity, abs=0.001)


def test_labour_follows_the_work() -> None:
    lines, wiring = billed()
    labour = {x.labour: (x.quantity, x.unit) for x in lines if x.labour}
    laid = sum(2 * c.run_m for c in wiring.circuits if c.role != "negative_bond")
    laid += sum(c.run_m for c in wiring.circuits if c.role == "negative_bond")

    assert labour["fit_panel"] == (2, "each")
    assert labour["fit_charger"] == (2, "each")
    assert labour["fit_solar_controller"] == (1, "each")
    assert labour["run_cable_m"] == (pytest.approx(laid, abs=0.1), "m")
    assert labour["terminate"][0] + labour["crimp_lug"][0] == sum(x.quantity for x in lines if x.rule == "terminal")
    assert labour["test_circuit"] == labour["label_circuit"] == (len(wiring.circuits), "each")
    assert labour["licensed_ac"] == (1, "job")
    assert labour["survey"] == labour["test_and_handover"] == (1, "job")


def test_no_ac_side_no_licensed_work() -> None:
    lines, _ = billed(mains_a=None, inverter=None)

    assert not [x for x in lines if x.labour == "licensed_ac" or x.group == "ac"]


def test_batteries_in_series_get_their_links() -> None:
    raw = without(case(), "battery")
    raw["vehicle"] = {**raw["vehicle"], "nominal_v": 24, "hot_idle_v": 27.0}
    raw["wishes"] = {"system_v": 24}
    raw["catalogue"].append(battery())
    lines, wiring = billed(raw, engine_a=None, mains_a=None, solar=None, inverter=None)
    main = next(c for c in wiring.circuits if c.role == "battery_main")

    assert quantities(lines, "need_storage") == {"larkham_100": 4}
    same = sum(c.run_m for c in wiring.circuits if c.conductor == main.conductor)
    assert quantities(lines, "cable_positive")[main.conductor] > same


def test_a_longer_run_buys_more_cable_and_more_hours() -> None:
    raw = case()
    longer = {**raw, "vehicle": {**raw["vehicle"], "runs": [
        {**raw["vehicle"]["runs"][0], "length_m": 6.0}, *raw["vehicle"]["runs"][1:]]}}  # fmt: skip
    short_lines, _ = billed(raw)
    long_lines, _ = billed(longer)

    def metres(lines: tuple[BillLine, ...]) -> float:
        return sum(x.quantity for x in lines if x.unit == "m" and x.group == "conductors")

    assert metres(long_lines) > metres(short_lines)
    assert sum(x.mass_kg for x in long_lines) > sum(x.mass_kg for x in short_lines)


def test_groups_are_in_order_and_every_rule_has_words() -> None:
    lines, wiring = billed()
    order = [GROUPS.index(x.group) for x in lines]

    assert order == sorted(order)
    assert {x.rule for x in lines} <= set(RULE)
    assert {c.decided_by for c in wiring.circuits} <= set(RULE)


def test_conductors_of_the_bill_are_conductors() -> None:
    brief = brief_of()
    lines, _ = billed()
    parts = Catalogue(brief)

    for line in lines:
        if line.rule == "cable_negative":
            assert parts.can(line.part, Conducting).colour == "black"


def test_a_board_has_a_bar_for_its_negatives_beside_the_positive_one() -> None:
    lines, wiring = billed()
    boards = [n for n in wiring.nodes if n.what == "board"]
    bars = [n for n in wiring.nodes if n.what == "busbar"]

    bought = sum(line.quantity for line in lines if line.rule == "busbar")

    assert bought == 2 * len(boards) + len(bars)


def test_a_busbar_is_fitted_as_a_device_and_only_boards_are_built() -> None:
    lines, wiring = billed()
    labour = {x.labour: x.quantity for x in lines if x.labour}

    assert labour["fit_board"] == sum(n.what == "board" for n in wiring.nodes) == 2
