"""Wishes of the choice, kept, shown and made limits: what may be spent and carried, who parts come from, how soon."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse
from django.utils import timezone
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from catalog.models import Component, Supplier
from fitouts.models import Fitout, TaxRate, User, Workshop
from fitouts.services import fitouts as jobs
from fitouts.services import steering as wishes
from fitouts.services import vehicles
from quoting.queries import packages
from quoting.services import designs, market, pricing, quotes, steering
from quoting.services.briefs import make_brief
from quoting.services.steering import Beside
from tests.factories.jobs import make_user

pytestmark = pytest.mark.django_db
D = Decimal


@pytest.fixture
def wagon(worked_out) -> Fitout:
    return worked_out


@pytest.fixture
def supplier(db) -> Supplier:
    return Supplier.objects.create(name="Coastal Electrical Supply")


def steer(wagon: Fitout):
    return steering.steer_of(wagon, make_brief(wagon))


# --- Entry ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("values", "field"),
    [
        ({"budget": D(0)}, "budget"),
        ({"budget": D("-1")}, "budget"),
        ({"most_lead_days": 721}, "most_lead_days"),
        ({"most_mass_kg": -0.5}, "most_mass_kg"),
        ({"most_mass_kg": 20001.0}, "most_mass_kg"),
        ({"suppliers_wanted": [987654]}, "suppliers_wanted"),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_is_kept(wagon, estimator, values, field):
    with pytest.raises(ValidationError) as refused:
        wishes.set_steering(wagon, {"prefer_stock": True, **values}, by=estimator)

    assert set(refused.value.error_dict) == {field}
    wagon.refresh_from_db()
    assert not wagon.prefer_stock


def test_a_supplier_is_preferred_ruled_out_and_taken_back(wagon, estimator, supplier):
    wishes.set_supplier(wagon, supplier, "wanted", by=estimator)
    assert (wagon.suppliers_wanted, wagon.suppliers_banned) == ([supplier.pk], [])
    wishes.set_supplier(wagon, supplier, "banned", by=estimator)
    assert (wagon.suppliers_wanted, wagon.suppliers_banned) == ([], [supplier.pk])
    wishes.set_supplier(wagon, supplier, "free", by=estimator)
    assert (wagon.suppliers_wanted, wagon.suppliers_banned) == ([], [])


def test_the_form_reads_quantities_and_says_each_range(wagon, estimator, client):
    client.force_login(estimator)
    url = reverse("steering", args=[wagon.pk])

    answer = client.post(url, {"budget": "12,500.50", "most_mass_kg": "180 kg", "most_lead_days": "14", "back": "job"})
    assert answer.status_code == 302
    wagon.refresh_from_db()
    assert (wagon.budget, wagon.most_mass_kg, wagon.most_lead_days) == (D("12500.50"), 180.0, 14)

    refused = client.post(url, {"budget": "0", "most_mass_kg": "30 t", "most_lead_days": "2.5"})
    words = refused.content.decode()
    assert refused.status_code == 422
    assert "at least 0.01" in words
    assert "It must be a whole number." in words
    wagon.refresh_from_db()
    assert wagon.budget == D("12500.50")


def test_two_people_at_the_wishes_do_not_overwrite_one_another_unawares(wagon, estimator, client):
    client.force_login(estimator)
    url = reverse("steering", args=[wagon.pk])
    seen = client.get(url).context["steering_form"].seen
    other = make_user(User.Role.MANAGER, "orla", display_name="Orla Penn")
    wishes.set_steering(wagon, {"budget": D(9000)}, by=other)

    answer = client.post(url, {"budget": "8000", "seen": seen})

    assert answer.status_code == 422
    assert "Orla Penn changed this at" in answer.content.decode()
    wagon.refresh_from_db()
    assert wagon.budget == D(9000)


def test_technicians_see_no_budget_anywhere_and_cannot_set_one(wagon, estimator, client, supplier):
    wishes.set_steering(wagon, {"budget": D("12345.67"), "most_lead_days": 11}, by=estimator)
    wishes.set_supplier(wagon, supplier, "banned", by=estimator)
    client.force_login(make_user(User.Role.TECHNICIAN, "joss"))

    for name in ("job", "job_changes"):
        words = client.get(reverse(name, args=[wagon.pk])).content.decode()
        assert "Coastal Electrical Supply" in words
        assert "12 345.67" not in words.replace("\u202f", " ").replace("\u00a0", " ")
        assert "12345" not in words
        assert "Budget" not in words
    assert client.get(reverse("steering", args=[wagon.pk])).status_code == 403
    assert client.post(reverse("steering", args=[wagon.pk]), {"budget": "1"}).status_code == 403
    assert client.post(reverse("supplier_wish", args=[wagon.pk]), {"supplier": "x", "how": "free"}).status_code == 403


def test_the_office_reads_in_the_history_what_was_wished(wagon, estimator, client, supplier):
    wishes.set_steering(wagon, {"budget": D("12345.67")}, by=estimator)
    wishes.set_supplier(wagon, supplier, "wanted", by=estimator)
    client.force_login(estimator)

    changes = client.get(reverse("job_changes", args=[wagon.pk])).context["changes"]

    told = {f.label: (f.before, f.after) for c in changes for f in c.fields}
    assert told["Suppliers preferred"] == ("nothing", "Coastal Electrical Supply")
    assert told["Budget, tax included"][0] == "nothing"
    assert "345.67" in told["Budget, tax included"][1]


def test_suppliers_and_shelf_go_along_with_copies_and_packages_and_the_budget_does_not(wagon, estimator, supplier):
    values = {"budget": D(9000), "most_mass_kg": 150.0, "prefer_stock": True, "most_lead_days": 7}
    wishes.set_steering(wagon, values, by=estimator)
    wishes.set_supplier(wagon, supplier, "banned", by=estimator)

    copy = jobs.open_from(wagon, wagon.vehicle, by=estimator)
    package = jobs.keep_as_package(wagon, "Field wagon", by=estimator)
    opened = jobs.open_from_package(package, wagon.vehicle, by=estimator)

    for job in (copy, opened):
        job.refresh_from_db()
        assert (job.budget, job.most_mass_kg) == (None, None)
        assert (job.prefer_stock, job.most_lead_days, job.suppliers_banned) == (True, 7, [supplier.pk])
    said = dict(packages.view_of(package, with_price=False).wishes)
    assert said["Suppliers ruled out"] == "Coastal Electrical Supply"
    assert "9000" not in str(package.content)


# --- As choosing takes it -----------------------------------------------------------------------------


def test_parts_of_a_supplier_that_is_ruled_out_are_out_but_for_one_asked_for_by_name(wagon, estimator, supplier):
    first, second, third = Component.objects.order_by("pk")[:3]
    Component.objects.filter(pk__in=[first.pk, second.pk, third.pk]).update(supplier=supplier)
    Fitout.objects.filter(pk=wagon.pk).update(pinned=[second.pk], banned=[third.pk])
    wagon.refresh_from_db()
    wishes.set_supplier(wagon, supplier, "banned", by=estimator)

    brief = make_brief(wagon)

    assert set(brief.wishes.banned) == {str(first.pk), str(third.pk)}
    said = steering.steer_of(wagon, brief)
    assert said.suppliers_banned == (str(supplier.pk),)
    assert said.banned_with_supplier == (str(first.pk),)


def test_the_payload_left_is_the_limit_where_nobody_typed_one(wagon, estimator):
    vehicles.change_vehicle(wagon.vehicle, by=estimator, payload_left_kg=240.0)
    wagon.refresh_from_db()
    assert steer(wagon).most_mass_kg == 240.0

    wishes.set_steering(wagon, {"most_mass_kg": 150.0}, by=estimator)
    assert steer(wagon).most_mass_kg == 150.0


@pytest.mark.parametrize("tax_rounding", ["total", "line"])
@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    budget=st.decimals(min_value=D("0.05"), max_value=D(60000), places=2),
    tax=st.sampled_from([D(0), D("0.1"), D("0.15"), D("0.2"), D("0.255")]),
    discount=st.sampled_from([D(0), D("0.05"), D("0.125")]),
    coin=st.sampled_from([D("0.01"), D("0.05"), D(1)]),
)
def test_what_may_be_spent_is_the_most_whose_total_is_within_the_budget(
    wagon, tax_rounding, budget, tax, discount, coin
):
    workshop = Workshop.objects.get()
    workshop.tax_rounding, workshop.round_total_to = tax_rounding, coin
    workshop.save()
    TaxRate.objects.all().delete()
    TaxRate.objects.create(name="GST", ratio=tax, valid_from=timezone.localdate() - timedelta(days=1))

    most = steering.before_tax(budget, Beside(discount_ratio=discount))

    def total(amount: Decimal) -> Decimal:
        return pricing.total_up([amount], discount, workshop, timezone.localdate()).total

    assert most >= 0
    assert total(most) <= budget or most == 0
    if tax_rounding == "total":
        assert total(most + D("0.01")) > budget


def test_a_system_of_that_price_is_quoted_within_the_budget(wagon, estimator):
    """The law of the budget: bill and sundries at the limit, quoted with tax and discount, is not above it."""
    draft = quotes.draft(wagon, by=estimator)
    quotes.set_terms(draft, discount_ratio=D("0.07"), note="", days_off_road=2)
    quotes.add_line(draft, name="Roof rack, moved", quantity=D(2), unit_price=D("45.50"), unit_cost=D(20))
    total = draft.offers.get().total
    brief = make_brief(wagon)
    lines, today = designs.appraisal_of(draft.design).bill, market.market_of(brief)
    comes_to = today.bill(lines) + today.sundries(lines)

    for budget, fits in ((total, True), (total - D("0.02"), False)):
        wishes.set_steering(wagon, {"budget": budget}, by=estimator)
        assert (comes_to <= D(steering.steer_of(wagon, brief).budget)) is fits


def test_without_a_budget_nothing_limits_it(wagon):
    said = steer(wagon)

    assert said.budget is None
    assert not said.prefer_stock
    assert said.swaps == ()


def test_a_budget_under_half_a_coin_is_met_by_what_rounds_to_nothing(wagon):
    workshop = Workshop.objects.get()
    workshop.tax_rounding, workshop.round_total_to = Workshop.TaxRounding.TOTAL, D(1)
    workshop.save()
    TaxRate.objects.all().delete()

    assert steering.before_tax(D("0.05"), Beside()) in (D("0.49"), D("0.50"))
