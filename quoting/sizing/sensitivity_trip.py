"""What the trip's figures are most sensitive to: the trip simulated again, with one thing changed at a time.

The weathers are the same ones each time, so that two trips differ by what differs in them and not by luck.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from quoting.sizing.appraisal import Appraisal
from quoting.sizing.brief import Brief, Cooling, Load, Recharge, Stop
from quoting.sizing.errors import SizingError
from quoting.sizing.outlook import Bar, Tornado, Trial, TripOutlook
from quoting.sizing.sensitivity import HALVINGS, MOVED_BY_K, MOVED_BY_RATIO, pick
from quoting.sizing.trial import try_out

MOVED_BY_H = 1.0
"""Driving and mains of a day are moved by this. [h] Workshop practice."""
MOVED_SHADE_RATIO = 0.1
"""Shade is moved by this, of the whole sun. Workshop practice."""
OVER_A_YEAR = 366.0
"""Stands for a battery that is not flat within a year. [day]"""

READS: dict[str, tuple[str, Callable[[TripOutlook], float]]] = {
    "trip.dark_chance_ratio": ("", lambda x: x.dark.chance_ratio),
    "trip.lowest_low_ratio": ("", lambda x: x.lowest_low_ratio),
    "trip.flat_days": ("day", lambda x: OVER_A_YEAR if x.flat_days is None else x.flat_days),
}
"""Figures that only the simulation gives: unit, and where the outlook says it."""

_Change = Callable[[Brief, float], tuple[Brief, Trial]]


@dataclass(frozen=True, slots=True)
class _Input:
    code: str
    unit: str
    base: float
    low: float
    high: float
    change: _Change
    """Brief and trial with the input at a value."""
    field: str = ""
    """Of every stop, where that is what is moved: a stop that is at its end already moves less, or not at all."""


@dataclass(frozen=True, slots=True)
class _Sides:
    """An input, and on each side how far it was moved and the trip then."""

    of: _Input
    low: tuple[float, TripOutlook]
    high: tuple[float, TripOutlook]


def of_trip(brief: Brief, appraisal: Appraisal, code: str) -> Tornado:
    """Find what a figure of the trip is most sensitive to.

    Parameters
    ----------
    brief : Brief
        That the appraisal was made from.
    appraisal : Appraisal
        Its chosen parts, circuits and outlook.
    code : str
        A key of ``READS``.

    Returns
    -------
    Tornado
        At most eight bars, the largest swing first: sun and loads 10 % less and more, air 5 K colder and warmer, an
        hour of driving or mains a day less and more, a tenth of the sun more or less in the shade, the battery worn,
        the monitor drifting. [unit of the figure] Each bar says what was moved indeed: less than that where a stop has
        no hour to lose, on a mean of the days, and half of it, or a quarter, where a load has no time for more.

    Raises
    ------
    SizingError
        For a figure that is none of the trip's, or an appraisal without a battery.
    """
    if code not in READS:
        raise SizingError(
            "code", value=code, code="not_a_choice", message=f"{code!r} is none of the trip's: {', '.join(READS)}"
        )
    return all_of_trip(brief, appraisal)[code]


def all_of_trip(brief: Brief, appraisal: Appraisal) -> dict[str, Tornado]:
    """Find what each of the trip's figures is most sensitive to, from one set of simulations.

    Parameters
    ----------
    brief : Brief
        That the appraisal was made from.
    appraisal : Appraisal
        Its chosen parts, circuits and outlook.

    Returns
    -------
    dict of str to Tornado
        As of :func:`of_trip`, by the keys of ``READS``.

    Raises
    ------
    SizingError
        For an appraisal without a battery.
    """
    base = try_out(brief, appraisal, Trial()).after
    sides = [_Sides(x, *(_side(brief, appraisal, x, to, base) for to in (x.low, x.high))) for x in INPUTS]
    return {code: _read(code, base, sides) for code in READS}


def _read(code: str, base: TripOutlook, sides: list[_Sides]) -> Tornado:
    unit, read = READS[code]
    bars = [
        Bar(
            code=x.of.code, unit=x.of.unit, input_low=x.low[0], input_base=x.of.base, input_high=x.high[0],
            value_low=read(x.low[1]), value_high=read(x.high[1]),
        )
        for x in sides
    ]  # fmt: skip
    return Tornado(code=code, unit=unit, base=read(base), bars=pick(bars, read(base)))


def _side(brief: Brief, appraisal: Appraisal, x: _Input, to: float, base: TripOutlook) -> tuple[float, TripOutlook]:
    """Input and trip on one side: as far as it can be moved, and as they are where it cannot."""
    for _ in range(HALVINGS + 1):
        changed, trial = x.change(brief, to)
        if to == x.base or (changed is brief and trial == Trial()):
            break
        try:
            return _moved(brief, changed, x, to), try_out(changed, appraisal, trial).after
        except SizingError:
            to = (x.base + to) / 2
    return x.base, base


def _moved(brief: Brief, changed: Brief, x: _Input, to: float) -> float:
    """How far an input was moved indeed: of a field of the stops, on a mean of the days."""
    if not x.field:
        return to
    by = [(getattr(b, x.field) - getattr(a, x.field)) * a.days for a, b in zip(brief.trip, changed.trip, strict=True)]
    return round(x.base + math.fsum(by) / math.fsum(stop.days for stop in brief.trip), 9)


def _tried(**fields: str) -> _Change:
    """An input that a trial has a field for."""
    ((name, kind),) = fields.items()

    def change(brief: Brief, to: float) -> tuple[Brief, Trial]:
        return brief, Trial.model_validate({name: bool(to) if kind == "yes" else to})

    return change


def _each_stop(name: str, most: float) -> _Change:
    """A field of every stop, more by so much, held to what it may be."""

    def moved(stop: Stop, by: float) -> Stop:
        return stop.model_copy(update={name: min(most, max(0.0, getattr(stop, name) + by))})

    def change(brief: Brief, to: float) -> tuple[Brief, Trial]:
        trip = tuple(moved(stop, to) for stop in brief.trip)
        return brief if trip == brief.trip else brief.model_copy(update={"trip": trip}), Trial()

    return change


def _loads(brief: Brief, to: float) -> tuple[Brief, Trial]:
    return brief.model_copy(update={"loads": tuple(_scaled(load, to) for load in brief.loads)}), Trial()


def _scaled(load: Load, by: float) -> Load:
    """A load that takes so much more: by its power, of a refrigerator by its duty, of packs by their energy."""
    use = load.use
    if isinstance(use, Cooling):
        name, most = "rated_duty_ratio", 1.0
    elif isinstance(use, Recharge):
        name, most = "pack_wh", 20000.0
    else:
        name, most = "power_w", 20000.0
    return load.model_copy(update={"use": use.model_copy(update={name: min(most, getattr(use, name) * by)})})


YES = "yes"
"""Unit of an input that is so or not."""
_LESS, _MORE = 1 - MOVED_BY_RATIO, 1 + MOVED_BY_RATIO
INPUTS = (
    _Input("trip_sun", "", 1.0, _LESS, _MORE, _tried(sun_ratio="number")),
    _Input("trip_loads", "", 1.0, _LESS, _MORE, _loads),
    _Input("trip_air", "K", 0.0, -MOVED_BY_K, MOVED_BY_K, _tried(warmer_k="number")),
    _Input(
        "trip_driving", "h", 0.0, -MOVED_BY_H, MOVED_BY_H, _each_stop("driving_h_per_day", 24.0), "driving_h_per_day"
    ),
    _Input("trip_mains", "h", 0.0, -MOVED_BY_H, MOVED_BY_H, _each_stop("mains_h_per_day", 24.0), "mains_h_per_day"),
    _Input("trip_shade", "", 0.0, -MOVED_SHADE_RATIO, MOVED_SHADE_RATIO, _each_stop("shade_ratio", 1.0), "shade_ratio"),
    _Input("trip_worn", YES, 0.0, 0.0, 1.0, _tried(worn="yes")),
    _Input("trip_drift", YES, 0.0, 0.0, 1.0, _tried(drift="yes")),
)
"""The trip's real inputs, and how far each is moved."""
