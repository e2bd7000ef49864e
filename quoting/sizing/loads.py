"""Power requirements: what each line of the audit takes from the house battery over a mean day, hour by hour."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from functools import lru_cache

from quoting.sizing import air, sun
from quoting.sizing.appraisal import LoadResult
from quoting.sizing.brief import Brief, Cooling, Event, Load, Recharge, Site, Steady, Stop
from quoting.sizing.errors import SizingError, require
from quoting.sizing.inverter import LossCurve
from quoting.sizing.policy import Policy
from quoting.sizing.trace import Finding, Step, finding, step

HOTTEST_H = 15.0
"""Hour of the day's maximum, local solar time. Common practice."""
ZERO_C = 273.15
HOURS = tuple(range(24))


def ambient_by_hour(site: Site, month: int) -> tuple[float, ...]:
    """Air over a mean day: half a sine up from the minimum at sunrise to the maximum at 15 h, and down again. [°C]

    Parameters
    ----------
    site : Site
        With monthly mean minimum and maximum. [°C]
    month : int
        1 to 12.

    Notes
    -----
    Each value is that of the middle of its hour, local solar time.
    """
    rise = min(sun.sunrise_h(site.latitude_deg, month), HOTTEST_H - 1)
    return _half_sines(site.tmin_c[month - 1], site.tmax_c[month - 1], rise)


@lru_cache(maxsize=1024)
def _half_sines(low: float, high: float, rise: float) -> tuple[float, ...]:
    up_h, down_h = HOTTEST_H - rise, 24 - (HOTTEST_H - rise)
    out = []
    for hour in HOURS:
        since = (hour + 0.5 - rise) % 24
        if since <= up_h:
            out.append(low + (high - low) * (1 - math.cos(math.pi * since / up_h)) / 2)
        else:
            out.append(low + (high - low) * (1 + math.cos(math.pi * (since - up_h) / down_h)) / 2)
    return tuple(out)


def cooling_duty_ratio(
    rated_duty_ratio: float,
    rated_ambient_c: float,
    inside_c: float,
    ambient_c: float,
    evaporator_k: float = 10.0,
    condenser_k: float = 15.0,
) -> float:
    r"""Share of the time a compressor refrigerator runs; over 1 it cannot hold.

    Heat gain is UA(Ta − Tc) and the coefficient of performance phi Te/(Tk − Te), so UA and phi cancel:

    .. math:: d = d_r \frac{(T_a - T_c)(T_a - T_c + \Delta)}{(T_r - T_c)(T_r - T_c + \Delta)}

    with Delta the evaporator's and condenser's differences together.

    Parameters
    ----------
    rated_duty_ratio : float
        The maker's.
    rated_ambient_c, inside_c, ambient_c : float
        Air of the maker's test, inside, air now. [°C]
    evaporator_k, condenser_k : float
        Evaporator under inside, condenser over ambient. [K]

    Raises
    ------
    SizingError
        If the maker's test was not warmer than the inside.
    """
    require("rated_duty_ratio", rated_duty_ratio, minimum=0.001, maximum=1)
    require("ambient_c", ambient_c, minimum=-90, maximum=120, unit="°C")
    require("inside_c", inside_c, minimum=-90, maximum=60, unit="°C")
    delta = require("evaporator_k", evaporator_k, minimum=0, maximum=60, unit="K") + require(
        "condenser_k", condenser_k, minimum=0, maximum=60, unit="K"
    )
    if rated_ambient_c - inside_c < 1:
        raise SizingError("rated_ambient_c", value=rated_ambient_c, minimum=inside_c + 1, unit="°C")
    return _duties(rated_duty_ratio, rated_ambient_c - inside_c, inside_c, delta, (ambient_c,))[0]


def _duties(
    rated_duty_ratio: float, rated_span_k: float, inside_c: float, delta_k: float, air_c: tuple[float, ...]
) -> list[float]:
    per_k2 = rated_duty_ratio / (rated_span_k * (rated_span_k + delta_k))
    spans = [max(0.0, air - inside_c) for air in air_c]
    return [per_k2 * span * (span + delta_k) for span in spans]


