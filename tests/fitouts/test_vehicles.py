"""Vehicles, their survey, positions and cable runs."""

from __future__ import annotations

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse

from fitouts.models import Placement, Vehicle, VehiclePosition, VehicleRun
from fitouts.services import vehicles
from fitouts.starter_sets import BY_KEY, SETS, suggested
from tests.factories.jobs import make_fitout

RANGE = "It is {}; it must be at least {} and at most {}."
LEAST = {
    "make": "Halvard",
    "model": "Tor 3.0",
    "nominal_v": "12",
    "alternator_control": "smart",
}


def say(value: str, low: str, high: str) -> str:
    return RANGE.format(*(text.replace(" ", "\u00a0").replace("-", "−") for text in (value, low, high)))


def test_vehicle_is_added_with_typed_quantities(as_estimator, customer):
    response = as_estimator.post(
        reverse("vehicle_add", args=[customer.pk]),
        {
            **LEAST,
            "registration": "kf  417 v",
            "vin": "wht11111111111111",
            "odometer_km": "62 400",
            "alternator_a": "0,15 kA",
            "starter_ohm": "4",
            "roof_length_m": "220 cm",
            "roof_width_m": "1,3",
            "payload_left_kg": "410",
        },
    )

    made = Vehicle.objects.get()
    assert response.headers["Location"] == reverse("vehicle", args=[made.pk])
    assert (made.registration, made.vin, made.odometer_km) == ("KF 417 V", "WHT11111111111111", 62400)
    assert (made.alternator_a, made.starter_ohm, made.roof_length_m, made.roof_width_m) == (150, 0.004, 2.2, 1.3)
    page = as_estimator.get(response.headers["Location"]).content.decode()
    assert "no check digit asked for in this region" in page
    assert '4\u00a0<span class="u">mΩ</span>' in page
    assert 'value="4"' in as_estimator.get(reverse("vehicle_edit", args=[made.pk])).content.decode()


@pytest.mark.parametrize(
    ("name", "typed", "words"),
    [
        ("make", "", "This field is required."),
        ("nominal_v", "48", "48 is not one of the available choices."),
        ("year", "1066", "It is 1\u202f066; it must be at least 1\u202f900 and at most 2\u202f100."),
        ("year", "2020.5", "It must be a whole number."),
        ("odometer_km", "1,500", "“1,500” can mean 1.5 or 1500. Write one of these."),
        ("odometer_km", "-3", say("-3 km", "0 km", "5\u202f000\u202f000 km")),
        ("alternator_a", "-90", say("-90 A", "20 A", "600 A")),
        ("alternator_a", "90 V", "“V” is not a unit of this field; use A."),
        ("alternator_a", "lots", "“lots” is not a number."),
        ("starter_ohm", "1000", say("1\u202f000 mΩ", "0.5 mΩ", "100 mΩ")),
        ("roof_length_m", "-2", say("-2 m", "0 m", "20 m")),
        ("roof_length_m", "nan", "“nan” is not a number."),
        ("payload_left_kg", "1e9", say("1\u202f000\u202f000\u202f000 kg", "0 kg", "20\u202f000 kg")),
        ("vin", "1G4AH59H45G118342", "character 9 is 4 and would have to be 6"),
        ("vin", "W", "A VIN has 17 characters; this has 1."),
        ("vin", "WIIIIIIIIIIIIIIII", "A VIN never has I."),
    ],
)
def test_wrong_entry_is_refused_and_nothing_is_kept(as_estimator, customer, name, typed, words):
    response = as_estimator.post(reverse("vehicle_add", args=[customer.pk]), {**LEAST, name: typed})

    assert words in response.content.decode()
    assert Vehicle.objects.count() == 0


def test_empty_survey_means_not_measured(as_technician, vehicle):
    as_technician.post(reverse("vehicle_survey", args=[vehicle.pk]), {"standing_draw_a": "", "hot_idle_v": "13,4"})

    vehicle.refresh_from_db()
    assert (vehicle.standing_draw_a, vehicle.hot_idle_v, vehicle.make) == (None, 13.4, "Halvard")


@pytest.mark.parametrize(
    ("typed", "kept"), [("35", 0.035), ("0.035 A", 0.035), ("35 mA", 0.035), ("0,2 A", 0.2), ("0", 0.0)]
)
def test_standing_draw_is_typed_with_or_without_unit(as_technician, vehicle, typed, kept):
    as_technician.post(reverse("vehicle_survey", args=[vehicle.pk]), {"standing_draw_a": typed})

    vehicle.refresh_from_db()
    assert vehicle.standing_draw_a == kept


