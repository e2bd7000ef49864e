"""The bank and its chargers, chosen together: their profiles must agree."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from decimal import Decimal

from catalog.kinds.capabilities import Storage
from quoting.sizing.appraisal import Chosen, Shortfall
from quoting.sizing.brief import Brief
from quoting.sizing.choice_charging import ChargingSet, charging_set
from quoting.sizing.kept import Settled, as_settled, bank_of_settled, settled_as
from quoting.sizing.needs import Needs
from quoting.sizing.parts import Catalogue, rating_of, short
from quoting.sizing.placing import over_space, stands
from quoting.sizing.topology import position
from quoting.sizing.trace import Finding, Scalar, finding

NOMINAL_SPREAD_RATIO = 0.15
"""How far a bank's nominal voltage may lie from the bus: 12.8 V serves 12 V, not 24 V. C."""


@dataclass(frozen=True, slots=True)
class BankChoice:
    chosen: Chosen | None
    shortfall: Shortfall | None
    chargers: ChargingSet
    cost: Decimal

    @property
    def order(self) -> tuple[int, int, Decimal, float, str]:
        missing = len(self.chargers.shortfalls) + (self.shortfall is not None)
        mass = sum(c.mass_kg for c in self.chargers.chosen) + (self.chosen.mass_kg if self.chosen else 0.0)
        return int(self.shortfall is not None), missing, self.cost, mass, self.chosen.part if self.chosen else ""


def choose_bank(brief: Brief, parts: Catalogue, needs: Needs) -> BankChoice:
    """The bank with its chargers that lacks least and costs least; a settled battery is the bank."""
    one = settled_as(brief, "battery")
    if one is None:
        banks = (for_chemistry(brief, parts, needs, c) for c in brief.wishes.chemistries)
        return min(banks, key=lambda b: b.order)
    only = parts.narrowed(one.part, (Storage,))
    found = for_chemistry(brief, only, needs, only.can(one.part, Storage).chemistry, one)
    if found.shortfall is None or found.shortfall.params.get("instead") != "?":
        return found
    others = [for_chemistry(brief, parts, needs, c).chosen for c in brief.wishes.chemistries]
    instead = next((c.name for c in others if c is not None), "")
    params = {**found.shortfall.params, "instead": instead}
    return replace(found, shortfall=found.shortfall.model_copy(update={"params": params}))


def settled_bank(brief: Brief, parts: Catalogue) -> Chosen | None:
    """The bank that is settled, before anything is checked; ``None`` when there is none or it makes no bank."""
    one = settled_as(brief, "battery")
    if one is None:
        return None
    return bank_of_settled(brief, parts, one, series_of(brief, parts.can(one.part, Storage)))[0]


def _settled_bank(
    brief: Brief, parts: Catalogue, needs: Needs, one: Settled, charge_a: float
) -> tuple[Chosen | None, Shortfall | None]:
    """A settled bank, and what of the need it misses; ``instead`` is still to be found (``?``)."""
    (able,) = parts.having(Storage)
    chosen, missing = bank_of_settled(brief, parts, one, series_of(brief, able.can))
    if chosen is None:
        assert missing is not None
        return None, missing.model_copy(update={"params": {**missing.params, "instead": "?"}})
    asked_ah = needs.battery.capacity_ah.get(able.can.chemistry)
    if asked_ah is None:
        return chosen, None
    strings, limits = _parallel(able.can, needs, asked_ah, charge_a)
    if strings <= chosen.parallel:
        over = None if one.kept else over_space(brief, able, chosen.quantity)
        return chosen, as_settled(over, one, able.part.name, "?") if over else None
    value, asked, unit = limits.missed(chosen.parallel)
    found = short(
        "too_small", "storage", "battery", best=able, best_value=value, asked=asked, unit=unit,
        chemistry=able.can.chemistry,
    )  # fmt: skip
    return chosen, as_settled(found, one, able.part.name, "?")


def for_chemistry(
    brief: Brief, parts: Catalogue, needs: Needs, chemistry: str, settled: Settled | None = None
) -> BankChoice:
    """Bank and chargers of one chemistry; ``settled``: of the one battery that is left in ``parts``."""
    models = [a for a in parts.having(Storage) if a.can.chemistry == chemistry]
    first = models[0].can if models else None
    series = series_of(brief, first) if first else None
    setting = _charge_setting(first, series) if first and series else {}
    chargers = charging_set(brief, parts, needs, chemistry, setting)
    if settled is not None:
        chosen, missing = _settled_bank(brief, parts, needs, settled, chargers.alone_a)
    else:
        chosen, missing = _storage(brief, parts, needs, chemistry, chargers.alone_a)
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
            (*chargers.findings, *_over_limit(parts.can(chosen.part, Storage), chosen, chargers.together_a)),
            chargers.cost,
            chargers.alone_a,
            chargers.together_a,
        )
    return BankChoice(chosen, missing, chargers, cost)


def _over_limit(can: Storage, chosen: Chosen, together_a: float) -> tuple[Finding, ...]:
    """Say that chargers together may bring more than the bank takes: they can be set down, a battery cannot be."""
    limit_a = can.max_charge_a * chosen.parallel
    if together_a <= limit_a + 1e-6:
        return ()
    return (finding("warning", "charging_over_limit", "battery", together_a=together_a, limit_a=limit_a),)


def _charge_setting(can: Storage, series: int) -> dict[str, Scalar]:
    return {
        "profile": can.chemistry,
        "absorption_v": round(can.absorption_v * series, 2),
        "float_v": round(can.float_v * series, 2),
        "compensation_mv_per_cell_k": can.compensation_mv_per_cell_k,
    }


def series_of(brief: Brief, can: Storage) -> int | None:
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
    right = [a for a in models if series_of(brief, a.can)]
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
    series = {a.part.key: series_of(brief, a.can) or 1 for a, _ in good}
    good.sort(key=lambda o: (o[0].cost * o[1] * series[o[0].part.key], o[0].part.mass_kg * o[1], o[0].part.key))
    fitting = [(a, n) for a, n in good if stands(brief, a.can, n * series[a.part.key])]
    (a, parallel), rest = (fitting or good)[0], (fitting or good)[1:]
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
    ), None if fitting else over_space(brief, a, s * parallel)


class _Limits:
    """The limit that asks most of a bank, read for a number of strings."""

    def __init__(self, rows: list[tuple[float, float, str]]) -> None:
        self.rows = rows

    def missed(self, strings: int) -> tuple[float, float, str]:
        """(value reached, value asked, unit) of the limit that is missed most."""
        asked, each, unit = max(self.rows, key=lambda r: r[0] / r[1])
        return each * strings, asked, unit


def _parallel(can: Storage, needs: Needs, asked_ah: float, charge_a: float) -> tuple[int, _Limits]:
    """Strings that meet capacity, continuous and peak current, and take what one charger gives.

    Chargers at once may be set down to what the bank takes; the balance holds them to it, and a finding says so.
    """
    need = needs.battery
    peak_each = can.peak_a if can.peak_s >= need.peak_s else can.max_discharge_a
    rows = [
        (asked_ah, can.capacity_ah, "Ah"),
        (need.discharge_a, can.max_discharge_a, "A"),
        (need.peak_a, peak_each, "A"),
        (charge_a, can.max_charge_a, "A"),
    ]
    return max(1, *(math.ceil(asked / each - 1e-9) for asked, each, _ in rows)), _Limits(rows)
