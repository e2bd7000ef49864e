"""A workshop, its people, one customer with a vehicle and a job. Plain rows, no services."""

from __future__ import annotations

from typing import Any

from fitouts.models import Customer, Fitout, User, Vehicle, Workshop
from quoting.models import Snapshot
from quoting.services import snapshots


def make_workshop(**fields: Any) -> Workshop:
    return Workshop.objects.create(**{"name": "Kestrel Flat Auto Electrical", **fields})


def make_user(role: str = User.Role.ESTIMATOR, username: str = "", **fields: Any) -> User:
    return User.objects.create_user(username or role, password="a-long-passphrase", role=role, **fields)


def make_fitout(number: str = "26-0001", **fields: Any) -> Fitout:
    customer = Customer.objects.create(name="Mira Oakhollow", phone="(08) 5550 0123")
    vehicle = Vehicle.objects.create(customer=customer, make="Brindle", model="Carrier", registration="XX 000")
    return Fitout.objects.create(
        **{"number": number, "title": "Coffee trailer", "customer": customer, "vehicle": vehicle, **fields}
    )


def make_snapshot(fitout: Fitout, kind: str = Snapshot.Kind.QUOTE, **body: Any) -> Snapshot:
    """A frozen record with the least a body can have; papers need the whole (see the service that freezes)."""
    return snapshots.freeze(
        kind=kind,
        body={"schema": f"loomwright.{kind}/1", "job": {"number": fitout.number, "title": fitout.title}, **body},
        personal={"customer": {"name": fitout.customer.name, "phone": fitout.customer.phone}},
        customer_id=fitout.customer_id,
        by=None,
    )
