"""Places that are not in the list: estimated or read from a file, seen before they are saved, marked ever after."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import IntegrityError, transaction
from django.urls import reverse

from catalog import library, services, sheets
from catalog.models import Site
from fitouts.models import Customer, User
from fitouts.services import fitouts as jobs
from quoting.documents import build_quote
from quoting.forms.places import refused_words
from quoting.services import places
from quoting.sizing import climate_files
from quoting.sizing.brief import Stop
from quoting.sizing.climate_files import ClimateFileError
from quoting.sizing.places import of_trip
from quoting.wording.places import REFUSED
from quoting.words import finding_words
from tests.catalog.sheet_files import bring, check_file, table, write
from tests.factories.jobs import make_user, make_workshop
from tests.factories.wagon import make_vehicle
from tests.quoting.sizing import weather_files
from tests.seen import seen

pytestmark = pytest.mark.django_db

MADE, ESTIMATE = "Figures come from", "an estimate from other places"
WHERE = {"latitude_deg": "-33,95", "longitude_deg": "151.18", "elevation_m": "3"}
NAMED = {"name": "Tern Point", "country": "aus", "notes": "Where the wagon goes."}


@pytest.fixture(scope="module")
def shipped(kept_rows) -> None:
    """A workshop with the places that come with the program."""
    make_workshop()
    services.load_sites(library.site_rows(), by=make_user())


@pytest.fixture
def estimator(shipped) -> User:
    return User.objects.get(username="estimator")


@pytest.fixture
def page(client: Any, estimator: User) -> Any:
    client.force_login(estimator)
    return client


def _save(page: Any, **more: str) -> Any:
    return page.post(reverse("place_estimate"), {**WHERE, **NAMED, **more})


def _give(page: Any, data: bytes, name: str = "weather.csv", **more: str) -> Any:
    return page.post(reverse("place_file"), {"weather": SimpleUploadedFile(name, data), **more})


# --- By coordinates ----------------------------------------------------------------------------------


def test_an_estimate_is_shown_with_its_rows_and_likely_error_before_it_is_saved(page):
    answer = page.get(reverse("place_estimate"), WHERE)

    text = seen(answer)
    assert answer.status_code == 200
    assert "Gunnedah NSW" in text
    assert "336" in text
    assert "±12" in text
    assert text.count('<path class="bar') == 2
    assert 'name="latitude_deg" value="-33,95"' in text
    assert not Site.objects.filter(is_own=True).exists()


def test_a_saved_estimate_says_that_it_is_one(page):
    answer = _save(page)

    site = Site.objects.get(name="Tern Point")
    assert answer.headers["Location"] == reverse("catalog:site_detail", args=[site.pk])
    assert (site.origin, site.is_own, site.likely_error_ratio, site.country) == ("estimate", True, 0.12, "AUS")
    assert (site.latitude_deg, site.longitude_deg, site.elevation_m) == (-33.95, 151.18, 3.0)
    assert site.source.startswith("Estimate from 102 places, the nearest Gunnedah NSW, 336")
    assert site.notes.startswith("Where the wagon goes.\n\nWeighing most: Gunnedah NSW (336")
    detail = seen(page.get(answer.headers["Location"]))
    listed = seen(page.get(reverse("catalog:site_list"), {"country": "AUS"}))
    assert "An estimate from other places" in detail
    assert "An estimate: a month's sun is likely right to 12" in detail
    assert 'class="whisker"' in detail
    assert "estimate, ±12" in listed


def test_estimates_are_never_made_from_estimates(page, estimator):
    before = places.estimate(-33.95, 151.18, 3.0)
    _save(page)

    assert places.estimate(-33.95, 151.18, 3.0) == before


def test_a_row_of_the_workshops_own_and_one_from_a_file_are_used_and_a_retired_one_is_not(estimator):
    months = {"ghi_kwh_m2_day": [5.0] * 12, "tmin_c": [10.0] * 12, "tmax_c": [20.0] * 12}
    where = {"latitude_deg": -33.9, "longitude_deg": 151.2, "elevation_m": 5.0, "country": "AUS", "source": "own"}
    own = services.save_site({"name": "Own", **where, **months}, by=estimator)

    with_it = places.estimate(-33.95, 151.18, 3.0)
    services.retire(own, by=estimator)
    without = places.estimate(-33.95, 151.18, 3.0)

    assert places.near_row(with_it) == "Own"
    assert (with_it.rows_count, without.rows_count) == (103, 102)
    assert with_it.likely_error_ratio == 0.10


def test_a_place_close_to_a_row_is_sent_to_the_row(page):
    text = seen(page.get(reverse("place_estimate"), {**WHERE, "latitude_deg": "-36.98", "longitude_deg": "174.8"}))

    assert "Auckland is close by" in text


def test_a_far_place_is_warned_of(page):
    text = seen(page.get(reverse("place_estimate"), {**WHERE, "latitude_deg": "-12.4", "longitude_deg": "130.9"}))

    assert "No place with known climate is near" in text
    assert "±25" in text


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"latitude_deg": "70"}, "66.5"),
        ({"longitude_deg": "200"}, "180"),
        ({"elevation_m": ""}, "Enter a number"),
        ({"elevation_m": "9000"}, "6"),
        ({"latitude_deg": "here"}, "here"),
        ({"latitude_deg": "nan"}, "nan"),
    ],
)
def test_wrong_coordinates_are_refused_and_shown_as_typed(page, changed, words):
    for answer in (page.get(reverse("place_estimate"), WHERE | changed), _save(page, **changed)):
        assert answer.status_code == 422
        assert words in seen(answer)
    assert not Site.objects.filter(is_own=True).exists()


def test_a_name_that_is_taken_is_refused_beside_its_entry(page):
    answer = _save(page, name="Auckland")

    assert answer.status_code == 422
    assert "already exists" in seen(answer)
    assert 'value="Auckland"' in seen(answer)


def test_too_few_places_are_said(page):
    Site.objects.exclude(country="NZL").delete()
    Site.objects.filter(name__gt="N").delete()

    answer = page.get(reverse("place_estimate"), WHERE)

    assert answer.status_code == 422
    assert "at least 12 places with known climate" in seen(answer)


@pytest.mark.parametrize("name", ["place_estimate", "place_file"])
def test_a_technician_is_refused(client, shipped, name):
    client.force_login(make_user(User.Role.TECHNICIAN))

    assert [client.get(reverse(name), WHERE).status_code, client.post(reverse(name), WHERE).status_code] == [403, 403]


# --- From a file -------------------------------------------------------------------------------------


def test_a_file_is_shown_then_saved_and_not_kept(page, files):
    looked = _give(page, weather_files.station())
    form = looked.context["form"]
    said = {name: form[name].value() for name in ("name", "country", "source", "sealed")}

    saved = page.post(reverse("place_file"), {**said, "name": "Greensboro", "notes": ""})

    site = Site.objects.get(name="Greensboro")
    assert looked.status_code == 200
    assert said["name"] == "Greensboro Piedmont Triad Int NC"
    assert saved.headers["Location"] == reverse("catalog:site_detail", args=[site.pk])
    assert (site.origin, site.likely_error_ratio, site.source) == ("file", None, "TMY3, station 723170")
    assert site.ghi_kwh_m2_day == list(climate_files.read(weather_files.station()).ghi_kwh_m2_day)
    assert site.record_low_c == -16.7
    assert "A file of hourly weather" in seen(page.get(saved.headers["Location"]))


def test_a_bad_file_is_refused_in_words(page):
    for data, words in (
        (b"<html></html>", "This is a web page"),
        (b"", "The file is empty."),
        (weather_files.epw()[:200_000], "a year has 8760"),
        (weather_files.pvgis_hourly_json(slope=35), "on a plane of 35"),
        (weather_files.epw().replace(b",36.1,", b",78.2,"), "66.5"),
    ):
        answer = _give(page, data)
        assert answer.status_code == 422
        assert words in seen(answer)
    assert page.post(reverse("place_file")).status_code == 422


def test_a_file_is_read_up_to_20_mb_and_refused_by_its_size_beyond(page, files):
    large = weather_files.epw() + b" " * (climate_files.MOST_BYTES - len(weather_files.epw()))

    read, refused = _give(page, large), _give(page, large + b" ")

    assert (read.status_code, read.context["found"].hours) == (200, 8760)
    assert refused.status_code == 422
    assert "; at most 20" in seen(refused)
    assert "Choose a file first" not in seen(refused)
    assert (files / "arriving").is_dir()
    assert not list((files / "arriving").iterdir())


def test_one_file_is_taken_at_a_time(page, files):
    two = {name: SimpleUploadedFile(name, weather_files.epw()) for name in ("weather", "other")}

    answer = page.post(reverse("place_file"), two)

    assert answer.status_code == 422
    assert "Give one file at a time." in seen(answer)


def test_what_a_file_said_cannot_be_changed_on_the_way(page):
    answer = page.post(reverse("place_file"), {**NAMED, "source": "mine", "sealed": "a:b:c"})

    assert answer.status_code == 422
    assert "Give the file once more" in seen(answer)
    assert not Site.objects.filter(is_own=True).exists()


def test_a_name_left_out_keeps_what_was_read(page):
    form = _give(page, weather_files.pvgis_tmy_csv()).context["form"]

    answer = page.post(reverse("place_file"), {"sealed": form["sealed"].value(), "source": "PVGIS"})

    assert answer.status_code == 422
    assert answer.context["found"].hours == 8760


@pytest.mark.parametrize("reason", sorted(REFUSED))
def test_every_refusal_has_its_sentence(reason):
    params = {"size_mb": 21.5, "limit_mb": 20.0, "hours": 5, "needed": 8760, "kind": "epw", "count": 2, "month": 6}
    params |= {"slope_deg": 35.0, "day": 3, "hour": 4, "value": 5000.0, "low": -20.0, "high": 1700.0, "limit": 0.3}
    params |= {"noon_h": 20.1, "sun_noon_h": 12.4, "limit_h": 2.5}

    words = refused_words(ClimateFileError(reason, "", **params))

    assert words.endswith(".")
    assert "(" not in words.replace("(CSV or JSON)", "")
    assert "{" not in words


# --- What a row is, everywhere it goes ---------------------------------------------------------------


def test_a_value_typed_over_makes_the_row_a_typed_one(page, estimator):
    _save(page)
    site = Site.objects.get(name="Tern Point")

    services.save_site({"notes": "Renamed.", "name": "Tern Head"}, by=estimator, site=site)
    assert (site.origin, site.likely_error_ratio) == ("estimate", 0.12)

    services.save_site({"tmax_c": [30.0] * 12}, by=estimator, site=site)
    assert (site.origin, site.likely_error_ratio) == ("typed", None)


def test_saving_the_form_as_it_was_leaves_an_estimate_one(page):
    _save(page)
    site = Site.objects.get(name="Tern Point")
    url = reverse("catalog:site_edit", args=[site.pk])
    form = page.get(url).context["form"]
    shown = {field.html_name: field.value() for field in form if field.value() is not None}

    answer = page.post(url, {**shown, "seen": form.seen, "notes": "Seen."})

    site.refresh_from_db()
    assert answer.status_code == 302
    assert (site.notes, site.origin, site.likely_error_ratio) == ("Seen.", "estimate", 0.12)


def test_an_estimate_without_its_error_cannot_be_kept(page):
    _save(page)

    for values in ({"likely_error_ratio": None}, {"is_own": False}, {"made_from": "file"}):
        with pytest.raises(IntegrityError), transaction.atomic():
            Site.objects.filter(name="Tern Point").update(**values)


@pytest.mark.parametrize("format", ["csv", "xlsx"])
def test_an_estimate_goes_out_and_comes_in_as_one(page, estimator, tmp_path, format):
    _save(page)
    type = sheets.get("site")
    path = write(tmp_path, f"out.{format}", b"".join(sheets.export(type, estimator, format)))

    plan = check_file(type, path, estimator)

    assert plan.counts == {"added": 0, "changed": 0, "same": 103, "wrong": 0, "left_out": 0}
    Site.objects.filter(name="Tern Point").delete()
    again = check_file(type, path, estimator)
    assert again.counts["added"] == 1
    assert again.counts["wrong"] == 0


@pytest.mark.parametrize("head", ["Sun jan (kWh/m²/day)", "Latitude (°)"])
def test_a_value_typed_over_in_a_table_makes_the_row_a_typed_one(page, estimator, tmp_path, head):
    _save(page)
    type = sheets.get("site")

    for rows in ([["Place", head], ["Tern Point", "4"]], [["Place", head, MADE], ["Tern Point", "4", ESTIMATE]]):
        plan = check_file(type, write(tmp_path, "in.csv", table(*rows)), estimator)
        (row,) = plan.rows(0, 1)
        assert plan.counts["changed"] == 1
        assert row.changes[-2][:3] == (MADE, ESTIMATE, "")
    bring(type, plan, estimator)

    site = Site.objects.get(name="Tern Point")
    assert (site.origin, site.likely_error_ratio) == ("typed", None)


def test_an_estimate_in_a_table_needs_an_error_over_nothing(page, estimator, tmp_path):
    _save(page)
    rows = [["Place", "Likely error of a month's sun (%)"], ["Tern Point", "0"]]

    plan = check_file(sheets.get("site"), write(tmp_path, "in.csv", table(*rows)), estimator)

    assert plan.counts["wrong"] == 1
    assert "at least 0.1" in plan.problems()[0].words


def test_a_stop_at_an_estimate_says_so_on_trip_finding_and_quote(page, estimator):
    vehicle, _ = make_vehicle(Customer.objects.create(name="Venn Field Geology"))
    job = jobs.open_job(vehicle.customer, vehicle, "Field wagon", by=estimator)

    saved = _save(page, job=str(job.pk))
    opened = page.get(saved.headers["Location"])

    assert saved.headers["Location"] == f"{reverse('stop_add', args=[job.pk])}?site=Tern+Point#stop-new"
    assert 'value="Tern Point"' in seen(opened)
    stop = {"site": "Tern Point", "month": "7", "days": "4", "driving_h_per_day": "2", "driving_start_h": "8"}
    stop |= {"mains_h_per_day": "0", "mains_start_h": "18", "shade_ratio": "0"}
    page.post(reverse("stop_add", args=[job.pk]), stop)
    assert "estimate ±12" in seen(page.get(reverse("job", args=[job.pk])))
    assert job.stops.get().site.as_brief()["likely_error_ratio"] == 0.12


def _stop(name: str) -> Stop:
    site = Site.objects.get(name=name).as_brief()
    return Stop.model_validate({"site": site, "month": 7, "days": 4.0, "driving_h_per_day": 1.0})


def test_a_design_says_that_a_stop_rests_on_an_estimate(page):
    _save(page)

    found = of_trip((_stop("Auckland"), _stop("Tern Point")))

    assert [(x.level, x.code, x.subject) for x in found] == [("info", "site_estimated", "stop:1")]
    title, sentence = finding_words(found[0])
    assert title == "The climate of Tern Point is an estimate"
    assert "likely right to 12\xa0%" in sentence


def test_a_quote_assumes_the_estimate_in_words(page):
    _save(page)
    trip = [_stop(name).model_dump(mode="json") for name in ("Auckland", "Tern Point")]
    frozen = SimpleNamespace(
        body={"quote": {}},
        brief={"trip": trip},
        locality=SimpleNamespace(month=str),
        appraisal=SimpleNamespace(circuits=(), refused=()),
    )

    lines = build_quote._assumed(frozen)

    said = [line for line in lines if "estimate" in line]
    assert len(said) == 1
    assert said[0].startswith("The climate of Tern Point is an estimate from other places")


def test_a_job_that_is_not_there_is_not_found(page):
    for asked in ("999999", "x", "-1", "9" * 30):
        assert page.get(reverse("place_estimate"), {"job": asked}).status_code == 404
