"""Where an appliance's own voltage cut-out stands: the charge under which the sag of battery and circuits trips it.

Resting voltage less the bank's sag under everything that runs at once, less what the way to the appliance loses,
against the lowest voltage it works at. Behind a converter its voltage is regulated: the converter's lowest input counts
instead. Behind the inverter the inverter's cut-off does.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from catalog.kinds.capabilities import Curve
from quoting.sizing.appraisal import Circuit, LoadResult
from quoting.sizing.battery_volts import bank_curve, bank_ohm, charge_at_v
from quoting.sizing.brief import Brief, Load
from quoting.sizing.converters import is_behind
from quoting.sizing.errors import require
from quoting.sizing.outlook import CutOut
from quoting.sizing.system import Book, System

WORTH_TELLING_RATIO = 0.01
"""Charge by which a cut-out must stand over what was planned before somebody is told. Common practice."""

LEAST_CUTOUT_24_V = 18.0
"""An appliance for 24 V stops at 20 V or more; one said to work below this is for 12 V, or its value is. [V] C"""


def is_of_12_v(brief: Brief, load: Load) -> bool:
    """Say whether the lowest voltage stated for a load on a 24 V bus can only be that of an appliance for 12 V."""
    low_v = load.min_voltage_v
    return brief.wishes.system_v == 24 and load.bus == "house" and low_v is not None and low_v < LEAST_CUTOUT_24_V


@dataclass(frozen=True, slots=True)
class Way:
    """From the bank's posts to where the voltage counts."""

    cutout_v: float
    drop_v: float
    """With everything running that runs at once. [V]"""
    loop_ohm: float
    """That a start of this appliance adds its current to. [Ω]"""


def stops_at_ratio(
    curve: Curve, cutout_v: float, drop_v: float, current_a: float, bank_resistance_ohm: float, opens_v: float = 0.0
) -> float | None:
    r"""State of charge under which an appliance cuts out: where :math:`OCV(s) - I R - \Delta V` is its cut-out. [0..1]

    Parameters
    ----------
    curve : Curve
        Resting voltage of the bank. [V]
    cutout_v : float
        Lowest voltage that the appliance works at. [V]
    drop_v : float
        Lost on the way to it. [V]
    current_a : float
        Of the whole bank at that time. [A]
    bank_resistance_ohm : float
        Of the bank. [Ω]
    opens_v : float
        At the posts, under which the battery's own protection opens before. [V]

    Returns
    -------
    float or None
        ``None``: the battery is empty or its protection open before; 1: not even a full one keeps it going.

    Examples
    --------
    >>> from quoting.sizing.battery_volts import bank_curve
    >>> round(stops_at_ratio(bank_curve("flooded", 12), 11.5, 0.35, 50.0, 0.005), 3)
    0.375
    """
    require("cutout_v", cutout_v, minimum=0, maximum=1000, unit="V")
    require("drop_v", drop_v, minimum=0, maximum=1000, unit="V")
    require("current_a", current_a, minimum=0, maximum=1e5, unit="A")
    require("bank_resistance_ohm", bank_resistance_ohm, minimum=0, maximum=10, unit="Ω")
    posts_v = cutout_v + drop_v
    if posts_v <= opens_v:
        return None
    return charge_at_v(curve, posts_v + current_a * bank_resistance_ohm)


def find(
    system: System,
    circuits: Sequence[Circuit],
    loads: Iterable[LoadResult],
    at_once_a: float,
    cell_c: float,
    left_ratio: float = 1.0,
) -> tuple[CutOut, ...]:
    """Cut-outs of the appliances on the auxiliary battery that state one, or hang on a converter or the inverter.

    Parameters
    ----------
    system : System
        The chosen system.
    circuits : sequence of Circuit
        As designed.
    loads : iterable of LoadResult
        The audit's lines with their running current at the house bus.
    at_once_a : float
        Everything that runs at one time, the inverter included: figure ``day.peak_a``. [A]
    cell_c : float
        Coldest that the battery's cells get on the trip. [°C]
    left_ratio : float
        Capacity that the battery has left over new, by which its resistance has grown.

    Returns
    -------
    tuple of CutOut
        In the order of the audit; none without a bank or where its resistance is not stated.

    Notes
    -----
    Currents are those at the bank's nominal voltage.
    """
    if not system.storage:
        return ()
    one, can = system.storage
    ohm = bank_ohm(can, one.series, one.parallel, cell_c, left_ratio)
    if ohm is None:
        return ()
    curve = bank_curve(system.chemistry, system.brief.wishes.system_v)
    opens_v, running = can.cutoff_v * one.series, {x.key: x.running_a for x in loads}
    ways = _Ways(system, circuits, running, at_once_a)
    found = []
    for load in system.brief.loads:
        way = ways.to(load)
        if way is None:
            continue
        # one piece starts while everything else runs
        more_a = (load.start_multiple - 1) * running.get(load.key, 0.0) / load.quantity
        at_once = max(at_once_a, running.get(load.key, 0.0))
        starting_v = way.drop_v + more_a * way.loop_ohm
        found.append(
            CutOut(
                key=load.key,
                name=load.name,
                cutout_v=way.cutout_v,
                drop_v=way.drop_v,
                stops_at_ratio=stops_at_ratio(curve, way.cutout_v, way.drop_v, at_once, ohm, opens_v),
                start_stops_at_ratio=stops_at_ratio(curve, way.cutout_v, starting_v, at_once + more_a, ohm, opens_v),
            )
        )
    return tuple(found)


