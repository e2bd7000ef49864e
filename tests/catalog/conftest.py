"""A workshop with its three roles, and pages opened as each of them."""

from __future__ import annotations

from decimal import Decimal

import pytest

from catalog import library, services
from fitouts.models import User
from tests.factories.jobs import make_user, make_workshop


@pytest.fixture
def workshop(db):
    return make_workshop()


@pytest.fixture
def estimator(workshop):
    return make_user(User.Role.ESTIMATOR, display_name="Mara Quill")


@pytest.fixture
def technician(workshop):
    return make_user(User.Role.TECHNICIAN, display_name="Joss Rook")


@pytest.fixture
def desk(client, estimator):
    """The test client, signed in as the estimator."""
    client.force_login(estimator)
    return client


def entry_of(name: str) -> dict:
    return next(entry for entry in library.COMPONENTS if entry["name"] == name)


def add_component(entry_name: str, /, *, by, **changes):
    """A component of the library, entered through the save service."""
    entry = {**entry_of(entry_name), **changes}
    supplier = entry.pop("supplier")
    if isinstance(supplier, str):
        supplier = services.Supplier.objects.filter(name=supplier).first() or services.save_supplier(
            {"name": supplier}, by=by
        )
    cost = Decimal(entry.pop("cost"))
    return services.save_component(entry.pop("kind"), entry.pop("spec"), supplier=supplier, cost=cost, by=by, **entry)


@pytest.fixture
def battery(estimator):
    return add_component("Larkham LF-100", by=estimator, sell_price=Decimal("1133.1700"))
