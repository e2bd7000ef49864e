"""Choosing as the worker does it, without one."""

from __future__ import annotations

from quoting.models import BackgroundJob, Selection
from quoting.services import background, selections


def worker_of(selection: Selection) -> BackgroundJob:
    """The job of a selection, claimed."""
    assert selection.job_id is not None
    job = background.claim(selection.job_id, "the test's worker")
    assert job is not None
    return job


def made_by_worker(selection: Selection) -> Selection:
    """A selection after the worker's part."""
    if selection.result is None:
        selections.make(worker_of(selection))
        selection.refresh_from_db()
    return selection
