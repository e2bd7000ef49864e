"""Stops, places and wishes: kept whole or not at all."""

from __future__ import annotations

from typing import Any

import pytest
from django.urls import reverse

from catalog.models import Site
from fitouts.models import Customer, Fitout, TripStop, User, Workshop
from fitouts.services import fitouts as jobs
from fitouts.services import trip
from quoting.services.briefs import check_stop, wish_values
from quoting.sizing.errors import SizingError
from tests.factories.jobs import make_user, make_workshop
from tests.factories.wagon import example, make_catalogue, make_site, make_vehicle, make_wagon

pytestmark = pytest.mark.django_db

STOP = {
    "site": "Cinder Ridge",
    "month": "7",
    "days": "4",
    "driving_h_per_day": "2,5",
    "driving_start_h": "8",
    "mains_h_per_day": "0",
    "mains_start_h": "18",
    "shade_ratio": "10",
}
WISHES = {
    "system_v": "12",
    "autonomy_days": "2",
    "solar_share_ratio": "50",
    "chemistries": ["lifepo4", "agm"],
    "engine_charging": "on",
    "solar_charging": "on",
}


@pytest.fixture
def estimator() -> User:
    make_workshop()
    return make_user()


@pytest.fixture
def fitout(estimator: User) -> Fitout:
    vehicle, _places = make_vehicle(Customer.objects.create(name="Venn Field Geology"))
    make_site(estimator, example()["trip"][0]["site"])
    return jobs.open_job(vehicle.customer, vehicle, "Field wagon", by=estimator)


@pytest.fixture
def page(client: Any, estimator: User) -> Any:
    client.force_login(estimator)
    return client


def add(page: Any, fitout: Fitout, **changed: str) -> Any:
    return page.post(reverse("stop_add", args=[fitout.pk]), {**STOP, **changed}, headers={"HX-Request": "true"})


def test_stop_is_kept_in_the_units_of_the_brief(page, fitout):
    answer = add(page, fitout)

    stop = TripStop.objects.get()
    assert (stop.site.name, stop.month, stop.days) == ("Cinder Ridge", 7, 4.0)
    assert (stop.driving_h_per_day, stop.shade_ratio) == (2.5, 0.1)
    assert answer.headers["HX-Retarget"] == "#trip-matter"
    assert 'id="audit-matter" hx-swap-oob="true"' in answer.content.decode()


@pytest.mark.parametrize(
    ("field", "entry", "says"),
    [
        ("site", "Atlantis", "There is no site “Atlantis” in the list"),
        ("site", "", "required"),
        ("site", "ridge", "“ridge” can be “Ash Ridge”, “Cinder Ridge”"),
        ("month", "13", "Select a valid choice"),
        ("days", "0", "at least 0.5\N{NO-BREAK SPACE}d"),
        ("days", "1,500", "1.5 or 1500"),
        ("days", "400", "at most 366\N{NO-BREAK SPACE}d"),
        ("driving_h_per_day", "25", "at most 24\N{NO-BREAK SPACE}h"),
        ("driving_h_per_day", "-1", "at least 0\N{NO-BREAK SPACE}h"),
        ("driving_start_h", "25", "at most 24\N{NO-BREAK SPACE}h"),
        ("mains_h_per_day", "30", "at most 24\N{NO-BREAK SPACE}h"),
        ("mains_start_h", "noon", "“noon” is not a number"),
        ("shade_ratio", "101", "at most 100\N{NO-BREAK SPACE}%"),
    ],
)
def test_wrong_stops_are_refused_beside_their_field(page, fitout, estimator, field, entry, says):
    make_site(estimator, {**example()["trip"][0]["site"], "name": "Ash Ridge"})

    answer = add(page, fitout, **{field: entry})

    text = answer.content.decode()
    assert not TripStop.objects.exists()
    assert says in text[text.index('class="wrong"') :]


def test_part_of_a_sites_name_will_do_when_only_one_fits(page, fitout):
    add(page, fitout, site="cinder")

    assert TripStop.objects.get().site.name == "Cinder Ridge"


def test_retired_site_is_not_offered(page, fitout):
    Site.objects.update(retired_at="2026-01-01T00:00Z")

    add(page, fitout)

    assert not TripStop.objects.exists()


def test_stops_are_changed_in_place_ordered_and_taken_out(page, fitout):
    for month in ("5", "6", "7"):
        add(page, fitout, month=month)
    first, second, third = fitout.stops.all()

    page.post(reverse("stop_edit", args=[fitout.pk, first.pk]), {**STOP, "month": "1"})
    page.post(reverse("stop_move", args=[fitout.pk, third.pk]), {"way_to": "up"})
    page.post(reverse("stop_remove", args=[fitout.pk, second.pk]))

    assert [stop.month for stop in fitout.stops.all()] == [1, 7]


