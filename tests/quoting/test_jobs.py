"""Opening jobs, moving them, copying them, and their list and page."""

from __future__ import annotations

import re

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from fitouts.models import Customer, Fitout, JobPackage, Stage, StageEvent, User, Vehicle, Workshop
from fitouts.services import fitouts as jobs
from quoting import rules
from quoting.services import designs
from tests.factories.jobs import make_user, make_workshop
from tests.factories.wagon import make_vehicle, make_wagon

pytestmark = pytest.mark.django_db


@pytest.fixture
def estimator() -> User:
    make_workshop()
    return make_user(display_name="Mara Quill")


@pytest.fixture
def vehicle(estimator: User) -> Vehicle:
    customer = Customer.objects.create(name="Venn Field Geology")
    return Vehicle.objects.create(customer=customer, make="Halvard", model="Tor 3.0", registration="XW 417")


def opened(vehicle: Vehicle, by: User, title: str = "Field wagon") -> Fitout:
    return jobs.open_job(vehicle.customer, vehicle, title, by=by)


# --- Opening -----------------------------------------------------------------------------------------


def test_numbers_run_on_by_year(vehicle, estimator):
    year = timezone.localdate().year % 100

    numbers = [opened(vehicle, estimator).number for _ in range(3)]

    assert numbers == [f"{year:02d}-0001", f"{year:02d}-0002", f"{year:02d}-0003"]


def test_opening_writes_one_event_and_takes_the_vehicles_voltage(vehicle, estimator):
    vehicle.nominal_v = 24
    vehicle.save()

    fitout = opened(vehicle, estimator)

    assert fitout.system_v == 24
    assert fitout.chemistries == ["lifepo4"]
    assert list(fitout.events.values_list("from_stage", "to_stage", "by")) == [("", "enquiry", estimator.pk)]


def test_refused_opening_gives_no_number_away(vehicle, estimator):
    stranger = Customer.objects.create(name="Somebody else")

    with pytest.raises(jobs.JobNotOpened, match="does not belong to Somebody else"):
        jobs.open_job(stranger, vehicle, "Field wagon", by=estimator)
    with pytest.raises(jobs.JobNotOpened, match="Give the job a title"):
        jobs.open_job(vehicle.customer, vehicle, "  ", by=estimator)

    assert not Fitout.objects.exists()
    assert opened(vehicle, estimator).number.endswith("-0001")


def test_retired_vehicle_gets_no_job(vehicle, estimator):
    vehicle.retired_at = timezone.now()
    vehicle.save()

    with pytest.raises(jobs.JobNotOpened, match="retired"):
        opened(vehicle, estimator)


# --- Stages ------------------------------------------------------------------------------------------


def test_the_whole_course_one_event_each(vehicle, estimator):
    fitout = opened(vehicle, estimator)

    for stage in ("surveyed", "quoted", "accepted", "booked", "in_build", "tested", "delivered", "closed"):
        jobs.move(fitout, stage, by=estimator)

    fitout.refresh_from_db()
    assert fitout.stage == Stage.CLOSED
    assert StageEvent.objects.filter(fitout=fitout).count() == 9


@pytest.mark.parametrize("stage", ["quoted", "accepted", "booked", "delivered", "closed", "enquiry", "nonsense"])
def test_no_leap_from_enquiry(vehicle, estimator, stage):
    fitout = opened(vehicle, estimator)

    with pytest.raises(jobs.StageNotAllowed, match="it can go to: Surveyed"):
        jobs.move(fitout, stage, by=estimator)

    fitout.refresh_from_db()
    assert (fitout.stage, fitout.events.count()) == ("enquiry", 1)