def duties_of(use: Cooling, air_c: tuple[float, ...], policy: Policy) -> list[float]:
    """Share of the time that a refrigerator would run in each hour's air; over 1 it cannot hold."""
    delta = policy.cooling_evaporator_k + policy.cooling_condenser_k
    return _duties(use.rated_duty_ratio, use.rated_ambient_c - use.inside_c, use.inside_c, delta, air_c)


def refrigeration(
    ua_w_per_k: float, ambient_c: float, inside_c: float, carnot_ratio: float, evaporator_k: float, condenser_k: float
) -> tuple[float, float, float]:
    """Heat gain, coefficient of performance and mean electrical power of a compressor set. [W, -, W]

    Parameters
    ----------
    ua_w_per_k : float
        Conductance of the box. [W/K]
    ambient_c, inside_c : float
        Air and inside. [°C]
    carnot_ratio : float
        Share of the ideal cycle that the set reaches.
    evaporator_k, condenser_k : float
        Evaporator under inside, condenser over ambient. [K]

    Examples
    --------
    >>> gain, cop, power = refrigeration(0.9, 32, 4, 0.35, 12, 15)
    >>> round(gain, 1), round(cop, 3), round(power, 2)
    (25.2, 1.687, 14.93)
    """
    require("ua_w_per_k", ua_w_per_k, minimum=0.01, maximum=100, unit="W/K")
    require("carnot_ratio", carnot_ratio, minimum=0.05, maximum=1)
    require("ambient_c", ambient_c, minimum=inside_c, maximum=90, unit="°C")
    cold_k = inside_c - require("evaporator_k", evaporator_k, minimum=0.1, maximum=60, unit="K") + ZERO_C
    warm_k = ambient_c + require("condenser_k", condenser_k, minimum=0.1, maximum=60, unit="K") + ZERO_C
    gain = ua_w_per_k * (ambient_c - inside_c)
    cop = carnot_ratio * cold_k / (warm_k - cold_k)
    return gain, cop, gain / cop


@lru_cache(maxsize=1024)
def window_shares(start_h: float, end_h: float) -> tuple[float, ...]:
    """Share of each hour of the day that lies in a window; over midnight when the end is before the start. [0..1]"""
    if end_h == start_h:
        return (1.0,) * 24
    spans = [(start_h, end_h)] if end_h > start_h else [(start_h, 24.0), (0.0, end_h)]
    return tuple(sum(max(0.0, min(end, h + 1.0) - max(start, float(h))) for start, end in spans) for h in HOURS)


@dataclass(frozen=True, slots=True)
class Line:
    """One line at one stop."""

    key: str
    name: str
    bus: str
    profile_w: tuple[float, ...]
    """At the house battery, by hours. [W]"""
    on_ratio: tuple[float, ...]
    """Share of each hour it is on."""
    running_w: float
    """At the house battery while it runs, all of its quantity. [W]"""
    energy_wh: float
    duty_ratio: float
    hours_per_day: float
    steps: tuple[Step, ...]
    always_live: bool
    essential: bool
    shed_below_ratio: float | None
    own_draw: bool = False

    def result(self, bus_v: float) -> LoadResult:
        """The line as the Appraisal shows it."""
        return LoadResult(
            key=self.key,
            name=self.name,
            energy_wh=self.energy_wh,
            running_a=self.running_w / bus_v,
            running_w=self.running_w,
            duty_ratio=self.duty_ratio,
            hours_per_day=self.hours_per_day,
            steps=self.steps,
            own_draw=self.own_draw,
            always_live=self.always_live,
            shed_below_ratio=self.shed_below_ratio,
            bus=self.bus,
        )


