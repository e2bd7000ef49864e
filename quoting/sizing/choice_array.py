"""Arrays of panels that a controller takes: strings, voltages hot and cold, currents, the roof."""

from __future__ import annotations

import math
from dataclasses import dataclass
from decimal import Decimal

from catalog.kinds.capabilities import Panel, SolarControl, at
from quoting.sizing.appraisal import Chosen
from quoting.sizing.brief import Brief
from quoting.sizing.kept import Settled
from quoting.sizing.needs import SolarNeed
from quoting.sizing.packing import most_on
from quoting.sizing.parts import Able, rating_of
from quoting.sizing.shade import left_of_one
from quoting.sizing.sun import asked_v, string_v

CHARGE_V_PER_12 = 13.2
"""Mean voltage of a battery while it charges, per 12 V. [V] C."""

MET = 1 - 1e-9
"""Share of what is asked that counts as all of it."""

STC_C = 25.0
"""Cell temperature of standard test conditions. [°C] IEC 61215."""


@dataclass(frozen=True, slots=True)
class Array:
    """Panels on one controller: ``series`` in a string, ``parallel`` strings."""

    panel: Able[Panel]
    series: int
    parallel: int

    @property
    def count(self) -> int:
        return self.series * self.parallel

    @property
    def power_w(self) -> float:
        return self.panel.can.power_w * self.count

    @property
    def cost(self) -> Decimal:
        return self.panel.cost * self.count


def array_output_a(array: Array, can: SolarControl, system_v: int) -> float:
    """Current into the battery at full sun. [A]"""
    if can.method == "pwm":
        return array.panel.can.imp_a * array.parallel
    return array.power_w * can.efficiency_ratio / (CHARGE_V_PER_12 * system_v / 12)


def array_gives_w(array: Array, can: SolarControl, system_v: int) -> float:
    """Array power that reaches the battery: all of it through MPPT, current at battery voltage through PWM. [W]"""
    if can.method == "pwm":
        return min(array.panel.can.imp_a * array.parallel * CHARGE_V_PER_12 * system_v / 12, array.power_w)
    return array.power_w


def cold_voc_v(panel: Panel, series: int, cold_c: float) -> float:
    """Open-circuit voltage of a string on the coldest morning. [V] NEC 690.7, by the maker's coefficient."""
    return series * panel.voc_v * (1 + panel.voc_per_k * (cold_c - STC_C))


def meets_ratio(array: Array, can: SolarControl, need: SolarNeed, brief: Brief) -> float:
    """What an array gives over what is asked, shade counted by its own bypass groups, at the stop that asks the most.

    Its cells are at their hottest, so that a string with bypassed groups starts at any hour that this counts on.
    """
    return met_ratio(need, given_w(array, can, need, brief))


def given_w(array: Array, can: SolarControl, need: SolarNeed, brief: Brief) -> tuple[float, ...]:
    """Array power that reaches the battery in the shade of each stop: see :func:`stops_of`. [W]"""
    panel, gives = array.panel.can, array_gives_w(array, can, brief.wishes.system_v)
    hot_v, asked_v = string_v(panel, array.series, need.hot_cell_c), asked_v_of(brief, can)
    return tuple(
        gives * left_of_one(panel, can, array.series, array.parallel, shade_ratio, hot_v, asked_v)
        for _, shade_ratio in stops_of(need)
    )


def stops_of(need: SolarNeed) -> tuple[tuple[float, float], ...]:
    """What each stop asks of an array that nothing shades [W], and its shade [0..1]."""
    return need.by_stop or ((need.array_w, 0.0),)


def met_ratio(need: SolarNeed, watts: tuple[float, ...]) -> float:
    """What reaches the battery over what is asked, at the stop that asks the most."""
    return min(w / max(open_w, 1e-9) for w, (open_w, _) in zip(watts, stops_of(need), strict=True))


def asked_v_of(brief: Brief, can: SolarControl) -> float:
    """Voltage under which a string gives this controller nothing, at the policy's charging voltage. [V]"""
    return asked_v(can, brief.policy.charging_v_per_12 * brief.wishes.system_v / 12)