def test_hold_wants_a_reason_and_gives_the_stage_back(vehicle, estimator):
    fitout = opened(vehicle, estimator)
    jobs.move(fitout, "surveyed", by=estimator)

    with pytest.raises(jobs.StageNotAllowed, match="Say why"):
        jobs.move(fitout, "on_hold", by=estimator, reason=" ")
    jobs.move(fitout, "on_hold", by=estimator, reason="Dr Venn is away until 4 December")
    assert jobs.can_go(fitout) == ("surveyed", "cancelled", "lost")
    jobs.move(fitout, "surveyed", by=estimator)

    fitout.refresh_from_db()
    assert (fitout.stage, fitout.held_from) == ("surveyed", "")
    assert list(fitout.events.values_list("to_stage", "reason"))[2] == ("on_hold", "Dr Venn is away until 4 December")


def test_held_then_lost_comes_back_to_where_it_stood(vehicle, estimator):
    fitout = opened(vehicle, estimator)
    jobs.move(fitout, "surveyed", by=estimator)
    jobs.move(fitout, "on_hold", by=estimator, reason="away")
    jobs.move(fitout, "lost", by=estimator, reason="bought another vehicle")

    assert jobs.can_go(fitout) == ("surveyed",)


def test_accepted_job_is_cancelled_not_lost_and_a_delivered_one_neither(vehicle, estimator):
    fitout = opened(vehicle, estimator)
    for stage in ("surveyed", "quoted", "accepted"):
        jobs.move(fitout, stage, by=estimator)
    assert "lost" not in jobs.can_go(fitout)
    assert "cancelled" in jobs.can_go(fitout)
    for stage in ("booked", "in_build", "tested", "delivered"):
        jobs.move(fitout, stage, by=estimator)

    assert jobs.can_go(fitout) == ("closed",)


def test_going_back_is_explained(vehicle, estimator):
    fitout = opened(vehicle, estimator)
    for stage in ("surveyed", "quoted", "accepted", "booked", "in_build", "tested"):
        jobs.move(fitout, stage, by=estimator)

    with pytest.raises(jobs.StageNotAllowed, match="Say why"):
        jobs.move(fitout, "in_build", by=estimator)
    jobs.move(fitout, "in_build", by=estimator, reason="F3 ran hot")

    assert fitout.stage == "in_build"


def test_buttons_leave_out_what_has_a_service_of_its_own(vehicle, estimator):
    technician = make_user(User.Role.TECHNICIAN)
    fitout = opened(vehicle, estimator)

    assert rules.moves_for(estimator, fitout) == ("surveyed", "on_hold", "cancelled", "lost")
    assert rules.moves_for(technician, fitout) == ("surveyed",)
    jobs.move(fitout, "surveyed", by=technician)
    assert rules.moves_for(estimator, fitout) == ("on_hold", "cancelled", "lost")
    assert rules.moves_for(technician, fitout) == ()


# --- Copies ------------------------------------------------------------------------------------------


def test_job_from_an_earlier_one_copies_audit_trip_wishes_and_places(estimator):
    Workshop.objects.all().delete()
    earlier = make_wagon(estimator, catalogue=False)
    customer = Customer.objects.create(name="Second owner")
    vehicle, _places = make_vehicle(customer)

    copy = jobs.open_from(earlier, vehicle, by=estimator, title="Second wagon")

    assert copy.customer == customer
    assert (copy.title, copy.number != earlier.number) == ("Second wagon", True)
    before, after = jobs.contents(earlier), jobs.contents(copy)
    assert after == before
    assert all(line.position.vehicle == vehicle for line in copy.requirements.all())
    assert copy.events.count() == 1


def test_positions_that_the_next_vehicle_lacks_are_left_open(estimator):
    Workshop.objects.all().delete()
    earlier = make_wagon(estimator, catalogue=False)
    customer = Customer.objects.create(name="Second owner")
    vehicle, places = make_vehicle(customer)
    places["roof"].name = "Roof rack"
    places["roof"].save()

    copy = jobs.open_from(earlier, vehicle, by=estimator)

    assert copy.requirements.get(name="Satellite terminal").position is None
    assert set(copy.placements.values_list("role", flat=True)) == {
        "starter", "battery", "board", "charger", "inverter", "inlet",
    }  # fmt: skip


