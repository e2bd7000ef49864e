"""Tables of customers and vehicles: round trip, matching, and what is refused."""

from __future__ import annotations

import pytest

from catalog import sheets
from fitouts.models import Contact, Customer, Vehicle
from fitouts.services import customers, vehicles
from tests.catalog.sheet_files import bring, check_file, check_rows, write

MOVES_NONE = "a table does not move a vehicle to another customer."
CUSTOMER, VEHICLE = "customer", "vehicle"


def wrong(plan):
    return [(problem.row, problem.column, problem.words) for problem in plan.problems(0, 20)]


@pytest.mark.parametrize("format", sheets.FORMATS)
def test_customers_and_vehicles_come_in_as_they_went_out(format, surveyed, estimator, tmp_path):
    surveyed.customer.notes = "first\r\nsecond"
    surveyed.customer.save()
    customers.add_contact(surveyed.customer, by=estimator, name="Ada Brook", phone="+61 960 111")
    vehicles.change_vehicle(surveyed, by=estimator, cranking_v=10.4, starter_ohm=0.006, vin="JH4DA9350LS000000")
    for code in (CUSTOMER, VEHICLE):
        path = write(tmp_path, f"out.{format}", b"".join(sheets.export(sheets.get(code), estimator, format)))

        plan = check_file(sheets.get(code), path, estimator)

        assert wrong(plan) == []
        assert (plan.same, plan.changed, plan.added) == (1, 0, 0)


def test_a_customer_comes_in_with_a_contact_and_changes_it(estimator, tmp_path):
    type = sheets.get(CUSTOMER)
    heads = ("Name", "Kind", "E-mail", "Contact: name", "Contact: phone")
    plan = check_rows(type, tmp_path, estimator, heads, ("Tarn Survey", "organisation", "o@tarn.example", "Bo", "1"))
    assert wrong(plan) == []
    bring(type, plan, estimator)

    owner = Customer.objects.get()
    assert (owner.name, owner.kind, owner.email) == ("Tarn Survey", "organisation", "o@tarn.example")
    contact = Contact.objects.get()
    assert (contact.customer, contact.name, contact.phone) == (owner, "Bo", "1")
    assert contact.history.get().history_user_id == estimator.pk

    plan = check_rows(type, tmp_path, estimator, heads, ("tarn survey", "", "o@tarn.example", "bo", "2"))
    row = plan.rows(0, 1, "changed")[0]
    assert [(label, old, new) for label, old, new, _ in row.changes] == [
        ("Name", "Tarn Survey", "tarn survey"),
        ("Contact: name", "Bo", "bo"),
        ("Contact: phone", "1", "2"),
    ]
    bring(type, plan, estimator)
    contact.refresh_from_db()
    assert (contact.phone, Contact.objects.count(), contact.history.count()) == ("2", 1, 2)


def test_a_vehicle_finds_its_customer_or_is_refused(customer, estimator, tmp_path):
    type = sheets.get(VEHICLE)
    twin = customers.add_customer(by=estimator, name=customer.name, email="second@venn.example")
    heads = (
        "Registration",
        "Make",
        "Model",
        "System voltage",
        "Alternator control",
        "Customer name",
        "Customer e-mail",
    )
    rows = [
        ("AB 1", "Halvard", "Tor", "12", "fixed voltage", twin.name, "second@venn.example"),
        ("AB 2", "Halvard", "Tor", "12 V", "smart", twin.name, ""),
        ("AB 3", "Halvard", "Tor", "24", "fixed", "Nobody", ""),
        ("AB 4", "Halvard", "Tor", "12", "fixed", "", ""),
    ]

    plan = check_rows(type, tmp_path, estimator, heads, *rows)

    assert wrong(plan) == [
        (3, "Customer name", f"2 customers are called “{twin.name}”; say which by number or e-mail."),
        (4, "Customer name", "No customer “Nobody” is here. Add the customer first."),
        (5, "Customer name", "The customer is missing: whose vehicle is it?"),
    ]
    bring(type, check_rows(type, tmp_path, estimator, heads, rows[0]), estimator)
    assert Vehicle.objects.get(registration="AB 1").customer == twin


def test_a_vehicle_is_found_by_plate_and_held_to_the_forms_limits(vehicle, estimator, tmp_path):
    type = sheets.get(VEHICLE)
    heads = ("registration", "VIN", "alternator rating", "standing draw", "lowest cranking voltage", "surveyed on")
    good = ("kf 417  v", "", "150 A", "0.03 A", "10,2", "2026-11-01")

    plan = check_rows(type, tmp_path, estimator, heads, good)

    assert wrong(plan) == []
    assert [c[:3] for c in plan.rows(0, 1, "changed")[0].changes] == [
        ("Alternator rating", "", "150\u00a0A"),
        ("Surveyed on", "", "2026-11-01"),
        ("Standing draw", "", "30\u00a0mA"),
        ("Lowest cranking voltage", "", "10.2\u00a0V"),
    ]
    bring(type, plan, estimator)
    vehicle.refresh_from_db()
    assert (vehicle.alternator_a, vehicle.standing_draw_a, vehicle.cranking_v) == (150.0, 0.03, 10.2)
    assert vehicle.history.first().history_type == "~"

    bad = ("KF 417 V", "1M8GDM9A_KP042788", "700 A", "30 V", "17", "2099-01-01")
    assert [(column, words) for _row, column, words in wrong(check_rows(type, tmp_path, estimator, heads, bad))] == [
        ("VIN", "A VIN never has _. I and O are mostly 1 and 0."),
        ("alternator rating", "It is 700\u00a0A; it must be at least 20\u00a0A and at most 600\u00a0A."),
        ("standing draw", "“V” is not a unit of this field; use mA."),
        ("surveyed on", "This day is still to come."),
    ]
    assert wrong(check_rows(type, tmp_path, estimator, heads, ("KF 417 V", "", "", "", "17", ""))) == [
        (2, "lowest cranking voltage", "17 V is too much for a 12 V vehicle: at most 16 V.")
    ]


def test_a_table_never_moves_a_vehicle_to_another_customer(vehicle, estimator, tmp_path):
    other = customers.add_customer(by=estimator, name="Other")
    rows = (("registration", "customer name"), ("KF 417 V", other.name))

    assert wrong(check_rows(sheets.get(VEHICLE), tmp_path, estimator, *rows)) == [
        (
            2,
            "customer name",
            f"“Halvard Tor 3.0 wagon” belongs to {vehicle.customer.name}; {MOVES_NONE}",
        )
    ]


def test_technicians_read_tables_and_bring_none_in(vehicle, technician, tmp_path):
    for code in (CUSTOMER, VEHICLE):
        type = sheets.get(code)
        assert type.can_export(technician)
        assert not type.can_import(technician)
        with pytest.raises(sheets.checking.PermissionDenied):
            check_rows(type, tmp_path, technician, ("name", "number"), ("A", "1"))
