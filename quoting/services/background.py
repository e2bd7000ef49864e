"""Background work. The row is the truth; a message only says "look at row 12".

A worker claims a row by a conditional UPDATE and holds it under a lease. Whoever loses the lease may finish nothing:
``finish`` and ``fail`` hit the row only while it still carries that worker's claim. So a message may come twice, or a
worker come back from the dead, and the work is still done once.
"""

from __future__ import annotations

import logging
import os
import socket
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import partial
from typing import Any

from django.conf import settings
from django.db import transaction
from django.db.models import F, Q
from django.utils import timezone
from django.utils.translation import gettext as _
from kombu.exceptions import OperationalError

from fitouts.models import User
from quoting.models import BackgroundJob
from quoting.tasks import run_job

logger = logging.getLogger("loomwright.background")

RESEND_S = 20
"""A queued job nobody claimed for so long, while its queue stands idle, has lost its message. [s]"""
RESEND_ANYWAY_S = 600
"""The same while the queue is busy. [s]"""
SLOWEST_S = 900
"""No job may take longer than this, however often it renews its lease. [s]"""

Handler = Callable[[BackgroundJob], None]
_handlers: dict[str, Handler] = {}


class JobFailed(Exception):
    """Work that cannot be done, with the sentence a person can act on."""


class Cancelled(Exception):
    """Somebody pressed Cancel; raised at the next sign of life of the job."""


class LeaseLost(Exception):
    """Another worker holds this job now. What was worked out here is thrown away."""


@dataclass(frozen=True, slots=True)
class Swept:
    """What one sweep did, in numbers of jobs."""

    requeued: int = 0
    failed: int = 0
    resent: int = 0

    def __bool__(self) -> bool:
        return bool(self.requeued or self.failed or self.resent)


def handler(kind: str) -> Callable[[Handler], Handler]:
    """Register the function that does the jobs of a kind."""

    def register(work: Handler) -> Handler:
        _handlers[kind] = work
        return work

    return register


def worker_name() -> str:
    """Who claims: this computer and this process."""
    return f"{socket.gethostname()}:{os.getpid()}"[:80]


# --- Asking ------------------------------------------------------------------------------------------


def enqueue(
    *, kind: str, payload: dict[str, int], by: User | None, queue: str = BackgroundJob.Queue.DOCUMENTS
) -> BackgroundJob:
    """Make the row, and send its message once the surrounding transaction is committed."""
    job = BackgroundJob.objects.create(kind=kind, payload=payload, queue=queue, by=by)
    _send_on_commit(job)
    return job


def retry(job: BackgroundJob, *, by: User | None) -> bool:
    """Queue a failed job again, with all its attempts; False if it is not a failed one any more."""
    again = BackgroundJob.objects.filter(pk=job.pk, state=BackgroundJob.State.FAILED).update(
        **_fresh(), attempts=0, by=by, queued_at=timezone.now(), started_at=None, ended_at=None
    )
    if again:
        _send_on_commit(job)
    return bool(again)


def cancel(job: BackgroundJob) -> bool:
    """Stop a job: at once when queued, at its next sign of life when running; False if it had ended."""
    reason = _("Cancelled. Press Retry to make it after all.")
    queued = BackgroundJob.objects.filter(pk=job.pk, state=BackgroundJob.State.QUEUED)
    ended = {"state": BackgroundJob.State.FAILED, "reason": reason, "ended_at": timezone.now(), "cancel_asked": True}
    if queued.update(**ended):
        return True
    return bool(BackgroundJob.objects.filter(pk=job.pk, state=BackgroundJob.State.RUNNING).update(cancel_asked=True))


def _fresh() -> dict[str, Any]:
    return {
        "state": BackgroundJob.State.QUEUED,
        "claimed_by": "",
        "lease_until": None,
        "sent_at": None,
        "progress": 0,
        "progress_of": 0,
        "cancel_asked": False,
        "reason": "",
    }


def _send_on_commit(job: BackgroundJob) -> None:
    transaction.on_commit(partial(_send, job.pk, job.queue))


