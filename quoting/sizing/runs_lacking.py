"""What the catalogue lacks for a run: the first thing that stops the thickest cable, and by how much."""

from __future__ import annotations

import math

from catalog.kinds.capabilities import Protecting
from quoting.sizing import protection
from quoting.sizing.appraisal import Shortfall
from quoting.sizing.parts import Catalogue, short
from quoting.sizing.policy import Policy
from quoting.sizing.runs_ask import Ask
from quoting.sizing.runs_devices import holder_for, series_of
from quoting.sizing.runs_trial import Trial

MOST_FAULT_S = 3600.0
"""A fault that no device ends is reckoned as this long. [s]"""


def lacking(parts: Catalogue, policy: Policy, ask: Ask, trials: list[Trial]) -> Shortfall:
    """Say what stops the thickest cable: its size, or a device that is not there."""
    last = trials[-1]
    c = last.cable.can
    if last.failed == "device":
        return _no_device(parts, policy, ask, last)
    if last.failed == "isolator":
        assert last.isolator is not None
        assert last.device is not None
        near, asked_a = last.isolator, last.device.able.can.rating_a
        return short(
            "too_small", "isolating", ask.subject, best=near, best_value=near.can.rating_a, asked=asked_a, unit="A"
        )
    values: dict[str, tuple[float, float, str]] = {
        "ampacity": (last.ampacity_a, ask.current_a, "A"),
        "drop": (ask.limit_ratio * ask.nominal_v, last.total_v + ask.reserved_v, "V"),
        "cutout": (min(last.voltage_v, last.start_v or math.inf), ask.cutout_v or 0.0, "V"),
        "adiabatic": (c.area_mm2, adiabatic_mm2(policy, last) if last.failed == "adiabatic" else 0.0, "mm²"),
        "disconnection": (protection.DISCONNECT_S, min(last.clears_s or 0.0, MOST_FAULT_S), "s"),
    }
    value, asked, unit = values[last.failed]
    return short(
        "too_small",
        "conducting",
        ask.subject,
        best=last.cable,
        best_value=value,
        asked=asked,
        unit=unit,
        rule=last.failed,
    )


def adiabatic_mm2(policy: Policy, t: Trial) -> float:
    assert t.device is not None
    can, faults = t.device.able.can, [t.fault_a or policy.unknown_battery_breaking_a, t.fault_end_a or 0.0]
    let_through = [
        fault * math.sqrt(min(protection.clears_s(series_of(can), can.rating_a, fault), MOST_FAULT_S))
        for fault in faults
        if fault > 0
    ]
    return max(let_through) / protection.adiabatic_k(t.cable.can.insulation_c)


def _no_device(parts: Catalogue, policy: Policy, ask: Ask, t: Trial) -> Shortfall:
    """Which property of the devices there are is missing: rating, breaking capacity, voltage or a holder."""
    most = min(t.ampacity_a, ask.most_rating_a or math.inf)
    every = parts.having(Protecting)
    rated = [a for a in every if t.least_a - 1e-9 <= a.can.rating_a <= most + 1e-9]
    volts = [a for a in rated if a.can.max_v >= ask.high_v]
    fault = ask.strong.fault_a
    asked_a = policy.unknown_battery_breaking_a if fault is None else fault
    breaking = [a for a in volts if protection.breaks(a.can.breaking_a, fault, policy.unknown_battery_breaking_a)]
    held = [a for a in breaking if not a.can.needs_holder or holder_for(parts, a.can, ask.high_v)]
    if breaking and not held:
        return short("none_of_kind", "holding", ask.subject, best=breaking[0], series=breaking[0].can.series)
    if not every:
        return short("none_of_kind", "protecting", ask.subject, asked=t.least_a, unit="A")
    if not rated:
        near = min(every, key=lambda a: (abs(a.can.rating_a - t.least_a), a.part.key))
        small = near.can.rating_a < t.least_a
        return short(
            "too_small" if small else "too_large", "protecting", ask.subject, best=near, best_value=near.can.rating_a,
            asked=t.least_a if small else most, unit="A", rule="device",
        )  # fmt: skip
    if not volts:
        top = max(rated, key=lambda a: (a.can.max_v, a.part.key))
        return short(
            "wrong_voltage", "protecting", ask.subject, best=top, best_value=top.can.max_v, asked=ask.high_v, unit="V"
        )
    if not breaking:
        strong = max(volts, key=lambda a: (a.can.breaking_a or 0.0, a.part.key))
        return short(
            "too_small", "protecting", ask.subject, best=strong, best_value=strong.can.breaking_a or 0.0, asked=asked_a,
            unit="A", rule="breaking",
        )  # fmt: skip
    return short("no_match", "protecting", ask.subject, best=held[0], rule="inrush")
