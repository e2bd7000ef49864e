"""Build, proof and delivery: hold points, serials, readings against what was computed, the frozen record."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.utils import timezone

from fitouts.models import (
    BuildTick,
    Commissioning,
    Fitout,
    FittedPart,
    InstalledComponent,
    InstalledSystem,
    Instrument,
    Reading,
    Stage,
    User,
)
from fitouts.services.fitouts import StageNotAllowed
from quoting.models import Document, Snapshot
from quoting.services import delivery, proof, quotes, snapshots
from tests.factories.jobs import make_user

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def made_build(made_wagon) -> int:
    """The field wagon, accepted and taken into build."""
    fitout = Fitout.objects.get(pk=made_wagon)
    by = User.objects.get(username="estimator")
    quotes.issue(quotes.draft(fitout, by=by), by=by)
    quotes.accept(fitout.quote.revisions.get(), accepted_by="Dr Ines Venn", note="signed", by=by)
    fitout.refresh_from_db()
    make_user(User.Role.TECHNICIAN, "joss")
    make_user(User.Role.TECHNICIAN, "tove", licence_no="KF 20417")
    Instrument.objects.create(name="Multimeter", serial="61 044")
    proof.start_build(fitout, by=by)
    return fitout.pk


@pytest.fixture
def build(made_build, db, files) -> Fitout:
    return Fitout.objects.get(pk=made_build)


@pytest.fixture
def joss(made_build, db) -> User:
    return User.objects.get(username="joss")


@pytest.fixture
def tove(made_build, db) -> User:
    return User.objects.get(username="tove")


def believable(row: proof.Row) -> dict:
    expected = row.expectation
    if expected.answer == "yes":
        return {"answer": True}
    low, high = expected.minimum, expected.maximum
    if low is not None and high is not None:
        return {"value": (low + high) / 2}
    return {"value": high * 0.9 if high is not None else (low or 0.0)}


def finish(build: Fitout, joss: User, tove: User, *, skip: str = "", certificate: str = "C 1") -> None:
    """Do everything, but the reading named ``skip``."""
    for row in BuildTick.objects.filter(fitout=build):
        proof.tick(row, by=tove if row.licensed else joss, at=timezone.now())
    for part in FittedPart.objects.filter(fitout=build):
        proof.record_part(part, serial=f"S{part.pk}", batch="B1", entered=part.settings_asked, by=joss)
    for row in proof.rows(build):
        if row.expectation.key != skip:
            licence = tove.licence_no if row.expectation.licensed else ""
            proof.take_reading(build, row.expectation.key, licence_no=licence, by=joss, **believable(row))
    proof.set_commissioning(
        build, {"certificate_no": certificate, "charge_ratio": 0.8}, Instrument.objects.all(), by=joss
    )


def first(build: Fitout, **wanted) -> proof.Row:
    return next(r for r in proof.rows(build) if all(getattr(r.expectation, k) == v for k, v in wanted.items()))


def test_build_lays_out_steps_parts_and_readings_of_the_accepted_design(build):
    appraisal = proof.plan_of(proof.accepted(build))

    assert FittedPart.objects.filter(fitout=build).count() == sum(c.quantity for c in appraisal.chosen)
    wired = {t.key for t in BuildTick.objects.filter(fitout=build, key__startswith="wire:")}
    assert wired == {f"wire:{c.tag}" for c in appraisal.circuits}
    assert [r.expectation.key for r in proof.rows(build)] == [e.key for e in appraisal.expectations]
    assert len({r.expectation.key for r in proof.rows(build)}) == len(proof.rows(build))


def test_a_step_behind_an_open_hold_point_waits(build, joss):
    last = BuildTick.objects.filter(fitout=build).last()

    with pytest.raises(proof.NotReady, match="Hold point first"):
        proof.tick(last, by=joss, at=timezone.now())

    last.refresh_from_db()
    assert last.done_at is None


def test_a_licensed_step_wants_a_licence(build, joss, tove):
    for row in BuildTick.objects.filter(fitout=build, hold_point=True):
        proof.tick(row, by=joss, at=timezone.now())
    licensed = BuildTick.objects.get(fitout=build, licensed=True)

    with pytest.raises(proof.NotReady, match="licence"):
        proof.tick(licensed, by=joss, at=timezone.now())
    proof.tick(licensed, by=tove, at=timezone.now())

    assert licensed.done_by == tove


@pytest.mark.parametrize(
    ("value", "low", "high", "passes"),
    [(0.28, None, 0.28, True), (0.2801, None, 0.28, False), (9.6, 9.6, None, True), (9.59, 9.6, None, False)],
)
def test_both_limits_belong_to_the_range(value, low, high, passes):
    assert proof.within(value, low, high) is passes


def test_a_reading_keeps_what_it_was_held_against_and_older_ones_stay(build, joss):
    row = first(build, group="drop", licensed=False)
    limit = row.expectation.maximum

    bad = proof.take_reading(build, row.expectation.key, value=limit * 2, by=joss)
    good = proof.take_reading(build, row.expectation.key, value=limit / 2, by=joss)

    assert (bad.passed, good.passed) == (False, True)
    assert good.maximum == limit
    assert Reading.objects.filter(fitout=build, key=row.expectation.key).count() == 2
    assert first(build, key=row.expectation.key).reading == good


def test_a_licensed_reading_wants_the_licence_number(build, joss):
    row = first(build, licensed=True)

    with pytest.raises(proof.NotReady, match="licence number"):
        proof.take_reading(build, row.expectation.key, by=joss, **believable(row))


def test_an_unknown_reading_and_an_empty_one_are_refused(build, joss):
    with pytest.raises(proof.NotReady, match="expects no reading"):
        proof.take_reading(build, "nonsense", value=1.0, by=joss)
    with pytest.raises(proof.NotReady, match=r"measured value \["):
        proof.take_reading(build, first(build, group="drop").expectation.key, by=joss)
    assert not Reading.objects.filter(fitout=build).exists()


def test_tested_names_everything_that_is_open(build, joss):
    with pytest.raises(proof.NotReady) as refused:
        proof.mark_tested(build, by=joss)

    said = str(refused.value)
    assert "Build step open" in said
    assert "Serial number missing" in said
    assert "Reading missing" in said


def test_delivery_is_refused_while_a_safety_reading_is_missing(build, joss, tove):
    missing = first(build, licensed=True, safety=True).expectation.key
    finish(build, joss, tove, skip=missing)
    proof.mark_tested(build, by=joss)
    build.refresh_from_db()

    with pytest.raises(proof.NotReady, match="Reading missing"):
        delivery.deliver(build, by=joss)

    assert not InstalledSystem.objects.exists()
    assert not Snapshot.objects.filter(kind="as_built").exists()


def test_delivery_is_refused_while_a_safety_reading_fails(build, joss, tove):
    finish(build, joss, tove)
    proof.mark_tested(build, by=joss)
    build.refresh_from_db()
    row = first(build, safety=True, answer="number", licensed=True)
    over = (
        (row.expectation.maximum or 0) * 2 + 1 if row.expectation.maximum is not None else row.expectation.minimum / 2
    )
    proof.take_reading(build, row.expectation.key, value=over, licence_no="KF 20417", by=joss)

    with pytest.raises(proof.NotReady, match="Safety reading fails"):
        delivery.deliver(build, by=joss)


def test_delivery_is_refused_without_the_certificate(build, joss, tove):
    finish(build, joss, tove, certificate="")
    proof.mark_tested(build, by=joss)
    build.refresh_from_db()

    with pytest.raises(proof.NotReady, match="certificate"):
        delivery.deliver(build, by=joss)


def test_delivery_freezes_what_was_fitted_and_makes_the_handover_sheet(
    build, joss, tove, django_capture_on_commit_callbacks
):
    finish(build, joss, tove)
    proof.mark_tested(build, by=joss)
    build.refresh_from_db()

    with django_capture_on_commit_callbacks(execute=True):
        document = delivery.deliver(build, by=joss)

    build.refresh_from_db()
    document.refresh_from_db()
    system = InstalledSystem.objects.get(vehicle=build.vehicle)
    body, personal = snapshots.read(Snapshot.objects.get(sha256=system.snapshot_sha256))
    serials = sorted(FittedPart.objects.filter(fitout=build).values_list("serial", flat=True))
    assert build.stage == Stage.DELIVERED
    assert sorted(InstalledComponent.objects.filter(system=system).values_list("serial", flat=True)) == serials
    assert sorted(part["serial"] for part in body["fitted"]) == serials
    assert len(body["readings"]) == len(proof.rows(build))
    assert personal["customer"]["name"] == "Venn Field Geology"
    assert document.kind == Document.Kind.HANDOVER
    assert document.job.state == "done", document.job.reason


def test_what_is_delivered_is_not_built_or_delivered_again(build, joss, tove):
    finish(build, joss, tove)
    proof.mark_tested(build, by=joss)
    build.refresh_from_db()
    delivery.deliver(build, by=joss)
    build.refresh_from_db()

    with pytest.raises(proof.NotReady, match="Only a tested job"):
        delivery.deliver(build, by=joss)
    with pytest.raises(proof.NotReady, match="in build"):
        proof.untick(BuildTick.objects.filter(fitout=build).select_related("fitout").first())
    assert InstalledSystem.objects.count() == 1


def test_a_day_in_the_future_is_refused(build, joss, tove):
    finish(build, joss, tove)
    proof.mark_tested(build, by=joss)
    build.refresh_from_db()

    with pytest.raises(proof.NotReady, match="future"):
        delivery.deliver(build, by=joss, delivered_on=timezone.localdate() + timedelta(days=2))


def test_a_job_that_is_not_accepted_cannot_be_built(worked_out, estimator):
    Fitout.objects.filter(pk=worked_out.pk).update(stage=Stage.SURVEYED)
    worked_out.refresh_from_db()
    worked_out.quote.revisions.update(state="replaced")

    with pytest.raises((proof.NotReady, StageNotAllowed)):
        proof.start_build(worked_out, by=estimator)


def test_conditions_are_kept_with_their_instruments(build, joss):
    proof.set_commissioning(build, {"air_c": 24.0, "rested_h": 2.0}, Instrument.objects.all(), by=joss)

    record = Commissioning.objects.get(fitout=build)
    assert (record.air_c, record.rested_h, record.instruments.count()) == (24.0, 2.0, 1)
