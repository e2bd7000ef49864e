"""The simulated battery of two wells against a library's, drawn on in bursts, rested, charged again (L)."""

from __future__ import annotations

import numpy as np
import pytest

from quoting.sizing.battery_wells import wells_through
from quoting.sizing.simulation.plant import Course, Plant
from quoting.sizing.simulation.run import simulate
from tests.reference import library

STATED = ((20.0, library.KINETIC_Q20), (10.0, library.KINETIC_Q10), (1.0, library.KINETIC_Q1))
STEP_H = 1 / 60


def theirs(asked_a: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Current, discharge positive, and state of charge, minute by minute. [A]"""
    return library.run_a(library.lead_acid(step_h=STEP_H), asked_a)


def ours(asked_a: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """The same of a bank at one volt, where a watt is an ampere, without losses and without a tail. [A]"""
    wells = wells_through(STATED)

    def one(value: float) -> np.ndarray:
        return np.array([value])

    plant = Plant(
        one(wells.capacity_ah), one(1e4), one(1e4), one(1), one(1e-3), 1.0, one(wells.available_ratio),
        one(wells.rate_per_h),
    )  # fmt: skip
    load, offer = np.maximum(asked_a, 0)[:, None], np.maximum(-asked_a, 0)[:, None]
    none = np.zeros_like(load)
    out = simulate(plant, Course(STEP_H, load, load, (), none, none, offer, none + 1, none + 1, none))
    return (out.discharge_w - out.charge_w)[:, 0], out.charge_ratio[:, 0]


@pytest.mark.parametrize(("amps", "on_min", "off_min"), [(58.12, 30, 60), (100.0, 10, 30), (20.0, 120, 240)])
def test_what_rest_gives_back_is_what_the_library_s_gives_back(amps, on_min, off_min):
    asked = np.tile(np.concatenate([np.full(on_min, amps), np.zeros(off_min)]), 12)

    current, charge = ours(asked)
    their_current, their_charge = theirs(asked)

    def bursts_ah(drawn):
        return drawn.reshape(12, -1).sum(axis=1) * STEP_H

    assert np.cumsum(bursts_ah(current)) == pytest.approx(np.cumsum(bursts_ah(their_current)), rel=1e-4)
    assert charge == pytest.approx(their_charge, abs=1e-4)


def test_what_it_takes_near_full_is_what_the_library_s_takes():
    """Half an hour's burst, then 30 A offered for four hours: the available well is full long before the battery is."""
    asked = np.concatenate([np.full(30, 58.12), np.full(240, -30.0)])

    current, charge = ours(asked)
    their_current, their_charge = theirs(asked)

    assert current[60] == -30
    assert -2 < current[90] < -1
    assert current == pytest.approx(their_current, abs=0.01)
    assert charge == pytest.approx(their_charge, abs=1e-4)
