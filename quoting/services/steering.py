"""What a person wishes of the choice itself, as choosing takes it: budget, mass, suppliers, shelf, time."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_DOWN, Decimal

from django.utils import timezone

from fitouts.models import Fitout, Workshop
from quoting import money
from quoting.models import Revision
from quoting.services import assemblies, brief_catalogue, pricing
from quoting.sizing.brief import Brief
from quoting.sizing.brief_choosing import Pick
from quoting.sizing.selecting.records import Steer

_CENT = Decimal("0.01")
_LINES = 250
"""Where tax is rounded on each line, so many may each round half a cent up."""


@dataclass(frozen=True, slots=True)
class Beside:
    """What a quote of a job holds beside the bill of its design: assemblies, and lines that are there by hand."""

    price: Decimal = Decimal(0)
    """With the sundries on its parts. [currency, without tax]"""
    mass_kg: float = 0.0
    discount_ratio: Decimal = Decimal(0)


def steer_of(fitout: Fitout, brief: Brief) -> Steer:
    """The wishes of a job as choosing takes them.

    The budget, which is what the customer pays with tax, becomes what parts, labour and sundries of the design may
    come to; the most it may weigh is what was typed, else the payload that the vehicle has left. Of both, what the
    quote holds besides takes its share.
    """
    beside = beside_of(fitout)
    most_kg = most_kg_of(fitout, brief)
    known = {part.key for part in brief.catalogue}
    with_supplier = (str(key) for key in brief_catalogue.of_banned_suppliers(fitout))
    return Steer(
        budget=budget_for(fitout, beside),
        prefer_stock=fitout.prefer_stock,
        most_lead_days=fitout.most_lead_days,
        most_mass_kg=mass_for(most_kg, beside),
        suppliers_banned=tuple(str(key) for key in sorted(fitout.suppliers_banned)),
        banned_with_supplier=tuple(key for key in with_supplier if key in known),
        suppliers_wanted=tuple(str(key) for key in sorted(fitout.suppliers_wanted)),
        swaps=by_hand(fitout),
    )


def budget_for(fitout: Fitout, beside: Beside) -> str | None:
    """Most that parts, labour and sundries of the design may come to, without tax; ``None`` without a budget."""
    return None if fitout.budget is None else _text(before_tax(fitout.budget, beside))


def mass_for(most_kg: float | None, beside: Beside) -> float | None:
    """Most that the system itself may weigh. [kg]"""
    return None if most_kg is None else max(0.0, round(most_kg - beside.mass_kg, 3))


def most_kg_of(fitout: Fitout, brief: Brief) -> float | None:
    """Most that all may weigh: what was typed, else the payload left; ``None`` where nobody knows. [kg]"""
    return fitout.most_mass_kg if fitout.most_mass_kg is not None else brief.vehicle.payload_left_kg


def tightened(steer: Steer, over: Decimal, over_kg: float) -> Steer:
    """Wishes with so much less to spend and to carry. [currency, kg]"""
    budget, most_kg = steer.budget, steer.most_mass_kg
    return steer.model_copy(
        update={
            "budget": None if budget is None else _text(max(Decimal(0), Decimal(budget) - over)),
            "most_mass_kg": None if most_kg is None else max(0.0, round(most_kg - over_kg, 3)),
        }
    )


def by_hand(fitout: Fitout) -> tuple[Pick, ...]:
    """The parts that a person settled in the system the job is held to: they are in every new offer too."""
    held = getattr(fitout, "held_to", None)
    picks = [Pick.model_validate(pick) for pick in held.picks] if held is not None else []
    return tuple(pick for pick in picks if pick.by_hand)


def beside_of(fitout: Fitout) -> Beside:
    """What a quote of this job would hold besides, and its discount; assemblies by the counts of the newest design."""
    revision = Revision.objects.filter(quote__fitout=fitout).order_by("pk").last()
    workshop = Workshop.objects.get()
    price, mass_kg = _assemblies(fitout, workshop)
    if revision is not None and revision.state == Revision.State.DRAFT:
        offer = revision.offers.order_by("pk").first()
        price += sum((line.amount for line in offer.lines.filter(by_hand=True)), Decimal(0)) if offer else 0
    return Beside(price, mass_kg, revision.discount_ratio if revision is not None else Decimal(0))


def _assemblies(fitout: Fitout, workshop: Workshop) -> tuple[Decimal, float]:
    counts = assemblies.counts_of_design(fitout.designs.first())
    try:
        bill = assemblies.bill_lines(assemblies.uses_of(assemblies.rows_of(fitout), counts))
        lines = pricing.price_lines(bill, workshop)
    except (assemblies.TooMany, pricing.NoPrice):
        return Decimal(0), 0.0  # the quote itself says so
    return sum((line.amount for line in lines), Decimal(0)), sum(line.mass_kg for line in bill)


def before_tax(total: Decimal, beside: Beside) -> Decimal:
    """Most that parts, labour and sundries may come to for a quote that is to be paid with ``total``, tax included.

    The greatest amount of whole cents whose total, reckoned as a quote's, is not above it; never under 0.
    """
    workshop = Workshop.objects.get()
    tax_ratio = pricing.tax_ratio_on(timezone.localdate())
    slack = _CENT / 2 * _LINES if workshop.tax_rounding == Workshop.TaxRounding.LINE else Decimal(0)

    def comes_to(amount: Decimal) -> Decimal:
        return pricing.totals_at(tax_ratio, [amount], beside.discount_ratio, workshop).total

    most = total + workshop.round_total_to  # a total is rounded to whole coins, at most so much down
    low, high = 0, int((most / _CENT).to_integral_value(ROUND_DOWN)) * 2
    if beside.discount_ratio < 1:
        high = int(high / (1 - beside.discount_ratio)) + 1
    while low < high:
        middle = (low + high + 1) // 2
        if comes_to(middle * _CENT) + slack <= total:
            low = middle
        else:
            high = middle - 1
    return max(Decimal(0), money.round_to(low * _CENT) - beside.price)


def _text(amount: Decimal) -> str:
    return f"{amount.quantize(_CENT, ROUND_DOWN):f}"
