"""What a page shows of a job's papers: one row each, its state, and the papers that can be asked for."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import Any

from django.utils import timezone
from django.utils.translation import gettext_lazy

from fitouts.models import Fitout, User, Workshop
from quoting.documents.forms import forms_for
from quoting.models import BackgroundJob, Document
from quoting.services.documents import DRAWN, MADE_FROM

WAITS_LONG = timedelta(seconds=90)
"""Queued for longer than this, a paper says that no worker seems to be there."""
SHOWN = 60
GROUPS: tuple[tuple[str, Any, tuple[str, ...]], ...] = (
    (
        "build",
        gettext_lazy("To build from"),
        (
            Document.Kind.DIAGRAM,
            Document.Kind.WIRING,
            Document.Kind.PLAN,
            Document.Kind.LABELS,
            Document.Kind.TEST_SHEET,
        ),
    ),
    ("owner", gettext_lazy("For the owner"), (Document.Kind.QUOTE, Document.Kind.FUSE_MAP, Document.Kind.HANDOVER)),
)
"""Kinds of paper by who reads them."""


@dataclass(frozen=True, slots=True)
class PaperRow:
    """One paper: ``state`` is queued, running, done, failed, cancelled or erased."""

    document: Document
    state: str
    place: int = 0
    """Its place in the queue, from 1; 0 when it is not queued."""
    waits_long: bool = False

    @property
    def job(self) -> BackgroundJob | None:
        return self.document.job

    @property
    def kilobytes(self) -> int:
        return max(1, round(self.document.size / 1000))

    @property
    def retryable(self) -> bool:
        return self.state in {"failed", "cancelled", "erased"}

    @property
    def cancellable(self) -> bool:
        return self.state in {"queued", "running"}


@dataclass(frozen=True, slots=True)
class Offer:
    """A kind of paper that can be asked for, with its forms where there is a choice."""

    kind: str
    label: str
    forms: tuple[tuple[str, str], ...] = ()

    @property
    def has_labels(self) -> bool:
        """It is printed on sheets of labels, of which the first may be used already."""
        return bool(self.kind == Document.Kind.LABELS)


@dataclass(frozen=True, slots=True)
class OfferGroup:
    """Papers for the same reader."""

    key: str
    name: str
    offers: tuple[Offer, ...]


@dataclass(frozen=True, slots=True)
class PaperList:
    """The papers of a job as one person may see them, newest first."""

    fitout: Fitout
    rows: tuple[PaperRow, ...]
    groups: tuple[OfferGroup, ...]
    """Papers that can be asked for, by who reads them."""
    older: int = 0

    @property
    def live(self) -> bool:
        return any(row.cancellable for row in self.rows)


def kinds_for(user: User) -> tuple[str, ...]:
    """Which papers a person may ask for, see and open. The quote has prices."""
    kinds = [kind for _key, _name, members in GROUPS for kind in members if kind in MADE_FROM]
    return tuple(kind for kind in kinds if kind != Document.Kind.QUOTE or user.sees_money)


def paper_list(fitout: Fitout, user: User) -> PaperList:
    """Read a job's papers in a fixed number of queries."""
    kinds = kinds_for(user)
    documents = Document.objects.filter(fitout=fitout, kind__in=kinds).select_related("job")
    newest = list(documents[: SHOWN + 1])
    older = documents.count() - SHOWN if len(newest) > SHOWN else 0
    waiting = BackgroundJob.objects.filter(
        queue=BackgroundJob.Queue.DOCUMENTS, state=BackgroundJob.State.QUEUED
    ).order_by("queued_at", "pk")
    places = {pk: index for index, pk in enumerate(waiting.values_list("pk", flat=True)[:500], start=1)}
    return PaperList(
        fitout=fitout,
        rows=tuple(_row(document, places) for document in newest[:SHOWN]),
        groups=_groups(kinds, fitout),
        older=older,
    )


def _groups(kinds: tuple[str, ...], fitout: Fitout) -> tuple[OfferGroup, ...]:
    workshop = Workshop.objects.only("country").first()
    country = workshop.country if workshop else ""
    found = []
    for key, name, members in GROUPS:
        offers = tuple(
            Offer(kind, str(Document.Kind(kind).label), forms_for(kind, country))
            for kind in members
            if kind in kinds and _offered(kind, fitout)
        )
        found.append(OfferGroup(key, str(name), offers))
    return tuple(group for group in found if group.offers)


def _offered(kind: str, fitout: Fitout) -> bool:
    """A handover sheet is offered once something was handed over; circuits where there is a design to draw."""
    if kind in DRAWN:
        return fitout.kind != Fitout.Kind.FAULT
    return kind != Document.Kind.HANDOVER or hasattr(fitout, "installed")


def _row(document: Document, places: dict[int, int]) -> PaperRow:
    job = document.job
    if document.file:
        return PaperRow(document, "done")
    if job is None or job.state == BackgroundJob.State.DONE:
        return PaperRow(document, "erased")
    if job.state == BackgroundJob.State.FAILED and job.cancel_asked:
        return PaperRow(document, "cancelled")
    waits = job.state == BackgroundJob.State.QUEUED and timezone.now() - job.queued_at > WAITS_LONG
    return PaperRow(document, job.state, place=places.get(job.pk, 0), waits_long=waits)
