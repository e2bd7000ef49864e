"""Choosing components: for each need the cheapest single model, whole numbers, that meets it.

Nothing stands in for what is missing: a need that nothing meets becomes a :class:`Shortfall` with the nearest part.
Ties are settled by cost, mass and key.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from decimal import Decimal
from typing import TypeVar

from catalog.kinds.capabilities import (
    Capability,
    Inlet,
    Inverting,
    MainsCharging,
    Monitoring,
    ResidualProtection,
    Storage,
    Switching,
    at,
)
from quoting.sizing.appraisal import Chosen, Shortfall
from quoting.sizing.brief import Brief, Load
from quoting.sizing.choice_charging import ChargingSet, charging_set
from quoting.sizing.needs import Needs
from quoting.sizing.parts import Able, Catalogue, first_fit, rating_of, short
from quoting.sizing.topology import position
from quoting.sizing.trace import Finding, Scalar

AnyCapability = TypeVar("AnyCapability", bound=Capability)

NOMINAL_SPREAD_RATIO = 0.15
"""How far a bank's nominal voltage may lie from the bus: 12.8 V serves 12 V, not 24 V. C."""

PEOPLE_MA = 30.0
"""Residual current that protects people. [mA] IEC 60364-4-41."""


@dataclass(frozen=True, slots=True)
class Choice:
    """The components of a system and what the catalogue could not meet."""

    chosen: tuple[Chosen, ...]
    shortfalls: tuple[Shortfall, ...] = ()
    findings: tuple[Finding, ...] = ()

    def role(self, *roles: str) -> Chosen | None:
        """The first chosen component of those roles."""
        return next((c for c in self.chosen if c.role in roles), None)


def capability(brief: Brief, chosen: Chosen, wanted: type[AnyCapability]) -> AnyCapability:
    """The capability of a chosen part; KeyError when it has none of that class."""
    return Catalogue(brief).can(chosen.part, wanted)


@dataclass(frozen=True, slots=True)
class _Bank:
    chosen: Chosen | None
    shortfall: Shortfall | None
    chargers: ChargingSet
    cost: Decimal

    @property
    def order(self) -> tuple[int, int, Decimal, float, str]:
        missing = len(self.chargers.shortfalls) + (self.shortfall is not None)
        mass = sum(c.mass_kg for c in self.chargers.chosen) + (self.chosen.mass_kg if self.chosen else 0.0)
        return int(self.shortfall is not None), missing, self.cost, mass, self.chosen.part if self.chosen else ""


def choose(brief: Brief, needs: Needs) -> Choice:
    """Choose components for every need.

    Parameters
    ----------
    brief : Brief
        With catalogue, wishes and policy.
    needs : Needs
        What loads and trip ask.

    Returns
    -------
    Choice
        Components, shortfalls and findings; batteries and chargers are chosen together, as their profiles must agree.
    """
    parts = Catalogue(brief)
    bank = min((_for_chemistry(brief, parts, needs, c) for c in brief.wishes.chemistries), key=lambda b: b.order)
    chosen: list[Chosen] = [bank.chosen] if bank.chosen else []
    missing = [bank.shortfall] if bank.shortfall else []
    chosen += bank.chargers.chosen
    missing += bank.chargers.shortfalls
    findings = list(bank.chargers.findings)
    inverter = _inverter(brief, parts, needs)
    singles = [inverter, _monitor(brief, parts, needs, inverter, bank.chosen), _switching(brief, parts)]
    singles += _mains_side(brief, parts, bank.chargers, inverter)
    for found in singles:
        if isinstance(found, Chosen):
            chosen.append(found)
        elif found is not None:
            missing.append(found)
    return Choice(tuple(chosen), tuple(missing), tuple(findings))