def test_refused_change_leaves_the_saved_stop_alone(page, fitout):
    add(page, fitout)
    stop = TripStop.objects.get()

    answer = page.post(reverse("stop_edit", args=[fitout.pk, stop.pk]), {**STOP, "days": "-3", "month": "2"})

    stop.refresh_from_db()
    assert answer.status_code == 422
    assert (stop.days, stop.month) == (4.0, 7)


def test_service_checks_what_a_form_never_saw(fitout, estimator):
    values = {"site": Site.objects.get(), "month": 7, "days": 4.0, "shade_ratio": 1.5}

    with pytest.raises(SizingError, match=r"shade_ratio is 1\.5; it must be at least 0 and at most 1\."):
        trip.add_stop(fitout, values, by=estimator, check=check_stop)

    assert not TripStop.objects.exists()


# --- Places ------------------------------------------------------------------------------------------


def test_technician_says_what_sits_where(client, fitout, estimator):
    client.force_login(make_user(User.Role.TECHNICIAN))
    roof = fitout.vehicle.positions.get(name="Roof")
    url = reverse("places_set", args=[fitout.pk])

    client.post(url, {"array": roof.pk})
    assert list(fitout.placements.values_list("role", "position__name")) == [("array", "Roof")]
    client.post(url, {"array": ""})

    assert not fitout.placements.exists()


def test_position_of_another_vehicle_is_no_place(page, fitout):
    _vehicle, places = make_vehicle(Customer.objects.create(name="Somebody else"))

    answer = page.post(reverse("places_set", args=[fitout.pk]), {"array": places["roof"].pk})

    assert answer.status_code == 422
    with pytest.raises(trip.PlaceRefused, match="position of another vehicle"):
        trip.set_places(fitout, {"array": places["roof"]})
    assert not fitout.placements.exists()


# --- Wishes ------------------------------------------------------------------------------------------


def test_wishes_are_saved_together(page, fitout):
    page.post(reverse("wishes_set", args=[fitout.pk]), WISHES)

    fitout.refresh_from_db()
    assert (fitout.autonomy_days, fitout.solar_share_ratio) == (2.0, 0.5)
    assert fitout.chemistries == ["lifepo4", "agm"]
    assert (fitout.engine_charging, fitout.mains_charging, fitout.shore_inlet) == (True, False, False)


def test_panels_are_tilted_and_laid_flat_again(page, fitout):
    url = reverse("wishes_set", args=[fitout.pk])

    page.post(url, {**WISHES, "panel_tilt_deg": "20", "panel_azimuth_deg": "350 deg"})
    fitout.refresh_from_db()
    assert (fitout.panel_tilt_deg, fitout.panel_azimuth_deg) == (20.0, 350.0)
    assert wish_values(fitout)["panel_tilt_deg"] == 20.0

    page.post(url, {**WISHES, "panel_tilt_deg": "", "panel_azimuth_deg": ""})
    fitout.refresh_from_db()
    assert (fitout.panel_tilt_deg, fitout.panel_azimuth_deg) == (0.0, None)


@pytest.mark.parametrize(
    ("field", "entry", "says"),
    [
        ("panel_tilt_deg", "61", "at most 60\N{NO-BREAK SPACE}°"),
        ("panel_azimuth_deg", "-10", "at least 0\N{NO-BREAK SPACE}°"),
        ("autonomy_days", "0", "at least 0.1\N{NO-BREAK SPACE}d"),
        ("autonomy_days", "31", "at most 30\N{NO-BREAK SPACE}d"),
        ("solar_share_ratio", "400", "at most 300\N{NO-BREAK SPACE}%"),
        ("system_v", "48", "Select a valid choice"),
        ("chemistries", [], "Tick at least one chemistry"),
        ("chemistries", ["plutonium"], "plutonium"),
    ],
)
def test_wrong_wishes_are_refused(page, fitout, field, entry, says):
    answer = page.post(reverse("wishes_set", args=[fitout.pk]), {**WISHES, field: entry})

    fitout.refresh_from_db()
    assert answer.status_code == 422
    assert says in answer.content.decode()
    assert fitout.autonomy_days == 1.5


def test_component_is_asked_for_ruled_out_and_taken_back(page, estimator):
    Workshop.objects.all().delete()
    fitout = make_wagon(estimator, catalogue=False)
    part = make_catalogue(estimator)["larkham-lf-100"]
    url = reverse("component_wish", args=[fitout.pk])

    page.post(url, {"component": "larkham lf-100", "how": "pinned"})
    fitout.refresh_from_db()
    assert (fitout.pinned, fitout.banned) == ([part.pk], [])
    page.post(url, {"component": f"#{part.pk}", "how": "banned"})
    fitout.refresh_from_db()
    assert (fitout.pinned, fitout.banned) == ([], [part.pk])
    page.post(url, {"component": f"#{part.pk}", "how": "free"})
    page.post(url, {"component": "no such part", "how": "pinned"})

    fitout.refresh_from_db()
    assert (fitout.pinned, fitout.banned) == ([], [])
