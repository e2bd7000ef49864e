"""What options are made from, and how each is priced: parts with the labour that fits them, by the years they last."""

from __future__ import annotations

import math
from collections.abc import Callable, Hashable, Iterator
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any, TypeVar

from catalog.kinds.capabilities import Capability, Storage
from quoting.sizing.bill_labour import fitting_of
from quoting.sizing.brief import Brief, Kept
from quoting.sizing.brief_choosing import KeptRole, Pick
from quoting.sizing.needs import Needs
from quoting.sizing.parts import Able, Catalogue
from quoting.sizing.policy import Policy
from quoting.sizing.selecting.options_beside import NOTHING, Beside, beside_each
from quoting.sizing.selecting.problem import Option
from quoting.sizing.selecting.records import Market

C = TypeVar("C", bound=Capability)
T = TypeVar("T")

MOST_PIECES = 200
"""Pieces of one model in a system."""

SET_UP: frozenset[KeptRole] = frozenset(
    {"engine_charger", "mains_charger", "multi_charger", "solar_controller", "inverter", "monitor", "switching"}
)
"""Roles whose part is programmed on the job."""


@dataclass(frozen=True, slots=True)
class Use:
    """How a battery is used, for the years that it lasts."""

    day_wh: float
    """Energy of the most demanding day, at the battery. [Wh]"""
    cells_c: float
    """Mean temperature of its cells. [°C]"""


@dataclass(frozen=True, slots=True)
class Piece:
    """One piece of a part in a role."""

    price: float
    """With the labour that fits it and what holds it. [currency]"""
    once: float
    """Labour that is booked once, however many pieces there are. [currency]"""
    mass_kg: float
    stock: int
    held: float = 0.0
    """Of the price, what holds it: it outlasts a battery. [currency]"""


