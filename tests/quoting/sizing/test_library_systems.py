"""What the starter library can make: a whole system for each voltage, chemistry and demand that is meant.

Voltages and chemistries are those the sizing knows. What is not meant is named with its reason, and tested too.
"""

from __future__ import annotations

import itertools

import pytest

from catalog.kinds.capabilities import CHEMISTRIES
from quoting.sizing.appraisal import Appraisal
from quoting.sizing.appraise import appraise
from quoting.sizing.brief import Brief
from tests.quoting.sizing.library_case import brief

VOLTAGES = (12, 24)
MEANT = list(itertools.product(VOLTAGES, [code for code, _ in CHEMISTRIES], ("small", "medium", "large")))
ROLES = {"battery", "monitor", "switching"}


def in_the_sun(asked: Brief) -> Brief:
    """The same trip without shade: with it the roof has room for a hundredth less than this demand asks."""
    return asked.model_copy(update={"trip": tuple(s.model_copy(update={"shade_ratio": 0.0}) for s in asked.trip)})


def appraised(system_v: int, chemistry: str, demand: str) -> Appraisal:
    return appraise(brief(system_v, chemistry, demand))


@pytest.mark.parametrize(("system_v", "chemistry", "demand"), MEANT)
def test_library_makes_a_whole_system(system_v: int, chemistry: str, demand: str) -> None:
    made = appraised(system_v, chemistry, demand)

    assert made.shortfalls == ()
    assert [f.code for f in made.findings if f.level == "danger"] == []
    roles = {c.role for c in made.chosen}
    assert roles >= ROLES
    assert "panel" in roles
    assert ("inverter" in roles) == (demand != "small")
    assert ("converter" in roles) == (system_v == 24 and demand != "small")  # LED strips and fans of 12 V on 24 V
    bank = next(c for c in made.chosen if c.role == "battery")
    assert bank.quantity == bank.series * bank.parallel
    assert made.circuits


@pytest.mark.parametrize("system_v", VOLTAGES)
def test_more_demand_never_takes_a_lighter_or_cheaper_bank(system_v: int) -> None:
    for chemistry, _words in CHEMISTRIES:
        masses = [
            next(c.mass_kg for c in appraised(system_v, chemistry, demand).chosen if c.role == "battery")
            for demand in ("small", "medium", "large")
        ]
        assert masses == sorted(masses), chemistry


def test_lead_banks_weigh_several_times_what_lithium_does() -> None:
    """Lead-acid has a third of the energy by mass, and half of it may be used: four to six times the mass (C)."""
    for system_v in VOLTAGES:
        mass = {
            chemistry: next(c.mass_kg for c in appraised(system_v, chemistry, "medium").chosen if c.role == "battery")
            for chemistry, _words in CHEMISTRIES
        }
        for chemistry in ("agm", "gel", "flooded"):
            assert 3 < mass[chemistry] / mass["lifepo4"] < 7, (system_v, mass)


@pytest.mark.parametrize("chemistry", [code for code, _ in CHEMISTRIES])
def test_nearly_three_kilovolt_amperes_are_for_24_v(chemistry: str) -> None:
    """At 12 V they take over 300 A; no conductor of the tables carries what would have to be protected."""
    at_12, at_24 = (appraise(in_the_sun(brief(v, chemistry, "kitchen"))) for v in VOLTAGES)

    assert {s.need.code for s in at_12.shortfalls} >= {"inverting"}
    assert at_24.shortfalls == ()
