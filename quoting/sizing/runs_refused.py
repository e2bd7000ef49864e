"""Why a run that a person settled, or that lies there already, is not taken: a code and its numbers."""

from __future__ import annotations

import math

from catalog.kinds.capabilities import Conducting, Protecting
from quoting.sizing import protection
from quoting.sizing.appraisal import Need, Shortfall
from quoting.sizing.parts import Able, Catalogue
from quoting.sizing.policy import Policy
from quoting.sizing.runs_ask import Ask
from quoting.sizing.runs_colours import positive_of
from quoting.sizing.runs_devices import holder_for, holds_inrush, is_settled
from quoting.sizing.runs_lacking import MOST_FAULT_S, adiabatic_mm2
from quoting.sizing.runs_trial import Trial
from quoting.sizing.trace import Scalar


def refused(
    ask: Ask, rule: str, trial: Trial | None = None, policy: Policy | None = None, **params: float | str | None
) -> Shortfall:
    """A run that is not taken, as a shortfall ``refused``; the numbers of a trial's failed rule are added."""
    said: dict[str, Scalar] = {"rule": rule}
    said |= {k: round(v, 3) if isinstance(v, float) else v for k, v in params.items() if v is not None}
    if trial is not None and policy is not None:
        said |= _numbers(policy, ask, trial)
    return Shortfall(need=Need(code="conducting", params={}), code="refused", subject=ask.subject, params=said)


def _numbers(policy: Policy, ask: Ask, t: Trial) -> dict[str, Scalar]:
    """What was asked and what is allowed, by the rule that a trial failed."""
    left_v = min(t.voltage_v, math.inf if t.start_v is None else t.start_v)
    values: dict[str, dict[str, float]] = {
        "ampacity": {"asked_a": ask.current_a, "limit_a": t.ampacity_a},
        "drop": {"asked_v": t.total_v + ask.reserved_v, "limit_v": ask.limit_ratio * ask.nominal_v,
                 "limit_ratio": ask.limit_ratio},
        "cutout": {"left_v": left_v, "limit_v": ask.cutout_v or 0.0, "short_v": (ask.cutout_v or 0.0) - left_v},
        "disconnection": {"clears_s": min(t.clears_s or 0.0, MOST_FAULT_S), "limit_s": protection.DISCONNECT_S,
                          "fault_a": t.fault_end_a or 0.0},
    }  # fmt: skip
    if t.failed == "adiabatic":
        values["adiabatic"] = {"area_mm2": t.cable.can.area_mm2, "limit_mm2": adiabatic_mm2(policy, t)}
    if t.failed == "isolator" and t.isolator is not None and t.device is not None:
        values["isolator"] = {"asked_a": t.device.able.can.rating_a, "limit_a": t.isolator.can.rating_a}
    return {name: round(value, 3) for name, value in values.get(t.failed, {}).items()}


def refusal(parts: Catalogue, policy: Policy, ask: Ask, trial: Trial | None) -> Shortfall:
    """Why what a person settled does not do; ``trial`` is the thickest that could be tried, ``None`` without any."""
    if trial is None:
        return _no_such_cable(parts, policy, ask)
    if trial.failed != "device":
        return refused(ask, trial.failed, trial, policy)
    assert ask.hand is not None
    rating, least = ask.hand.rating_a, trial.least_a
    most = ask.most_rating_a or math.inf
    models = [a for a in parts.having(Protecting) if is_settled(a.can, ask)]
    if not models:
        return refused(ask, "device_not_in_catalogue", asked_a=rating, form=ask.hand.form or "")
    asked = least if rating is None else rating
    if asked > trial.ampacity_a + 1e-9:
        return refused(ask, "device_over_cable", asked_a=asked, limit_a=trial.ampacity_a)
    if asked > most + 1e-9:
        return refused(ask, "pins" if ask.pins_a else "maker_maximum", asked_a=asked, limit_a=most)
    if rating is not None and rating < least - 1e-9:
        rule = "under_current" if least > ask.maker_least_a else "maker_minimum"
        return refused(ask, rule, asked_a=rating, limit_a=least, current_a=ask.current_a)
    return _no_device(parts, policy, ask, trial, models)


def _no_such_cable(parts: Catalogue, policy: Policy, ask: Ask) -> Shortfall:
    hand = ask.hand
    assert hand is not None
    models = [
        a
        for a in parts.having(Conducting)
        if a.can.colour in positive_of(policy)
        and (hand.area_mm2 is None or abs(a.can.area_mm2 - hand.area_mm2) < 1e-6)
        and (hand.insulation_c is None or abs(a.can.insulation_c - hand.insulation_c) < 1e-6)
    ]
    hottest = max((a.can.insulation_c for a in models), default=None)
    if hottest is not None and hottest <= ask.way.ambient_c + 1:
        return refused(ask, "heat", insulation_c=hottest, ambient_c=ask.way.ambient_c)
    return refused(ask, "cable_not_in_catalogue", area_mm2=hand.area_mm2, insulation_c=hand.insulation_c)


def _no_device(parts: Catalogue, policy: Policy, ask: Ask, t: Trial, models: list[Able[Protecting]]) -> Shortfall:
    """Of the devices that a person asks for, what they all miss: voltage, breaking capacity, start, holder, rating."""
    most = min(t.ampacity_a, ask.most_rating_a or math.inf)
    rated = [a for a in models if t.least_a - 1e-9 <= a.can.rating_a <= most + 1e-9]
    if not rated:
        return refused(ask, "no_rating_between", asked_a=t.least_a, limit_a=most)
    volts = [a for a in rated if a.can.max_v >= ask.high_v]
    if not volts:
        return refused(ask, "voltage", asked_v=ask.high_v, limit_v=max(a.can.max_v for a in rated))
    fault = ask.strong.fault_a
    breaking = [a for a in volts if protection.breaks(a.can.breaking_a, fault, policy.unknown_battery_breaking_a)]
    if not breaking:
        asked = policy.unknown_battery_breaking_a if fault is None else fault
        return refused(ask, "breaking", fault_a=asked, breaking_a=max(a.can.breaking_a or 0.0 for a in volts))
    held = [a for a in breaking if not a.can.needs_holder or holder_for(parts, a.can, ask.high_v)]
    if not held:
        return refused(ask, "no_holder", asked_a=breaking[0].can.rating_a)
    if not any(holds_inrush(a.can, ask) for a in held):
        return refused(ask, "inrush", rating_a=held[0].can.rating_a, peak_a=ask.peak_a)
    return refused(ask, "no_rating_between", asked_a=t.least_a, limit_a=most)
