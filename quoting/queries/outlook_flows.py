"""Where each watt-hour of a stop's mean day comes from and goes to, rounded so that the columns add up."""

from __future__ import annotations

import math
from dataclasses import dataclass

from django.utils.translation import gettext as _

from catalog.quantities import format_number
from quoting import words
from quoting.queries.shown import Shown, shown
from quoting.sizing.appraisal import Appraisal
from quoting.sizing.outlook import StopSpan, TripOutlook

LEAST_WH = 0.5
"""Flows under this are not there."""


@dataclass(frozen=True, slots=True)
class Flow:
    """One line of the balance; ``share`` in percent of the total, ``kind`` its look."""

    label: str
    wh: Shown | None
    ah: Shown | None
    share: str = ""
    kind: str = ""


@dataclass(frozen=True, slots=True)
class Balance:
    """A mean day of a stop: what came in is what went out."""

    name: str
    month: str
    comes: tuple[Flow, ...]
    goes: tuple[Flow, ...]
    total: Flow
    besides: tuple[Flow, ...]
    """Asked and not given, offered and not taken: outside the sum."""


def balances(outlook: TripOutlook, appraisal: Appraisal) -> list[Balance]:
    bank_v = bank_voltage_v(appraisal)
    return [balance_of(span, bank_v) for span in outlook.stops]


def bank_voltage_v(appraisal: Appraisal) -> float | None:
    """The voltage at which the design counts charge for energy. [V]"""
    energy, charge = (appraisal.figures.get(code) for code in ("day.energy_wh", "day.charge_ah"))
    return energy.value / charge.value if energy and charge and charge.value > 0 else None


def balance_of(span: StopSpan, bank_v: float | None) -> Balance:
    """The balance of one stop; without a voltage there are no ampere-hours."""
    taken = span.engine_wh_day + span.mains_wh_day + span.sun_wh_day
    store = span.given_wh_day + span.loss_wh_day - taken
    own = min(span.own_wh_day, span.given_wh_day)  # of a flat battery not even that is given
    heater = min(span.heater_wh_day, span.given_wh_day - own)
    comes = [
        (_("Engine"), span.engine_wh_day, "engine"),
        (_("Mains"), span.mains_wh_day, "mains"),
        (_("Sun"), span.sun_wh_day, "sun"),
        (_("Out of the battery"), max(0.0, store), "store"),
    ]
    goes = [
        (_("Loads"), span.given_wh_day - own - heater, "load"),
        (_("Own draw of the parts"), own, "own"),
        (_("Battery heater"), heater, "own"),
        (_("Lost in the battery"), span.loss_wh_day, "loss"),
        (_("Into the battery"), max(0.0, -store), "store"),
    ]
    besides = [
        (_("Shed: let go on purpose"), span.shed_wh_day, ""),
        (_("Asked and not given"), span.unserved_wh_day, "unserved"),
        (_("Sun offered, not taken"), span.sun_spilled_wh_day, ""),
        (_("Engine and mains offered, not taken"), span.spilled_wh_day - span.sun_spilled_wh_day, ""),
    ]
    total_wh = max(span.given_wh_day + span.loss_wh_day, taken)
    return Balance(
        name=span.name,
        month=str(words.MONTHS[span.month - 1]),
        comes=_flows(comes, total_wh, bank_v),
        goes=_flows(goes, total_wh, bank_v),
        total=_flow("", round(total_wh), _tenth(total_wh, bank_v), 0.0, ""),
        besides=tuple(
            _flow(label, round(wh), _tenth(wh, bank_v), 0.0, kind) for label, wh, kind in besides if wh >= LEAST_WH
        ),
    )


def _flows(rows: list[tuple[str, float, str]], total_wh: float, bank_v: float | None) -> tuple[Flow, ...]:
    there = [row for row in rows if row[1] >= LEAST_WH]
    wh = rounded_to([row[1] for row in there], round(total_wh))
    tenths = rounded_to([10 * row[1] / bank_v for row in there], round(10 * total_wh / bank_v)) if bank_v else None
    return tuple(
        _flow(label, wh[k], tenths[k] / 10 if tenths else None, 100 * value / total_wh if total_wh else 0.0, kind)
        for k, (label, value, kind) in enumerate(there)
    )


def _tenth(wh: float, bank_v: float | None) -> float | None:
    return round(10 * wh / bank_v) / 10 if bank_v else None


def _flow(label: str, wh: int, ah: float | None, share: float, kind: str) -> Flow:
    return Flow(label, shown(wh, "Wh"), _one_place(ah), f"{share:.2f}", kind)


def _one_place(ah: float | None) -> Shown | None:
    """One decimal for all of a column, so that it can be added up by eye."""
    return None if ah is None else Shown(format_number(ah, 1), "Ah")


def rounded_to(values: list[float], total: int) -> list[int]:
    """Whole numbers near the values that add up to ``total``: the largest remainders are rounded up first."""
    floors = [math.floor(v) for v in values]
    short = total - sum(floors)
    order = sorted(range(len(values)), key=lambda k: floors[k] - values[k])
    for at in range(abs(short)) if values else ():
        floors[order[at % len(values)] if short > 0 else order[-1 - at % len(values)]] += 1 if short > 0 else -1
    return floors
