"""The trip simulation of one member, written to be read: one loop, plain numbers, no arrays.

The vectorised one must give the same. It takes its formulas from elsewhere where it can: the wells step by
``battery.TwoWells``, the bounds of a step's flow from two trial steps (the wells are straight in the flow), the curve
by ``capabilities.at``.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

from catalog.kinds.capabilities import at
from quoting.sizing.battery import TwoWells
from quoting.sizing.simulation.plant import Course, Plant

FULL = 0.99


@dataclass
class Line:
    """What became of one step."""

    charge_ratio: float
    given_w: float
    unserved_w: float
    dark_w: float
    shed_w: float
    charge_w: float
    discharge_w: float
    loss_w: float
    taken_w: float
    off: tuple[bool, ...]
    volts_v: float | None = None
    opened: bool = False
    let_go: bool = False
    monitor_error: float = 0.0


@dataclass
class Battery:
    """One battery's state, its charge in watt-hours."""

    energy: float
    charge: float
    available: float
    share: float
    rate: float
    wells: TwoWells | None = field(init=False)

    def __post_init__(self) -> None:
        self.wells = TwoWells(self.energy, self.share, self.rate) if self.share < 1 else None

    @property
    def ratio(self) -> float:
        return self.charge / self.energy if self.energy else 0.0

    @property
    def level(self) -> float:
        return self.available / (self.energy * self.share) if self.energy else 0.0

    def _available_after(self, drawn_w: float, h: float) -> float:
        assert self.wells
        return self.wells.after(self.available, self.charge - self.available, drawn_w, h)[0]

    def most_out(self, h: float) -> float:
        """Power that just empties what it can give in the step."""
        if not self.wells:
            return self.charge / h
        still = self._available_after(0.0, h)
        return still / (still - self._available_after(1.0, h))

    def most_in(self, h: float) -> float:
        """Power, as stored, that just fills what it can take in the step."""
        if not self.wells:
            return (self.energy - self.charge) / h
        still, brim = self._available_after(0.0, h), self.energy * self.share
        return (brim - still) / (still - self._available_after(1.0, h))

    def move(self, stored_w: float, h: float) -> None:
        if self.wells:
            self.available = self._available_after(-stored_w, h)
        self.charge += stored_w * h
        if not self.wells:
            self.available = self.charge


def simulate_one(plant: Plant, course: Course, member: int) -> list[Line]:
    """One member of a plant over a course."""

    def of(array):
        return float(array[member if len(array) > 1 else 0])

    h = course.step_h
    battery = Battery(
        of(plant.energy_wh),
        plant.start_ratio * of(plant.energy_wh),
        plant.start_ratio * of(plant.energy_wh) * of(plant.available_ratio),
        of(plant.available_ratio),
        of(plant.well_rate_per_h),
    )
    efficiency, tail = of(plant.charge_efficiency_ratio), of(plant.tail_h)
    knows_volts = bool(plant.open_circuit) and plant.resistance_ohm is not None
    off_by_charge = [False] * len(plant.sheds)
    error, under_h, let_go = 0.0, 0.0, False
    lines = []
    for t in range(course.load_w.shape[0]):
        load, offered = of(course.load_w[t]), of(course.engine_w[t]) + of(course.mains_w[t]) + of(course.sun_w[t])

        reading = battery.ratio + error
        for g, group in enumerate(plant.sheds):
            off_by_charge[g] = reading < (min(FULL, group.restore_ratio) if off_by_charge[g] else group.below_ratio)
        off = tuple(x or let_go for x in off_by_charge)
        shed = math.fsum(of(w[t]) for w, gone in zip(course.shed_w, off, strict=True) if gone)
        wanted = load - shed

        peak = max(of(course.peak_w[t]), load) - shed - offered
        ohm = of(plant.resistance_ohm) * of(course.resistance_ratio[t]) if knows_volts else 0.0
        opened = False
        if knows_volts and plant.cutoff_v > 0:
            begins_v = at(plant.open_circuit, battery.level) - ohm * max(0.0, peak) / plant.nominal_v
            opened = begins_v < plant.cutoff_v

        charge = discharge = 0.0
        if offered >= wanted:
            room_wh = battery.energy - battery.charge
            tail_w = room_wh * (1 - math.exp(-h / tail)) / h / efficiency
            limit_w = of(plant.charge_limit_w) * of(course.charge_share[t])
            charge = max(0.0, min(offered - wanted, limit_w, tail_w, battery.most_in(h) / efficiency))
        elif not opened:
            discharge = min(wanted - offered, of(plant.discharge_limit_w), battery.most_out(h))
        battery.move(charge * efficiency - discharge, h)
        given = wanted if offered >= wanted else offered + discharge
        unserved = wanted - given if wanted - given > 1e-9 * max(1.0, float(course.load_w.max())) else 0.0
        given = wanted - unserved
        dark = unserved * of(course.essential_w[t]) / wanted if wanted > 0 else 0.0

        volts = None
        was_let_go = let_go
        if knows_volts:
            net = max(peak, -charge)
            volts = at(plant.open_circuit, battery.level) - ohm * net / plant.nominal_v
            if plant.sheds and plant.backstop_v > 0:
                under_h = under_h + h if volts < plant.backstop_v else 0.0
                if let_go and volts >= plant.backstop_restore_v:
                    let_go = False
                if volts < plant.backstop_v and under_h >= plant.backstop_delay_h - 1e-9:
                    let_go = True
        if plant.monitor_drift_per_day > 0:
            error = 0.0 if battery.ratio >= FULL else error + plant.monitor_drift_per_day * h / 24
        lines.append(
            Line(
                battery.ratio,
                given,
                unserved,
                dark,
                shed,
                charge,
                discharge,
                charge * (1 - efficiency),
                given + charge - discharge,
                off,
                volts,
                opened,
                was_let_go,
                error,
            )
        )
    return lines
