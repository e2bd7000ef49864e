"""The summary of a fleet run as a table to take out: one line for each vehicle."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.utils.translation import gettext as _

from quoting.queries.fleets import Row, Summary

Cell = str | Decimal


@dataclass(frozen=True, slots=True)
class Head:
    """A column's head; ``required`` ones stand in bold in a workbook."""

    words: str
    unit: str
    read: Callable[[Row], Any]
    is_money: bool = False
    required: bool = True

    @property
    def head(self) -> str:
        return f"{self.words} ({self.unit})" if self.unit else self.words


def heads() -> tuple[Head, ...]:
    """Every column there is."""
    return (
        Head(_("Registration"), "", lambda row: row.vehicle.registration),
        Head(_("Vehicle"), "", lambda row: str(row.vehicle)),
        Head(_("Owner"), "", lambda row: row.vehicle.customer.name),
        Head(_("State"), "", lambda row: row.item.get_state_display()),
        Head(_("Why not"), "", lambda row: row.item.reason),
        Head(_("Job"), "", lambda row: row.fitout.number if row.fitout else ""),
        Head(_("Battery"), "", lambda row: row.battery),
        Head(_("Capacity"), "Ah", lambda row: row.facts.get("battery_ah")),
        Head(_("Panels"), "", lambda row: row.panels),
        Head(_("Array"), "W", lambda row: row.facts.get("array_w")),
        Head(_("Fitted mass"), "kg", lambda row: row.mass_kg),
        Head(_("Payload left after it"), "kg", lambda row: row.payload_kg),
        Head(_("Chance of going dark"), "%", lambda row: _per_cent(row.facts.get("dark_ratio"))),
        Head(_("Warnings"), "", lambda row: row.facts.get("warnings")),
        Head(_("Stands in the way of a quote"), "", lambda row: " ".join(row.facts.get("open", ()))),
        Head(_("Otherwise than the rest"), "", lambda row: " ".join(row.apart)),
        Head(_("Quote"), "", _quote),
        Head(_("Without tax"), "", lambda row: row.offer.net if row.offer else None, is_money=True),
        Head(_("To pay"), "", lambda row: row.offer.total if row.offer else None, is_money=True),
    )


def table(summary: Summary, *, with_money: bool) -> tuple[list[Head], list[list[Cell]]]:
    """Heads and lines; money is left out for whom it is not shown."""
    columns = [head for head in heads() if with_money or not head.is_money]
    return columns, [[_cell(head.read(row)) for head in columns] for row in summary.rows]


def _cell(value: Any) -> Cell:
    if value is None:
        return ""
    if isinstance(value, float | int):
        return Decimal(str(round(value, 3))).normalize()
    return value if isinstance(value, Decimal) else str(value)


def _per_cent(ratio: float | None) -> float | None:
    return None if ratio is None else 100 * ratio


def _quote(row: Row) -> str:
    if row.revision is None:
        return ""
    return f"{row.revision.quote.number} {row.revision.letter}, {row.revision.get_state_display()}"