def _for_chemistry(brief: Brief, parts: Catalogue, needs: Needs, chemistry: str) -> _Bank:
    models = [a for a in parts.having(Storage) if a.can.chemistry == chemistry]
    first = models[0].can if models else None
    series = _series(brief, first) if first else None
    setting = _charge_setting(first, series) if first and series else {}
    chargers = charging_set(brief, parts, needs, chemistry, setting)
    chosen, missing = _storage(brief, parts, needs, chemistry, chargers.together_a)
    cost = chargers.cost
    if chosen:
        cost += Decimal(parts.part(chosen.part).cost) * chosen.quantity
        fitted = _charge_setting(parts.can(chosen.part, Storage), chosen.series)
        chargers = ChargingSet(
            tuple(
                c if c.role == "panel" else c.model_copy(update={"setting": {**c.setting, **fitted}})
                for c in chargers.chosen
            ),
            chargers.shortfalls,
            chargers.findings,
            chargers.cost,
            chargers.together_a,
        )
    return _Bank(chosen, missing, chargers, cost)


def _charge_setting(can: Storage, series: int) -> dict[str, Scalar]:
    return {
        "profile": can.chemistry,
        "absorption_v": round(can.absorption_v * series, 2),
        "float_v": round(can.float_v * series, 2),
        "compensation_mv_per_cell_k": can.compensation_mv_per_cell_k,
    }


def _series(brief: Brief, can: Storage) -> int | None:
    """Batteries in series that make the bus voltage, or ``None`` when whole ones do not."""
    bus_v = brief.wishes.system_v
    series = max(1, round(bus_v / can.nominal_v))
    near = abs(series * can.nominal_v / bus_v - 1) <= NOMINAL_SPREAD_RATIO
    return series if near and series <= can.max_series else None


def _storage(
    brief: Brief, parts: Catalogue, needs: Needs, chemistry: str, charge_a: float
) -> tuple[Chosen | None, Shortfall | None]:
    asked_ah = needs.battery.capacity_ah.get(chemistry)
    models = [a for a in parts.having(Storage) if a.can.chemistry == chemistry]
    if not models or asked_ah is None:
        anything = parts.having(Storage)
        code = "wrong_chemistry" if anything else "none_of_kind"
        return None, short(code, "storage", "battery", asked=asked_ah, unit="Ah", chemistry=chemistry)
    right = [a for a in models if _series(brief, a.can)]
    if not right:
        return None, short(
            "wrong_voltage", "storage", "battery", best=models[0], asked=asked_ah, unit="Ah", chemistry=chemistry
        )
    place = brief.vehicle.places.get("battery")
    hot = place is not None and position(brief.vehicle, place).engine_space
    allowed = [a for a in right if a.can.engine_bay_allowed or not hot]
    if not allowed:
        return None, short(
            "no_match", "storage", "battery", best=right[0], asked=asked_ah, unit="Ah", engine_space=True
        )
    offers = [(a, *_parallel(a.can, needs, asked_ah, charge_a)) for a in allowed]
    good = [(a, n) for a, n, _ in offers if n <= a.can.max_parallel]
    if not good:
        near, _, what = max(offers, key=lambda o: (o[0].can.capacity_ah * o[0].can.max_parallel, o[0].part.key))
        value, asked, unit = what.missed(near.can.max_parallel)
        return None, short(
            "too_small", "storage", "battery", best=near, best_value=value, asked=asked, unit=unit, chemistry=chemistry
        )
    series = {a.part.key: _series(brief, a.can) or 1 for a, _ in good}
    good.sort(key=lambda o: (o[0].cost * o[1] * series[o[0].part.key], o[0].part.mass_kg * o[1], o[0].part.key))
    (a, parallel), rest = good[0], good[1:]
    s = series[a.part.key]
    return Chosen(
        role="battery",
        serves=("storage",),
        part=a.part.key,
        name=a.part.name,
        part_number=a.part.part_number,
        quantity=s * parallel,
        rating=rating_of(a.part),
        series=s,
        parallel=parallel,
        mass_kg=round(a.part.mass_kg * s * parallel, 3),
        setting={},
        runner_up=rest[0][0].part.name if rest else "",
    ), None


