"""What assemblies come to by the workshop's mark-ups and rates, for the pages of the catalogue."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from decimal import Decimal

from catalog.assemblies import Counted
from catalog.assembly_prices import LinePrice, Price
from fitouts.models import Workshop
from fitouts.services.workshop import markups as workshop_markups
from quoting import money
from quoting.services import pricing
from quoting.services.assemblies import group_of


def price(groups: Sequence[Sequence[Counted]]) -> list[Price]:
    """Price counted lines as a quote would, each by itself; two queries, however many groups."""
    workshop = Workshop.objects.get()
    markups = workshop_markups()
    return [_price(lines, markups, workshop) for lines in groups]


def _price(lines: Sequence[Counted], markups: Mapping[str, Decimal], workshop: Workshop) -> Price:
    found = tuple(_line(counted, markups, workshop) for counted in lines)
    return Price(found, sum((x.cost for x in found), Decimal(0)), sum((x.amount for x in found), Decimal(0)))


def _line(counted: Counted, markups: Mapping[str, Decimal], workshop: Workshop) -> LinePrice:
    half = pricing.half_of(workshop)
    line = counted.line
    if line.component is not None:
        quantity, cost = counted.quantity, line.component.cost
        each = pricing.part_price(line.component, group_of(line.component.kind), markups, half)
    else:
        assert line.labour is not None
        quantity = pricing.hours_of(line.labour, counted.quantity)
        each, cost = pricing.labour_price(line.labour, workshop)
    return LinePrice(each, money.line_amount(quantity, cost, half), money.line_amount(quantity, each, half))
