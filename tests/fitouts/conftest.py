"""A workshop with its people, one customer, one vehicle with a starter set."""

from __future__ import annotations

import pytest
from django.test import Client

from fitouts.models import Customer, User, Vehicle
from fitouts.services import customers, vehicles
from fitouts.starter_sets import BY_KEY
from tests.factories.jobs import make_user, make_workshop


@pytest.fixture
def workshop(db):
    return make_workshop()


@pytest.fixture
def manager(workshop) -> User:
    return make_user(User.Role.MANAGER, display_name="Orla Penn")


@pytest.fixture
def estimator(workshop) -> User:
    return make_user(User.Role.ESTIMATOR, display_name="Mara Quill")


@pytest.fixture
def technician(workshop) -> User:
    return make_user(User.Role.TECHNICIAN, display_name="Joss Rook")


@pytest.fixture
def customer(estimator) -> Customer:
    return customers.add_customer(by=estimator, name="Venn Field Geology", kind="organisation", phone="01632 960 417")


@pytest.fixture
def vehicle(customer, estimator) -> Vehicle:
    return vehicles.add_vehicle(
        customer, by=estimator, make="Halvard", model="Tor 3.0", body="wagon", registration="KF 417 V"
    )


@pytest.fixture
def surveyed(vehicle, technician) -> Vehicle:
    vehicles.apply_starter_set(vehicle, BY_KEY["wagon"], by=technician)
    return vehicle


def signed_in(user: User) -> Client:
    client = Client()
    client.force_login(user)
    return client


@pytest.fixture
def as_manager(manager) -> Client:
    return signed_in(manager)


@pytest.fixture
def as_estimator(estimator) -> Client:
    return signed_in(estimator)


@pytest.fixture
def as_technician(technician) -> Client:
    return signed_in(technician)
