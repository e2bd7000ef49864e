"""The bench shows what needs a person today, to those who may do it."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from fitouts.models import BuildTick, Customer, Fitout, InstalledSystem, Reading, Stage, User, Vehicle
from quoting.models import BackgroundJob, Design, Document, Quote, Revision
from quoting.queries.bench import SHOWN, bench
from tests.factories.jobs import make_snapshot, make_user, make_workshop

TODAY = date(2026, 11, 25)


@pytest.fixture
def workshop(db):
    return make_workshop()


@pytest.fixture
def estimator(workshop) -> User:
    return make_user(User.Role.ESTIMATOR, display_name="Mara Quill")


@pytest.fixture
def technician(workshop) -> User:
    return make_user(User.Role.TECHNICIAN, display_name="Joss Rook")


_count = iter(range(1, 10_000))


def job(stage: str, **fields) -> Fitout:
    n = next(_count)
    customer = Customer.objects.create(name=f"Customer {n}")
    vehicle = Vehicle.objects.create(customer=customer, make="Brindle", model="Carrier", registration=f"XX {n}")
    return Fitout.objects.create(
        number=f"26-{n:04}", title=f"Wagon {n}", customer=customer, vehicle=vehicle, stage=stage, **fields
    )


def revision(fitout: Fitout, state: str, valid_until: date | None = None) -> Revision:
    design = Design.objects.create(
        fitout=fitout, number=1, brief={}, appraisal={}, key=f"k{fitout.pk}", method_version="1"
    )
    quote = Quote.objects.create(fitout=fitout, number=f"Q{fitout.pk}")
    snapshot = None if state == "draft" else make_snapshot(fitout)
    return Revision.objects.create(
        quote=quote, letter="A", state=state, design=design, snapshot=snapshot, valid_until=valid_until
    )


def paper(fitout: Fitout, kind: str, state: str, reason: str = "") -> Document:
    work = BackgroundJob.objects.create(kind="paper", state=state, reason=reason, ended_at=timezone.now())
    return Document.objects.create(fitout=fitout, kind=kind, snapshot=make_snapshot(fitout), title="Paper", job=work)


def reading(fitout: Fitout, key: str, *, passed: bool, by: User, safety: bool = True) -> Reading:
    return Reading.objects.create(fitout=fitout, key=key, value=310, unit="ms", safety=safety, passed=passed, by=by)


def titles(user: User, key: str) -> list[str]:
    return [task.title for part in bench(user, TODAY) if part.key == key for task in part.tasks]


def test_empty_bench_says_what_to_do_next(workshop, estimator):
    client = Client()
    client.force_login(estimator)

    page = client.get(reverse("bench")).content.decode()

    assert [part.key for part in bench(estimator, TODAY)] == ["enquiries", "send", "build", "due"]
    for words in ("Nobody waits for a survey or a design.", "Take an enquiry", "No draft waits.", "Nothing waits"):
        assert words in page


def test_enquiries_wait_for_survey_or_design_the_oldest_first(estimator):
    surveyed = job(Stage.SURVEYED)
    asked = job(Stage.ENQUIRY)
    job(Stage.QUOTED)
    Fitout.objects.filter(pk=asked.pk).update(created_at=timezone.now() - timedelta(days=3))
    today = timezone.localdate()

    tasks = next(part for part in bench(estimator, today) if part.key == "enquiries").tasks

    assert [(task.job, task.press, task.where) for task in tasks] == [
        (asked, "Open survey", "3 d ago"),
        (surveyed, "Open design", "today"),
    ]


def test_a_fault_waits_to_be_looked_at_on_its_own_page(estimator):
    asked, seen = job(Stage.ENQUIRY), job(Stage.SURVEYED)
    Fitout.objects.filter(pk__in=[asked.pk, seen.pk]).update(kind="fault")

    tasks = next(part for part in bench(estimator, TODAY) if part.key == "enquiries").tasks

    assert [(task.press, task.url) for task in tasks] == [
        ("Open fault", f"/jobs/{asked.pk}/#found"),
        ("Open fault", f"/jobs/{seen.pk}/#found"),
    ]
    assert tasks[0].words.startswith("Waits to be looked at.")
    assert tasks[1].words.startswith("Waits for its quote.")


def test_a_draft_is_opened_where_it_is_written(estimator, client):
    draft = revision(job(Stage.SURVEYED), "draft")
    client.force_login(estimator)

    task = next(part for part in bench(estimator, TODAY) if part.key == "send").tasks[0]

    where = f"/jobs/{draft.quote.fitout_id}/#quote"
    assert task.url == where
    assert client.get(reverse("revision", args=[draft.pk])).headers["Location"] == where


def test_drafts_and_lapsing_quotes(estimator):
    revision(job(Stage.SURVEYED), "draft")
    lapsed = revision(job(Stage.QUOTED), "issued", TODAY - timedelta(days=1))
    last_day = revision(job(Stage.QUOTED), "issued", TODAY + timedelta(days=7))
    revision(job(Stage.QUOTED), "issued", TODAY + timedelta(days=8))
    revision(job(Stage.LOST), "issued", TODAY)
    revision(job(Stage.ACCEPTED), "accepted", TODAY)

    assert len(titles(estimator, "send")) == 1
    assert titles(estimator, "lapsing") == [
        f"Quote {lapsed.quote.number}, revision A has lapsed",
        f"Quote {last_day.quote.number}, revision A lapses",
    ]


def test_technician_sees_no_quote(technician):
    fitout = job(Stage.QUOTED)
    revision(fitout, "issued", TODAY)
    revision(job(Stage.SURVEYED), "draft")
    paper(fitout, Document.Kind.QUOTE, "failed", "no glyph")
    paper(fitout, Document.Kind.TEST_SHEET, "failed", "no glyph")
    job(Stage.ACCEPTED)

    assert [part.key for part in bench(technician, TODAY)] == ["papers", "enquiries", "build", "due"]
    assert titles(technician, "papers") == ["Test and settings sheet failed"]


def test_failed_paper_goes_when_it_was_asked_for_anew(estimator):
    fitout = job(Stage.QUOTED)
    paper(fitout, Document.Kind.QUOTE, "failed", "The logo could not be read.")
    assert titles(estimator, "papers") == ["Quote failed"]

    paper(fitout, Document.Kind.QUOTE, "queued")

    assert titles(estimator, "papers") == []


def test_failed_safety_reading_stops_work_until_it_passes(technician):
    fitout = job(Stage.IN_BUILD)
    reading(fitout, "rcd_trip_ms", passed=False, by=technician)
    reading(fitout, "drop", passed=False, by=technician, safety=False)
    reading(job(Stage.DELIVERED), "rcd_trip_ms", passed=False, by=technician)
    part = bench(technician, TODAY)[0]
    assert [(task.job, task.words, task.danger) for task in part.tasks] == [
        (fitout, "310\u00a0ms, taken by Joss Rook.", True)
    ]

    reading(fitout, "rcd_trip_ms", passed=True, by=technician)

    assert titles(technician, "stopped") == []


def test_build_and_deliveries(technician):
    booked = job(Stage.BOOKED, booked_from=TODAY, booked_to=TODAY + timedelta(days=2))
    building = job(Stage.IN_BUILD, booked_from=TODAY - timedelta(days=3), booked_to=TODAY)
    tested = job(Stage.TESTED)
    BuildTick.objects.create(fitout=building, key="a", words="Isolate", done_at=timezone.now())
    BuildTick.objects.create(fitout=building, key="b", words="Fit")

    parts = {part.key: part for part in bench(technician, TODAY)}

    assert [task.job for task in parts["build"].tasks] == [building, booked]
    assert parts["build"].tasks[0].words.startswith("1 of 2 steps ticked.")
    assert [task.title for task in parts["due"].tasks] == [f"Deliver {building.title}", f"Deliver {tested.title}"]


def test_retorque_comes_due(technician):
    fitout = job(Stage.DELIVERED)
    system = InstalledSystem.objects.create(
        vehicle=fitout.vehicle,
        fitout=fitout,
        title="Steady",
        delivered_on=TODAY - timedelta(days=20),
        retorque_due_on=TODAY + timedelta(days=14),
        snapshot_sha256="0" * 64,
    )
    assert titles(technician, "retorque") == ["Re-torque Steady"]

    InstalledSystem.objects.filter(pk=system.pk).update(retorque_due_on=TODAY + timedelta(days=15))

    assert titles(technician, "retorque") == []


@pytest.mark.parametrize("count", [3, 60])
def test_number_of_queries_does_not_grow(count, estimator, technician, django_assert_num_queries):
    for _n in range(count):
        job(Stage.ENQUIRY, assigned_to=technician)
        job(Stage.ACCEPTED, assigned_to=technician)
        revision(job(Stage.SURVEYED, assigned_to=technician), "draft")
        revision(job(Stage.QUOTED, assigned_to=technician), "issued", TODAY)
        paper(job(Stage.QUOTED, assigned_to=technician), Document.Kind.QUOTE, "failed", "no glyph")
        reading(job(Stage.TESTED, assigned_to=technician), "rcd", passed=False, by=technician)
        building = job(Stage.IN_BUILD, assigned_to=technician, booked_to=date(2026, 1, 1))
        BuildTick.objects.create(fitout=building, key="a", words="Isolate")
        done = job(Stage.DELIVERED, assigned_to=technician)
        InstalledSystem.objects.create(
            vehicle=done.vehicle, fitout=done, title="Steady", delivered_on=TODAY, retorque_due_on=TODAY,
            snapshot_sha256="0" * 64,
        )  # fmt: skip
    client = Client()
    client.force_login(estimator)
    client.get(reverse("bench"))

    with django_assert_num_queries(21):
        response = client.get(reverse("bench"))

    parts = response.context["parts"]
    assert [part.key for part in parts] == [
        *("stopped", "papers", "enquiries", "send", "lapsing", "book", "build", "due", "retorque")
    ]
    assert all(len(part.tasks) <= SHOWN for part in parts)
    assert ("more" in response.content.decode()) is (count > SHOWN)
