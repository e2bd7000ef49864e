"""What a large catalogue keeps beside the cheapest of each size because choosing goes by more than cost.

A part may be sold under the price that cost and markup make, be lighter, lie on the shelf, or come from whom the job
prefers. Each way of looking at the parts of a kind keeps its own cheapest, so none is lost to the others.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from typing import TYPE_CHECKING

from catalog import kinds
from fitouts.models import Fitout
from fitouts.services.workshop import markups
from quoting.services.asked_kinds import can_do
from quoting.sizing.kept import CAN

if TYPE_CHECKING:
    from quoting.services.brief_catalogue import Row


@dataclass(frozen=True, slots=True)
class Preferred:
    """What a job's choice goes by beside cost. Part of the key under which a kind's answer is kept."""

    markups: tuple[tuple[str, Decimal], ...] = ()
    suppliers: frozenset[int] = frozenset()
    shelf: bool = False
    most_lead_days: int | None = None
    light: bool = False


@dataclass(frozen=True, slots=True)
class Sold:
    """How a part can be had."""

    price: Decimal | None = None
    """Its own, where it has one."""
    stock: int = 0
    lead_days: int = 0
    supplier: int | None = None


NOT_SAID = Sold()


def preferred_by(fitout: Fitout | None) -> Preferred:
    """What the choice of a job goes by; one query."""
    ratios = tuple(sorted(markups().items()))
    if fitout is None:
        return Preferred(ratios)
    return Preferred(
        markups=ratios,
        suppliers=frozenset(fitout.suppliers_wanted),
        shelf=fitout.prefer_stock,
        most_lead_days=fitout.most_lead_days,
        light=fitout.most_mass_kg is not None or fitout.vehicle.payload_left_kg is not None,
    )


@cache
def chosen_kinds() -> frozenset[str]:
    """Codes of kinds that the programme chooses from: those that can fill a role."""
    roles = {can for wanted in CAN.values() for can in wanted}
    return frozenset(kind.code for kind in kinds.all_kinds() if (able := can_do(kind)) is None or able & roles)


def ways_of(rows: Sequence[Row], group: str, by: Preferred) -> Iterator[list[Row]]:
    """Each further way of looking at the parts of a kind: those that count, the first to be taken first."""
    ratio = 1 + dict(by.markups).get(group, Decimal(0))

    def sold(row: Row) -> tuple[Decimal, float, str]:
        price = row.sold.price if row.sold.price is not None else row.order[0] * ratio
        return price, row.order[1], row.order[2]

    by_price = sorted(rows, key=sold)
    if any(row.sold.price is not None for row in rows):
        yield by_price
    if by.suppliers:
        yield [row for row in by_price if row.sold.supplier in by.suppliers]
    if by.shelf:
        yield [row for row in by_price if row.sold.stock > 0]
    if by.most_lead_days is not None:
        yield [row for row in by_price if row.sold.stock > 0 or row.sold.lead_days <= by.most_lead_days]
    if by.light:
        yield sorted(rows, key=lambda row: (row.order[1], sold(row)))
