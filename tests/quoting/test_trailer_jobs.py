"""A job of a wagon with its camper: one Brief of both, hitched or not, and found from either page."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse

from fitouts.models import Fitout, Hitch, Vehicle
from fitouts.services import audit, fitouts, towing, trip, vehicles
from fitouts.starter_sets import BY_KEY
from quoting.services import audit_day, briefs, designs, frozen

pytestmark = pytest.mark.django_db


@pytest.fixture
def camper(worked_out, estimator) -> Vehicle:
    made = vehicles.add_vehicle(
        worked_out.customer,
        by=estimator,
        make="Brindle",
        model="Nest",
        registration="TRL 9",
        is_trailer=True,
        alternator_control="none",
        payload_left_kg=120.0,
    )
    vehicles.apply_starter_set(made, BY_KEY["trailer"], by=estimator)
    return made


@pytest.fixture
def both(worked_out, camper, estimator) -> Fitout:
    """The field wagon with its camper behind it, a lamp in the camper."""
    towing.join(
        worked_out.vehicle,
        by=estimator,
        trailer=camper,
        tow_position=worked_out.vehicle.positions.last(),
        trailer_position=camper.positions.get(name="Drawbar, coupling"),
        length_m=1.5,
    )
    fitouts.change_details(worked_out, {"trailer": camper}, by=estimator)
    line = {"name": "Camper lamp", "way": "steady", "use": {"power_w": 10.0, "hours_per_day": 3.0, "duty_ratio": 1.0}}
    at = camper.positions.get(name="Rear")
    audit.add_line(worked_out, {**line, "position": at}, by=estimator, check=briefs.check_line)
    return worked_out


def test_the_brief_holds_both_vehicles_and_the_way_between_them(both, camper):
    vehicle = briefs.make_brief(both).vehicle

    sides = {p.name: p.on_trailer for p in vehicle.positions}
    assert sides["Drawbar box"]
    assert not sides[both.vehicle.positions.first().name]
    assert len(vehicle.positions) == both.vehicle.positions.count() + camper.positions.count()
    assert len(vehicle.runs) == both.vehicle.runs.count() + camper.runs.count()
    hitch = Hitch.objects.get()
    assert vehicle.hitch.model_dump() == {
        "tow": str(hitch.tow_position_id),
        "trailer": str(hitch.trailer_position_id),
        "length_m": 1.5,
        "coupling": None,
    }


def test_without_a_joint_the_job_says_what_is_missing(both, estimator):
    towing.part(Hitch.objects.get(), by=estimator)

    with pytest.raises(briefs.BriefIncomplete) as waiting:
        briefs.make_brief(both)

    assert [m.words for m in waiting.value.missing] == [
        "Join the trailer to the vehicle: nobody has said where the socket sits."
    ]
    assert waiting.value.missing[0].url.endswith("#towing")


def test_a_trailer_without_positions_is_named(both, camper, estimator):
    both.requirements.filter(position__vehicle=camper).delete()
    camper.runs.all().delete()
    Hitch.objects.all().delete()
    camper.positions.all().delete()

    words = [m.words for m in briefs.what_is_missing(both, list(both.requirements.all()), list(both.stops.all()))]

    assert words == ["The survey names no positions on the trailer. Name them first."]


def test_payload_is_the_less_where_parts_sit_on_both(both, camper, estimator):
    trip.set_places(both, {"inlet": camper.positions.get(name="Drawbar, inlet")})
    assert briefs.make_brief(both).vehicle.payload_left_kg == 120.0

    vehicles.change_vehicle(camper, by=estimator, payload_left_kg=None)
    both.refresh_from_db()
    assert briefs.make_brief(both).vehicle.payload_left_kg is None


def test_roof_is_that_of_whichever_carries_the_panels(both, camper, estimator):
    vehicles.change_vehicle(camper, by=estimator, roof_length_m=1.9, roof_width_m=1.1)
    trip.set_places(both, {"array": camper.positions.get(name="Roof")})
    both.refresh_from_db()

    assert briefs.make_brief(both).vehicle.roof_length_m == 1.9


def test_unhitched_stops_say_what_is_dead(both, estimator):
    stop = both.stops.first()
    values = {name: getattr(stop, name) for name in fitouts.STOP_VALUES} | {"hitched": False, "site": stop.site}
    trip.change_stop(stop, values, by=estimator, check=briefs.check_stop)

    design = designs.work_out(both, by=estimator)

    assert design.brief["trip"][0]["hitched"] is False
    assert [d["name"] for d in design.appraisal["dead_unhitched"]] == ["Camper lamp"]
    client = Client()
    client.force_login(estimator)
    page = client.get(reverse("job", args=[both.pk])).content.decode()
    assert (
        "Trailer: Rear"
        in client.get(reverse("line_edit", args=[both.pk, both.requirements.last().pk])).content.decode()
    )
    assert "Dead while unhitched" in page
    assert "unhitched" in page


def test_a_stop_asks_about_hitching_only_where_something_is_towed(both, estimator):
    client = Client()
    client.force_login(estimator)
    url = reverse("stop_add", args=[both.pk])
    assert "Trailer stays hitched here" in client.get(url).content.decode()

    both.requirements.last().delete()
    fitouts.change_details(both, {"trailer": None}, by=estimator)
    assert "Trailer stays hitched here" not in client.get(url).content.decode()


def test_a_position_of_a_third_vehicle_is_refused(both, estimator):
    stranger = vehicles.add_vehicle(both.customer, by=estimator, make="Ostler", model="Farrow")
    spot = vehicles.add_position(stranger, by=estimator, name="Boot")

    with pytest.raises(trip.PlaceRefused, match="another vehicle"):
        trip.set_places(both, {"battery": spot})
    with pytest.raises(audit.LineRefused, match="another vehicle"):
        audit.change_line(both.requirements.last(), {"position": spot}, by=estimator, check=briefs.check_line)


def test_the_job_is_found_from_the_trailers_page(both, camper, estimator):
    client = Client()
    client.force_login(estimator)

    assert both.title in client.get(reverse("vehicle", args=[camper.pk])).content.decode()
    assert frozen.personal(both)["trailer"]["registration"] == "TRL 9"


def test_the_form_of_a_new_job_refuses_a_trailer_of_somebody_else(both, camper, estimator):
    vehicles.add_vehicle(both.customer, by=estimator, make="Ostler", model="Farrow", registration="LON 1")
    client = Client()
    client.force_login(estimator)

    page = client.post(reverse("job_add"), {"vehicle": "LON 1", "trailer": "TRL 9", "title": "Both", "kind": "new"})

    assert page.status_code == 422
    assert "is not joined to Ostler Farrow" in page.content.decode()


def test_the_day_of_the_audit_leaves_out_what_is_dead_where_it_stands_unhitched(both, estimator):
    for stop in both.stops.all():
        values = {name: getattr(stop, name) for name in fitouts.STOP_VALUES} | {"hitched": False, "site": stop.site}
        trip.change_stop(stop, values, by=estimator, check=briefs.check_stop)
    design = designs.work_out(both, by=estimator)
    lines, stops = list(both.requirements.all()), list(both.stops.all())

    before, day = (audit_day.add_up(both, lines, stops, d) for d in (None, design))

    lamp = str(both.requirements.get(name="Camper lamp").pk)
    assert before.line(lamp).energy_wh == pytest.approx(30.0)  # 10 W x 3 h by hand: nobody knows yet what is dead
    assert day.line(lamp).energy_wh == 0.0
    assert day.total_wh == pytest.approx(design.appraisal["figures"]["day.energy_wh"]["value"], rel=1e-9)
