"""Celery's edge. One task for every kind of work: it looks at the row its message names."""

from __future__ import annotations

from celery import shared_task


@shared_task(name="quoting.run_job")  # type: ignore[untyped-decorator]
def run_job(*, job_id: int) -> None:
    """Do the job of one row; running twice is harmless. Sent to the queue the row names."""
    # Services import this module at the top, so it may import them only here.
    from quoting.services import archives, background, documents, fleets, selections, sheets  # noqa: F401 (they register)

    background.run(job_id)
