"""Backups of the whole workshop: made, brought in, checked and restored in the background."""

from __future__ import annotations

import logging
import os
import re
import shutil
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from django.conf import settings
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from fitouts.models import User, Workshop
from fitouts.rules import can_run_workshop
from fitouts.uploads import Larger, LargeUpload, is_disk_full, take_larger
from quoting.archive import ArchiveRefused
from quoting.models import Archive, BackgroundJob
from quoting.services import background
from quoting.services.background import JobFailed

logger = logging.getLogger("loomwright.archives")

MOST_BYTES = 1_000_000_000
"""Largest archive that the page takes in; the command takes any. [byte]"""
take_larger("archive_bring", Larger(MOST_BYTES, "arriving", can_run_workshop))


def folder() -> Path:
    """Where archives lie: beside the database, in the workshop's private folder."""
    return Path(settings.HOME) / "archives"


def path_of(archive: Archive) -> Path:
    return folder() / archive.name


def new_name() -> str:
    """A file name from the workshop's and the moment, not used yet."""
    name, zone = Workshop.objects.values_list("name", "time_zone").first() or ("workshop", "UTC")
    plain = re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-")[:40] or "workshop"
    now = timezone.localtime(timezone=ZoneInfo(zone))  # a worker and a page call one moment alike
    stem = f"{plain}-{now:%Y-%m-%d-%H%M%S}"
    names = (f"{stem}.zip" if n == 1 else f"{stem}-{n}.zip" for n in range(1, 1000))
    return next(name for name in names if not (folder() / name).exists() and not _known(name))


def _known(name: str) -> bool:
    return Archive.objects.filter(name=name).exists()


@transaction.atomic
def ask_backup(*, by: User) -> Archive:
    """Queue a backup; one that is under way already is returned instead of a second."""
    Workshop.objects.select_for_update().get()
    waiting = Archive.objects.filter(job__kind="backup", job__state__in=["queued", "running"]).first()
    if waiting is not None:
        return waiting
    archive = Archive.objects.create(name=new_name(), asked_by=by)
    archive.job = background.enqueue(
        kind="backup", payload={"archive": archive.pk}, by=by, queue=BackgroundJob.Queue.HEAVY
    )
    archive.save(update_fields=["job"])
    return archive


@background.handler("backup")
def make(job: BackgroundJob) -> None:
    """The worker's part of a backup."""
    from quoting.archive import writing

    archive = Archive.objects.get(pk=job.payload["archive"])
    try:
        written = writing.write(
            path_of(archive), made_at=timezone.now(), tick=lambda done, of: background.progress(job, done, of)
        )
    except OSError as error:
        raise JobFailed(_disk_words(error)) from error
    with transaction.atomic():
        background.finish(job)
        note_down(archive, written)


def note_down(archive: Archive, written: Any) -> Archive:
    """Write down what an archive holds."""
    archive.size, archive.sha256, archive.content_sha256 = written.size, written.sha256, written.content_sha256
    archive.rows, archive.files, archive.made_at = written.rows, written.files, timezone.now()
    archive.workshop_name = Workshop.objects.values_list("name", flat=True).first() or ""
    if written.missing:
        archive.problem = _("%(count)d files are named by rows and were not on the disk: %(names)s") % {
            "count": len(written.missing),
            "names": ", ".join(written.missing[:5]),
        }
    archive.save()
    return archive


@transaction.atomic
def bring(upload: LargeUpload, *, by: User) -> Archive:
    """Keep an archive that was sent, and queue its check. Nothing of it is believed before."""
    folder().mkdir(mode=0o700, parents=True, exist_ok=True)
    name = f"brought-{timezone.localtime():%Y-%m-%d-%H%M%S}-{os.urandom(3).hex()}.zip"
    try:
        upload.take(folder() / name)
    except OSError as error:
        raise ArchiveRefused(_disk_words(error)) from error
    archive = Archive.objects.create(name=name, is_brought=True, size=upload.size or 0, asked_by=by)
    archive.job = background.enqueue(
        kind="archive_check", payload={"archive": archive.pk}, by=by, queue=BackgroundJob.Queue.HEAVY
    )
    archive.save(update_fields=["job"])
    return archive


