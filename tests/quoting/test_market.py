"""Prices of today as choosing takes them, held against what a quote charges for the same bill."""

from __future__ import annotations

from decimal import Decimal

import pytest

from catalog.models import Component, LabourOperation, Supplier
from fitouts.models import Fitout, Workshop
from fitouts.services.workshop import set_markups
from quoting.services import designs, market, pricing
from quoting.services.briefs import make_brief
from quoting.sizing.appraisal import Appraisal, BillLine
from quoting.sizing.selecting.facts import facts_of

pytestmark = pytest.mark.django_db
D = Decimal


@pytest.fixture
def wagon(worked_out) -> Fitout:
    return worked_out


def appraisal(wagon: Fitout) -> Appraisal:
    return designs.appraisal_of(wagon.designs.first())


def charged(one: Appraisal, *, with_sundries: bool) -> Decimal:
    """What the quote's own pricing says of a bill."""
    lines = pricing.price_bill(one, Workshop.objects.get())
    return sum((x.amount for x in lines if with_sundries or x.group != pricing.SUNDRIES), D(0))


def odd_prices(estimator) -> None:
    """Own prices of a third of a cent, markups of odd shares, rates and minutes that do not come out even."""
    set_markups({"storage": D("0.333"), "distribution": D("0.1701"), "conductors": D("0.4217")}, by=estimator)
    for n, one in enumerate(Component.objects.order_by("pk")):
        if n % 3 == 0:
            Component.objects.filter(pk=one.pk).update(sell_price=(one.cost * D("1.2345")).quantize(D("0.0001")))
    Workshop.objects.update(labour_rate=D("117.33"), licensed_rate=D("139.97"), sundries_ratio=0.0275)
    for n, one in enumerate(LabourOperation.objects.order_by("pk")):
        LabourOperation.objects.filter(pk=one.pk).update(minutes_per_unit=one.minutes_per_unit + 0.1 * (n % 7))


@pytest.mark.parametrize("half", ["up", "down"])
@pytest.mark.parametrize("is_odd", [False, True])
def test_a_market_prices_a_bill_as_a_quote_does_to_the_cent(wagon, estimator, is_odd, half):
    if is_odd:
        odd_prices(estimator)
    Workshop.objects.update(half_cent=half)
    one, brief = appraisal(wagon), make_brief(wagon)

    today = market.market_of(brief)

    assert D(facts_of(brief, one, today).price) == today.bill(one.bill) == charged(one, with_sundries=False)
    assert today.bill(one.bill) + today.sundries(one.bill) == charged(one, with_sundries=True)
    assert today.sundries(one.bill) > 0


def test_an_operation_the_workshop_has_no_time_for_is_priced_as_its_stand_in(wagon):
    LabourOperation.objects.filter(code="fit_monitor").delete()
    one, brief = appraisal(wagon), make_brief(wagon)

    today = market.market_of(brief)

    assert today.labour["fit_monitor"] == today.labour["fit_device"]
    assert today.bill(one.bill) == charged(one, with_sundries=False)


def test_what_is_kept_costs_nothing(wagon):
    today = market.market_of(make_brief(wagon))
    line = next(x for x in appraisal(wagon).bill if x.part)

    assert today.amount(line) > 0
    assert today.amount(line.model_copy(update={"kept": True})) == 0


def test_suppliers_stock_and_lead_times_are_told_with_names(wagon):
    supplier = Supplier.objects.create(name="Coastal Electrical Supply")
    one = Component.objects.order_by("pk").first()
    Component.objects.filter(pk=one.pk).update(supplier=supplier, stock=4, lead_days=9)

    today = market.market_of(make_brief(wagon))

    part = today.parts[str(one.pk)]
    assert (part.supplier, part.stock, part.lead_days) == (str(supplier.pk), 4, 9)
    assert today.suppliers == {str(supplier.pk): "Coastal Electrical Supply"}
    assert set(today.parts) == {p.key for p in make_brief(wagon).catalogue}


def test_the_stamp_moves_with_every_price_and_with_nothing_else(wagon):
    brief = make_brief(wagon)
    before = market.stamp_of(market.market_of(brief))

    assert market.stamp_of(market.market_of(brief)) == before
    Component.objects.filter(pk=int(brief.catalogue[0].key)).update(sell_price=D("1.23"))
    assert market.stamp_of(market.market_of(brief)) != before


def test_it_asks_as_often_for_a_large_catalogue(wagon, django_assert_num_queries):
    brief = make_brief(wagon)

    with django_assert_num_queries(4):
        market.market_of(brief)


def test_labour_that_nobody_knows_is_worth_nothing_rather_than_a_guess(wagon):
    today = market.market_of(make_brief(wagon))
    line = BillLine(group="labour", labour="unheard_of", name="-", quantity=1, unit="each", rule="-")

    assert today.amount(line) == 0
