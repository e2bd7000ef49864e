"""The plan of a job and of a vehicle: a circuit's way, places saved together, told when somebody was faster."""

from __future__ import annotations

import html
import re

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse

from fitouts.models import User, Vehicle, VehiclePosition
from fitouts.services import fitouts, vehicles
from fitouts.starter_sets import BY_KEY
from quoting.forms.vehicle_plan import stamp
from quoting.services import designs, package_price
from quoting.services.brief_vehicle import vehicle_values
from tests.factories.jobs import make_user


@pytest.fixture
def technician(db) -> User:
    return make_user(User.Role.TECHNICIAN)


@pytest.fixture
def van(worked_out, technician) -> Vehicle:
    """Another vehicle of the customer with the usual places of a van, 5.4 m long."""
    values = {"make": "Brenner", "model": "Counter", "body": "van", "length_m": 5.4, "width_m": 1.9}
    van = vehicles.add_vehicle(worked_out.customer, by=technician, **values)
    vehicles.apply_starter_set(van, BY_KEY["van"], by=technician)
    return van


def page(client, url: str) -> str:
    return re.sub(r"\s+", " ", html.unescape(client.get(url).content.decode()))


def entries(van: Vehicle, **changed) -> dict[str, str]:
    """What the form sends, with some entries typed over: ``Rear__x_m="5,1"``."""
    positions = list(van.positions.all())
    sent = {"seen": stamp(positions)}
    for position in positions:
        for name in ("x_m", "y_m"):
            value = getattr(position, name)
            typed = changed.get(f"{position.name}__{name}", "" if value is None else f"{value}")
            sent[f"p{position.pk}-{name}"] = typed
    return sent


def place_of(van: Vehicle, name: str) -> tuple[float | None, float | None, bool]:
    return van.positions.values_list("x_m", "y_m", "is_measured").get(name=name)


# --- a job -----------------------------------------------------------------------------------------------------------


def test_the_plan_of_a_job_shows_every_run_with_its_circuits(client, worked_out, technician):
    client.force_login(technician)
    text = page(client, reverse("plan", args=[worked_out.pk]))
    appraisal = designs.appraisal_of(designs.latest_of(worked_out))

    assert '<svg xmlns="http://www.w3.org/2000/svg" class="drawing"' in text
    for circuit in appraisal.circuits:
        if len(circuit.passes) > 1:
            assert f'href="?circuit={circuit.tag}#drawing"' in text
    for use in appraisal.sleeves:
        assert use.name in text


def test_a_circuit_that_is_named_is_drawn_out(client, worked_out, technician):
    client.force_login(technician)
    circuit = next(c for c in designs.appraisal_of(designs.latest_of(worked_out)).circuits if len(c.passes) > 1)
    url = reverse("plan", args=[worked_out.pk])
    text = page(client, f"{url}?circuit={circuit.tag}")

    assert "Its way is drawn out" in text
    assert f"{circuit.tag} {circuit.name}" in text
    assert "s-accent" in text
    assert "s-accent" not in page(client, f"{url}?circuit=C999")


def test_a_plan_costs_as_many_queries_drawn_or_kept(client, worked_out, technician, django_assert_num_queries):
    client.force_login(technician)
    url = reverse("plan", args=[worked_out.pk])
    client.get(url)

    with django_assert_num_queries(QUERIES):
        client.get(url)


QUERIES = 29
"""Most of them ask whether the job's inputs have changed since its design."""


def test_no_cost_stands_on_the_plan(client, worked_out, technician):
    client.force_login(technician)
    assert "cost" not in page(client, reverse("plan", args=[worked_out.pk])).lower()


# --- a vehicle -------------------------------------------------------------------------------------------------------


def test_usual_places_fit_the_vehicle_and_are_not_called_measured(van):
    usual = BY_KEY["van"]
    rear = next(spot for spot in usual.spots if spot.name == "Rear")

    assert place_of(van, "Rear") == (
        round(rear.at_m[0] * 5.4 / usual.length_m, 2),
        round(rear.at_m[1] * 1.9 / usual.width_m, 2),
        False,
    )


def test_places_are_saved_together_and_then_measured(client, van, technician):
    client.force_login(technician)
    url = reverse("vehicle_plan", args=[van.pk])
    before = place_of(van, "Kitchen")

    answer = client.post(url, entries(van, Rear__x_m="5,1", Rear__y_m="0.4 m"))

    assert answer.status_code == 302
    assert place_of(van, "Rear") == (5.1, 0.4, True)
    assert place_of(van, "Kitchen") == before


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"Rear__x_m": "5.5"}, "5.5 m is behind the vehicle, which is 5.4 m long."),
        ({"Rear__y_m": "-1.2"}, "−1.2 m is outside the vehicle: from its middle it is 0.95 m to each side."),
        ({"Rear__y_m": ""}, "Give both measures of a place, or neither."),
        ({"Rear__x_m": "26"}, "it must be at least 0 m and at most 25 m"),
    ],
)
def test_a_wrong_place_is_told_and_nothing_is_saved(client, van, technician, typed, words):
    client.force_login(technician)
    sent = entries(van, Kitchen__x_m="2.9", **typed)
    answer = client.post(reverse("vehicle_plan", args=[van.pk]), sent)

    assert answer.status_code == 422
    said = html.unescape(answer.content.decode()).replace("\u00a0", " ")
    assert words in said
    assert place_of(van, "Kitchen")[2] is False
    assert 'value="2.9"' in said