def _send(job_id: int, queue: str) -> bool:
    """Send the message. A broker that is away is logged; the sweeper sends again."""
    try:
        run_job.apply_async(kwargs={"job_id": job_id}, queue=queue, retry=False)
    except (OperationalError, OSError):
        logger.exception("The message for job %s could not be sent; the sweeper will try again.", job_id)
        return False
    BackgroundJob.objects.filter(pk=job_id).update(sent_at=timezone.now())
    return True


# --- Doing -------------------------------------------------------------------------------------------


def claim(job_id: int, worker: str) -> BackgroundJob | None:
    """Take a queued job for ``worker``; None when it is taken, done or gone."""
    now = timezone.now()
    taken = BackgroundJob.objects.filter(pk=job_id, state=BackgroundJob.State.QUEUED).update(
        state=BackgroundJob.State.RUNNING,
        claimed_by=worker,
        lease_until=_lease(now),
        attempts=F("attempts") + 1,
        started_at=now,
        ended_at=None,
        progress=0,
        progress_of=0,
        reason="",
    )
    return BackgroundJob.objects.get(pk=job_id) if taken else None


def progress(job: BackgroundJob, done: int, of: int) -> None:
    """Say how far a job is and renew its lease.

    Raises :class:`LeaseLost` when another worker has it, :class:`Cancelled` when somebody pressed Cancel, and
    :class:`JobFailed` when it outran :data:`SLOWEST_S`.
    """
    now = timezone.now()
    if not _held(job).update(progress=done, progress_of=of, lease_until=_lease(now)):
        raise LeaseLost(f"job {job.pk}")
    if BackgroundJob.objects.filter(pk=job.pk, cancel_asked=True).exists():
        raise Cancelled
    if job.started_at is not None and now - job.started_at > timedelta(seconds=SLOWEST_S):
        raise JobFailed(_("This took longer than %(minutes)d minutes and was stopped.") % {"minutes": SLOWEST_S // 60})
    job.progress, job.progress_of = done, of


def heartbeat(job: BackgroundJob) -> None:
    """Renew the lease without moving the progress. Raises as :func:`progress`."""
    progress(job, job.progress, job.progress_of)


def hold(job: BackgroundJob, done: int, of: int, *, seconds: float) -> None:
    """Renew the lease for a step that can give no sign of life for so long. [s] Raises as :func:`progress`."""
    progress(job, done, of)
    _held(job).update(lease_until=timezone.now() + timedelta(seconds=min(seconds, SLOWEST_S)))


def must_hold(job: BackgroundJob) -> None:
    """Raise :class:`LeaseLost` unless this worker still has the job; changes nothing."""
    if not _held(job).exists():
        raise LeaseLost(f"job {job.pk}")


def finish(job: BackgroundJob) -> None:
    """Mark a job done. Raises :class:`LeaseLost`: call it inside the transaction that stores the result."""
    _end(job, BackgroundJob.State.DONE, "")


def fail(job: BackgroundJob, reason: str) -> None:
    """Mark a job failed, for a reason a person can act on. Raises :class:`LeaseLost`."""
    _end(job, BackgroundJob.State.FAILED, reason)


def run(job_id: int) -> None:
    """Do a job, whatever its kind. Harmless when the job is taken, done or gone; unforeseen errors are re-raised."""
    job = claim(job_id, worker_name())
    if job is None:
        logger.info("Job %s is taken, done or gone; nothing to do.", job_id)
        return
    try:
        work = _handlers.get(job.kind)
        if work is None:
            raise JobFailed(_("This version of Loomwright does not know work of the kind “%s”.") % job.kind)
        work(job)
        if job.state == BackgroundJob.State.RUNNING:
            finish(job)
    except LeaseLost:
        logger.warning("Job %s outran its lease; another worker has it now.", job_id)
    except Cancelled:
        _fail_quietly(job, _("Cancelled. Press Retry to make it after all."))
    except JobFailed as error:
        logger.warning("Job %s failed: %s", job_id, error)
        _fail_quietly(job, str(error))
    except Exception:
        _fail_quietly(
            job,
            _("A fault in Loomwright stopped this. Try again; if it fails again, the server's log tells why (job %d).")
            % job.pk,
        )
        raise


def _fail_quietly(job: BackgroundJob, reason: str) -> None:
    try:
        fail(job, reason)
    except LeaseLost:
        logger.warning("Job %s failed here, but another worker has it now.", job.pk)


def _end(job: BackgroundJob, state: str, reason: str) -> None:
    now = timezone.now()
    if not _held(job).update(state=state, reason=reason, ended_at=now, lease_until=None):
        raise LeaseLost(f"job {job.pk}")
    job.state, job.reason, job.ended_at = state, reason, now


def _held(job: BackgroundJob) -> Any:
    """The row, while it still carries the claim this ``job`` was read with."""
    return BackgroundJob.objects.filter(
        pk=job.pk, state=BackgroundJob.State.RUNNING, claimed_by=job.claimed_by, attempts=job.attempts
    )


def _lease(now: datetime) -> datetime:
    return now + timedelta(seconds=settings.JOB_LEASE_S)


# --- Sweeping ----------------------------------------------------------------------------------------


def overdue(now: datetime | None = None, gone: Callable[[str], bool] | None = None) -> list[BackgroundJob]:
    """Running jobs whose lease ran out, or whose worker is known to be gone."""
    now = now or timezone.now()
    running = BackgroundJob.objects.filter(state=BackgroundJob.State.RUNNING)
    return [
        job for job in running if job.lease_until is None or job.lease_until < now or (gone and gone(job.claimed_by))
    ]


def sweep(gone: Callable[[str], bool] | None = None) -> Swept:
    """Requeue what a dead or hung worker left, fail what was tried often enough, resend what got lost.

    ``gone`` says of a worker's name that it is surely dead, so that nobody waits for its lease. Several sweepers at
    once do no harm: each step is a conditional UPDATE.
    """
    now = timezone.now()
    requeued = failed = resent = 0
    for job in overdue(now, gone):
        if job.cancel_asked:
            failed += _take_away(job, state=BackgroundJob.State.FAILED, reason=_("Cancelled."), ended_at=now)
        elif job.attempts >= settings.JOB_ATTEMPTS:
            reason = _("Stopped %(times)d times without an answer; the worker was ended or hung. Try again later.")
            reason %= {"times": job.attempts}
            failed += _take_away(job, state=BackgroundJob.State.FAILED, reason=reason, ended_at=now)
        elif _take_away(job, **_fresh()):
            logger.warning("Job %s was left by %s and is queued again.", job.pk, job.claimed_by)
            requeued += _send(job.pk, job.queue)
    for job in _lost(now):
        resent += _send(job.pk, job.queue)
    return Swept(requeued=requeued, failed=failed, resent=resent)


def _take_away(job: BackgroundJob, **changes: Any) -> int:
    held = _held(job).filter(lease_until=job.lease_until)
    return int(held.update(**{"lease_until": None, **changes}))


def _lost(now: datetime) -> list[BackgroundJob]:
    """Queued jobs whose message was never sent, or was lost on its way."""
    waiting_since = now - timedelta(seconds=RESEND_S)
    long_ago = now - timedelta(seconds=RESEND_ANYWAY_S)
    queued = BackgroundJob.objects.filter(state=BackgroundJob.State.QUEUED)
    busy = set(
        BackgroundJob.objects.filter(state=BackgroundJob.State.RUNNING, lease_until__gte=now)
        .order_by()
        .values_list("queue", flat=True)
        .distinct()
    )
    never_sent = Q(sent_at=None, queued_at__lt=now - timedelta(seconds=3))
    idle = Q(sent_at__lt=waiting_since) & ~Q(queue__in=busy)
    return list(queued.filter(never_sent | idle | Q(sent_at__lt=long_ago))[:200])