def test_package_keeps_the_moment_and_opens_a_job(estimator):
    Workshop.objects.all().delete()
    job = make_wagon(estimator, catalogue=False)
    package = jobs.keep_as_package(job, "Tor wagon, touring", by=estimator)
    kept = jobs.contents(job)
    job.requirements.all().delete()
    vehicle, _places = make_vehicle(Customer.objects.create(name="Next owner"))

    opened_job = jobs.open_from_package(package, vehicle, by=estimator)

    assert (package.make, package.model) == ("Halvard", "Tor 3.0")
    assert opened_job.title == "Tor wagon, touring"
    assert jobs.contents(opened_job) == kept


def test_package_names_are_taken_once_and_retired_ones_refuse(vehicle, estimator):
    job = opened(vehicle, estimator)
    package = jobs.keep_as_package(job, "Tor wagon", by=estimator)

    with pytest.raises(jobs.JobNotOpened, match="or choose another name"):
        jobs.keep_as_package(job, "Tor wagon", by=estimator)
    package.retired_at = timezone.now()
    package.save()
    with pytest.raises(jobs.JobNotOpened, match="is retired"):
        jobs.open_from_package(package, vehicle, by=estimator)

    assert JobPackage.objects.count() == 1
    assert Fitout.objects.count() == 1


# --- Pages -------------------------------------------------------------------------------------------


def many_jobs(by: User, count: int) -> None:
    for i in range(count):
        mark = chr(ord("A") + i % 26) * 3
        customer = Customer.objects.create(name=f"Owner {mark}")
        vehicle = Vehicle.objects.create(customer=customer, make="Halvard", model="Tor", registration=f"Q{mark}Q")
        fitout = jobs.open_job(customer, vehicle, f"Wagon {i}", by=by, assigned_to=by)
        jobs.move(fitout, "surveyed", by=by)


@pytest.mark.parametrize("count", [3, 60])
def test_list_takes_the_same_queries_for_3_and_60_jobs(client, estimator, django_assert_num_queries, count):
    many_jobs(estimator, count)
    client.force_login(estimator)
    client.get(reverse("job_list"))  # the session is written once

    with django_assert_num_queries(8):
        page = client.get(reverse("job_list"))

    assert page.content.decode().count("Halvard Tor") == min(count, 50)


@pytest.mark.parametrize(
    ("query", "found"),
    [
        ({"q": "QHHHQ"}, ["Wagon 7"]),
        ({"q": "owner lll"}, ["Wagon 11"]),
        ({"stage": "enquiry"}, []),
        ({"q": "wagon -000", "stage": "surveyed"}, [f"Wagon {i}" for i in range(8, -1, -1)]),
        ({"stage": "open", "q": "0003"}, ["Wagon 2"]),
        ({"assigned_to": "999"}, []),
    ],
)
def test_list_is_searched_and_filtered(client, estimator, query, found):
    many_jobs(estimator, 12)
    client.force_login(estimator)

    page = client.get(reverse("job_list"), query)

    assert [row.record.title for row in page.context["table"].rows] == found


def test_page_of_a_new_job_says_what_is_missing(client, vehicle, estimator):
    fitout = opened(vehicle, estimator)
    client.force_login(estimator)

    page = client.get(reverse("job", args=[fitout.pk]))

    text = page.content.decode()
    assert page.status_code == 200
    assert "The power audit has no line" in text
    assert "The trip has no stop" in text
    assert "The survey names no positions" in text
    assert 'aria-disabled="true" aria-describedby="why-not-yet"' in text


def test_technician_sees_the_job_and_no_money(client, estimator):
    Workshop.objects.all().delete()
    fitout = make_wagon(estimator)
    design = designs.work_out(fitout, by=estimator)
    technician = make_user(User.Role.TECHNICIAN)
    client.force_login(technician)

    text = client.get(reverse("job", args=[fitout.pk])).content.decode()

    costs = {part["cost"] for part in design.brief["catalogue"] if float(part["cost"]) > 100}
    assert costs
    assert "Refrigerator-freezer, 60 L" in text
    assert "Larkham LF" in text
    shown = set(re.findall(r"\d+\.\d\d(?!\d)", text))
    assert not costs & shown
    assert "quote-part" not in text
    assert "Save line" not in text


