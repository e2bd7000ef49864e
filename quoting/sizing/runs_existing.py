"""What lies in the vehicle already, tried against every rule of a run at its new currents."""

from __future__ import annotations

import math
from collections.abc import Sequence

from catalog.kinds.capabilities import Conducting, Isolating, Protecting
from quoting.sizing import conductors, protection
from quoting.sizing.appraisal import Shortfall
from quoting.sizing.brief import Part
from quoting.sizing.brief_wiring import Existing
from quoting.sizing.conductor_tables import CLASS_5_OHM_PER_KM_20C
from quoting.sizing.parts import Able
from quoting.sizing.policy import Policy
from quoting.sizing.runs_ask import Ask, Picked
from quoting.sizing.runs_devices import holds_inrush
from quoting.sizing.runs_refused import refused
from quoting.sizing.runs_trial import Trial, carried_a, least_rating, try_with


def class_5_ohm_per_km(area_mm2: float) -> float:
    """Largest resistance of a conductor that nobody measured, by the next smaller size. [Ω/km] IEC 60228 class 5.

    >>> class_5_ohm_per_km(6), class_5_ohm_per_km(7)
    (3.3, 3.3)
    """
    sizes = [a for a in CLASS_5_OHM_PER_KM_20C if a <= area_mm2 * (1 + 1e-9)]
    if sizes:
        return CLASS_5_OHM_PER_KM_20C[max(sizes)]
    thinnest = min(CLASS_5_OHM_PER_KM_20C)
    return CLASS_5_OHM_PER_KM_20C[thinnest] * thinnest / area_mm2


COPPER_OHM_MM2_PER_KM = 1000 / 58
"""Resistivity of standard annealed copper at 20 °C. [Ω·mm²/km] IEC 60028:1925."""

COPPER_RATIOS = 0.97, 1.5
"""Resistance of a conductor over that of its area of copper, least and most: what the catalogue takes too. C"""


def is_of_copper(area_mm2: float, ohm_per_km: float) -> bool:
    """Say whether a conductor of that area may have that resistance: too little hides a drop, too much a fault.

    >>> [is_of_copper(6, r) for r in (2.0, 3.3, 9.0)]
    [False, True, False]
    """
    least, most = COPPER_RATIOS
    return least <= ohm_per_km * area_mm2 / COPPER_OHM_MM2_PER_KM <= most


def try_existing(policy: Policy, ask: Ask, lies: Existing, isolators: Sequence[Able[Isolating]]) -> Trial | Shortfall:
    """Conductors and device as they are; or the first rule that they fail, with numbers."""
    part = Part(key="stays", kind="stays", name=lies.name, spec={}, cost="0")
    ohm_per_km = lies.ohm_per_km_20c or class_5_ohm_per_km(lies.area_mm2)
    cable = Conducting(lies.area_mm2, lies.insulation_c, "", ohm_per_km)
    # a breaker has no series, and a fuse-link never a breaker's: neither may open by the other's times
    series = "" if "breaker" in (lies.form, lies.series) else lies.series
    link = Protecting(
        lies.form, series, lies.rating_a, lies.breaking_a, lies.max_v or 0.0, lies.device_ohm or 0.0,
        lies.melting_s_at_2x or 0.0,
    )  # fmt: skip
    failed = _before_current(policy, ask, lies) or _device(policy, ask, lies, cable, link)
    if failed is not None:
        return failed
    trial = try_with(policy, ask, Able(part, cable), isolators, Picked(Able(part, link), None))
    return refused(ask, trial.failed, trial, policy) if trial.failed else trial


def _before_current(policy: Policy, ask: Ask, lies: Existing) -> Shortfall | None:
    """What can be said without any current: heat, size, where devices are."""
    if lies.area_mm2 < conductors.LEAST_AREA_MM2:
        return refused(ask, "least_area", area_mm2=lies.area_mm2, limit_mm2=conductors.LEAST_AREA_MM2)
    if lies.ohm_per_km_20c is not None and not is_of_copper(lies.area_mm2, lies.ohm_per_km_20c):
        return refused(ask, "not_of_copper", area_mm2=lies.area_mm2)
    if lies.insulation_c <= ask.way.ambient_c + 1:
        return refused(ask, "heat", insulation_c=lies.insulation_c, ambient_c=ask.way.ambient_c)
    if len(ask.ends) > 1 and not lies.both_ends:
        return refused(ask, "both_ends")
    if lies.distance_m is None:
        return refused(ask, "place_unknown", limit_m=policy.place_m)
    if not protection.place_ok(lies.distance_m, policy.place_m):
        return refused(ask, "place", asked_m=lies.distance_m, limit_m=policy.place_m)
    return None


def _device(policy: Policy, ask: Ask, lies: Existing, cable: Conducting, link: Protecting) -> Shortfall | None:
    """The device that is there: what it breaks, its voltage, its rating between current and conductor."""
    rating, fault = lies.rating_a, ask.strong.fault_a
    if lies.breaking_a is None:
        return refused(ask, "breaking_unknown", rating_a=rating)
    if not protection.breaks(lies.breaking_a, fault, policy.unknown_battery_breaking_a):
        asked = policy.unknown_battery_breaking_a if fault is None else fault
        return refused(ask, "breaking", breaking_a=lies.breaking_a, fault_a=asked)
    if lies.max_v is None:
        return refused(ask, "voltage_unknown", rating_a=rating)
    if lies.max_v < ask.high_v:
        return refused(ask, "voltage", asked_v=ask.high_v, limit_v=lies.max_v)
    ampacity, least = carried_a(policy, ask, cable), least_rating(policy, ask)
    if ampacity < ask.current_a:
        return refused(ask, "ampacity", asked_a=ask.current_a, limit_a=ampacity)
    if rating > ampacity + 1e-9:
        return refused(ask, "device_over_cable", asked_a=rating, limit_a=ampacity)
    if rating > (ask.most_rating_a or math.inf) + 1e-9:
        return refused(ask, "pins" if ask.pins_a else "maker_maximum", asked_a=rating, limit_a=ask.most_rating_a)
    if rating < least - 1e-9:
        rule = "under_current" if least > ask.maker_least_a else "maker_minimum"
        return refused(ask, rule, asked_a=rating, limit_a=least, current_a=ask.current_a)
    if not holds_inrush(link, ask):
        return refused(ask, "inrush", rating_a=rating, peak_a=ask.peak_a)
    return None