@pytest.mark.parametrize(
    ("name", "typed", "words"),
    [
        ("hot_idle_v", "27.2", "27.2 V is too much for a 12 V vehicle: at most 16 V."),
        ("cranking_v", "-1", say("-1 V", "5 V", "30 V")),
        ("standing_draw_a", "6 A", say("6\u202f000 mA", "0 mA", "5\u202f000 mA")),
        ("surveyed_on", "2999-01-01", "This day is still to come."),
        ("surveyed_on", "31.02.2026", "This is not a day. Write it as 2026-11-24."),
    ],
)
def test_wrong_survey_is_refused(as_technician, vehicle, name, typed, words):
    response = as_technician.post(reverse("vehicle_survey", args=[vehicle.pk]), {name: typed})

    assert words in response.content.decode()
    vehicle.refresh_from_db()
    assert vehicle.history.count() == 1


@pytest.mark.parametrize("chosen", SETS, ids=lambda chosen: chosen.key)
def test_starter_set_gives_positions_and_runs_to_be_measured(as_technician, vehicle, chosen):
    as_technician.post(reverse("starter_set", args=[vehicle.pk, chosen.key]))

    assert list(vehicle.positions.values_list("name", "ambient_c")) == [(s.name, s.ambient_c) for s in chosen.spots]
    assert list(vehicle.runs.values_list("start__name", "end__name", "length_m", "is_measured")) == [
        (*run, False) for run in chosen.runs
    ]
    roles = {spot.role for spot in chosen.spots}
    engine = set() if "trailer" in chosen.key else {"starter"}
    assert {"battery", "board", "charger", "inverter", "array", "inlet"} | engine <= roles


def test_starter_set_is_only_a_start(as_technician, surveyed):
    response = as_technician.post(reverse("starter_set", args=[surveyed.pk, "van"]), follow=True)

    assert "This vehicle has positions already." in response.content.decode()
    assert surveyed.positions.count() == len(BY_KEY["wagon"].spots)


@pytest.mark.parametrize(
    ("body", "key"),
    [("Touring wagon", "wagon"), ("panel van", "van"), ("caravan", "trailer"), ("camper trailer", "trailer"),
     ("Truck 4x2", "truck"), ("boat", None), ("", None)],
)  # fmt: skip
def test_starter_set_suggested_by_body(body, key):
    found = suggested(body)

    assert (found.key if found else None) == key


def test_run_is_measured_in_place(as_technician, surveyed):
    run = surveyed.runs.first()
    url = reverse("run_edit", args=[surveyed.pk, run.pk])
    opened = as_technician.get(url, headers={"hx-request": "true"}).content.decode()
    assert '<tr class="writing">' in opened
    assert "<html" not in opened

    answer = as_technician.post(
        url,
        {
            "run-start": run.start_id,
            "run-end": run.end_id,
            "run-length_m": "485 cm",
            "run-bundled": "2",
            "run-is_measured": "on",
        },
        headers={"hx-request": "true"},
    )

    run.refresh_from_db()
    assert (run.length_m, run.bundled, run.is_measured) == (4.85, 2, True)
    assert '<tr class="writing">' not in answer.content.decode()
    assert 'hx-swap-oob="true"' in answer.content.decode()


def test_without_htmx_the_whole_page_does_the_same(as_technician, surveyed):
    response = as_technician.post(
        reverse("position_add", args=[surveyed.pk]), {"position-name": "Roof, rear", "position-ambient_c": "70"}
    )

    assert response.headers["Location"] == f"/vehicles/{surveyed.pk}/#places"
    assert surveyed.positions.filter(name="Roof, rear", ambient_c=70).exists()
    assert "<html" in as_technician.get(reverse("position_add", args=[surveyed.pk])).content.decode()


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ({"position-name": ""}, "This field is required."),
        ({"position-name": "roof"}, "This vehicle has a position of that name already."),
        ({"position-ambient_c": "900"}, say("900 °C", "-20 °C", "110 °C")),
        ({"position-ambient_c": "hot"}, "“hot” is not a number."),
    ],
)
def test_wrong_position_is_refused(as_technician, surveyed, values, words):
    before = surveyed.positions.count()

    response = as_technician.post(
        reverse("position_add", args=[surveyed.pk]), {"position-name": "Floor", "position-ambient_c": "50", **values}
    )

    assert words in response.content.decode()
    assert surveyed.positions.count() == before


