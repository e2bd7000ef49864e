"""What wishes leave of the options: kept parts, swaps, bans, pins, suppliers, lead times; limits as rows."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from catalog.kinds.capabilities import (
    Capability,
    Converting,
    EngineCharging,
    Inlet,
    Inverting,
    MainsCharging,
    Monitoring,
    Panel,
    ResidualProtection,
    Sensing,
    SolarControl,
    Storage,
    Switching,
)
from quoting.sizing.brief import Brief
from quoting.sizing.brief_choosing import Pick
from quoting.sizing.parts import Catalogue
from quoting.sizing.selecting.options_ask import part_of
from quoting.sizing.selecting.problem import Option, Problem, Row
from quoting.sizing.selecting.records import Market, Steer

CAN: dict[str, type[Capability]] = {
    "battery": Storage,
    "engine": EngineCharging,
    "mains": MainsCharging,
    "solar": SolarControl,
    "array": Panel,
    "inverter": Inverting,
    "converter": Converting,
    "monitor": Monitoring,
    "switching": Switching,
    "inlet": Inlet,
    "residual": ResidualProtection,
    "sensing": Sensing,
}
"""Group -> what fills it can do."""

GROUPS_OF: dict[str, tuple[str, ...]] = {
    "engine_charger": ("engine",),
    "mains_charger": ("mains",),
    "solar_controller": ("solar",),
    "multi_charger": ("engine", "mains", "solar"),
    "panel": ("array",),
}
"""Role -> groups that a part in it fills, where they are not called the same."""

SOURCES = frozenset(("engine", "mains", "solar"))
"""Groups that chargers fill."""

COUNTED = ("battery", "panel", "switching", "converter", "sensing")
"""Roles of which a swap settles the number as well."""


@dataclass(frozen=True, slots=True)
class Rest:
    """What a system has beside the parts that are chosen here: cable, protection, labour, what stays."""

    price: float = 0.0
    """[currency]"""
    mass_kg: float = 0.0


NOTHING = Rest()


@dataclass(frozen=True, slots=True)
class Everything:
    """All options for a Brief's needs, before anything is wished of them."""

    groups: tuple[str, ...]
    options: tuple[Option, ...]
    rows: tuple[Row, ...]
    held: frozenset[str] = frozenset()
    """Keys of engine chargers that give less than is asked as the alternator spares no more."""


def steered(every: Everything, brief: Brief, market: Market, steer: Steer, rest: Rest = NOTHING) -> Problem:
    """The programme that is left of all options when what is wished of them holds.

    Parameters
    ----------
    every : Everything
        All options.
    brief : Brief
        For its kept parts, pinned and banned ones.
    market, steer : Market, Steer
        Suppliers, stock and lead times; what is wished of them.
    rest : Rest
        What counts towards budget and mass beside the options.
    """
    rows = [*every.rows, *_limits(brief, steer, rest)]
    options = _kept(every.options, brief)
    options = _swapped(options, steer.swaps)
    options = _allowed(options, brief, market, steer)
    options = _pinned(options, brief, steer.swaps)
    options = _from_wanted(options, rows, market, steer)
    rows = [_engine_row(row, options, every.held) if row.code == "engine_a" else row for row in rows]
    premium = brief.policy.stock_premium_ratio if steer.prefer_stock else 0.0
    return Problem(every.groups, tuple(options), tuple(rows), premium)


def _limits(brief: Brief, steer: Steer, rest: Rest) -> list[Row]:
    """Budget and mass, less what is beside the options; the mass that is wished or the payload that is left."""
    rows = []
    if steer.budget is not None:
        most = float(steer.budget)
        rows.append(Row("budget", "limit", most=most - rest.price, scale=max(most, 1.0), beside=rest.price))
    masses = [m for m in (steer.most_mass_kg, brief.vehicle.payload_left_kg) if m is not None]
    if masses:
        most = min(masses)
        scale, beside = max(most, 1.0), rest.mass_kg
        rows.append(Row("mass_kg", "limit", most=most - beside, unit="kg", scale=scale, beside=beside))
    return rows


def _kept(options: Iterable[Option], brief: Brief) -> list[Option]:
    """What is kept is the only option for the groups that it would fill."""
    parts, kept = Catalogue.of(brief), {one.role: one.part for one in brief.kept}
    there = [o for o in options if o.kept and all(kept.get(pick.role) == pick.part for pick in o.kept)]
    settled = {
        group
        for role, part in kept.items()
        for group in GROUPS_OF.get(role, (role,))
        if role != "multi_charger" or parts.has(part, CAN[group])
    }
    return [*there, *(o for o in options if not o.kept and not settled & set(o.fills))]