@dataclass(frozen=True, slots=True)
class Day:
    """All lines at one stop."""

    lines: tuple[Line, ...]
    ambient_c: tuple[float, ...]
    inverter_on: tuple[float, ...]
    """Share of each hour that the inverter is on."""
    starter_wh: float = 0.0
    """Taken from the starter battery by loads on its bus. [Wh]"""
    starter_w: float = 0.0
    findings: tuple[Finding, ...] = field(default_factory=tuple)

    @property
    def energy_wh(self) -> float:
        return math.fsum(x.energy_wh for x in self.lines)

    @property
    def profile_w(self) -> tuple[float, ...]:
        return tuple(math.fsum(x.profile_w[h] for x in self.lines) for h in HOURS)


def work_out(brief: Brief, stop: Stop, curve: LossCurve, index: int = 0, converter_ratio: float | None = None) -> Day:
    """Work out every line of the audit at one stop.

    ``converter_ratio`` is the efficiency of the chosen converter of 12 V loads on a 24 V system; the policy's when none
    is chosen.

    Raises
    ------
    SizingError
        If a line runs longer than its window, or a refrigerator's data contradict themselves.
    """
    ambient = ambient_by_hour(stop.site, stop.month)
    lines, findings, on = [], [], [0.0] * 24
    starter_wh = starter_w = 0.0
    airs: dict[str | None, tuple[float, ...]] = {None: ambient}
    for i, load in enumerate(brief.loads):
        if isinstance(load.use, Cooling) and load.position not in airs:
            airs[load.position] = air_of(brief, stop, load, ambient)
        line, found = _line(i, load, airs.get(load.position, ambient), brief, curve, converter_ratio)
        findings += [x.model_copy(update={"params": {**x.params, "stop": index}}) for x in found]
        if load.bus == "starter":
            starter_wh += line.energy_wh
            starter_w += line.running_w * line.duty_ratio
            line = _elsewhere(line)
        elif load.bus == "ac":
            on = [min(1.0, a + b) for a, b in zip(on, line.on_ratio, strict=True)]
        lines.append(line)
    return Day(tuple(lines), ambient, tuple(on), starter_wh, starter_w, tuple(findings))


def air_of(brief: Brief, stop: Stop, load: Load, ambient_c: tuple[float, ...]) -> tuple[float, ...]:
    """Air round a load by hours: that of its position, parked in the sun; outside air where no position is said."""
    place = air.at_key(brief.vehicle, load.position)
    return ambient_c if place is None else air.at_position(brief, stop, ambient_c, place)


def air_step(brief: Brief, load: Load, air_c: tuple[float, ...]) -> Step:
    """Which air a refrigerator's sum was made with, as its first line."""
    place, mean_c = air.at_key(brief.vehicle, load.position), math.fsum(air_c) / len(air_c)
    if place is None:
        return step("air_outside", mean_c, "°C")
    return step("air_there", mean_c, "°C", origin="survey", name=place.name, hottest_c=max(air_c))


def _elsewhere(line: Line) -> Line:
    """A line that another battery feeds: it stays in the list and takes nothing here."""
    return Line(
        line.key, line.name, line.bus, (0.0,) * 24, line.on_ratio, 0.0, 0.0, line.duty_ratio, line.hours_per_day,
        (*line.steps, step("line_energy", 0.0, "Wh", "=")), line.always_live, line.essential, line.shed_below_ratio,
    )  # fmt: skip