class _Limits:
    """The limit that asks most of a bank, read for a number of strings."""

    def __init__(self, rows: list[tuple[float, float, str]]) -> None:
        self.rows = rows

    def missed(self, strings: int) -> tuple[float, float, str]:
        """(value reached, value asked, unit) of the limit that is missed most."""
        asked, each, unit = max(self.rows, key=lambda r: r[0] / r[1])
        return each * strings, asked, unit


def _parallel(can: Storage, needs: Needs, asked_ah: float, charge_a: float) -> tuple[int, _Limits]:
    """Strings that meet capacity, continuous and peak current, and take the chargers together."""
    need = needs.battery
    peak_each = can.peak_a if can.peak_s >= need.peak_s else can.max_discharge_a
    rows = [
        (asked_ah, can.capacity_ah, "Ah"),
        (need.discharge_a, can.max_discharge_a, "A"),
        (need.peak_a, peak_each, "A"),
        (charge_a, can.max_charge_a, "A"),
    ]
    return max(1, *(math.ceil(asked / each - 1e-9) for asked, each, _ in rows)), _Limits(rows)


def _inverter(brief: Brief, parts: Catalogue, needs: Needs) -> Chosen | Shortfall | None:
    need = needs.inverter
    if need is None:
        return None
    models = parts.having(Inverting)
    right = [a for a in models if a.can.nominal_v == brief.wishes.system_v]
    if not right:
        code = "wrong_voltage" if models else "none_of_kind"
        near = models[0] if models else None
        return short(code, "inverting", "inverter", best=near, asked=need.continuous_w, unit="W")

    def fits(a: Able[Inverting]) -> bool:
        left = at(a.can.derating, need.compartment_c)
        surge_w = a.can.surge_w if a.can.surge_s >= need.surge_s else a.can.continuous_w * left
        enough = a.can.continuous_w * left >= need.continuous_w and a.can.continuous_va * left >= need.continuous_va
        return enough and surge_w >= need.surge_w

    best, second = first_fit(right, fits)
    if best is None:
        near = max(right, key=lambda a: (a.can.continuous_w, a.part.key))
        left = at(near.can.derating, need.compartment_c)
        rows = [
            (near.can.continuous_w * left, need.continuous_w, "W"),
            (near.can.continuous_va * left, need.continuous_va, "VA"),
            (near.can.surge_w if near.can.surge_s >= need.surge_s else near.can.continuous_w * left, need.surge_w, "W"),
        ]
        value, asked, unit = min(rows, key=lambda r: r[0] / r[1] if r[1] else math.inf)
        return short("too_small", "inverting", "inverter", best=near, best_value=value, asked=asked, unit=unit)
    return _chosen("inverter", ("inverting",), best, second, setting={"low_cutoff_v": best.can.cutoff_v})


def _monitor(
    brief: Brief, parts: Catalogue, needs: Needs, inverter: Chosen | Shortfall | None, battery: Chosen | None
) -> Chosen | Shortfall:
    current_a = needs.battery.discharge_a
    if isinstance(inverter, Chosen):
        current_a = max(current_a, inverter_dc_a(parts.can(inverter.part, Inverting)))
    top_v = brief.policy.charging_v_per_12 * brief.wishes.system_v / 12
    models = parts.having(Monitoring)
    best, second = first_fit(models, lambda a: a.can.shunt_a >= current_a and a.can.max_v >= top_v)
    if best is None:
        near = max(models, key=lambda a: (a.can.shunt_a, a.part.key)) if models else None
        small = near is not None and near.can.shunt_a < current_a
        code = "none_of_kind" if near is None else "too_small" if small else "wrong_voltage"
        value = near.can.shunt_a if near else None
        return short(code, "monitoring", "monitor", best=near, best_value=value, asked=current_a, unit="A")
    setting: dict[str, Scalar] = {}
    if battery is not None:
        can = parts.can(battery.part, Storage)
        setting = {
            "capacity_ah": round(can.capacity_ah * battery.parallel, 1),
            "peukert": can.peukert,
            "full_v": round(can.absorption_v * battery.series - 0.2, 2),
        }
    return _chosen("monitor", ("monitoring",), best, second, setting=setting)


