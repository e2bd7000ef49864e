"""A tow vehicle and its trailer: joined, refused, parted; and what a job may use of both."""

from __future__ import annotations

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse

from fitouts.models import Hitch, Vehicle
from fitouts.services import customers, fitouts, towing, trip, vehicles
from fitouts.starter_sets import BY_KEY, suggested


@pytest.fixture
def trailer(customer, estimator) -> Vehicle:
    made = vehicles.add_vehicle(
        customer, by=estimator, make="Brindle", model="Nest", is_trailer=True, alternator_control="none"
    )
    vehicles.apply_starter_set(made, BY_KEY["trailer"], by=estimator)
    return made


def joint(tow: Vehicle, behind: Vehicle, **values: object) -> dict[str, object]:
    return {
        "trailer": behind,
        "tow_position": tow.positions.get(name="Rear bar, trailer socket"),
        "trailer_position": behind.positions.get(name="Drawbar, coupling"),
        "length_m": 1.4,
        **values,
    }


def typed(tow: Vehicle, behind: Vehicle, **values: object) -> dict[str, object]:
    entries = joint(tow, behind)
    entries |= {name: value.pk for name, value in entries.items() if hasattr(value, "pk")}
    return {**entries, "coupling": "", **values}


def test_a_technician_joins_changes_and_parts(as_technician, technician, surveyed, trailer):
    page = as_technician.post(reverse("hitch_add", args=[surveyed.pk]), typed(surveyed, trailer), follow=True)

    hitch = Hitch.objects.get()
    assert (hitch.tow, hitch.trailer, hitch.length_m) == (surveyed, trailer, 1.4)
    assert hitch.history.first().history_user == technician
    assert "Brindle Nest" in page.content.decode()
    assert str(surveyed) in as_technician.get(reverse("vehicle", args=[trailer.pk])).content.decode()

    edit = reverse("hitch_edit", args=[surveyed.pk, hitch.pk])
    as_technician.post(edit, typed(surveyed, trailer, length_m="2 m"))
    hitch.refresh_from_db()
    assert hitch.length_m == 2.0

    as_technician.post(reverse("hitch_part", args=[surveyed.pk, hitch.pk]))
    assert not Hitch.objects.exists()


@pytest.mark.parametrize(
    ("entries", "words"),
    [
        ({"length_m": "0"}, "It is 0\u00a0m; it must be"),
        ({"length_m": "16"}, "It is 16\u00a0m; it must be"),
        ({"length_m": "long"}, "long"),
        ({"trailer": ""}, "required"),
        ({"tow_position": "999999"}, "valid choice"),
        ({"coupling": "plug of nobody"}, "Nothing in use is called “plug of nobody”."),
    ],
)
def test_wrong_entries_are_named_and_nothing_is_kept(as_technician, surveyed, trailer, entries, words):
    page = as_technician.post(reverse("hitch_add", args=[surveyed.pk]), typed(surveyed, trailer, **entries))

    assert words in page.content.decode()
    assert not Hitch.objects.exists()


def test_a_trailer_of_another_customer_is_refused(surveyed, estimator):
    other = customers.add_customer(by=estimator, name="Asha Pell")
    strange = vehicles.add_vehicle(other, by=estimator, make="Brindle", model="Nest", is_trailer=True)
    vehicles.apply_starter_set(strange, BY_KEY["trailer"], by=estimator)

    with pytest.raises(ValidationError) as refused:
        towing.join(surveyed, by=estimator, **joint(surveyed, strange))

    assert refused.value.message_dict["trailer"] == ["Brindle Nest belongs to somebody else."]


def test_a_vehicle_never_tows_itself_nor_what_is_no_trailer(surveyed, trailer, estimator):
    for end in (surveyed, vehicles.add_vehicle(surveyed.customer, by=estimator, make="Ostler", model="Farrow")):
        with pytest.raises(ValidationError) as refused:
            towing.join(surveyed, by=estimator, **joint(surveyed, trailer, trailer=end))
        assert "trailer" in refused.value.message_dict