def _line(
    i: int, load: Load, air_c: tuple[float, ...], brief: Brief, curve: LossCurve, converter_ratio: float | None
) -> tuple[Line, tuple[Finding, ...]]:
    policy, use = brief.policy, load.use
    shares = window_shares(load.window_start_h, load.window_end_h)
    window_h = math.fsum(shares)
    if window_h <= 0:
        raise SizingError(
            f"loads[{i}].window_end_h", value=load.window_end_h, code="conflict", message="the window is empty"
        )
    findings: tuple[Finding, ...] = ()
    pieces_w = use.power_w * load.quantity
    steps: list[Step] = [step("power", use.power_w, "W", origin="input")]
    if isinstance(use, Recharge):
        hours = use.pack_wh * use.charges_per_day / use.charger_efficiency_ratio / use.power_w
        duty_hours = [hours / window_h * share for share in shares]
        steps = [
            step("pack", use.pack_wh, "Wh", origin="input"),
            step("charges", use.charges_per_day, "1/day", "×", "input"),
            step("charger_efficiency", use.charger_efficiency_ratio, "", "÷", "input"),
        ]
    elif isinstance(use, Event):
        hours = use.minutes * use.times_per_day / 60
        duty_hours = [hours / window_h * share for share in shares]
        steps += [
            step("minutes_as_hours", use.minutes / 60, "h", "×", "input", minutes=use.minutes),
            step("times", use.times_per_day, "1/day", "×", "input"),
        ]
    elif isinstance(use, Steady):
        hours = use.hours_per_day * use.duty_ratio
        duty_hours = [hours / window_h * share for share in shares]
        steps.append(step("hours", use.hours_per_day, "h", "×", "input"))
        if use.duty_ratio < 1:
            steps.append(step("duty", use.duty_ratio, "", "×", "input"))
        if use.hours_per_day > window_h + 1e-9:
            raise _too_long(i, "hours_per_day", use.hours_per_day, window_h)
    else:
        duties, findings = _cooling(i, load, use, air_c, shares, policy)
        duty_hours = [duty * share for duty, share in zip(duties, shares, strict=True)]
        hours = math.fsum(duty_hours)
        steps.insert(0, air_step(brief, load, air_c))
        steps += [
            step("hours", window_h, "h", "×", "input"),
            step("duty_now", hours / window_h, "", "×", "derived"),
        ]
    if hours > window_h + 1e-9:
        raise _too_long(i, "times_per_day" if isinstance(use, Event) else "charges_per_day", hours, window_h)
    if load.quantity > 1:
        steps.append(step("quantity", load.quantity, "", "×", "input"))
    running_w, way = _at_battery(load, pieces_w, brief, curve, converter_ratio)
    if way is not None:
        loss_wh = (running_w - pieces_w) * hours
        steps.append(way if way.op == "÷" else step("inverter_losses", loss_wh, "Wh", "+"))
    energy = running_w * hours
    steps.append(step("line_energy", energy, "Wh", "="))
    line = Line(
        key=load.key,
        name=load.name,
        bus=load.bus,
        profile_w=tuple(running_w * x for x in duty_hours),
        on_ratio=tuple(duty_hours),
        running_w=running_w,
        energy_wh=energy,
        duty_ratio=min(1.0, hours / window_h),
        hours_per_day=hours,
        steps=tuple(steps),
        always_live=load.always_live,
        essential=load.essential,
        shed_below_ratio=load.shed_below_ratio,
    )
    return line, findings


def _too_long(i: int, name: str, hours: float, window_h: float) -> SizingError:
    return SizingError(
        f"loads[{i}].use.{name}",
        value=round(hours, 3),
        code="conflict",
        message=f"it would run {hours:.4g} h a day, but its window is {window_h:.4g} h long",
    )


def _at_battery(
    load: Load, pieces_w: float, brief: Brief, curve: LossCurve, chosen_ratio: float | None
) -> tuple[float, Step | None]:
    """Power at the house battery while the load runs, and the step that says how it gets there."""
    converter = brief.policy.converter_efficiency_ratio
    if load.bus == "ac":
        return pieces_w + curve.loss_under_load_w(pieces_w), step("inverter_losses", 0.0, "Wh", "+")
    behind = load.bus == "house12" and brief.wishes.system_v == 24
    if behind and chosen_ratio is not None:
        return pieces_w / chosen_ratio, step("converter", chosen_ratio, "", "÷", "catalogue")
    if load.bus == "usb" or behind:
        return pieces_w / converter, step("converter", converter, "", "÷", "policy")
    return pieces_w, None