@dataclass(frozen=True, slots=True)
class Known:
    """What holds of a catalogue at one market, whatever is asked: found once, for every offer and round of a choice."""

    market: Market
    policy: Policy
    pieces: dict[tuple[str, str], Piece] = field(default_factory=dict)
    picks: dict[tuple[str, str, int, int], Pick] = field(default_factory=dict)
    bought: dict[tuple[Pick, ...], tuple[float, float, bool]] = field(default_factory=dict)
    """Price, mass and whether it is waited for, by what is taken."""
    more: dict[Hashable, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Ask:
    """For whom options are made: Brief and needs, a catalogue without bans and pins, the market."""

    brief: Brief
    parts: Catalogue
    needs: Needs
    market: Market
    use: Use | None = None
    short: bool = True
    """Banks and arrays too that by themselves are smaller than what is asked."""
    known: Known = field(init=False)

    def __post_init__(self) -> None:
        """Take over what was found of the catalogue before, where it was asked for the same market and policy."""
        shelf: list[Known] = self.parts.remember(("known",), list)
        if not shelf or shelf[0].market is not self.market or shelf[0].policy is not self.brief.policy:
            shelf[:] = [Known(self.market, self.brief.policy)]
        object.__setattr__(self, "known", shelf[0])

    @property
    def system_v(self) -> int:
        return self.brief.wishes.system_v

    @property
    def chemistries(self) -> set[str]:
        """Of the batteries that may be chosen: those wished, or that of the one kept."""
        one = self.kept("battery")
        if one is not None and self.parts.has(one.part, Storage):
            return {*self.brief.wishes.chemistries, self.parts.can(one.part, Storage).chemistry}
        return set(self.brief.wishes.chemistries)

    def piece(self, role: KeptRole, part: str) -> Piece:
        """What one piece of a part comes to in a role; found once for a catalogue and its market."""
        key = role, part
        pieces = self.known.pieces
        if key not in pieces:
            operation = fitting_of(self.parts, role, part)
            one, beside = self.market.parts.get(part), beside_each(self.parts, self.market, role, part)
            fitted = self.labour(operation) if operation else 0.0
            pieces[key] = Piece(
                price=float(self.market.price(part)) + fitted + beside.price,
                once=self.labour("program_settings") if role in SET_UP else 0.0,
                mass_kg=self.parts.part(part).mass_kg + beside.mass_kg,
                stock=one.stock if one is not None else 0,
                held=beside.price,
            )
        return pieces[key]

    def remember(self, key: Hashable, make: Callable[[], T]) -> T:
        """What was found under a key before, or what ``make`` finds now."""
        more = self.known.more
        if key not in more:
            more[key] = make()
        return more[key]  # type: ignore[no-any-return]

    def pick(self, role: KeptRole, part: str, quantity: int = 1, series: int = 1) -> Pick:
        """So many of a part for a role."""
        key, picks = (role, part, quantity, series), self.known.picks
        if key not in picks:
            picks[key] = Pick(role=role, part=part, quantity=quantity, series=series)
        return picks[key]

    def labour(self, operation: str) -> float:
        """Of one unit of an operation. [currency]"""
        return float(Decimal(self.market.labour.get(operation, "0")))

    def kept(self, *roles: str) -> Kept | None:
        """What is kept for one of those roles."""
        return next((one for one in self.brief.kept if one.role in roles), None)

    def of_role(self, role: KeptRole, wanted: type[C]) -> Iterator[tuple[Able[C], int | None]]:
        """Every part that may be bought for a role; and what is kept for it, with how many of it there are."""
        for able in self.parts.having(wanted):
            yield able, None
        one = self.kept(role)
        if one is not None and self.parts.has(one.part, wanted):
            yield Able(self.parts.part(one.part), self.parts.can(one.part, wanted)), one.quantity

    def option(
        self,
        fills: tuple[str, ...],
        picks: tuple[Pick, ...],
        gives: dict[str, float],
        *,
        kept: bool = False,
        note: str = "",
        years: float | None = None,
        beside: Beside = NOTHING,
    ) -> Option:
        """A way to fill groups, priced and weighed; what is kept has neither price nor mass.

        ``note`` tells apart ways that take the same pieces; ``years``: how long they last, by policy where not given;
        ``beside``: what comes with so many of them together.
        ``gives`` is taken as it is, not copied: price, mass and the rows that join groups are written into it.
        """
        key = "+".join(f"{p.role}:{p.part}:{p.quantity}x{p.series}" for p in picks)
        if note:
            key = f"{key}:{note}"
        if kept:
            return Option(f"{key}:kept", fills, (), 0.0, 0.0, 0.0, gives, kept=picks)
        if picks not in self.known.bought:
            self.known.bought[picks] = self._bought(picks)
        price, mass, waits = self.known.bought[picks]
        if beside is not NOTHING:
            price, mass = round(price + beside.price, 4), round(mass + beside.mass_kg, 4)
        gives["budget"], gives["mass_kg"] = price, mass
        yearly = round(self._yearly(picks, price, beside.price, years), 4)
        return Option(key, fills, picks, price, yearly, mass, gives, (), waits)

    def _yearly(self, picks: tuple[Pick, ...], price: float, beside: float, years: float | None) -> float:
        """Price over the years that parts last; what holds and joins batteries lasts as long as any other part."""
        life = self.brief.policy.part_life_years
        if years is None:
            return price / life
        lasting = beside + math.fsum(p.quantity * self.piece(p.role, p.part).held for p in picks)
        return (price - lasting) / years + lasting / life

    def _bought(self, picks: tuple[Pick, ...]) -> tuple[float, float, bool]:
        """Price with fitting, mass, whether it is waited for. A part that is there for two things is bought once."""
        price = mass = 0.0
        waits = False
        for pick in {p.part: p for p in sorted(picks, key=lambda p: p.quantity)}.values():
            one = self.piece(pick.role, pick.part)
            price += pick.quantity * one.price + one.once
            mass += pick.quantity * one.mass_kg
            waits = waits or one.stock < pick.quantity
        return round(price, 4), round(mass, 4), waits


def part_of(option: Option) -> str:
    """Key of the part that an option is made of; empty for one that takes none."""
    return next((pick.part for pick in (*option.picks, *option.kept)), "")
