"""Papers: asked for, made by a worker from a frozen record, kept with their checksum."""

from __future__ import annotations

import hashlib
import logging

from django.db import transaction
from django.db.models import QuerySet
from django.utils import timezone
from django.utils.translation import gettext as _

from fitouts.models import Fitout, User, Workshop
from fitouts.uploads import is_disk_full
from quoting.documents import forms
from quoting.models import BackgroundJob, Design, Document, PersonalKey, Revision, Snapshot
from quoting.services import background, frozen, paper_files, snapshots
from quoting.services.background import JobFailed

logger = logging.getLogger("loomwright.documents")

_DESIGNED = (Snapshot.Kind.QUOTE, Snapshot.Kind.DESIGN, Snapshot.Kind.AS_BUILT)
MADE_FROM: dict[str, tuple[str, ...]] = {
    Document.Kind.QUOTE: (Snapshot.Kind.QUOTE,),
    Document.Kind.DIAGRAM: _DESIGNED,
    Document.Kind.WIRING: _DESIGNED,
    Document.Kind.PLAN: _DESIGNED,
    Document.Kind.LABELS: _DESIGNED,
    Document.Kind.FUSE_MAP: _DESIGNED,
    Document.Kind.TEST_SHEET: _DESIGNED,
    Document.Kind.HANDOVER: (Snapshot.Kind.AS_BUILT,),
}
"""Which frozen record each paper is printed from."""
DRAWN = frozenset(
    {Document.Kind.DIAGRAM, Document.Kind.WIRING, Document.Kind.PLAN, Document.Kind.LABELS, Document.Kind.FUSE_MAP}
)
"""Papers that show circuits: a fault job has none to show."""


class PaperNotPossible(Exception):
    """A paper cannot be asked for yet, with the sentence that says what is missing."""


# --- Asking ------------------------------------------------------------------------------------------


@transaction.atomic
def ask(*, kind: str, snapshot: Snapshot, fitout: Fitout, title: str, by: User | None, form: str = "") -> Document:
    """Queue a paper. The same paper in the same form, still waiting or being made, is returned instead of a twin.

    Raises :class:`PaperNotPossible` where kind, record or form do not go together.
    """
    form = _form(kind, form)
    if snapshot.kind not in MADE_FROM[kind]:
        raise PaperNotPossible(
            _("“%(paper)s” cannot be printed from a record of the kind “%(record)s”.")
            % {"paper": Document.Kind(kind).label, "record": snapshot.get_kind_display()}
        )
    Fitout.objects.select_for_update().get(pk=fitout.pk)  # two presses at once make one paper
    pending = Document.objects.filter(
        fitout=fitout,
        kind=kind,
        form=form,
        snapshot=snapshot,
        job__state__in=[BackgroundJob.State.QUEUED, BackgroundJob.State.RUNNING],
    ).first()
    if pending is not None:
        return pending
    document = Document.objects.create(
        fitout=fitout, kind=kind, form=form, snapshot=snapshot, title=title[:120], asked_by=by
    )
    document.job = background.enqueue(kind="document", payload={"document": document.pk}, by=by)
    document.save(update_fields=["job"])
    return document


@transaction.atomic
def ask_latest(kind: str, fitout: Fitout, *, by: User, form: str = "", first: int = 1) -> Document:
    """Queue a paper from the newest frozen record it can be printed from, freezing the design when there is none.

    ``form`` is a page or label sheet of ``forms``, ``first`` the first label of the sheet that is free.
    Raises :class:`PaperNotPossible` with the step that is missing.
    """
    form = _form(kind, form, first)
    Fitout.objects.select_for_update().get(pk=fitout.pk)  # two presses at once freeze one record
    snapshot, source = _source(kind, fitout, by)
    title = _("%(paper)s, %(source)s") % {"paper": Document.Kind(kind).label, "source": source}
    if form:
        title = _("%(title)s, %(form)s") % {"title": title, "form": forms.form_words(form)}
    return ask(kind=kind, snapshot=snapshot, fitout=fitout, title=title, by=by, form=form)


