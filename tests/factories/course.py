"""A job taken along its course through the services that clicks use."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django.utils import timezone

from catalog import bulk, forms_bulk, library, saved_filters, services_bulk
from catalog import services as catalog
from catalog.models import BulkAction, Component
from catalog.services_assemblies import LineValues, save_assembly
from fitouts.models import BuildTick, Fitout, FittedPart, InstalledSystem, Instrument, Stage, TaxRate, User
from fitouts.services import assemblies, customers, found, senses, space, towing, vehicles
from fitouts.services import fitouts as jobs
from quoting.models import Archive, ExistingCircuit, Revision
from quoting.services import circuit_changes, delivery, designs, existing, fleets, proof, quotes
from tests.factories.jobs import make_user
from tests.factories.selections import make_selection
from tests.factories.wagon import make_wagon

LICENCE = "EC 40417"
ODD_COST = Decimal("731.37")
"""Cost of every battery in the world: a number that stands nowhere else."""


def issue(fitout: Fitout, by: User) -> Revision:
    """Survey, work out, price and issue: revision A, or the next."""
    if fitout.stage == Stage.ENQUIRY:
        jobs.move(fitout, Stage.SURVEYED, by=by)
    designs.work_out(fitout, by=by)
    revision = quotes.draft(fitout, by=by)
    quotes.issue(revision, by=by)
    revision.refresh_from_db()
    return revision


def into_build(fitout: Fitout, by: User) -> Revision:
    revision = issue(fitout, by)
    quotes.accept(revision, accepted_by="Dr Ines Venn", note="signed copy", by=by)
    fitout.refresh_from_db()
    proof.start_build(fitout, by=by)
    fitout.refresh_from_db()
    return revision


def prove(fitout: Fitout, licensed: User, *, skip: str = "") -> None:
    """Every tick, serial, setting and reading of a job in build; ``skip`` is the key of a reading left out."""
    instrument = Instrument.objects.create(name="Clamp meter", serial="C-17")
    for tick in BuildTick.objects.filter(fitout=fitout).order_by("place"):
        proof.tick(tick, by=licensed, at=timezone.now())
    for number, part in enumerate(FittedPart.objects.filter(fitout=fitout)):
        proof.record_part(part, serial=f"SN-{number}", batch="L26", entered=part.settings_asked, by=licensed)
    for row in proof.rows(fitout):
        if row.expectation.key != skip:
            read_well(fitout, row, licensed, instrument)
    conditions = {"air_c": 24.0, "battery_c": 25.0, "charge_ratio": 0.9, "odometer_km": 41200, "certificate_no": "C 1"}
    proof.set_commissioning(fitout, conditions, [instrument], by=licensed)


def read_well(fitout: Fitout, row: proof.Row, by: User, instrument: Instrument | None = None) -> None:
    """A reading at a limit that still passes."""
    expected = row.expectation
    value = expected.minimum if expected.minimum is not None else expected.maximum
    is_question = expected.answer == "yes"
    proof.take_reading(
        fitout,
        expected.key,
        value=None if is_question else value or 0.0,
        answer=True if is_question else None,
        instrument=instrument,
        licence_no=by.licence_no,
        by=by,
    )


def deliver(fitout: Fitout, by: User, licensed: User) -> InstalledSystem:
    into_build(fitout, by)
    prove(fitout, licensed)
    proof.mark_tested(fitout, by=licensed)
    fitout.refresh_from_db()
    delivery.deliver(fitout, by=by)
    return InstalledSystem.objects.get(fitout=fitout)


def load_labour(by: User) -> None:
    """The labour operations that a bill asks for."""
    for operation in library.LABOUR:
        catalog.save_labour(operation, by=by)


def make_people() -> dict[str, User]:
    return {
        "technician": make_user(User.Role.TECHNICIAN, display_name="Joss Rook"),
        "estimator": make_user(User.Role.ESTIMATOR, display_name="Mara Quill"),
        "manager": make_user(User.Role.MANAGER, display_name="Odile Penn"),
        "licensed": make_user(User.Role.TECHNICIAN, "licensed", display_name="Tove Marr", licence_no=LICENCE),
    }


def make_world(people: dict[str, User]) -> dict[str, Any]:
    """Rows for every address: three jobs of one vehicle, quoted, in build and delivered, and one of each record."""
    by, licensed = people["estimator"], people["licensed"]
    TaxRate.objects.create(name="GST", ratio=Decimal("0.1"), valid_from="2020-01-01")
    load_labour(by)
    job = make_wagon(by)
    for battery in Component.objects.filter(kind="battery"):
        set_cost(battery, ODD_COST, by)
    vehicle = job.vehicle
    built, done = (jobs.open_from(job, vehicle, by=by, title=title) for title in ("Second wagon", "Third wagon"))
    fixings = save_assembly(
        {"name": "Battery fixings"},
        [LineValues(component=Component.objects.filter(kind="terminal").first(), each=4.0, per="battery")],
        by=by,
    ).assembly
    taken = assemblies.add(job, fixings, 1, by=by)
    package = jobs.keep_as_package(job, "Field wagon", by=by)
    issued = issue(job, by)
    into_build(built, by)
    system = deliver(done, by, licensed)
    draft = quotes.draft(job, by=by)
    hand_line = quotes.add_line(
        draft, name="Carpet cut and edged", quantity=Decimal(1), unit_price=Decimal("88"), unit_cost=Decimal("41.13")
    )
    supplier = catalog.save_supplier({"name": "Ambry Cable Works"}, by=by)
    use = {"power_w": 40.0, "hours_per_day": 5.0, "duty_ratio": 1.0}
    appliance = catalog.save_appliance("steady", use, {"name": "Work lights", "group": "light"}, by=by)
    operation = catalog.save_labour({"code": "trim", "name": "Trim refitted", "minutes_per_unit": 90.0}, by=by)
    trailer = vehicles.add_vehicle(
        job.customer, by=by, make="Brindle", model="Nest", is_trailer=True, alternator_control="none"
    )
    spot = vehicles.add_position(trailer, by=by, name="Drawbar")
    hitch = towing.join(vehicle, by=by, trailer=trailer, tow_position=vehicle.positions.first(), trailer_position=spot)
    part = found.add_part(job, by=by, name="Old isolator", plan="remove")
    defect = found.add_defect(job, by=by, words="Loose earth", remedy="Clean it and torque it")
    return {
        **_by_hand(job, by),
        "found_part": part.pk,
        "sense": senses.add(job, by=by, name="Fresh water", what="tank", position=vehicle.positions.first()).pk,
        "defect": defect.pk,
        "kind": "battery",
        "way": "steady",
        "set": "van",
        "component": issued.offers.get().lines.get(component__cost=ODD_COST).component_id,
        "appliance": appliance.pk,
        "labour": operation.pk,
        "supplier": supplier.pk,
        "bulk_about": "supplier",
        "bulk_action": _bulk_action(supplier, by).pk,
        "saved_filter": saved_filters.keep(user=by, page="job_list", name="Open", query="stage=open").pk,
        "assembly": fixings.pk,
        "use": taken.pk,
        "package": package.pk,
        "fleet": fleets.start([vehicle], name="Wagons", by=by, source=job).pk,
        "site": job.stops.first().site_id,
        "customer": job.customer_id,
        "contact": customers.add_contact(job.customer, by=by, name="Dr Ines Venn").pk,
        "vehicle": vehicle.pk,
        "hitch": hitch.pk,
        "position": vehicle.positions.first().pk,
        "roof_area": space.add_area(vehicle, by=by, name="Canopy", length_m=2.0, width_m=1.2).pk,
        "battery_space": space.add_space(vehicle, by=by, name="Box", length_mm=600, width_mm=300, height_mm=260).pk,
        "run": vehicle.runs.first().pk,
        "tax": TaxRate.objects.create(name="GST", ratio="0.15", valid_from="2099-01-01").pk,
        "instrument": Instrument.objects.first().pk,
        "person": people["licensed"].pk,
        "job": job.pk,
        "figure": "battery.asked_ah",
        "proposal": make_selection(job, by).proposals.get(offer="lean").pk,
        "role": "battery",
        "line": job.requirements.first().pk,
        "stop": job.stops.first().pk,
        "issued": issued.pk,
        "draft": draft.pk,
        "hand_line": hand_line.pk,
        "built": built.pk,
        "tick": built.ticks.first().pk,
        "part": built.fitted.first().pk,
        "system": system.pk,
        "archive": Archive.objects.create(name="kept.zip").pk,
    }


def _by_hand(job: Fitout, by: User) -> dict[str, Any]:
    """A circuit whose length was measured, and one that lies in the vehicle."""
    circuit = next(c for c in designs.appraisal_of(job.designs.first()).circuits if c.role == "distribution")
    settled = circuit_changes.settle(
        job, circuit.key, circuit.name, {"run_m": circuit.run_m + 0.1}, "Measured along the sill", by=by
    )
    lying = ExistingCircuit(fitout=job)
    known = {"circuit": "battery_main", "name": "Battery main", "area_mm2": 35.0, "rating_a": 150.0, "form": "fuse"}
    existing.write_down(lying, known, by=by)
    return {"circuit": circuit.key, "circuit_changed": settled.pk, "lying": lying.pk}


def _bulk_action(supplier: catalog.Supplier, by: User) -> BulkAction:
    """A supplier that was retired in bulk."""
    one, deed = bulk.get("supplier"), forms_bulk.RetireForm(plural="Suppliers").deed()
    mark = services_bulk.plan(one, deed, [catalog.Supplier.objects.get(pk=supplier.pk)]).mark
    return services_bulk.do(one, deed, [supplier.pk], seen=mark, by=by)


def set_cost(part: Component, cost: Decimal, by: User) -> None:
    """The same component at another cost; its price history grows by a step."""
    columns = {name: getattr(part, name) for name in ("name", "maker", "part_number", "mass_kg", "lead_days")}
    catalog.save_component(part.kind, part.specification, by=by, component=part, cost=cost, **columns)
