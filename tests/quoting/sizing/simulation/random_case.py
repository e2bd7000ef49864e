"""Plants and courses from a seed, every feature on or off."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from quoting.sizing.battery import OPEN_CIRCUIT
from quoting.sizing.simulation.plant import Course, Plant, ShedGroup


@dataclass(frozen=True)
class Features:
    """What a case has."""

    wells: bool = False
    volts: bool = False
    protection: bool = False
    backstop: bool = False
    sheds: bool = False
    drift: bool = False
    cold: bool = False
    alike: bool = False
    """All members have the same plant."""
    roomy: bool = False
    """Batteries that are seldom near a threshold, full to begin with."""


def one(value: float) -> np.ndarray:
    return np.array([float(value)])


def flat(steps: int, value: float) -> np.ndarray:
    return np.full((steps, 1), float(value))


def make(seed: int, features: Features, members: int = 4, steps: int = 60, step_h: float = 1.0) -> tuple[Plant, Course]:
    """Batteries too small now and then, so that everything that can happen does."""
    rng = np.random.default_rng(seed)
    width = 1 if features.alike else members
    chemistry = str(rng.choice(["lifepo4", "agm"]))
    cells = 4 if chemistry == "lifepo4" else 6
    plant = Plant(
        energy_wh=rng.uniform(300, 3000, width) * (4 if features.roomy else 1),
        charge_limit_w=rng.uniform(0, 500, width),
        discharge_limit_w=rng.uniform(50, 500, width),
        charge_efficiency_ratio=rng.uniform(0.7, 1, width),
        tail_h=rng.uniform(0.02, 2, width),
        nominal_v=3.2 * 4 if chemistry == "lifepo4" else 12.0,
        available_ratio=rng.uniform(0.2, 0.9, width) if features.wells else one(1),
        well_rate_per_h=rng.uniform(0.05, 2, width),
        open_circuit=tuple((s, v * cells) for s, v in OPEN_CIRCUIT[chemistry]) if features.volts else (),
        resistance_ohm=rng.uniform(0.002, 0.03, width) if features.volts else None,
        cutoff_v=float(rng.uniform(10.5, 12)) if features.protection else 0.0,
        backstop_v=float(rng.uniform(11.5, 12.5)) if features.backstop else 0.0,
        backstop_restore_v=12.6 if features.backstop else 0.0,
        backstop_delay_h=float(rng.choice([0.0, 0.03, 0.6, 2.0])),
        monitor_drift_per_day=float(rng.uniform(0.005, 0.2)) if features.drift else 0.0,
        sheds=(ShedGroup(0.5123, 0.5711), ShedGroup(0.3017, 0.4213)) if features.sheds else (),
        start_ratio=1.0 if features.roomy else float(rng.choice([1.0, 0.0, rng.uniform(0.1, 0.9)])),
    )
    hour = np.arange(steps) * step_h % 24
    by_day = np.maximum(0.0, np.sin((hour - 6) / 12 * np.pi))[:, None]
    load = rng.uniform(5, 200, (steps, 1)) * (rng.random((steps, 1)) < 0.8)
    course = Course(
        step_h=step_h,
        load_w=load,
        essential_w=load * 0.2,
        shed_w=(load * 0.3, load * rng.uniform(0, 0.5, (steps, members))) if features.sheds else (),
        engine_w=flat(steps, 250) * (rng.random((steps, 1)) < 0.1),
        mains_w=flat(steps, 300) * (rng.random((steps, 1)) < 0.05),
        sun_w=by_day * rng.uniform(0, 600, (steps, members)),
        charge_share=rng.choice([0.0, 0.5, 1.0], (steps, 1)) if features.cold else flat(steps, 1),
        resistance_ratio=rng.uniform(1, 2, (steps, 1)) if features.cold else flat(steps, 1),
        peak_w=load * rng.uniform(1, 3, (steps, 1)),
    )
    return plant, course
