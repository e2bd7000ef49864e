"""What a line chosen by hand from the catalogue costs: as a bill would price it."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal
from typing import Any

from catalog.models import Component, LabourOperation
from fitouts.models import Workshop
from fitouts.services.workshop import markups as workshop_markups
from quoting import money
from quoting.models import Line
from quoting.services import pricing

RULE_PART, RULE_LABOUR = "by_hand_part", "by_hand_labour"


def at_todays_prices(lines: Iterable[Line], workshop: Workshop) -> None:
    """Price hand lines of the catalogue anew; free ones keep what was typed."""
    rows = list(lines)
    parts = Component.objects.in_bulk([x.component_id for x in rows if x.rule == RULE_PART and x.component_id])
    work = {x.code: x for x in LabourOperation.objects.filter(code__in=[x.labour_code for x in rows if x.labour_code])}
    for line in rows:
        component, operation = parts.get(line.component_id or 0), work.get(line.labour_code)
        if line.rule == RULE_PART and component is not None and not component.retired_at:
            _write(line, of_part(component, line.quantity, workshop))
        elif line.rule == RULE_LABOUR and operation is not None and not operation.retired_at:
            _write(line, _of_hours(operation, line.quantity, workshop))


def of_part(component: Component, quantity: Decimal, workshop: Workshop) -> dict[str, Any]:
    """So many of a component as a line, by its own price or by cost and the markup of its group."""
    half = pricing.half_of(workshop)
    group = component.declaration.group or "other"
    price = pricing.part_price(component, group, workshop_markups(), half)
    return {
        "group": group,
        "component": component,
        "name": pricing.described(component),
        "quantity": quantity,
        "unit": "m" if component.declaration.priced_per == "metre" else "each",
        "unit_price": price,
        "unit_cost": component.cost,
        "amount": money.line_amount(quantity, price, half),
        "mass_kg": round(component.mass_kg * float(quantity), 3),
        "rule": RULE_PART,
    }


def of_labour(operation: LabourOperation, quantity: Decimal, workshop: Workshop) -> dict[str, Any]:
    """So many of an operation as a line of hours."""
    return _of_hours(operation, pricing.hours_of(operation, quantity), workshop)


def _of_hours(operation: LabourOperation, hours: Decimal, workshop: Workshop) -> dict[str, Any]:
    price, cost = pricing.labour_price(operation, workshop)
    return {
        "group": pricing.LABOUR,
        "labour_code": operation.code,
        "name": operation.name,
        "quantity": hours,
        "unit": "h",
        "unit_price": price,
        "unit_cost": cost,
        "amount": money.line_amount(hours, price, pricing.half_of(workshop)),
        "rule": RULE_LABOUR,
    }


def _write(line: Line, values: dict[str, Any]) -> None:
    for name, value in values.items():
        setattr(line, name, value)
    line.save()
