"""The rules of the brute force have teeth: a good system with one number of one part spoilt is found out."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from itertools import count
from typing import Any

import pytest

from quoting.sizing.brief import read
from tests.quoting.sizing.selecting.every_system import best_system
from tests.quoting.sizing.selecting.judged import Judge, Paper, Placed
from tests.quoting.sizing.selecting.small_catalogues import Case, case_at


@lru_cache(maxsize=1)
def good() -> tuple[Case, Paper]:
    """The first case in which every role is wanted, its chargers are single ones, and a system meets it."""
    for number in count():
        case = case_at(number)
        judge = Judge(case)
        if judge.sources == ("engine", "mains", "solar") and case.needs.inverter is not None:
            best = best_system(judge, "price")
            if best is not None and "multi_charger" not in best:
                return case, best
    raise AssertionError


def spoilt(role: str, **spec: Any) -> list[str]:
    """What is wrong with the good system when the part of a role is another."""
    case, system = good()
    key = system[role].part
    catalogue = tuple(
        part.model_copy(update={"spec": {**part.spec, **spec}}) if part.key == key else part
        for part in case.brief.catalogue
    )
    return Judge(replace(case, brief=case.brief.model_copy(update={"catalogue": catalogue}))).wrong_with(system)


def test_the_good_system_has_nothing_wrong():
    case, system = good()

    assert Judge(case).wrong_with(system) == []


@pytest.mark.parametrize(("role", "spec", "fault"), [
    ("battery", {"capacity_ah": 1}, "bank capacity"),
    ("battery", {"max_discharge_a": 1}, "bank discharge"),
    ("battery", {"peak_a": 40, "max_discharge_a": 30}, "bank peak"),
    ("battery", {"max_charge_a": 0.5}, "bank takes less"),
    ("engine_charger", {"profiles": ["flooded"]}, "engine profile"),
    ("mains_charger", {"profiles": ["flooded"]}, "mains profile"),
    ("solar_controller", {"profiles": ["flooded"]}, "solar profile"),
    ("engine_charger", {"output_a": 5, "limit_steps_a": []}, "engine small"),
    ("mains_charger", {"output_a": 1}, "mains small"),
    ("solar_controller", {"max_voc_v": 20}, "array cold voltage"),
    ("solar_controller", {"start_margin_v": 15, "method": "mppt"}, "array hot voltage"),
    ("solar_controller", {"max_isc_a": 1}, "array current"),
    ("solar_controller", {"output_a": 1}, "array output"),
    ("inverter", {"continuous_w": 50}, "inverter small"),
    ("inverter", {"surge_w": 50, "continuous_w": 50, "continuous_va": 5000}, "inverter surge"),
    ("monitor", {"shunt_a": 20}, "monitor shunt"),
    ("monitor", {"max_v": 10}, "monitor voltage"),
    ("mains_charger", {"output_a": 150}, "inlet small"),
    ("residual", {"type": "ac"}, "residual"),
    ("residual", {"sensitivity_ma": 100}, "residual"),
])  # fmt: skip
def test_one_wrong_number_is_found(role, spec, fault):
    assert fault in spoilt(role, **spec)


@pytest.mark.parametrize(("role", "name", "fault"), [
    ("engine_charger", "input_nominal_v", "engine voltage"), ("engine_charger", "output_nominal_v", "engine voltage"),
    ("mains_charger", "output_nominal_v", "mains voltage"), ("inverter", "nominal_v", "inverter voltage"),
])  # fmt: skip
def test_a_part_of_the_other_voltage_is_found(role, name, fault):
    case, system = good()
    spec = Judge(case).specs[system[role].part]
    other = 36 - spec[name]
    beside = {"stop_below_v": 11.0 * other / 12} if name == "input_nominal_v" else {}
    beside |= {"cutoff_v": 10.5 * other / 12} if role == "inverter" else {}

    assert fault in spoilt(role, **{name: other}, **beside)


def test_the_wrong_number_and_the_wrong_place_are_found():
    case, system = good()
    judge, bank = Judge(case), system["battery"]
    most = judge.specs[bank.part]["max_parallel"]
    raw = case.brief.model_dump(mode="json")
    for position in raw["vehicle"]["positions"]:
        position["engine_space"] = True

    longer = {**system, "battery": Placed(bank.part, bank.count * 2, bank.series * 2)}
    fewer = {**system, "panel": Placed(system["panel"].part, 1)}
    wider = {**system, "battery": Placed(bank.part, bank.series * (most + 1), bank.series)}

    assert "bank voltage" in judge.wrong_with(longer)
    assert judge.wrong_with(wider) == ["bank parallel"]
    assert judge.wrong_with(fewer) == ["array small"]
    assert "bank engine_bay" in Judge(replace(case, brief=read(raw))).wrong_with(system)


def test_chargers_for_an_ecu_controlled_alternator_are_told_from_others():
    case, system = good()
    vehicle = case.brief.vehicle.model_copy(update={"alternator_control": "smart"})
    case = replace(case, brief=case.brief.model_copy(update={"vehicle": vehicle}))
    key = system["engine_charger"].part
    plain = tuple(
        p.model_copy(update={"spec": {**p.spec, "smart_alternator": False}}) if p.key == key else p
        for p in case.brief.catalogue
    )

    assert "engine voltage" in Judge(
        replace(case, brief=case.brief.model_copy(update={"catalogue": plain}))
    ).wrong_with(system)