@background.handler("archive_check")
def look(job: BackgroundJob) -> None:
    """The worker's part of bringing an archive in: hold every checksum against what is there."""
    from quoting.archive import reading, writing

    archive = Archive.objects.get(pk=job.payload["archive"])
    try:
        contents = reading.check(path_of(archive), tick=lambda done, of: background.progress(job, done, of))
    except ArchiveRefused as refused:
        Archive.objects.filter(pk=archive.pk).update(problem=str(refused))
        path_of(archive).unlink(missing_ok=True)
        raise JobFailed(str(refused)) from refused
    with transaction.atomic():
        background.finish(job)
        Archive.objects.filter(pk=archive.pk).update(
            sha256=writing.sha256_of(path_of(archive)),
            content_sha256=contents.manifest["content_sha256"],
            rows=contents.rows,
            files=len(contents.manifest["files"]),
            workshop_name=contents.workshop[:80],
            made_at=timezone.now(),
        )


@transaction.atomic
def ask_restore(archive: Archive, *, replace: str, by: User) -> BackgroundJob:
    """Queue a restore over the workshop that is here, whose name must be given.

    Raises :class:`ArchiveRefused` for a wrong name, an archive that is not whole, or another restore under way.
    """
    from quoting.archive.restoring import workshop_here

    Workshop.objects.select_for_update().get()
    if not archive.content_sha256 or not path_of(archive).exists():
        raise ArchiveRefused(_("This archive is not whole or its file is gone. Nothing was restored."))
    here = workshop_here()
    if replace.strip() != here:
        raise ArchiveRefused(
            _("To replace this workshop, type its name exactly: %(name)s. Nothing was restored.") % {"name": here}
        )
    if BackgroundJob.objects.filter(kind="restore", state__in=["queued", "running"]).exists():
        raise ArchiveRefused(_("A restore is under way already."))
    return background.enqueue(
        kind="restore", payload={"archive": archive.pk}, by=by, queue=BackgroundJob.Queue.HEAVY
    )  # fmt: skip


@background.handler("restore")
def put_back(job: BackgroundJob) -> None:
    """The worker's part of a restore: first a backup of what is here, then the archive in its place.

    The row of this very job goes with all the others; what became of it is written on the archive.
    """
    from quoting.archive import reading, restoring, writing

    archive = Archive.objects.get(pk=job.payload["archive"])
    by_name = str(job.by or "")
    try:
        contents = reading.check(path_of(archive), tick=lambda done, of: background.progress(job, done, of))
        before = Archive.objects.create(name=new_name(), asked_by=job.by)
        written = writing.write(
            path_of(before), made_at=timezone.now(), tick=lambda done, of: background.progress(job, done, of)
        )
        note_down(before, written)
        restored = restoring.restore(
            contents,
            replace=restoring.workshop_here(),
            tick=lambda done, of: background.progress(job, done, of),
            held=lambda: background.must_hold(job),
        )
    except ArchiveRefused as refused:
        raise JobFailed(str(refused)) from refused
    except OSError as error:
        raise JobFailed(_disk_words(error)) from error
    logger.warning("The workshop was restored from %s: %s", archive.name, restored)
    Archive.objects.filter(pk=archive.pk).update(restored_at=timezone.now(), restored_by_name=by_name[:120])


def forget(archive: Archive) -> None:
    """Remove an archive and its file."""
    path_of(archive).unlink(missing_ok=True)
    archive.delete()


def free_bytes() -> int:
    folder().mkdir(mode=0o700, parents=True, exist_ok=True)
    return shutil.disk_usage(folder()).free


def _disk_words(error: OSError) -> str:
    if is_disk_full(error):
        return _("The server's disk is full; nothing was kept. Make room, then try again.")
    return _("The server could not write to its folder (%s). Nothing was kept.") % error.strerror