def inverter_dc_a(can: Inverting) -> float:
    """Direct current at the inverter's rating and its low-voltage limit: it sizes cable, device and battery. [A]"""
    return can.continuous_w / (can.efficiency_full_ratio * can.cutoff_v)


def switched(load: Load) -> bool:
    """Say whether a load wants a switched output: it belongs to the Away set, or is to be shed."""
    direct = load.bus in ("house", "house12", "usb")
    return direct and load.channel and (not load.always_live or load.shed_below_ratio is not None)


def _switching(brief: Brief, parts: Catalogue) -> Chosen | Shortfall | None:
    """Switched outputs for the Away set and for shedding; how the circuits share them is settled with them."""
    groups: dict[str, float] = {}
    sheds: dict[str, float] = {}
    for load in brief.loads:
        if switched(load):
            key = load.circuit or load.key
            current_a = load.use.power_w * load.quantity / brief.wishes.system_v
            groups[key] = groups.get(key, 0.0) + current_a
            if load.shed_below_ratio is not None:
                sheds[key] = max(sheds.get(key, 0.0), load.shed_below_ratio)
    if not groups:
        return None
    spare, models = brief.policy.spare_outputs, parts.having(Switching)
    right = [a for a in models if brief.wishes.system_v in a.can.nominal_v and (a.can.sheds or not sheds)]
    if not right:
        code = (
            "none_of_kind"
            if not models
            else "wrong_voltage"
            if not any(brief.wishes.system_v in a.can.nominal_v for a in models)
            else "no_match"
        )
        return short(
            code, "switching", "switching", best=models[0] if models else None, asked=len(groups) + spare, unit=""
        )
    largest_a = max(max(a.can.channel_limits_a) for a in right)
    carried = {key: amps for key, amps in groups.items() if amps <= largest_a}  # the rest is named with its circuit
    options: list[tuple[Decimal, float, str, Able[Switching], int]] = []
    for a in right if carried else ():
        ratio = 1.0 if a.can.protects else brief.policy.fuse_continuous_ratio
        count = modules_wanted(sorted(carried.values(), reverse=True), a.can, spare, ratio=ratio)
        if count is not None:
            options.append((a.cost * count, a.part.mass_kg * count, a.part.key, a, count))
    if not options:
        near = max(right, key=lambda a: (max(a.can.channel_limits_a), a.part.key))
        return short(
            "too_small",
            "switching",
            "switching",
            best=near,
            best_value=max(near.can.channel_limits_a),
            asked=max(groups.values()),
            unit="A",
        )
    options.sort(key=lambda o: o[:3])
    _, _, _, a, count = options[0]
    setting: dict[str, Scalar] = {f"shed_{key}_ratio": level for key, level in sorted(sheds.items())}
    second = next((o[3].part.name for o in options[1:]), "")
    return _chosen("switching", ("switching",), a, second, setting=setting, quantity=count)


def modules_wanted(
    currents_a: list[float], can: Switching, spare: int, most: int = 12, ratio: float = 1.0
) -> int | None:
    """Modules of one model that carry these circuits with spare outputs, or ``None``: one is over every channel.

    ``ratio``: least limit over current, for channels that the device before them must protect.
    """
    for count in range(1, most + 1):
        places = assign_channels(currents_a, can, count, [ratio * amps for amps in currents_a])
        if places is not None and count * len(can.channel_limits_a) - len(currents_a) >= spare:
            return count
    return None


