"""From a bill of materials to priced lines: cost, markup by group, labour, sundries."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import ROUND_HALF_UP, Decimal

from django.utils.translation import gettext as _

from catalog.models import Component, LabourOperation
from catalog.money_field import LIMIT
from fitouts.models import TaxRate, Workshop
from fitouts.services.workshop import markups as workshop_markups
from quoting import money
from quoting.sizing.appraisal import Appraisal, BillLine
from quoting.sizing.bill_labour import booked
from quoting.sizing.bill_lines import SMALL

SUNDRIES = "sundries"
LABOUR = "labour"
_THOUSANDTH = Decimal("0.001")
_HUNDREDTH = Decimal("0.01")
"""Hours are priced as they are printed, so that whoever multiplies gets the amount. [h]"""


class NoPrice(Exception):
    """A line of the bill that the workshop's prices do not cover."""


@dataclass(frozen=True, slots=True)
class Priced:
    """One line of an offer before it is saved."""

    group: str
    name: str
    quantity: Decimal
    unit: str
    unit_price: Decimal
    unit_cost: Decimal
    amount: Decimal
    mass_kg: float = 0.0
    component_id: int | None = None
    labour_code: str = ""
    rule: str = ""


def tax_rate_on(day: date) -> TaxRate | None:
    """The tax rate in force on a day; ``None`` where the workshop charges none."""
    return TaxRate.objects.filter(valid_from__lte=day).order_by("-valid_from", "-pk").first()


def price_bill(appraisal: Appraisal, workshop: Workshop, bill: Sequence[BillLine] | None = None) -> list[Priced]:
    """Price every line of a bill, and put sundries under it; ``bill`` counts instead of the appraisal's own.

    Nothing is priced at zero by accident: raises :class:`NoPrice` naming the component that has left the
    catalogue, or the labour operation that the workshop has no time for, nor for one that stands in for it.
    """
    return price_lines(appraisal.bill if bill is None else bill, workshop)


def price_lines(bill: Sequence[BillLine], workshop: Workshop) -> list[Priced]:
    """Price some lines of a bill, and put their sundries under them. Raises :class:`NoPrice`."""
    parts = Component.objects.in_bulk([int(line.part) for line in bill if line.part])
    labour = {op.code: op for op in LabourOperation.objects.filter(retired_at__isnull=True)}
    bill = booked(bill, labour)
    markups = workshop_markups()
    lines = [_part_line(line, parts, markups, workshop) for line in bill if line.part]
    sundries = _sundries(lines, workshop)
    lines += list(sundries)
    lines += [_labour_line(line, labour, workshop) for line in bill if line.labour]
    for line in lines:
        must_be_held(line.name, line.amount)
    return lines


def must_be_held(name: str, amount: Decimal) -> None:
    """Raise :class:`NoPrice` for an amount that no column can hold."""
    if amount > LIMIT:
        words = _("%(name)s comes to %(amount)s; the most that can be held is %(limit)s. Look at its price.")
        raise NoPrice(words % {"name": name, "amount": f"{amount:f}", "limit": f"{LIMIT:f}"})


def _part_line(
    line: BillLine, parts: Mapping[int, Component], markups: Mapping[str, Decimal], workshop: Workshop
) -> Priced:
    component = parts.get(int(line.part))
    if component is None:
        raise NoPrice(_("“%(name)s” is no longer in the catalogue. Work the design out again.") % {"name": line.name})
    half = half_of(workshop)
    price = Decimal(0) if line.kept else part_price(component, line.group, markups, half)
    quantity = _quantity(line.quantity)
    return Priced(
        group=line.group,
        name=_name(line, component),
        quantity=quantity,
        unit=line.unit,
        unit_price=price,
        unit_cost=Decimal(0) if line.kept else component.cost,
        amount=money.line_amount(quantity, price, half),
        mass_kg=line.mass_kg,
        component_id=component.pk,
        rule=line.rule,
    )


def _name(line: BillLine, component: Component) -> str:
    words = described(component)
    if line.kept:
        return _("%(part)s, kept in the vehicle") % {"part": words[:170]}
    return _("%(part)s, spare") % {"part": words[:190]} if line.rule == "spare_fuse" else words


def part_price(component: Component, group: str, markups: Mapping[str, Decimal], half: money.Half) -> Decimal:
    """What one of a part is sold for: its own price, or cost and the markup of its group."""
    if component.sell_price is not None:
        return component.sell_price
    return money.marked_up(component.cost, markups.get(group, Decimal(0)), half)


