"""Hand-made stretches and plants for the tests of the outlook: round numbers that can be followed on paper."""

from __future__ import annotations

from typing import Any

import numpy as np

from quoting.sizing.loads import Day
from quoting.sizing.simulation.of_system import Stretch
from quoting.sizing.simulation.plant import Plant, ShedGroup
from tests.quoting.sizing.wagon import wagon

EMPTY_DAY = Day(lines=(), ambient_c=(20.0,) * 24, inverter_on=(0.0,) * 24)


def column(value: float) -> np.ndarray:
    return np.array([float(value)])


def plant(energy_wh: float = 1200.0, **changes: Any) -> Plant:
    """A battery without losses, limits, wells or voltage; ``changes`` are numbers or the Plant's own fields."""
    made: dict[str, Any] = {
        "energy_wh": energy_wh, "charge_limit_w": 1e6, "discharge_limit_w": 1e6, "charge_efficiency_ratio": 1.0,
        "tail_h": 1e-3, "available_ratio": 1.0, "well_rate_per_h": 1.0, **changes,
    }  # fmt: skip
    numbers = {k: column(v) if isinstance(v, int | float) else v for k, v in made.items() if k != "start_ratio"}
    return Plant(nominal_v=12.0, **numbers, start_ratio=made.get("start_ratio", 1.0))


def stretch(days: int = 1, draws: int = 1, index: int = 0, **hourly_w: Any) -> Stretch:
    """A stop of equal hours: ``load``, ``essential``, ``engine``, ``mains``, ``sun`` in watts, a number or 24 of them;
    ``shed`` a tuple of them; ``sun`` may have the whole shape ``(days, 24, draws)``."""

    def hours(name: str) -> np.ndarray:
        return np.broadcast_to(np.asarray(hourly_w.get(name, 0.0), dtype=float), (24,)).copy()

    sun = np.asarray(hourly_w.get("sun", 0.0), dtype=float)
    whole = sun if sun.ndim == 3 else np.broadcast_to(sun, (24,))[None, :, None] * np.ones((days, 1, draws))
    return Stretch(
        index=index,
        stop=wagon().trip[0],
        day=EMPTY_DAY,
        days=whole.shape[0],
        load_w=hours("load"),
        essential_w=hours("essential"),
        shed_w=tuple(np.broadcast_to(np.asarray(w, dtype=float), (24,)).copy() for w in hourly_w.get("shed", ())),
        engine_w=hours("engine"),
        mains_w=hours("mains"),
        sun_w=whole,
        hot_wh_day=0.0,
        charge_share=np.ones(24),
        cell_c=25.0,
        resistance_ratio=np.ones(24),
        peak_w=hours("load"),
        cutout_v=hours("cutout"),
    )


def group(below_ratio: float, *keys: str) -> ShedGroup:
    return ShedGroup(below_ratio=below_ratio, restore_ratio=below_ratio + 0.05, keys=keys)
