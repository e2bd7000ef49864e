"""Lists and pages ask the database as often for sixty rows as for three."""

from __future__ import annotations

from datetime import date

import pytest
from django.urls import reverse

from fitouts.models import (
    Contact,
    Customer,
    Fitout,
    InstalledComponent,
    InstalledSystem,
    Instrument,
    TaxRate,
    User,
    Vehicle,
    VehiclePhoto,
)
from fitouts.services import space, towing, vehicles
from fitouts.starter_sets import BY_KEY

COUNTS = {
    "customer_list": 7,
    "customer": 11,
    "vehicle_list": 7,
    "vehicle": 22,
    "people": 4,
    "instruments": 4,
    "workshop_money": 10,
}
"""With session, person and workshop: three."""


def fill(count: int, manager: User) -> dict[str, list[int]]:
    """A workshop in which everything points to something."""
    customer = Customer.objects.create(name="Ardle Shire", kind="organisation", phone="01632 960 400")
    for n in range(count):
        other = Customer.objects.create(name=f"Customer {n}")
        Contact.objects.create(customer=customer, name=f"Contact {n}")
        Instrument.objects.create(name="Clamp meter", serial=f"C{n}", calibrated_until=date(2020, 1, 1))
        TaxRate.objects.create(name="GST", ratio="0.1", valid_from=date(2000 + n, 1, 1))
        User.objects.create_user(f"person{n}", role="technician", last_login="2026-11-24T00:00Z")
        vehicle = vehicles.add_vehicle(customer, by=manager, make="Halvard", model=f"Tor {n}", registration=f"T {n}")
        Vehicle.objects.create(customer=other, make="Brindle", model="Carrier", surveyed_on=date(2026, 11, 9))
        job = Fitout.objects.create(
            number=f"26-{n:04}", title="Tree survey", customer=customer, vehicle=vehicle, assigned_to=manager
        )
        system = InstalledSystem.objects.create(
            vehicle=vehicle, fitout=job, title="Steady", delivered_on=date(2026, 11, 1), snapshot_sha256="0" * 64
        )
        InstalledComponent.objects.create(system=system, role="battery", name="Larkham LF-160", serial=f"L{n}")
    return {"customer": [customer.pk], "vehicle": [_busy_vehicle(count, customer, manager).pk]}


def _busy_vehicle(count: int, customer: Customer, manager: User) -> Vehicle:
    vehicle = vehicles.add_vehicle(customer, by=manager, make="Halvard", model="Tor", body="truck")
    vehicles.apply_starter_set(vehicle, BY_KEY["truck"], by=manager)
    for n in range(min(count, 10)):  # as many as one vehicle may have
        space.add_area(vehicle, by=manager, name=f"Area {n}", length_m=2.0, width_m=1.0)
        space.add_space(vehicle, by=manager, name=f"Box {n}", length_mm=600, width_mm=300, height_mm=260)
    spots = list(vehicle.positions.all())
    for n in range(count):
        trailer = vehicles.add_vehicle(customer, by=manager, make="Brindle", model=f"Nest {n}", is_trailer=True)
        end = vehicles.add_position(trailer, by=manager, name="Drawbar")
        towing.join(vehicle, by=manager, trailer=trailer, tow_position=spots[0], trailer_position=end)
    for n in range(count):
        spot = vehicles.add_position(vehicle, by=manager, name=f"Locker {n}", ambient_c=50)
        vehicles.change_position(spot, by=manager, ambient_c=55)
        vehicles.add_run(vehicle, by=manager, start=spots[0], end=spot, length_m=2)
        VehiclePhoto.objects.create(vehicle=vehicle, file=f"photos/{n}.jpg", width=4, height=3, added_by=manager)
        job = Fitout.objects.create(number=f"25-{n:04}", title="Service", customer=customer, vehicle=vehicle)
        system = InstalledSystem.objects.create(
            vehicle=vehicle, fitout=job, title="Steady", delivered_on=date(2026, 11, 1), snapshot_sha256="0" * 64
        )
        InstalledComponent.objects.create(system=system, role="battery", name="Larkham LF-160", serial=f"B{n}")
    return vehicle


@pytest.mark.parametrize("count", [3, 60])
def test_pages(count, as_manager, manager, django_assert_num_queries):
    arguments = fill(count, manager)

    for name, queries in COUNTS.items():
        url = reverse(name, args=arguments.get(name))
        as_manager.get(url)
        with django_assert_num_queries(queries):
            response = as_manager.get(url)
        assert response.status_code == 200
