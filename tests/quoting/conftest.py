"""A job that is costly to make is made once for a module, under a transaction that is rolled back after it."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

import pytest
from django.utils import timezone

from catalog.library.labour import LABOUR
from catalog.services import save_labour
from fitouts.models import Fitout, Stage, TaxRate, User
from fitouts.services import fitouts
from quoting.services import designs
from tests.factories.jobs import make_user
from tests.factories.wagon import make_wagon


@pytest.fixture(scope="module")
def made_wagon(kept_rows) -> int:
    """Key of the field wagon, surveyed and worked out, in a workshop with a tax of 10 %."""
    by = make_user(User.Role.ESTIMATOR)
    for operation in LABOUR:
        save_labour(operation, by=by)
    fitout = make_wagon(by)
    TaxRate.objects.create(name="GST", ratio=Decimal("0.1"), valid_from=timezone.localdate() - timedelta(days=400))
    fitouts.move(fitout, Stage.SURVEYED, by=by)
    designs.work_out(fitout, by=by)
    return fitout.pk


@pytest.fixture
def worked_out(made_wagon, db, files) -> Fitout:
    return Fitout.objects.get(pk=made_wagon)


@pytest.fixture
def estimator(made_wagon, db) -> User:
    return User.objects.get(username="estimator")
