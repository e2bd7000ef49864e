"""Money is exact in the database, and never a float."""

from __future__ import annotations

from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, connection, transaction
from django.db.models import Sum
from hypothesis import given
from hypothesis import strategies as st

from catalog.models import Component
from catalog.money_field import MoneyField, exact


def make(cost, **more):
    return Component.objects.create(kind="fuse", kind_version=1, name="Ambry HF-200", cost=cost, **more)


def test_amount_is_kept_as_ten_thousandths(db):
    row = make(Decimal("41.8001"))

    with connection.cursor() as cursor:
        cursor.execute("SELECT cost FROM catalog_component WHERE id = %s", [row.pk])
        assert cursor.fetchone() == (418001,)
    assert Component.objects.get(pk=row.pk).cost == Decimal("41.8001")


def test_sums_and_comparisons_are_exact(db):
    for cost in ("0.1", "0.2", "0.3"):
        make(Decimal(cost))

    assert Component.objects.aggregate(total=Sum("cost"))["total"] == Decimal("0.6")
    assert Component.objects.filter(cost__lte=Decimal("0.2")).count() == 2
    assert Component.objects.filter(cost=Decimal("0.3")).count() == 1


@pytest.mark.parametrize("value", [1.1, 1.0, True, "twelve", "NaN", Decimal("Infinity"), Decimal("0.00001"), "1e9"])
def test_amount_that_is_not_exact_money_is_refused(db, value):
    with pytest.raises(ValidationError), transaction.atomic():
        make(value)

    assert not Component.objects.exists()


def test_negative_cost_is_refused_by_the_database(db):
    with pytest.raises(IntegrityError), transaction.atomic():
        make(Decimal("-1"))

    assert not Component.objects.exists()


@given(st.decimals(min_value=-99999999, max_value=99999999, places=4))
def test_every_amount_comes_back(value):
    field = MoneyField()

    stored = field.get_prep_value(value)

    assert isinstance(stored, int)
    assert field.from_db_value(stored, None, None) == exact(value) == value