def test_both_measures_may_be_taken_out(client, van, technician):
    client.force_login(technician)
    client.post(reverse("vehicle_plan", args=[van.pk]), entries(van, Rear__x_m="", Rear__y_m=""))

    assert place_of(van, "Rear")[:2] == (None, None)


def test_somebody_elses_move_is_told_before_anything_is_overwritten(client, van, technician):
    client.force_login(technician)
    url = reverse("vehicle_plan", args=[van.pk])
    mine = entries(van, Rear__x_m="5.0")
    vehicles.change_position(van.positions.get(name="Kitchen"), by=technician, x_m=2.2)

    answer = client.post(url, mine)

    assert answer.status_code == 422
    assert "Somebody else moved or renamed a position" in answer.content.decode()
    assert place_of(van, "Kitchen")[0] == 2.2
    again = {**mine, "seen": stamp(list(van.positions.all()))}
    assert client.post(url, again).status_code == 302
    assert place_of(van, "Rear")[0] == 5.0


def test_an_empty_post_wipes_nothing(client, van, technician):
    client.force_login(technician)
    assert client.post(reverse("vehicle_plan", args=[van.pk]), {}).status_code == 422
    assert place_of(van, "Rear")[0] is not None


def test_a_position_of_another_vehicle_is_refused(van, worked_out, technician):
    strange = worked_out.vehicle.positions.first()
    with pytest.raises(ValidationError, match="no longer there"):
        vehicles.place_positions(van, {strange.pk: (1.0, 0.0)}, by=technician)


def test_a_run_under_the_straight_line_is_told_on_the_vehicles_page(client, van, technician):
    rear, board = (van.positions.get(name=name) for name in ("Rear", "Side wall, board"))
    for position in (rear, board):
        vehicles.change_position(position, by=technician, is_measured=True)
    run = van.runs.get(start=board, end=rear)
    vehicles.change_run(run, by=technician, length_m=0.8)
    client.force_login(technician)

    text = page(client, reverse("vehicle", args=[van.pk])).replace("\u00a0", " ")

    assert "0.80 m measured, " in text
    assert "straight: check the length and both places" in text


def test_a_trailer_is_drawn_with_its_drawbar_and_a_vehicle_without_positions_not_at_all(client, worked_out, technician):
    values = {"make": "Coolah", "model": "Box", "body": "box trailer", "is_trailer": True}
    trailer = vehicles.add_vehicle(worked_out.customer, by=technician, **values)
    client.force_login(technician)
    assert "No positions yet" in page(client, reverse("vehicle_plan", args=[trailer.pk]))

    vehicles.apply_starter_set(trailer, BY_KEY["box_trailer"], by=technician)

    assert "Behind the coupling" in page(client, reverse("vehicle_plan", args=[trailer.pk]))


def test_the_brief_says_what_was_measured_and_what_is_usual(worked_out, technician):
    vehicle = worked_out.vehicle
    first: VehiclePosition = vehicle.positions.first()
    vehicles.change_position(first, by=technician, x_m=0.8, y_m=0.4, is_measured=False)
    vehicles.change_vehicle(vehicle, by=technician, length_m=4.9, width_m=1.85)

    values = vehicle_values(worked_out)

    spot = next(p for p in values["positions"] if p["key"] == str(first.pk))
    assert (spot["x_m"], spot["y_m"], spot["usual_place"]) == (0.8, 0.4, True)
    assert (values["length_m"], values["width_m"], values["is_trailer"]) == (4.9, 1.85, False)


def test_a_package_carries_places_and_size(worked_out, technician):
    vehicle = worked_out.vehicle
    vehicles.change_position(vehicle.positions.first(), by=technician, x_m=0.8, y_m=0.4, is_measured=False)
    vehicles.change_vehicle(vehicle, by=technician, length_m=4.9)
    survey = fitouts.survey_of(vehicle)

    kept = survey["positions"][0]
    assert (kept["x_m"], kept["y_m"], kept["is_measured"]) == (0.8, 0.4, False)
    assert survey["values"]["length_m"] == 4.9
    assert package_price._spot(kept)["usual_place"] is True
    assert package_price._spot({"name": "Old", "ambient_c": 40.0, "engine_space": False})["usual_place"] is False
