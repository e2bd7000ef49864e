"""What was changed, in words."""

from __future__ import annotations

from catalog.changes import FieldChange, changes
from fitouts.models import Vehicle, Workshop
from fitouts.services import customers, vehicles
from fitouts.services import workshop as service


def test_changes_say_who_what_before_and_after(vehicle, estimator, technician):
    vehicles.change_vehicle(
        vehicle, by=technician, hot_idle_v=13.4, idle_stop=True, alternator_control="smart", payload_left_kg=1410.0
    )
    vehicles.change_vehicle(vehicle, by=None, registration="")

    newest, middle, first = changes(("Vehicle", vehicle.history.all()))

    assert (first.what, first.by, first.kind, first.fields) == ("Vehicle added", "Mara Quill", "added", ())
    assert (middle.what, middle.by) == ("Vehicle changed", "Joss Rook")
    assert set(middle.fields) == {
        FieldChange("Voltage at hot idle", "nothing", "13.4"),
        FieldChange("Stops at idle", "no", "yes"),
        FieldChange("Alternator control", "fixed voltage", "controlled by the engine computer"),
        FieldChange("Payload left", "nothing", "1\u202f410"),
    }
    assert (newest.by, newest.fields) == ("the server", (FieldChange("Registration", "KF 417 V", "nothing"),))


def test_saving_without_a_change_is_no_change(vehicle, estimator):
    vehicles.change_vehicle(vehicle, by=estimator, make="Halvard")

    assert [step.kind for step in changes(("Vehicle", vehicle.history.all()))] == ["added"]


def test_what_a_record_points_to_is_named(vehicle, estimator):
    from fitouts.models import Customer

    other = Customer.objects.create(name="Mira Oakhollow")
    vehicles.change_vehicle(vehicle, by=estimator, customer=other)

    assert changes(("Vehicle", vehicle.history.all()))[0].fields == (
        FieldChange("Customer", "Venn Field Geology", "Mira Oakhollow"),
    )


def test_hidden_field_leaves_no_trace(workshop, manager):
    from decimal import Decimal

    service.change_workshop(workshop, by=manager, labour_cost=Decimal("77.25"))
    shown = changes(("Workshop", Workshop.history.all()))
    hidden = changes(("Workshop", Workshop.history.all()), hidden=frozenset({"labour_cost"}))

    assert "77.25" in shown[0].fields[0].after
    assert [step.kind for step in hidden] == ["added"]


def test_removed_position_is_told(surveyed, technician, as_technician):
    roof = surveyed.positions.get(name="Roof")
    vehicles.remove_position(roof, by=technician)

    page = as_technician.get(f"/vehicles/{surveyed.pk}/").content.decode()

    assert "Position “Roof” removed" in page
    assert "Cable run Starter battery to Cargo area, charger panel added" in page
    assert "Cable run a removed position to Cargo area, charger panel removed" in page


def test_number_of_queries_does_not_grow(vehicle, estimator, django_assert_num_queries):
    for count in (3, 60):
        for step in range(count):
            vehicles.change_vehicle(vehicle, by=estimator, payload_left_kg=float(step + count))
        with django_assert_num_queries(2):
            assert len(changes(("Vehicle", Vehicle.history.filter(id=vehicle.pk)), limit=100)) >= count


def test_retiring_and_taking_back_are_told_in_words(customer, estimator):
    customers.retire_customer(customer, by=estimator)
    customers.restore_customer(customer, by=estimator)

    assert [(step.what, step.fields) for step in changes(("Customer", customer.history.all()))] == [
        ("Customer “Venn Field Geology” taken back into use", ()),
        ("Customer “Venn Field Geology” retired", ()),
        ("Customer “Venn Field Geology” added", ()),
    ]
    assert changes(("", customer.history.all()))[0].what == "Taken back into use"