def hours_of(operation: LabourOperation, quantity: Decimal) -> Decimal:
    """Hours of so many of an operation, as they are printed, half up: 7.5 minutes are 0.13 h. [h]"""
    return (Decimal(str(operation.minutes_per_unit)) * quantity / 60).quantize(_HUNDREDTH, ROUND_HALF_UP)


def labour_price(operation: LabourOperation, workshop: Workshop) -> tuple[Decimal, Decimal]:
    """What an hour is sold for, and what it costs the workshop; a licensed person's hour is bought in."""
    if operation.is_licensed:
        return workshop.licensed_rate, workshop.licensed_rate
    return workshop.labour_rate, workshop.labour_cost


def described(component: Component) -> str:
    """A part as a customer reads it: what it is, its rating, then its name."""
    what = str(component.declaration.label)
    words = f"{what[:1].upper()}{what[1:]}"
    if component.rating:
        words = f"{words}, {component.rating}"
    return f"{words} ({component.name})"[:200]


def _labour_line(line: BillLine, labour: Mapping[str, LabourOperation], workshop: Workshop) -> Priced:
    operation = labour.get(line.labour)
    if operation is None:
        raise NoPrice(
            _("There is no labour operation “%(code)s”. Add it in the catalogue, with its minutes.")
            % {"code": line.labour}
        )
    hours = hours_of(operation, _quantity(line.quantity))
    price, cost = labour_price(operation, workshop)
    return Priced(
        group=LABOUR,
        name=operation.name,
        quantity=hours,
        unit="h",
        unit_price=price,
        unit_cost=cost,
        amount=money.line_amount(hours, price, half_of(workshop)),
        labour_code=operation.code,
        rule=line.rule,
    )


def _sundries(lines: list[Priced], workshop: Workshop) -> Iterator[Priced]:
    """Small parts by their share of all others, less those that stand on the bill by themselves: none is sold twice."""
    ratio, half = Decimal(str(workshop.sundries_ratio)), half_of(workshop)
    small, others = [p for p in lines if p.rule in SMALL], [p for p in lines if p.rule not in SMALL]
    amount = money.share_beyond(_sum(p.amount for p in others), ratio, _sum(p.amount for p in small), half)
    if amount:
        costs, listed = (_sum(p.unit_cost * p.quantity for p in some) for some in (others, small))
        cost = money.share_beyond(costs, ratio, money.round_to(listed, half=half), half)
        yield Priced(
            group=SUNDRIES,
            name=_("Small parts not listed: screws, tape, what is used up")
            if small
            else _("Small parts: heat-shrink, ties, labels, screws, sealant"),
            quantity=Decimal(1),
            unit="each",
            unit_price=amount,
            unit_cost=cost,
            amount=amount,
            rule="sundries",
        )


def _sum(amounts: Iterable[Decimal]) -> Decimal:
    return sum(amounts, Decimal(0))


def _quantity(value: float) -> Decimal:
    return Decimal(str(value)).quantize(_THOUSANDTH)


def half_of(workshop: Workshop) -> money.Half:
    return "down" if workshop.half_cent == Workshop.HalfCent.DOWN else "up"


def total_up(amounts: list[Decimal], discount_ratio: Decimal, workshop: Workshop, on: date) -> money.Totals:
    """Add lines up by the workshop's rules, at the tax rate of a day."""
    return totals_at(tax_ratio_on(on), amounts, discount_ratio, workshop)


def tax_ratio_on(day: date) -> Decimal:
    """The tax of a day as a ratio; 0 where the workshop charges none."""
    rate = tax_rate_on(day)
    return Decimal(0) if rate is None else rate.ratio


def totals_at(tax_ratio: Decimal, amounts: list[Decimal], discount_ratio: Decimal, workshop: Workshop) -> money.Totals:
    """Add lines up by the workshop's rules, at a tax that is known already."""
    return money.totals(
        amounts,
        tax_ratio=tax_ratio,
        discount_ratio=discount_ratio,
        deposit_ratio=Decimal(str(workshop.deposit_ratio)),
        tax_rounding="line" if workshop.tax_rounding == Workshop.TaxRounding.LINE else "total",
        half=half_of(workshop),
        round_total_to=workshop.round_total_to,
    )
