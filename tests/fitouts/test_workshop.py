"""The workshop's own rules."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse
from django.utils import timezone

from catalog.kinds.base import GROUPS
from fitouts.models import Instrument, Markup, TaxRate
from fitouts.places import countries, currencies, number_format, time_zones
from fitouts.services import workshop as service

RULES = {
    "labour_rate": "121.50",
    "licensed_rate": "140",
    "labour_cost": "64",
    "sundries_ratio": "2,5",
    "quote_days": "21",
    "deposit_ratio": "25 %",
    "round_total_to": "0.05",
    "tax_rounding": "line",
    "half_cent": "up",
    "terms": "Paid on collection.",
    "exclusions": "",
}


def test_identity_is_changed_and_the_change_shown(as_manager, workshop, manager):
    as_manager.post(
        reverse("workshop"),
        {
            "name": "Kestrel Flat Auto Electrical",
            "phone": "(08) 5550 0100",
            "country": "AU",
            "currency": "AUD",
            "language": "en_AU",
            "time_zone": "Australia/Perth",
            "emergency_number": "000",
        },
    )

    workshop.refresh_from_db()
    assert (workshop.phone, workshop.time_zone, workshop.emergency_number) == (
        "(08) 5550 0100",
        "Australia/Perth",
        "000",
    )
    page = as_manager.get(reverse("workshop")).content.decode()
    assert "<s>Australia/Adelaide</s>" in page
    assert "<ins>Australia/Perth</ins>" in page
    assert "Orla Penn" in page


def test_money_rules_are_typed_as_people_write_them(as_manager, workshop):
    response = as_manager.post(reverse("workshop_money"), RULES)

    workshop.refresh_from_db()
    assert response.headers["Location"] == reverse("workshop_money")
    assert (workshop.labour_rate, workshop.round_total_to) == (Decimal("121.50"), Decimal("0.05"))
    assert (workshop.sundries_ratio, workshop.deposit_ratio, workshop.quote_days) == (0.025, 0.25, 21)
    page = as_manager.get(reverse("workshop_money")).content.decode()
    assert 'value="121.50"' in page
    assert 'value="2.5"' in page


@pytest.mark.parametrize(
    ("name", "typed", "words"),
    [
        ("labour_rate", "1,500", "“1,500” can mean 1.5 or 1500. Write one of these."),
        ("labour_rate", "-5", "It is −5.00; it must be at least 0.00."),
        ("labour_rate", "0.00001", "“0.00001” has more than 4 decimals."),
        ("round_total_to", "0", "It is 0.00; it must be at least 0.01."),
        ("deposit_ratio", "101", "It is 101\u00a0%; it must be at least 0\u00a0% and at most 100\u00a0%."),
        ("sundries_ratio", "80", "It is 80\u00a0%; it must be at least 0\u00a0% and at most 50\u00a0%."),
        ("quote_days", "0", "It is 0\u00a0d; it must be at least 1\u00a0d and at most 365\u00a0d."),
        ("tax_rounding", "never", "never is not one of the available choices."),
    ],
)
def test_wrong_rule_is_refused_and_nothing_is_kept(as_manager, workshop, name, typed, words):
    response = as_manager.post(reverse("workshop_money"), {**RULES, name: typed})

    assert words in response.content.decode()
    workshop.refresh_from_db()
    assert (workshop.labour_rate, workshop.quote_days) == (Decimal(118), 30)


def test_tax_rate_begins_on_a_day_and_stays_once_begun(as_manager):
    today = timezone.localdate()
    as_manager.post(reverse("tax_add"), {"name": "GST", "ratio": "10", "valid_from": "2000-07-01"})
    as_manager.post(
        reverse("tax_add"), {"name": "GST", "ratio": "12.5 %", "valid_from": str(today + timedelta(days=30))}
    )
    again = as_manager.post(reverse("tax_add"), {"name": "GST", "ratio": "11", "valid_from": "2000-07-01"})
    coming, begun = TaxRate.objects.all()
    assert (coming.ratio, begun.ratio, begun.valid_from) == (Decimal("0.125"), Decimal("0.1"), date(2000, 7, 1))
    assert "A rate begins on this day already." in again.content.decode()

    refused = as_manager.post(reverse("tax_remove", args=[begun.pk]), follow=True)
    as_manager.post(reverse("tax_remove", args=[coming.pk]))

    assert "GST has begun. Add a new rate from a later day instead." in refused.content.decode()
    assert list(TaxRate.objects.all()) == [begun]


def test_markups_are_set_by_group(as_manager, manager):
    service.set_markups({"storage": Decimal("0.25")}, by=manager)

    as_manager.post(reverse("markups"), {group: "32,5" for group, _words in GROUPS})

    assert set(Markup.objects.values_list("group", "ratio")) == {(group, Decimal("0.3250")) for group, _words in GROUPS}
    assert [row.ratio for row in Markup.objects.get(group="storage").history.all()] == [
        Decimal("0.3250"),
        Decimal("0.2500"),
    ]


def test_fittings_are_marked_like_distribution_until_they_have_a_markup(workshop, manager):
    service.set_markups({"storage": Decimal("0.25"), "distribution": Decimal("0.4")}, by=manager)
    before = service.markups()

    service.set_markups({"fittings": Decimal("0.1")}, by=manager)

    assert before == {"storage": Decimal("0.25"), "distribution": Decimal("0.4"), "fittings": Decimal("0.4")}
    assert service.markups()["fittings"] == Decimal("0.1")


def test_markup_of_no_group_is_refused(workshop):
    with pytest.raises(ValidationError, match="No group of the bill: wishes"):
        service.set_markups({"wishes": Decimal(1)}, by=None)


def test_instrument_runs_out_and_is_retired(as_manager):
    empty = as_manager.get(reverse("instruments")).content.decode()
    assert "No instrument yet" in empty
    as_manager.post(
        reverse("instrument_add"), {"name": "Insulation tester", "serial": "IT-2", "calibrated_until": "2020-01-31"}
    )
    instrument = Instrument.objects.get()
    assert "run out" in as_manager.get(reverse("instruments")).content.decode()

    as_manager.post(reverse("instrument_retire", args=[instrument.pk]))

    assert "out of use" in as_manager.get(reverse("instruments")).content.decode()
    assert "run out" not in as_manager.get(reverse("instruments")).content.decode()


def test_choices_are_those_of_the_standards():
    assert dict(countries())["AU"] == "Australia"
    assert "AUD" in dict(currencies())
    assert "XXX" not in dict(currencies())
    assert "Australia/Adelaide" in dict(time_zones())
    assert (number_format("AU"), number_format("ZZ")) == ("en_AU", "en")