def _swapped(options: list[Option], swaps: tuple[Pick, ...]) -> list[Option]:
    """What a person settled by hand is the only option for its groups, in that number where it is more than one."""
    for swap in swaps:
        groups = set(GROUPS_OF.get(swap.role, (swap.role,)))
        same = [o for o in options if any(_is(pick, swap) for pick in o.picks)]
        filled = {group for o in same for group in o.fills} & groups if swap.role == "multi_charger" else groups
        rest = [o for o in options if not filled & set(o.fills)]
        options = [*rest, *(_by_hand(o, swap) for o in same)]
    return options


def _is(pick: Pick, swap: Pick) -> bool:
    if (pick.role, pick.part) != (swap.role, swap.part):
        return False
    return swap.role not in COUNTED or (pick.quantity, pick.series) == (swap.quantity, swap.series)


def _by_hand(option: Option, swap: Pick) -> Option:
    picks = tuple(p.model_copy(update={"by_hand": True}) if _is(p, swap) else p for p in option.picks)
    return replace(option, picks=picks)


def _allowed(options: list[Option], brief: Brief, market: Market, steer: Steer) -> list[Option]:
    """Without what a ban, a supplier or a lead time leaves out; what was settled by hand is never left out."""
    out = set(brief.wishes.banned)
    out |= {key for key, one in market.parts.items() if one.supplier and one.supplier in steer.suppliers_banned}
    late: set[str] = set()
    if steer.most_lead_days is not None:
        late = {key for key, one in market.parts.items() if one.lead_days > steer.most_lead_days}

    def is_out(option: Option) -> bool:
        if option.kept or not option.picks or any(pick.by_hand for pick in option.picks):
            return False
        part = option.picks[0].part
        return part in out or (option.waits and part in late)

    return [option for option in options if not is_out(option)] if out or late else options


def _pinned(options: list[Option], brief: Brief, swaps: tuple[Pick, ...]) -> list[Option]:
    """Only pinned parts, for whatever any of them can do."""
    pinned = set(brief.wishes.pinned) - set(brief.wishes.banned)
    if not pinned:
        return options
    parts = Catalogue.of(brief)
    wished = pinned & {part.key for part in brief.catalogue}
    only = {group for group, can in CAN.items() if any(parts.has(p, can) for p in wished)}
    return [
        o
        for o in options
        if o.kept or not o.picks or part_of(o) in wished or any(p.by_hand for p in o.picks) or not only & set(o.fills)
    ]


def _from_wanted(options: list[Option], rows: list[Row], market: Market, steer: Steer) -> list[Option]:
    """Where a wanted supplier has a part that by itself does what is asked of a group, only theirs."""
    if not steer.suppliers_wanted:
        return options
    wanted = set(steer.suppliers_wanted)

    def theirs(option: Option) -> bool:
        one = market.parts.get(part_of(option))
        return one is not None and one.supplier in wanted

    fit = {o.key for o in able_alone(options, rows)}
    only = {group for o in options if o.key in fit and theirs(o) for group in o.fills}
    return [o for o in options if o.kept or not o.picks or theirs(o) or not only & set(o.fills)]


def able_alone(options: Iterable[Option], rows: Iterable[Row]) -> list[Option]:
    """Options that meet every row that only their own group gives to."""
    options, rows = list(options), list(rows)
    givers: dict[str, set[str]] = {}
    for option in options:
        for name, value in option.gives.items():
            if value:
                givers.setdefault(name, set()).add(option.fills[0] if len(option.fills) == 1 else "*")
    alone = [row for row in rows if len(givers.get(row.name, ())) == 1 and "*" not in givers[row.name]]
    of = {row.name: next(iter(givers[row.name])) for row in alone}
    return [
        o for o in options if all(of[row.name] not in o.fills or row.holds(o.gives.get(row.name, 0.0)) for row in alone)
    ]


def _combining(options: Iterable[Option]) -> list[Option]:
    """Chargers beside which others can fill the sources that they leave: only those say how much there is."""
    chargers = [(o, frozenset(o.fills) & SOURCES) for o in options if SOURCES & set(o.fills)]
    sets = {fills for _, fills in chargers}
    wanted = frozenset().union(*sets)

    def is_filled(rest: frozenset[str]) -> bool:
        return not rest or any(fills <= rest and is_filled(rest - fills) for fills in sets)

    return [o for o, fills in chargers if is_filled(wanted - fills)]


def _engine_row(row: Row, options: Iterable[Option], held: frozenset[str]) -> Row:
    """What is asked of the engine's charger; the most that any gives where the alternator's headroom is the limit."""
    # a bank of another chemistry lifts the row; only chargers say how much there is
    able = _combining(options)
    outs = [(o.gives[row.name], o.key in held) for o in able if row.name in o.gives and "engine" in o.fills]
    if not outs or max(out for out, _ in outs) >= row.least - 1e-9:
        return row
    limited = any(is_held for _, is_held in outs)
    return replace(row, least=max(out for out, _ in outs)) if limited else row