def test_page_shows_figures_findings_circuits_and_bill(client, estimator, django_assert_max_num_queries):
    Workshop.objects.all().delete()
    fitout = make_wagon(estimator)
    designs.work_out(fitout, by=estimator)
    client.force_login(estimator)
    client.get(reverse("job", args=[fitout.pk]))

    with django_assert_max_num_queries(75):
        page = client.get(reverse("job", args=[fitout.pk]))

    text = page.content.decode()
    assert "Days of autonomy" in text
    assert "IEEE 1013" in text
    assert 'class="drawing"' in text
    assert "<style" not in text
    assert " style=" not in text
    assert "hx-on" not in text
    assert text.count('class="figure"') == len(page.context["page"].rows) + len(page.context["page"].singles)
    row = f'<th scope="row"><a href="{reverse("circuits", args=[fitout.pk])}#circuit-'
    assert text.count(row) == len(page.context["page"].circuits) > 10


def test_stage_is_moved_by_post_only_and_by_rule(client, vehicle, estimator):
    fitout = opened(vehicle, estimator)
    client.force_login(estimator)
    url = reverse("job_move", args=[fitout.pk])

    assert client.get(url).status_code == 405
    client.post(url, {"stage": "accepted"})
    client.post(url, {"stage": "lost"})
    fitout.refresh_from_db()
    assert fitout.stage == "enquiry"
    client.post(url, {"stage": "lost", "reason": "too dear"})

    fitout.refresh_from_db()
    assert (fitout.stage, fitout.events.last().reason) == ("lost", "too dear")


def test_new_job_page_opens_from_a_job(client, estimator):
    Workshop.objects.all().delete()
    earlier = make_wagon(estimator, catalogue=False)
    vehicle, _places = make_vehicle(Customer.objects.create(name="Next owner"))
    client.force_login(estimator)

    refused = client.post(reverse("job_add"), {"vehicle": f"#{vehicle.pk}", "title": "Next", "source": "99-9999"})
    client.post(reverse("job_add"), {"vehicle": f"#{vehicle.pk}", "title": "Next", "source": earlier.number})

    assert refused.status_code == 422
    assert "There is no job “99-9999”" in refused.content.decode()
    assert Fitout.objects.get(title="Next").requirements.count() == earlier.requirements.count()


def test_technician_opens_no_job(client):
    make_workshop()
    client.force_login(make_user(User.Role.TECHNICIAN))

    assert client.get(reverse("job_add")).status_code == 403
    assert client.get(reverse("job_list")).status_code == 200


def test_script_in_a_title_is_only_text(client, vehicle, estimator):
    fitout = opened(vehicle, estimator, "<script>alert(1)</script> =cmd|' /C'!A0")
    client.force_login(estimator)

    text = client.get(reverse("job", args=[fitout.pk])).content.decode()

    assert "<script>alert" not in text
    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in text


def test_page_takes_the_same_queries_for_3_and_60_lines(client, estimator):
    Workshop.objects.all().delete()
    fitout = make_wagon(estimator, catalogue=False)
    client.force_login(estimator)
    url = reverse("job", args=[fitout.pk])
    client.get(url)

    with CaptureQueriesContext(connection) as few:
        client.get(url)
    line = fitout.requirements.get(name="Camp and cargo lights")
    stop = fitout.stops.first()
    for place in range(60):
        line.pk, line.place = None, 100 + place
        line.save()
    for place in range(20):
        stop.pk, stop.place = None, 100 + place
        stop.save()
    with CaptureQueriesContext(connection) as many:
        page = client.get(url)

    assert len(page.context["rows"]) == 68
    assert len(many) == len(few)
