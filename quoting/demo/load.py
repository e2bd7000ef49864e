"""Enter the demo workshop, step by step as its people would."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal
from typing import Any

from django.db import transaction
from django.utils import timezone

from catalog import services as catalogue
from catalog.models import Assembly, Site
from fitouts.models import Fitout, FittedPart, Instrument, Stage, User, Vehicle
from fitouts.services import assemblies, audit, customers, first_run, fitouts, people, towing, trip, vehicles
from fitouts.services import workshop as workshops
from fitouts.starter_sets import BY_KEY, ROLE_BY_NAME
from quoting.demo import choosing, mending, wiring
from quoting.demo.jobs import JOBS
from quoting.demo.places import CUSTOMERS, INSTRUMENTS, PEOPLE, TAX, TOWED, VEHICLES, WORKSHOP
from quoting.services import briefs, delivery, designs, proof, quotes

SURVEY_FIELDS = ("hot_idle_v", "hot_idle_a", "own_draw_a", "standing_draw_a", "cranking_v")


@dataclass(frozen=True, slots=True)
class Account:
    """An account of the demo, with its password in the clear, shown once."""

    username: str
    role: str
    password: str


def load(say: Callable[[str], None] = lambda words: None) -> list[Account]:
    """Fill an empty workshop and return its accounts. All or nothing."""
    with transaction.atomic():
        accounts, staff = _people()
        say("catalogue")
        catalogue.load_starter(by=staff["manager"])
        instruments = [
            workshops.add_instrument(
                by=staff["manager"], calibrated_until=timezone.localdate() + timedelta(days=200), **values
            )
            for values in INSTRUMENTS
        ]
        say("customers and vehicles")
        fleet = _fleet(staff)
        _join(fleet, staff["technician"])
        jobs: dict[str, Fitout] = {}
        for job in (*JOBS, mending.UPGRADE, mending.FAULT, wiring.AGAIN):
            say(job["title"])
            jobs[job["title"]] = _job(job, fleet, staff, instruments)
        say("a fleet")
        _survey_trucks(fleet, staff["technician"])
        choosing.size_trucks(jobs["Tree-survey truck 1"], fleet, staff["estimator"])
    return accounts


def _people() -> tuple[list[Account], dict[str, User]]:
    first, *others = PEOPLE
    password = people.random_password()
    _workshop, manager = first_run.open_workshop(
        workshop=WORKSHOP,
        tax_name=TAX[0],
        tax_ratio=Decimal(TAX[1]),
        username=first["username"],
        password=password,
        display_name=first["display_name"],
    )
    accounts = [Account(first["username"], first["role"], password)]
    staff = {"manager": manager}
    for values in others:
        person, password = people.add_person(**values)
        accounts.append(Account(values["username"], values["role"], password))
        staff["licensed" if person.licence_no else person.role] = person
    return accounts, staff


def _fleet(staff: Mapping[str, User]) -> dict[str, Vehicle]:
    owners = {}
    for key, values in CUSTOMERS.items():
        own = {k: v for k, v in values.items() if k != "contacts"}
        owners[key] = customers.add_customer(by=staff["estimator"], **own)
        for contact in values["contacts"]:
            customers.add_contact(owners[key], by=staff["estimator"], **contact)
    fleet = {}
    for key, values in VEHICLES.items():
        own = {k: v for k, v in values.items() if k not in ("customer", "set", *SURVEY_FIELDS)}
        vehicle = vehicles.add_vehicle(owners[values["customer"]], by=staff["estimator"], **own)
        vehicles.apply_starter_set(vehicle, BY_KEY[values["set"]], by=staff["technician"])
        choosing.measure(vehicle, key, staff["technician"])
        fleet[key] = vehicle
    return fleet


def _join(fleet: Mapping[str, Vehicle], by: User) -> None:
    """Trailers behind what tows them."""
    for tow, trailer in TOWED:
        towing.join(
            fleet[tow],
            by=by,
            trailer=fleet[trailer],
            tow_position=fleet[tow].positions.get(name="Rear bar, trailer socket"),
            trailer_position=fleet[trailer].positions.get(name="Drawbar, coupling"),
            length_m=1.6,
        )
        for run in fleet[trailer].runs.all():
            vehicles.change_run(run, by=by, length_m=run.length_m, is_measured=True)


def _survey(vehicle: Vehicle, values: Mapping[str, Any], by: User) -> None:
    measured = {f: values[f] for f in SURVEY_FIELDS if f in values}
    vehicles.change_vehicle(vehicle, by=by, surveyed_on=timezone.localdate(), **measured)
    for run in vehicle.runs.all():
        vehicles.change_run(run, by=by, length_m=run.length_m, is_measured=True)


def _survey_trucks(fleet: Mapping[str, Vehicle], by: User) -> None:
    """The trucks of the demo's fleet, alike but for one roof."""
    for key in choosing.TRUCKS:
        _survey(fleet[key], VEHICLES[key], by)
        if key in choosing.SHORT_ROOF:
            vehicles.change_vehicle(fleet[key], by=by, roof_length_m=choosing.SHORT_ROOF[key])


