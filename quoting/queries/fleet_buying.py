"""What a fleet's quotes ask the workshop to buy, for all vehicles together, by supplier."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from decimal import ROUND_CEILING, Decimal

from django.db.models import Q
from django.utils.translation import gettext as _

from catalog.models import Component
from quoting.models import Line


@dataclass(slots=True)
class PartRow:
    """One component: how many all vehicles take, how many are on the shelf, how many whole ones are to be ordered."""

    component: Component
    unit: str
    vehicles: set[int] = field(default_factory=set)
    quantity: Decimal = Decimal(0)
    cost: Decimal = Decimal(0)
    """At the cost it was priced with, without tax."""

    @property
    def to_order(self) -> Decimal:
        return max(Decimal(0), self.quantity - self.component.stock).to_integral_value(ROUND_CEILING)

    @property
    def shown_unit(self) -> str:
        """As it stands behind a number: of single pieces nothing."""
        return "" if self.unit == "each" else self.unit


@dataclass(frozen=True, slots=True)
class SupplierRows:
    """What comes from one supplier."""

    name: str
    parts: list[PartRow]

    @property
    def cost(self) -> Decimal:
        return sum((part.cost for part in self.parts), Decimal(0))

    @property
    def lead_days(self) -> int:
        """Of what is waited for longest, where something is to be ordered."""
        return max((part.component.lead_days for part in self.parts if part.to_order), default=0)


def buying(offers: Iterable[int]) -> list[SupplierRows]:
    """Components of these offers, added up; what stays in a vehicle is not bought. Two queries."""
    lines = Line.objects.filter(~Q(unit_price=0, unit_cost=0), offer__in=list(offers), component__isnull=False)
    # a hundred vehicles have ten thousand lines: plain values, and each component once
    values = list(lines.order_by().values_list("component", "unit", "offer", "quantity", "unit_cost"))
    rows = Component.objects.select_related("supplier").defer("specification")
    components = rows.in_bulk({key for key, *_rest in values})
    found: dict[tuple[int, str], PartRow] = {}
    for key, unit, offer, quantity, unit_cost in values:
        row = found.setdefault((key, unit), PartRow(components[key], unit))
        row.vehicles.add(offer)
        row.quantity += quantity
        row.cost += quantity * unit_cost
    groups: dict[str, list[PartRow]] = {}
    for row in sorted(found.values(), key=lambda row: (row.component.sort_key, row.component.pk, row.unit)):
        supplier = row.component.supplier
        groups.setdefault(supplier.name if supplier else "", []).append(row)
    names = sorted(groups, key=lambda name: (name == "", name.casefold()))
    return [SupplierRows(name or _("No supplier named"), groups[name]) for name in names]