@dataclass(frozen=True, slots=True)
class _Ways:
    """Ways through the circuits as designed."""

    system: System
    circuits: Sequence[Circuit]
    running: dict[str, float]
    at_once_a: float

    def to(self, load: Load) -> Way | None:
        """The way to what counts for this load; ``None``: nothing is stated, or no circuit leads there."""
        if load.bus == "ac":
            inverter = self.system.inverter
            return self._last(self._one("inverter_feed"), inverter[1].cutoff_v, self._ac_a()) if inverter else None
        own = next((c for c in self.circuits if c.role == "load" and load.key in c.loads), None)
        if own is None:
            return None
        if is_behind(self.system.brief, load):
            before = self._before(self._before(own))
            converter = self.system.converter
            return self._last(before, converter[1].input_min_v, before.current_a) if converter and before else None
        house = load.bus == "house" or (load.bus == "house12" and self.system.brief.wishes.system_v == 12)
        if load.min_voltage_v is None or not house or is_of_12_v(self.system.brief, load):
            return None
        carried_a = own.current_a if load.at_once else self.running.get(load.key, own.current_a)
        return self._last(own, load.min_voltage_v, carried_a)

    def _last(self, last: Circuit | None, cutout_v: float, carried_a: float) -> Way | None:
        """The way that ends with this circuit, which carries this current: main, the board's feed if any, itself."""
        if last is None:
            return None
        feed = self._before(last)
        main_ohm = self._main_ohm()
        feed_v, feed_ohm = (feed.drop_v, _ohm(feed)) if feed and feed.role == "distribution" else (0.0, 0.0)
        own_ohm = _ohm(last)
        drop_v = main_ohm * max(self.at_once_a, carried_a) + feed_v + own_ohm * carried_a
        return Way(cutout_v, drop_v, main_ohm + feed_ohm + own_ohm)

    def _ac_a(self) -> float:
        """What the inverter takes for the loads that run at once, or the largest that does not. [A]"""
        loads = [x for x in self.system.brief.loads if x.bus == "ac"]
        alone = [self.running.get(x.key, 0.0) for x in loads if not x.at_once]
        return max(math.fsum(self.running.get(x.key, 0.0) for x in loads if x.at_once), *alone, 0.0)

    def _main_ohm(self) -> float:
        """From the posts to the main bus, the leads of parallel batteries side by side. [Ω]"""
        mains = [c for c in self.circuits if c.role == "battery_main" and c.target == "W1"]
        return max((c.drop_total_v / c.current_a for c in mains if c.current_a > 0), default=0.0)

    def _before(self, circuit: Circuit | None) -> Circuit | None:
        if circuit is None:
            return None
        return next((c for c in self.circuits if c.target == circuit.source and c.target != "W1"), None)

    def _one(self, role: str) -> Circuit | None:
        return next((c for c in self.circuits if c.role == role), None)


def _ohm(circuit: Circuit) -> float:
    return circuit.drop_v / circuit.current_a if circuit.current_a > 0 else 0.0


def note(system: System, found: Iterable[CutOut], book: Book) -> None:
    """Say where an essential appliance stops while the battery still counts as usable, or before others are shed."""
    essential = {x.key for x in system.brief.loads if x.essential}
    floor = 1 - system.chemistry_policy.usable_depth_ratio
    highest = max(system.goes_off.values(), default=1.0)
    for one in found:
        if one.key not in essential:
            continue
        stops, start = one.stops_at_ratio or 0.0, one.start_stops_at_ratio or 0.0
        if stops > highest + WORTH_TELLING_RATIO:
            code, limit = "cuts_out_before_shedding", highest
        elif stops > floor + WORTH_TELLING_RATIO:
            code, limit = "cuts_out_early", floor
        elif start > floor + WORTH_TELLING_RATIO:
            code, limit, stops = "cuts_out_starting", floor, start
        else:
            continue
        book.note(
            "warning", code, one.key, name=one.name, stops_ratio=stops, limit_ratio=limit, cutout_v=one.cutout_v,
            drop_v=one.drop_v,
        )  # fmt: skip
