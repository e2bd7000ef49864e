"""What options are made from, and how each is priced: parts with the labour that fits them, by the years they last."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from decimal import Decimal
from typing import TypeVar

from catalog.kinds.capabilities import Capability, Storage
from quoting.sizing.bill_labour import fitting_of
from quoting.sizing.brief import Brief, Kept
from quoting.sizing.brief_choosing import KeptRole, Pick
from quoting.sizing.needs import Needs
from quoting.sizing.parts import Able, Catalogue
from quoting.sizing.selecting.problem import Option
from quoting.sizing.selecting.records import Market

C = TypeVar("C", bound=Capability)

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
    """With the labour that fits it. [currency]"""
    once: float
    """Labour that is booked once, however many pieces there are. [currency]"""
    mass_kg: float
    stock: int


@dataclass(frozen=True, slots=True)
class Ask:
    """For whom options are made: Brief and needs, a catalogue without bans and pins, the market."""

    brief: Brief
    parts: Catalogue
    needs: Needs
    market: Market
    use: Use | None = None
    _pieces: dict[tuple[str, str], Piece] = field(init=False)

    def __post_init__(self) -> None:
        """Take over what pieces came to before, where the catalogue was asked for the same market."""
        market, pieces = self.parts.remember(("pieces",), lambda: [self.market, {}])
        if market is not self.market:
            pieces = {}
            self.parts.remember(("pieces",), list)[:] = [self.market, pieces]
        object.__setattr__(self, "_pieces", pieces)

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

    @property
    def spare_outputs(self) -> int:
        return self.brief.room.spare_outputs if self.brief.room is not None else self.brief.policy.spare_outputs

    def piece(self, role: KeptRole, part: str) -> Piece:
        """What one piece of a part comes to in a role; found once for a catalogue and its market."""
        key = role, part
        if key not in self._pieces:
            operation = fitting_of(self.parts, role, part)
            one = self.market.parts.get(part)
            self._pieces[key] = Piece(
                price=float(self.market.price(part)) + (self._labour(operation) if operation else 0.0),
                once=self._labour("program_settings") if role in SET_UP else 0.0,
                mass_kg=self.parts.part(part).mass_kg,
                stock=one.stock if one is not None else 0,
            )
        return self._pieces[key]

    def _labour(self, operation: str) -> float:
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
    ) -> Option:
        """A way to fill groups, priced and weighed; what is kept has neither price nor mass.

        ``note`` tells apart ways that take the same pieces; ``years``: how long they last, by policy where not given.
        ``gives`` is taken as it is, not copied: price, mass and the rows that join groups are written into it.
        """
        key = "+".join(f"{p.role}:{p.part}:{p.quantity}x{p.series}" for p in picks)
        if note:
            key = f"{key}:{note}"
        if kept:
            return Option(f"{key}:kept", fills, (), 0.0, 0.0, 0.0, gives, kept=picks)
        bought = picks if len(picks) == 1 else {p.part: p for p in sorted(picks, key=lambda p: p.quantity)}.values()
        price = mass = 0.0
        waits = False
        for pick in bought:
            one = self.piece(pick.role, pick.part)
            price += pick.quantity * one.price + one.once
            mass += pick.quantity * one.mass_kg
            waits = waits or one.stock < pick.quantity
        price, mass = round(price, 4), round(mass, 4)
        gives["budget"], gives["mass_kg"] = price, mass
        yearly = round(price / (years or self.brief.policy.part_life_years), 4)
        return Option(key, fills, picks, price, yearly, mass, gives, (), waits)


def part_of(option: Option) -> str:
    """Key of the part that an option is made of; empty for one that takes none."""
    return next((pick.part for pick in (*option.picks, *option.kept)), "")
