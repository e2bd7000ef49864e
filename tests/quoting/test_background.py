"""Background work: claims, leases, cancelling, sweeping. Runs on PostgreSQL too, by ``tests/services``."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.utils import timezone

from quoting.models import BackgroundJob
from quoting.services import background
from quoting.tasks import run_job

pytestmark = pytest.mark.django_db
State = BackgroundJob.State


@pytest.fixture
def sent(monkeypatch) -> list[int]:
    """Ids whose message was sent; nothing runs by itself."""
    ids: list[int] = []
    monkeypatch.setattr(background.run_job, "apply_async", lambda kwargs, **options: ids.append(kwargs["job_id"]))
    return ids


@pytest.fixture
def work(monkeypatch) -> dict:
    """Handlers for this test alone."""
    handlers: dict = {}
    monkeypatch.setattr(background, "_handlers", handlers)
    return handlers


def enqueue(kind: str = "count", **payload: int) -> BackgroundJob:
    return background.enqueue(kind=kind, payload=payload, by=None)


def row(job: BackgroundJob) -> BackgroundJob:
    return BackgroundJob.objects.get(pk=job.pk)


def expire(job: BackgroundJob) -> None:
    BackgroundJob.objects.filter(pk=job.pk).update(lease_until=timezone.now() - timedelta(seconds=1))


def test_message_goes_out_only_once_the_row_is_committed(sent, django_capture_on_commit_callbacks):
    with django_capture_on_commit_callbacks() as callbacks:
        job = enqueue()
        assert sent == []

    callbacks[0]()

    assert sent == [job.pk]
    assert row(job).sent_at is not None


def test_broker_that_is_away_leaves_the_row_for_the_sweeper(monkeypatch, sent, django_capture_on_commit_callbacks):
    def away(**options):
        raise ConnectionRefusedError

    with monkeypatch.context() as patch, django_capture_on_commit_callbacks(execute=True):
        patch.setattr(background.run_job, "apply_async", away)
        job = enqueue()
    assert row(job).sent_at is None
    BackgroundJob.objects.update(queued_at=timezone.now() - timedelta(seconds=5))

    swept = background.sweep()

    assert swept == background.Swept(resent=1)
    assert sent == [job.pk]


def test_only_one_worker_gets_a_job(sent):
    job = enqueue()

    first, second = background.claim(job.pk, "a:1"), background.claim(job.pk, "b:2")

    assert (first.claimed_by, first.attempts, first.state) == ("a:1", 1, State.RUNNING)
    assert second is None
    assert background.claim(job.pk + 1, "b:2") is None


def test_job_runs_through_the_task_and_a_second_message_does_nothing(work, django_capture_on_commit_callbacks):
    done = []
    work["count"] = lambda job: done.append(job.payload["n"])

    with django_capture_on_commit_callbacks(execute=True):
        job = enqueue(n=7)
    run_job(job_id=job.pk)
    run_job(job_id=job.pk + 1)

    assert done == [7]
    assert row(job).state == State.DONE
    assert row(job).lease_until is None


def test_known_failure_is_kept_as_its_sentence(work, sent):
    def refuse(job):
        raise background.JobFailed("The roof run has no length. Enter it, then retry.")

    work["count"] = refuse
    job = enqueue()

    background.run(job.pk)

    assert (row(job).state, row(job).reason) == (State.FAILED, "The roof run has no length. Enter it, then retry.")


def test_unforeseen_failure_is_a_sentence_without_its_trace_and_is_raised_to_the_log(work, sent):
    work["count"] = lambda job: 1 / 0
    job = enqueue()

    with pytest.raises(ZeroDivisionError):
        background.run(job.pk)

    assert row(job).state == State.FAILED
    assert row(job).reason == (
        f"A fault in Loomwright stopped this. Try again; if it fails again, the server's log tells why (job {job.pk})."
    )


def test_unknown_kind_fails_with_a_sentence(work, sent):
    job = enqueue("knit")

    background.run(job.pk)

    assert row(job).reason == "This version of Loomwright does not know work of the kind “knit”."


def test_progress_renews_the_lease(sent):
    job = background.claim(enqueue().pk, "a:1")
    expire(job)

    background.progress(job, 9, 15)

    assert (row(job).progress, row(job).progress_of) == (9, 15)
    assert row(job).lease_until > timezone.now() + timedelta(seconds=60)


def test_cancel_stops_a_queued_job_at_once_and_a_running_one_at_its_next_sign_of_life(work, sent):
    queued, running = enqueue(), enqueue()

    def counts(job):
        background.progress(job, 1, 3)
        assert background.cancel(job)
        background.progress(job, 2, 3)
        raise AssertionError("went on after Cancel")

    work["count"] = counts
    assert background.cancel(queued)
    background.run(queued.pk)
    background.run(running.pk)

    for job in (queued, running):
        assert (row(job).state, row(job).reason) == (State.FAILED, "Cancelled. Press Retry to make it after all.")
        assert not background.cancel(job)


def test_retry_starts_afresh_and_only_what_failed(sent, django_capture_on_commit_callbacks):
    job = enqueue()
    assert not background.retry(job, by=None)
    background.cancel(job)

    with django_capture_on_commit_callbacks(execute=True):
        assert background.retry(job, by=None)

    assert (row(job).state, row(job).attempts, row(job).reason) == (State.QUEUED, 0, "")
    assert sent == [job.pk]


def test_worker_back_from_the_dead_finishes_nothing(work, sent):
    old = background.claim(enqueue().pk, "a:1")
    expire(old)
    background.sweep()
    new = background.claim(old.pk, "b:2")

    for step in (background.finish, background.heartbeat, lambda job: background.fail(job, "x")):
        with pytest.raises(background.LeaseLost):
            step(old)
    background.finish(new)

    assert row(old).state == State.DONE
    assert row(old).claimed_by == "b:2"


def test_same_worker_reclaiming_does_not_revive_its_older_claim(sent):
    old = background.claim(enqueue().pk, "a:1")
    expire(old)
    background.sweep()
    background.claim(old.pk, "a:1")

    with pytest.raises(background.LeaseLost):
        background.finish(old)


def test_sweeper_requeues_what_a_dead_worker_left_then_gives_up_with_a_sentence(sent, settings):
    job = enqueue()

    swept = []
    for _attempt in range(settings.JOB_ATTEMPTS):
        assert background.claim(job.pk, "a:1") is not None
        expire(job)
        swept.append(background.sweep())

    requeued, failed = background.Swept(requeued=1), background.Swept(failed=1)
    assert swept == [requeued, requeued, failed]
    assert row(job).state == State.FAILED
    assert row(job).reason == ("Stopped 3 times without an answer; the worker was ended or hung. Try again later.")


def test_sweeper_leaves_live_work_alone(sent):
    running, waiting = enqueue(), enqueue()
    background.claim(running.pk, "a:1")
    long_ago = timezone.now() - timedelta(seconds=background.RESEND_S + 5)
    BackgroundJob.objects.filter(pk=waiting.pk).update(sent_at=long_ago, queued_at=long_ago)

    assert background.sweep() == background.Swept()


def test_sweeper_sends_again_what_an_idle_queue_never_took(sent):
    job = enqueue()
    long_ago = timezone.now() - timedelta(seconds=background.RESEND_S + 5)
    BackgroundJob.objects.filter(pk=job.pk).update(sent_at=long_ago, queued_at=long_ago)

    assert background.sweep() == background.Swept(resent=1)
    assert background.sweep() == background.Swept()
    assert sent == [job.pk]


def test_cancelled_job_of_a_dead_worker_is_not_started_again(sent):
    job = background.claim(enqueue().pk, "a:1")
    background.cancel(job)
    expire(job)

    background.sweep()

    assert (row(job).state, row(job).reason) == (State.FAILED, "Cancelled.")


def test_job_that_outran_its_time_is_stopped(work, sent):
    def slow(job):
        job.started_at -= timedelta(seconds=background.SLOWEST_S + 1)
        background.heartbeat(job)

    work["count"] = slow
    job = enqueue()

    background.run(job.pk)

    assert row(job).reason == "This took longer than 15 minutes and was stopped."