def assign_channels(
    currents_a: list[float], can: Switching, modules: int, least_a: list[float] | None = None
) -> list[tuple[int, int]] | None:
    """Give each circuit the smallest free channel that carries it: (module, channel) for each, or ``None``.

    ``least_a``: smallest limit a circuit's channel may have, such as the device before a channel that cannot protect
    itself. [A]
    """
    free = [(limit, m, c) for m in range(modules) for c, limit in enumerate(can.channel_limits_a)]
    left = [can.total_a] * modules
    least = [max(pair) for pair in zip(currents_a, least_a or currents_a, strict=True)]
    places: dict[int, tuple[int, int]] = {}
    for i in sorted(range(len(currents_a)), key=lambda i: (-least[i], -currents_a[i], i)):
        fits = sorted(f for f in free if f[0] >= least[i] - 1e-9 and left[f[1]] >= currents_a[i])
        if not fits:
            return None
        limit, m, c = fits[0]
        free.remove((limit, m, c))
        left[m] -= currents_a[i]
        places[i] = (m, c)
    return [places[i] for i in range(len(currents_a))]


def _mains_side(
    brief: Brief, parts: Catalogue, chargers: ChargingSet, inverter: Chosen | Shortfall | None
) -> list[Chosen | Shortfall | None]:
    """Shore inlet and residual-current protection. What the licensed person decides is asked, not chosen."""
    found: list[Chosen | Shortfall | None] = []
    mains = [c for c in chargers.chosen if parts.has(c.part, MainsCharging) and "mains_charging" in c.serves]
    circuits = 0
    current_a = 0.0
    if mains and brief.wishes.shore_inlet:
        can = parts.can(mains[0].part, MainsCharging)
        current_a = can.output_a * can_v(brief) / (can.efficiency_ratio * can.power_factor * can.mains_v)
        inlets = parts.having(Inlet)
        best, second = first_fit(inlets, lambda a: a.can.rated_a >= current_a and a.can.rated_v >= can.mains_v)
        if best is None:
            near = max(inlets, key=lambda a: (a.can.rated_a, a.part.key)) if inlets else None
            code = "none_of_kind" if near is None else "too_small" if near.can.rated_a < current_a else "wrong_voltage"
            value = near.can.rated_a if near else None
            found.append(short(code, "inlet", "inlet", best=near, best_value=value, asked=current_a, unit="A"))
        else:
            found.append(_chosen("inlet", ("inlet",), best, second))
        circuits += 1
    if isinstance(inverter, Chosen):
        inv = parts.can(inverter.part, Inverting)
        current_a = max(current_a, inv.continuous_va / inv.output_v)
        circuits += 1
    if circuits:
        devices = parts.having(ResidualProtection)

        def fits(a: Able[ResidualProtection]) -> bool:
            return (
                a.can.sensitivity_ma <= PEOPLE_MA
                and a.can.rated_a >= current_a
                and a.can.poles >= 2
                and a.can.type != "ac"
            )

        rcd, after = first_fit(devices, fits)
        if rcd is None:
            close = max(devices, key=lambda a: (a.can.rated_a, a.part.key)) if devices else None
            code = "none_of_kind" if close is None else "too_small" if close.can.rated_a < current_a else "no_match"
            value = close.can.rated_a if close else None
            found.append(short(code, "residual", "residual", best=close, best_value=value, asked=current_a, unit="A"))
        else:
            found.append(_chosen("residual", ("residual",), rcd, after, quantity=circuits))
    return found


def can_v(brief: Brief) -> float:
    """Highest voltage of the house bus, by policy. [V]"""
    return brief.policy.charging_v_per_12 * brief.wishes.system_v / 12


def _chosen(
    role: str,
    serves: tuple[str, ...],
    a: Able[AnyCapability],
    runner_up: str,
    *,
    setting: dict[str, Scalar] | None = None,
    quantity: int = 1,
) -> Chosen:
    return Chosen(
        role=role,  # type: ignore[arg-type]
        serves=serves,
        part=a.part.key,
        name=a.part.name,
        part_number=a.part.part_number,
        quantity=quantity,
        rating=rating_of(a.part),
        mass_kg=round(a.part.mass_kg * quantity, 3),
        setting=setting or {},
        runner_up=runner_up,
    )
