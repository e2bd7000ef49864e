"""What is to be bought for a job, as a table to take out."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.utils.translation import gettext as _

from quoting.queries.bill import BillPage, BuyRow, Supply


@dataclass(frozen=True, slots=True)
class Head:
    """A column's head and what stands under it."""

    words: str
    read: Callable[[Supply, BuyRow], Any]
    is_money: bool = False
    required: bool = True

    @property
    def head(self) -> str:
        return self.words


def heads() -> tuple[Head, ...]:
    """Every column there is."""
    return (
        Head(_("Supplier"), lambda supply, row: supply.name),
        Head(_("Part"), lambda supply, row: row.name),
        Head(_("Part number"), lambda supply, row: row.part_number),
        Head(_("Needed"), lambda supply, row: Decimal(str(round(row.quantity, 3)))),
        Head(_("Unit"), lambda supply, row: row.unit),
        Head(_("On the shelf"), lambda supply, row: Decimal(row.stock)),
        Head(_("To order"), lambda supply, row: Decimal(row.to_order)),
        Head(_("Lead time (days)"), lambda supply, row: Decimal(row.lead_days)),
        Head(_("Order by"), lambda supply, row: row.order_by.isoformat() if row.order_by else ""),
        Head(_("Why"), lambda supply, row: row.why),
        Head(_("Cost of the order"), lambda supply, row: row.cost, is_money=True),
    )


def table(page: BillPage, *, with_money: bool) -> tuple[list[Head], list[list[Any]]]:
    """Heads and lines; money is left out for whom it is not shown."""
    columns = [head for head in heads() if with_money or not head.is_money]
    return columns, [[head.read(supply, row) for head in columns] for supply in page.supplies for row in supply.rows]