def _job(
    job: Mapping[str, Any], fleet: Mapping[str, Vehicle], staff: Mapping[str, User], instruments: list[Instrument]
) -> Fitout:
    vehicle, by = fleet[job["vehicle"]], staff["estimator"]
    fitout = fitouts.open_job(
        vehicle.customer,
        vehicle,
        job["title"],
        by=by,
        enquiry=job["enquiry"],
        travellers=job["travellers"],
        assigned_to=by,
        kind=job.get("kind", Fitout.Kind.NEW),
        trailer=fleet[job["trailer"]] if "trailer" in job else None,
    )
    _survey(vehicle, VEHICLES[job["vehicle"]], staff["technician"])
    fitouts.move(fitout, Stage.SURVEYED, by=staff["technician"])
    if job is wiring.AGAIN:
        wiring.take_over(fitout, staff["technician"])
    else:
        mending.write_down(fitout, staff["technician"])
    is_fault = fitout.kind == Fitout.Kind.FAULT
    if not is_fault:
        _fill(fitout, job, by)
    if "package" in job:
        fitouts.keep_as_package(fitout, job["package"], by=by)
    if not is_fault:
        wiring.watch(fitout, job["vehicle"], by)
        designs.work_out(fitout, by=by)
        wiring.settle(fitout, job["vehicle"], by)
        choosing.choose(fitout, job["vehicle"], by)
    if job["until"] == "surveyed":
        return fitout
    revision = choosing.draft(fitout, job["vehicle"], by)
    if is_fault:
        mending.price_by_hand(revision)
    quotes.issue(revision, by=by)
    if job["until"] == "quoted":
        return fitout
    revision.refresh_from_db()
    quotes.accept(revision, accepted_by=str(vehicle.customer), note="by e-mail", by=by)
    fitout.refresh_from_db()
    if job["until"] in ("in_build", "delivered"):
        proof.start_build(fitout, by=staff["technician"])
    if job["until"] == "delivered":
        _build(fitout, staff, instruments)
        mending.settle_rest(fitout, staff["technician"])
        delivery.deliver(fitout, by=staff["manager"])
    return fitout


def _fill(fitout: Fitout, job: Mapping[str, Any], by: User) -> None:
    spots = {p.name: p for p in fitout.vehicle.positions.all()}
    behind = {p.name: p for p in fitout.trailer.positions.all()} if fitout.trailer else {}
    for line in job["lines"]:
        values = {k: v for k, v in line.items() if k not in ("at", "behind")}
        position = behind[line["behind"]] if "behind" in line else spots[line["at"]]
        audit.add_line(fitout, {**values, "position": position}, by=by, check=briefs.check_line)
    for stop in job["stops"]:
        values = {k: v for k, v in stop.items() if k != "like"}
        site = Site.objects.filter(name__startswith=stop["like"]).get()
        trip.add_stop(fitout, {**values, "site": site}, by=by, check=briefs.check_stop)
    trip.set_places(fitout, {role: spots[name] for name, role in ROLE_BY_NAME.items() if name in spots})
    trip.set_wishes(fitout, dict(job["wishes"]), by=by, check=briefs.check_wishes)
    for name, quantity in job.get("assemblies", {}).items():
        assemblies.add(fitout, Assembly.objects.get(name=name), quantity, by=by)


def _build(fitout: Fitout, staff: Mapping[str, User], instruments: list[Instrument]) -> None:
    technician, licensed = staff["technician"], staff["licensed"]
    now = timezone.now()
    for step in fitout.ticks.order_by("place"):
        proof.tick(step, by=licensed if step.licensed else technician, at=now)
    for number, part in enumerate(FittedPart.objects.filter(fitout=fitout), start=1):
        proof.record_part(
            part,
            serial=f"KF{fitout.pk:03d}-{number:03d}",
            batch=f"L{26 - number % 3}{number % 12 + 1:02d}",
            entered=part.settings_asked,
            by=technician,
        )
    for row in proof.rows(fitout):
        expected = row.expectation
        proof.take_reading(
            fitout,
            expected.key,
            value=None
            if expected.answer == "yes"
            else mending.AS_IT_CAME.get(expected.key) or _believable(expected.minimum, expected.maximum),
            answer=True if expected.answer == "yes" else None,
            instrument=instruments[2] if expected.licensed else instruments[1],
            licence_no=licensed.licence_no if expected.licensed else "",
            by=licensed if expected.licensed else technician,
        )
    proof.set_commissioning(
        fitout,
        {
            "air_c": 24.0,
            "battery_c": 26.0,
            "charge_ratio": 0.86,
            "rested_h": 2.0,
            "odometer_km": fitout.vehicle.odometer_km,
            "certificate_no": "KF-C 0388",
        },
        instruments,
        by=technician,
    )
    proof.mark_tested(fitout, by=technician)


def _believable(minimum: float | None, maximum: float | None) -> float:
    """A reading inside its limits, as a healthy system gives."""
    if minimum is not None and maximum is not None:
        return round((minimum + maximum) / 2, 3)
    if maximum is not None:
        return round(maximum * 0.85, 3)
    return round((minimum or 0.0) * 1.05, 3)
