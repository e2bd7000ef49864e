"""The field wagon of ``tests/examples`` as rows, put in through the services that clicks use."""

from __future__ import annotations

import json
from decimal import Decimal
from pathlib import Path
from typing import Any

from catalog import services as catalog
from fitouts.models import Customer, Fitout, User, Vehicle, VehiclePosition, VehicleRun, Workshop
from fitouts.services import audit, trip
from fitouts.services import fitouts as jobs
from quoting.services.briefs import check_line, check_stop, check_wishes

EXAMPLE = Path(__file__).parent.parent / "examples" / "field_wagon.json"
NOT_OF_A_LINE = {"key", "use", "position", "circuit", "channel"}


def example() -> dict[str, Any]:
    return json.loads(EXAMPLE.read_text(encoding="utf-8"))


def make_catalogue(by: User, *, without: tuple[str, ...] = ()) -> dict[str, Any]:
    """Every component of the example by its key there, but those of some kinds."""
    made = {}
    for part in example()["catalogue"]:
        if part["kind"] in without:
            continue
        made[part["key"]] = catalog.save_component(
            part["kind"],
            part["spec"],
            by=by,
            name=part["name"],
            maker=part["name"].split()[0],
            part_number=part.get("part_number", ""),
            cost=Decimal(part["cost"]),
            mass_kg=part.get("mass_kg", 0.0),
            lead_days=part.get("lead_days", 0),
        )
    return made


def make_vehicle(customer: Customer, raw: dict[str, Any] | None = None) -> tuple[Vehicle, dict[str, VehiclePosition]]:
    """The example's vehicle with its survey; positions by their key in the example."""
    raw = raw or example()["vehicle"]
    columns = {k: v for k, v in raw.items() if k not in ("name", "positions", "runs", "places")}
    vehicle = Vehicle.objects.create(
        customer=customer, make="Halvard", model="Tor 3.0", body="wagon", registration="XW 417", year=2023, **columns
    )
    places = {}
    for position in raw["positions"]:
        values = {k: v for k, v in position.items() if k != "key"}
        places[position["key"]] = VehiclePosition.objects.create(vehicle=vehicle, **values)
    for run in raw["runs"]:
        VehicleRun.objects.create(
            vehicle=vehicle,
            start=places[run["a"]],
            end=places[run["b"]],
            length_m=run["length_m"],
            bundled=run.get("bundled", 1),
        )
    return vehicle, places


def make_site(by: User, raw: dict[str, Any]) -> Any:
    return catalog.save_site({**raw, "country": "AUS"}, by=by)


def make_wagon(by: User, *, catalogue: bool = True, without: tuple[str, ...] = ()) -> Fitout:
    """The whole job, ready to be worked out."""
    if not Workshop.objects.exists():
        Workshop.objects.create(name="Kestrel Flat Auto Electrical")
    raw = example()
    if catalogue:
        make_catalogue(by, without=without)
    customer = Customer.objects.create(name="Venn Field Geology", kind="organisation", phone="01632 960 417")
    vehicle, places = make_vehicle(customer)
    fitout = jobs.open_job(customer, vehicle, raw["title"], by=by, enquiry="Four days away from the grid.")
    for load in raw["loads"]:
        audit.add_line(fitout, line_values(load, places), by=by, check=check_line)
    site = make_site(by, raw["trip"][0]["site"])
    for stop in raw["trip"]:
        values = {k: v for k, v in stop.items() if k != "site"} | {"site": site}
        trip.add_stop(fitout, values, by=by, check=check_stop)
    trip.set_places(fitout, {role: places[key] for role, key in raw["vehicle"]["places"].items()})
    trip.set_wishes(fitout, raw["wishes"], by=by, check=check_wishes)
    return fitout


def line_values(load: dict[str, Any], places: dict[str, VehiclePosition]) -> dict[str, Any]:
    """A load of a Brief as the values of a line."""
    use = dict(load["use"])
    return {
        **{k: v for k, v in load.items() if k not in NOT_OF_A_LINE},
        "way": use.pop("way"),
        "use": use,
        "position": places.get(load.get("position") or ""),
    }