def _strings(brief: Brief, need: SolarNeed, panel: Able[Panel], can: SolarControl, series: int) -> int:
    """Fewest strings that give what is asked; as many as the controller takes where none do."""
    one = array_gives_w(Array(panel, series, 1), can, brief.wishes.system_v)
    least_w = max((w / max(1 - s, 1e-9) for w, s in need.by_stop), default=need.array_w)
    most = math.floor(can.max_isc_a / panel.can.isc_a + 1e-9)
    fewest = max(1, math.ceil(min(least_w / one, most + 1.0) - 1e-9))
    enough = (n for n in range(fewest, most + 1) if meets_ratio(Array(panel, series, n), can, need, brief) >= MET)
    return next(enough, max(1, most))


def arrays(
    brief: Brief,
    need: SolarNeed,
    panel: Able[Panel],
    can: SolarControl,
    compartment_c: float,
    settled: Settled | None = None,
) -> list[Array]:
    """The smallest array of this panel on this controller for each length of string that the limits allow.

    ``settled``: so many panels are settled; then all of them, however much more the controller could take.
    """
    p, system_v, found = panel.can, brief.wishes.system_v, []
    for series in range(1, 9):
        if cold_voc_v(p, series, need.cold_c) > min(can.max_voc_v, p.max_system_v):
            break
        if string_v(p, series, need.hot_cell_c) < asked_v_of(brief, can):
            continue
        if settled is not None:
            strings, over = divmod(settled.quantity, series)
            fits = not over and settled.series in (None, series) and p.isc_a * strings <= can.max_isc_a
            found += [Array(panel, series, strings)] if fits else []
            continue
        for parallel in range(_strings(brief, need, panel, can, series), 0, -1):
            array = Array(panel, series, parallel)
            if p.isc_a * parallel > can.max_isc_a or not on_roof(brief, need, p, array.count):
                continue
            if array_output_a(array, can, system_v) > can.output_a * at(can.derating, compartment_c) + 1e-9:
                continue
            found.append(array)
            break
    return found


def on_roof(brief: Brief, need: SolarNeed, panel: Panel, count: int) -> bool:
    """Say whether so many panels of one size lie on the roof."""
    return roof_takes(brief, need, panel, count) >= count


def roof_takes(brief: Brief, need: SolarNeed, panel: Panel, wanted: int) -> int:
    """Panels of one size that lie on the roof, counted as far as ``wanted``.

    On the roof areas that were surveyed, whatever stands in them left free. Where there are none: within the area, and
    whole panels laid one way or the other on a roof whose sides are known.
    """
    vehicle, policy = brief.vehicle, brief.policy
    if vehicle.roof:
        gap_m, edge_m = policy.panel_gap_mm / 1000, policy.roof_edge_mm / 1000
        return most_on(vehicle.roof, panel.length_m, panel.width_m, gap_m, edge_m, wanted).count
    most = wanted
    if need.roof_area_m2 is not None:
        most = min(most, math.floor((need.roof_area_m2 + 1e-9) / (panel.length_m * panel.width_m)))
    long, wide = vehicle.roof_length_m, vehicle.roof_width_m
    if long is None or wide is None:
        return most
    lengthwise = math.floor(long / panel.length_m + 1e-9) * math.floor(wide / panel.width_m + 1e-9)
    across = math.floor(long / panel.width_m + 1e-9) * math.floor(wide / panel.length_m + 1e-9)
    return min(most, max(lengthwise, across))


def panels_of(array: Array, runner_up: str) -> Chosen:
    part = array.panel.part
    return Chosen(
        role="panel",
        serves=("panel",),
        part=part.key,
        name=part.name,
        part_number=part.part_number,
        quantity=array.count,
        rating=rating_of(part),
        series=array.series,
        parallel=array.parallel,
        mass_kg=round(part.mass_kg * array.count, 3),
        runner_up=runner_up,
    )