def test_a_trailer_tows_nothing(trailer, surveyed, estimator):
    with pytest.raises(ValidationError) as refused:
        towing.join(
            trailer,
            by=estimator,
            trailer=surveyed,
            tow_position=trailer.positions.first(),
            trailer_position=surveyed.positions.first(),
        )

    assert "is a trailer itself" in refused.value.message_dict["trailer"][0]


def test_positions_of_another_vehicle_are_refused(surveyed, trailer, estimator):
    values = joint(
        surveyed, trailer, tow_position=trailer.positions.first(), trailer_position=surveyed.positions.first()
    )

    with pytest.raises(ValidationError) as refused:
        towing.join(surveyed, by=estimator, **values)

    assert set(refused.value.message_dict) == {"tow_position", "trailer_position"}


def test_the_form_of_a_trailer_asks_nothing_about_an_engine(as_estimator, customer):
    page = as_estimator.get(reverse("vehicle_add", args=[customer.pk]) + "?trailer").content.decode()
    assert "alternator rating" not in page

    entries = {"make": "Brindle", "model": "Nest", "nominal_v": "12", "is_trailer": "on", "alternator_a": "90"}
    as_estimator.post(reverse("vehicle_add", args=[customer.pk]), entries)

    made = Vehicle.objects.get(make="Brindle")
    assert (made.is_trailer, made.alternator_control, made.alternator_a) == (True, "none", None)


def test_a_job_takes_only_a_trailer_that_is_joined(surveyed, trailer, estimator):
    with pytest.raises(fitouts.JobNotOpened, match="is not joined"):
        fitouts.open_job(surveyed.customer, surveyed, "Both", by=estimator, trailer=trailer)

    towing.join(surveyed, by=estimator, **joint(surveyed, trailer))
    fitout = fitouts.open_job(surveyed.customer, surveyed, "Both", by=estimator, trailer=trailer)

    names = [towing.position_words(fitout, p) for p in towing.positions_for(fitout)]
    assert names[0] == "Starter battery"
    assert "Trailer: Drawbar box" in names
    assert len(names) == surveyed.positions.count() + trailer.positions.count()


def test_a_trailer_in_use_stays_with_its_job(surveyed, trailer, estimator):
    towing.join(surveyed, by=estimator, **joint(surveyed, trailer))
    fitout = fitouts.open_job(surveyed.customer, surveyed, "Both", by=estimator, trailer=trailer)
    trip.set_places(fitout, {"battery": trailer.positions.get(name="Drawbar box")})

    with pytest.raises(fitouts.JobNotOpened, match="sit on the trailer"):
        fitouts.change_details(fitout, {"trailer": None}, by=estimator)

    trip.set_places(fitout, {"battery": None})
    fitouts.change_details(fitout, {"trailer": None}, by=estimator)
    fitout.refresh_from_db()
    assert fitout.trailer is None


def test_a_copy_and_a_package_know_the_trailers_positions_again(surveyed, trailer, estimator):
    towing.join(surveyed, by=estimator, **joint(surveyed, trailer))
    job = fitouts.open_job(surveyed.customer, surveyed, "Both", by=estimator, trailer=trailer)
    trip.set_places(job, {"array": trailer.positions.get(name="Roof"), "starter": surveyed.positions.first()})

    copy = fitouts.open_from(job, surveyed, by=estimator)
    package = fitouts.keep_as_package(job, "Wagon and camper", by=estimator)
    without = fitouts.open_from_package(package, surveyed, by=estimator)

    assert copy.placements.get(role="array").position.vehicle == trailer
    assert [p.role for p in without.placements.all()] == ["starter"]


def test_a_trailer_alone_is_not_charged_by_an_engine(trailer, estimator):
    fitout = fitouts.open_job(trailer.customer, trailer, "Camper alone", by=estimator)

    assert not fitout.engine_charging
    assert suggested("box trailer").key == "box_trailer"
