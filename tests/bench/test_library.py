"""A candidate's year of hours in our simulation against the same in a general-purpose library, as a ratio in one run.

Run with ``pytest -s tests/bench -p no:cacheprovider``; CI does not. No seconds are asserted.
"""

from __future__ import annotations

import numpy as np

from quoting.sizing.simulation.plant import Course, Plant
from quoting.sizing.simulation.run import simulate
from tests.bench.test_appraise import median_s
from tests.reference import library
from tests.reference.test_year_battery import HOURS, asked, wells

CANDIDATES = 1000
FEW = ("charge_ratio",)
"""What is written down of a year: the library keeps nothing but its last state."""


def a_year_of(candidates: int, width: float, constant: float) -> tuple[Plant, Course]:
    """So many sizes of a battery, without limits, in the reference year."""
    load_w, sun_w = asked(560.0)
    one, none = np.ones((HOURS, 1)), np.zeros((HOURS, 1))
    few, many = [np.array([x]) for x in (1e5, 0.99, 0.05, width, constant)], np.linspace(600, 2400, candidates)
    plant = Plant(many, few[0], few[0], few[1], few[2], 12.0, few[3], few[4])
    course = Course(1.0, load_w[:, None], none, (), none, none, sun_w[:, None], one, one, none)
    return plant, course


def test_a_candidate_year_against_the_library() -> None:
    load_w, sun_w = asked(560.0)
    lead, lithium = library.lead_acid(by="current"), library.lithium()
    theirs = {
        "lead-acid, two wells": median_s(lambda: library.run_a(lead, (load_w - sun_w) / 12), 3),
        "lithium, one well": median_s(lambda: library.run_w(lithium, load_w - sun_w), 3),
    }
    kinds = {"lead-acid, two wells": wells(), "lithium, one well": (1.0, 1.0)}
    print(f"\na year of {HOURS} hours, per candidate; ours {CANDIDATES} side by side and alone")
    for name, (width, constant) in kinds.items():
        many, alone = a_year_of(CANDIDATES, width, constant), a_year_of(1, width, constant)
        ours = median_s(lambda pair=many: simulate(*pair, record=FEW), 3) / CANDIDATES
        single = median_s(lambda pair=alone: simulate(*pair, record=FEW), 3)
        print(f"  {name}: the library takes {theirs[name] / ours:8.0f} x ours side by side,", end=" ")
        print(f"{theirs[name] / single:6.2f} x ours alone")
        assert 0 < ours < single