def _cooling(
    i: int, load: Load, use: Cooling, air_c: tuple[float, ...], shares: tuple[float, ...], policy: Policy
) -> tuple[list[float], tuple[Finding, ...]]:
    if use.rated_ambient_c - use.inside_c < 1:
        raise SizingError(
            f"loads[{i}].use.rated_ambient_c", value=use.rated_ambient_c, minimum=use.inside_c + 1, unit="°C"
        )
    raw = duties_of(use, air_c, policy)
    over = [h for h in HOURS if raw[h] > 1 + 1e-9 and shares[h] > 0]
    if not over:
        return raw, ()
    worst = max(over, key=lambda h: raw[h])
    mean = math.fsum(raw) / 24
    found = finding(
        "danger" if mean > 1 and load.essential else "warning",
        "cooling_cannot_hold",
        load.key,
        name=load.name,
        ambient_c=air_c[worst],
        duty_ratio=raw[worst],
        hours=len(over),
    )
    return [min(1.0, x) for x in raw], (found,)


def cooling_steps(brief: Brief, load: Load, use: Cooling, air_c: tuple[float, ...]) -> tuple[float, tuple[Step, ...]]:
    """Mean duty of a refrigerator over the day and its sum on paper, at the mean of the air where it stands."""
    delta = brief.policy.cooling_evaporator_k + brief.policy.cooling_condenser_k
    mean_c = math.fsum(air_c) / 24
    rated, span = use.rated_ambient_c - use.inside_c, max(0.0, mean_c - use.inside_c)
    mean = math.fsum(min(1.0, x) for x in duties_of(use, air_c, brief.policy)) / 24
    steps = (
        air_step(brief, load, air_c),
        step("rated_duty", use.rated_duty_ratio, "", origin="input", ambient_c=use.rated_ambient_c),
        step("span_now", span, "K", "×", ambient_c=mean_c, inside_c=use.inside_c),
        step("span_rated", rated, "K", "÷", "input", ambient_c=use.rated_ambient_c, inside_c=use.inside_c),
        step("lift_now", span + delta if span else 0.0, "K", "×"),
        step("lift_rated", rated + delta, "K", "÷"),
        step("duty_at_mean", use.rated_duty_ratio * span * (span + delta) / (rated * (rated + delta)), "", "="),
        step("duty_mean_day", mean, "", ""),
    )
    return mean, steps


@dataclass(frozen=True, slots=True)
class Peak:
    """Coincident loads of one bus."""

    running_w: float
    running_va: float
    start_w: float
    """With the largest start. [W]"""
    start_s: float
    starter: str
    """Name of the load whose start is the largest."""
    items: tuple[tuple[str, float], ...]
    """(name, W) of what is counted."""


def coincident(
    loads: tuple[Load, ...], powers_w: tuple[float, ...], always_w: tuple[tuple[str, float], ...] = ()
) -> Peak:
    """Largest power of one bus at one time, and with the largest start of a single piece. [W]

    Loads that are not counted at once stand alone: the largest of them counts when it is more than all the others.
    """
    together = [(x, w) for x, w in zip(loads, powers_w, strict=True) if x.at_once]
    alone = [(x, w) for x, w in zip(loads, powers_w, strict=True) if not x.at_once]
    base = sum(w for _, w in always_w)
    best = _peak(together, base, always_w)
    for single in alone:
        other = _peak([single], base, always_w)
        if other.running_w > best.running_w:
            best = _with_start(other, best)
        else:
            best = _with_start(best, other)
    return best


def _peak(items: list[tuple[Load, float]], base_w: float, always: tuple[tuple[str, float], ...]) -> Peak:
    running = base_w + math.fsum(w for _, w in items)
    va = base_w + math.fsum(w / x.power_factor for x, w in items)
    extra, seconds, who = 0.0, 0.0, ""
    for x, w in items:
        more = (x.start_multiple - 1) * w / x.quantity
        if more > extra:
            extra, seconds, who = more, x.start_s, x.name
    return Peak(running, va, running + extra, seconds, who, (*((x.name, w) for x, w in items), *always))


def _with_start(main: Peak, other: Peak) -> Peak:
    """The first peak, with the larger start and apparent power of the two."""
    va = max(main.running_va, other.running_va)
    if other.start_w > main.start_w:
        return Peak(main.running_w, va, other.start_w, other.start_s, other.starter, main.items)
    return Peak(main.running_w, va, main.start_w, main.start_s, main.starter, main.items)