def _form(kind: str, form: str, first: int = 1) -> str:
    try:
        return forms.clean(kind, form, first)
    except forms.UnknownForm as error:
        raise PaperNotPossible(str(error)) from None


@transaction.atomic
def retry(document: Document, *, by: User) -> bool:
    """Make a paper again that failed, or whose file was erased; False when there is nothing to repeat."""
    document = Document.objects.select_for_update(of=("self",)).select_related("job").get(pk=document.pk)
    job = document.job
    if document.file or (job is not None and job.state in {BackgroundJob.State.QUEUED, BackgroundJob.State.RUNNING}):
        return False
    if job is not None and job.state == BackgroundJob.State.FAILED:
        return background.retry(job, by=by)
    document.job = background.enqueue(kind="document", payload={"document": document.pk}, by=by)
    document.save(update_fields=["job"])
    return True


def content(document: Document) -> bytes:
    """The bytes of a finished paper. Raises :class:`PaperNotPossible` if it is not made, or not as it was made."""
    if not document.file:
        raise PaperNotPossible(_("This paper is not made yet."))
    try:
        with document.file.storage.open(str(document.file.name)) as file:
            pdf: bytes = file.read()
    except OSError:
        raise PaperNotPossible(_("The file of this paper is missing on the server. Restore it from backup.")) from None
    if hashlib.sha256(pdf).hexdigest() != document.sha256:
        raise PaperNotPossible(_("The file of this paper was changed after it was made. Restore it from backup."))
    return pdf


def _source(kind: str, fitout: Fitout, by: User) -> tuple[Snapshot, str]:
    wanted = MADE_FROM[kind]
    if kind in DRAWN and fitout.kind == Fitout.Kind.FAULT:
        raise PaperNotPossible(_("A fault is mended without a design; there is nothing to draw."))
    as_built = _as_built(fitout) if Snapshot.Kind.AS_BUILT in wanted else None
    if as_built is not None:
        return as_built, _("as built")
    if kind == Document.Kind.HANDOVER:
        raise PaperNotPossible(_("The handover sheet is printed from what was fitted. Mark the job delivered first."))
    revisions = Revision.objects.filter(quote__fitout=fitout, snapshot__isnull=False)
    revision = revisions.select_related("snapshot", "quote").last()
    design = _built_by(revisions) or Design.objects.filter(fitout=fitout).order_by("-number").first()
    if (
        revision is not None
        and revision.snapshot is not None
        and (kind == Document.Kind.QUOTE or _is(revision, design))
    ):
        source = _("quote %(number)s, revision %(letter)s")
        return revision.snapshot, source % {"number": revision.quote.number, "letter": revision.letter}
    if kind == Document.Kind.QUOTE:
        raise PaperNotPossible(_("No revision has been issued yet. Issue the quote first."))
    if design is None:
        raise PaperNotPossible(_("There is no design yet. Work the job out first."))
    return _frozen_design(design, by), _("design %d") % design.number


def _built_by(revisions: QuerySet[Revision]) -> Design | None:
    """The design of the quote that was accepted: whoever builds goes by it, whatever is tried for the next one."""
    accepted = revisions.filter(state=Revision.State.ACCEPTED).last()
    return accepted.built_design if accepted is not None else None


def _is(revision: Revision, design: Design | None) -> bool:
    """Whether a revision stands on a design; a fault job's stands on none, and has none."""
    return revision.design_id == (design.pk if design else None)


def _as_built(fitout: Fitout) -> Snapshot | None:
    """The frozen record of the delivery. A fault job may leave no system behind, but its handover sheet names it."""
    installed = getattr(fitout, "installed", None)
    rows = Snapshot.objects.filter(kind=Snapshot.Kind.AS_BUILT)
    if installed is not None:
        return rows.get(sha256=installed.snapshot_sha256)
    return rows.filter(documents__fitout=fitout, documents__kind=Document.Kind.HANDOVER).last()