@pytest.mark.parametrize(
    ("length", "bundled", "words"),
    [
        ("-3", "1", say("-3 m", "0.05 m", "60 m")),
        ("1,500", "1", "“1,500” can mean 1.5 or 1500. Write one of these."),
        ("61", "1", say("61 m", "0.05 m", "60 m")),
        ("", "1", "Enter a number, at least 0.05\xa0m and at most 60\xa0m."),
        ("3", "0", "It is 0; it must be at least 1 and at most 60."),
        ("3", "1.5", "It must be a whole number."),
    ],
)
def test_wrong_run_is_refused(as_technician, surveyed, length, bundled, words):
    before = surveyed.runs.count()
    start, end = surveyed.positions.get(name="Roof"), surveyed.positions.get(name="Cabin")

    response = as_technician.post(
        reverse("run_add", args=[surveyed.pk]),
        {"run-start": start.pk, "run-end": end.pk, "run-length_m": length, "run-bundled": bundled},
    )

    assert words in response.content.decode()
    assert surveyed.runs.count() == before


def test_run_to_itself_or_a_second_time_is_refused(as_technician, surveyed):
    first = surveyed.runs.first()
    common = {"run-length_m": "3", "run-bundled": "1"}
    url = reverse("run_add", args=[surveyed.pk])

    to_itself = as_technician.post(url, {"run-start": first.start_id, "run-end": first.start_id, **common})
    backwards = as_technician.post(url, {"run-start": first.end_id, "run-end": first.start_id, **common})

    assert "A run goes from one position to another." in to_itself.content.decode()
    assert "There is a run between these two already. Change that one." in backwards.content.decode()


def test_run_never_joins_two_vehicles(surveyed, customer, estimator):
    other = vehicles.add_vehicle(customer, by=estimator, make="Brindle", model="Carrier")
    there = vehicles.add_position(other, by=estimator, name="Roof", ambient_c=70)

    with pytest.raises(ValidationError, match="Both positions must be this vehicle"):
        vehicles.add_run(surveyed, by=estimator, start=surveyed.positions.first(), end=there, length_m=3)


def test_position_takes_its_runs_along_unless_a_job_needs_it(as_technician, surveyed):
    roof, cabin = surveyed.positions.get(name="Roof"), surveyed.positions.get(name="Cabin")
    Placement.objects.create(fitout=make_fitout(), role="array", position=roof)

    kept = as_technician.post(reverse("position_remove", args=[surveyed.pk, roof.pk]), follow=True)
    as_technician.post(reverse("position_remove", args=[surveyed.pk, cabin.pk]))

    assert "“Roof” is where a job has something." in kept.content.decode()
    assert VehiclePosition.objects.filter(pk=roof.pk).exists()
    assert not VehiclePosition.objects.filter(pk=cabin.pk).exists()
    assert not VehicleRun.objects.filter(vehicle=surveyed, end_id=cabin.pk).exists()


@pytest.mark.parametrize("asked", ["kf 417", "halvard", "venn", "WHT111", "tor venn"])
def test_vehicle_is_found(as_technician, vehicle, asked):
    vehicles.change_vehicle(vehicle, by=None, vin="WHT11111111111111")
    vehicles.add_vehicle(vehicle.customer, by=None, make="Brindle", model="Carrier", nominal_v=24)
    vehicles.change_vehicle(Vehicle.objects.get(make="Brindle"), by=None, customer=make_fitout().customer)

    response = as_technician.get(reverse("vehicle_list"), {"q": asked})

    assert [row.record.registration for row in response.context["table"].rows] == ["KF 417 V"]


def test_hybrid_warns_of_high_voltage(as_technician, vehicle):
    vehicles.change_vehicle(vehicle, by=None, hybrid=True)

    assert "high voltage on board" in as_technician.get(reverse("vehicle", args=[vehicle.pk])).content.decode()


def test_retired_vehicle_comes_back(as_estimator, vehicle):
    as_estimator.post(reverse("vehicle_retire", args=[vehicle.pk]))
    assert "KF 417 V" not in as_estimator.get(reverse("vehicle_list")).content.decode()

    as_estimator.post(reverse("vehicle_retire", args=[vehicle.pk]))
    assert "KF 417 V" in as_estimator.get(reverse("vehicle_list")).content.decode()