def _frozen_design(design: Design, by: User) -> Snapshot:
    """The frozen record of a design: the one kept earlier when nothing in it changed since, else a new one."""
    workshop = Workshop.objects.get()
    body, personal = frozen.design_body(design, workshop), frozen.personal(design.fitout)
    earlier = Snapshot.objects.filter(kind=Snapshot.Kind.DESIGN, documents__fitout=design.fitout).last()
    if earlier is not None:
        kept_body, kept_personal = snapshots.read(earlier)
        if kept_personal == personal and snapshots.canonical(kept_body) == snapshots.canonical(body):
            return earlier
    return snapshots.freeze(
        kind=Snapshot.Kind.DESIGN, body=body, personal=personal, customer_id=design.fitout.customer_id, by=by
    )


# --- Making ------------------------------------------------------------------------------------------


@background.handler("document")
def make(job: BackgroundJob) -> None:
    """The worker's part: make the paper a job names, unless it is made or gone."""
    document = Document.objects.select_related("snapshot").filter(pk=job.payload["document"]).first()
    if document is None:
        raise JobFailed(_("The paper is no longer there; nothing was made."))
    if not document.file:
        render(document, job)


def render(document: Document, job: BackgroundJob) -> None:
    """Make the bytes of a paper and store them with the end of its job, both or neither.

    The same frozen record and renderer version must give the same bytes; another result fails the job.
    Raises :class:`background.JobFailed` with a sentence, :class:`background.LeaseLost` when the job was taken away.
    """
    # ReportLab and its fonts load only in the worker.
    from quoting.documents.common import UnknownSnapshot
    from quoting.documents.drawn import DrawingIncomplete
    from quoting.documents.render import render as render_pdf

    background.progress(job, 1, 3)
    try:
        body, personal = snapshots.read(document.snapshot)
    except snapshots.SnapshotDamaged as error:
        raise JobFailed(_("The frozen record does not agree with its checksum. Nothing was printed.")) from error
    try:
        rendered = render_pdf(document.kind, body, personal, document.snapshot.sha256, document.form)
    except (UnknownSnapshot, DrawingIncomplete, forms.UnknownForm) as error:
        logger.exception("Paper %s of record %s cannot be printed.", document.pk, document.snapshot_id)
        raise JobFailed(_("This record cannot be printed: %s") % error) from error
    sha256 = hashlib.sha256(rendered.pdf).hexdigest()
    _must_repeat(document, rendered.version, sha256)
    background.progress(job, 2, 3)
    name = _store(document, rendered.pdf, sha256)
    with transaction.atomic():
        background.finish(job)
        # Held until this is written down: an erasure comes before it and is seen here, or after it and sees the file.
        key = PersonalKey.objects.select_for_update().filter(snapshot=document.snapshot).first()
        if personal is not None and key is None:
            transaction.on_commit(lambda: paper_files.remove(document.pk))
            return  # erased while it was being printed: the names on it must not stay
        Document.objects.filter(pk=document.pk).update(
            file=name,
            sha256=sha256,
            size=len(rendered.pdf),
            pages=rendered.pages,
            renderer_version=rendered.version,
            made_at=timezone.now(),
        )


def _must_repeat(document: Document, version: str, sha256: str) -> None:
    twin = (
        Document.objects.filter(
            snapshot=document.snapshot, kind=document.kind, form=document.form, renderer_version=version
        )
        .exclude(pk=document.pk)
        .exclude(sha256="")
        .first()
    )
    if twin is not None and twin.sha256 != sha256:
        raise JobFailed(
            _("Printed twice from one record, this paper came out differently (papers %(one)d and %(two)d).")
            % {"one": twin.pk, "two": document.pk}
        )


def _store(document: Document, pdf: bytes, sha256: str) -> str:
    """Put the file in its place whole; return its name in the storage."""
    try:
        return paper_files.store(document.pk, pdf, sha256)
    except OSError as error:
        if not is_disk_full(error):
            raise
        logger.exception("No room for paper %s.", document.pk)
        raise JobFailed(_("The server's disk is full; nothing was kept. Make room, then press Retry.")) from error
