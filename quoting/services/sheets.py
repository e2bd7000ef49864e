"""Tables on their way in: read, matched, checked by a worker, and saved whole or not at all.

A row moves from state to state by a conditional UPDATE that names the state and the background job it was seen with,
so two clicks, two workers or a message that comes twice lead to one check and one save.
"""

from __future__ import annotations

import hashlib
import json
import logging
import os
from collections.abc import Callable, Mapping
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from catalog import sheets
from catalog.sheets import SheetRefused
from fitouts.models import User
from fitouts.uploads import is_disk_full
from quoting.models import BackgroundJob, SheetImport, SheetMapping
from quoting.services import background, sheet_files
from quoting.services.background import JobFailed

__all__ = ["SheetRefused"]
logger = logging.getLogger("loomwright.sheets")
State = SheetImport.State

KEPT_DAYS = 7
"""A table that is neither saved nor dropped goes after so many days. [d]"""
ROWS_PER_S = 100
"""A save is given a second for so many rows before anybody thinks its worker hung. [1/s]"""
ENDED = (State.SAVED, State.DROPPED)


def standing(sheet: SheetImport) -> str:
    """Its state, or ``check_failed`` or ``save_failed`` when the work for it ended without a result."""
    if sheet.state not in (State.CHECKING, State.SAVING):
        return str(sheet.state)
    if sheet.job is not None and sheet.job.state in (BackgroundJob.State.QUEUED, BackgroundJob.State.RUNNING):
        return str(sheet.state)
    return "check_failed" if sheet.state == State.CHECKING else "save_failed"


def is_live(sheet: SheetImport) -> bool:
    """Whether a worker has it, or will."""
    return standing(sheet) in (State.CHECKING, State.SAVING)


def type_of(sheet: SheetImport) -> Any:
    """What kind of table it is. Raises :class:`SheetRefused` when this version knows no such kind any more."""
    try:
        return sheets.get(sheet.sheet)
    except LookupError:
        raise SheetRefused(
            _("This version of Loomwright knows no table of the kind “%s”. Drop this one.") % sheet.sheet
        ) from None


# --- Bringing in, reading, matching ------------------------------------------------------------------


def start(code: str, upload: Any, *, by: User) -> SheetImport:
    """Keep an uploaded table, read its heads and propose how they match.

    Heads seen before are matched as they were the last time. Raises :class:`SheetRefused`; nothing is kept then.
    """
    sheet_type = sheets.get(code)
    file_name = (Path(str(upload.name or "")).name or _("table"))[:200]
    if not upload.size:
        raise SheetRefused(_("The file “%s” is empty.") % file_name)
    name, sha256, size = _kept(upload, ".xlsx" if file_name.lower().endswith(".xlsx") else ".csv")
    try:
        reading = sheets.guess_reading(sheet_files.path_of(name), file_name)
        heads = sheets.heads(sheet_files.path_of(name), tentative(reading))
        reading, mapping = _recalled(sheet_type, reading, heads)
        return SheetImport.objects.create(
            sheet=code,
            file=name,
            file_name=file_name,
            sha256=sha256,
            size=size,
            reading=reading,
            columns=heads,
            mapping=mapping,
            asked_by=by,
        )
    except BaseException:
        sheet_files.remove(name)
        raise


def set_reading(sheet: SheetImport, changes: Mapping[str, str], mapping: Mapping[str, str]) -> None:
    """Read the file another way. ``mapping`` is kept as far as the heads stay; new heads are matched by their names.

    Raises :class:`SheetRefused`, and leaves everything as it was.
    """
    sheet_type, reading = type_of(sheet), {**sheet.reading, **changes}
    heads = sheets.heads(_path(sheet), tentative(reading))
    if heads == sheet.columns:
        names = {column.name for column in sheet_type.columns}
        matched = {number: name for number, name in mapping.items() if name in names}
    else:
        reading, matched = _recalled(sheet_type, reading, heads)
        reading = {**reading, **changes}
    _move_back(sheet, reading=reading, columns=heads, mapping=matched)


def reopen(sheet: SheetImport) -> None:
    """Back to the matching of columns. Raises :class:`SheetRefused` when it is under way, saved or dropped."""
    _move_back(sheet)


def _way_of(reading: Mapping[str, Any]) -> dict[str, Any]:
    """How a table is read, without the doubt about it: that quotes a line of the file, which may name somebody."""
    return {name: value for name, value in reading.items() if name != "doubt"}


def tentative(reading: Mapping[str, Any]) -> dict[str, Any]:
    """The reading to show a sample by, when nobody has said yet which encoding it is."""
    return {**reading, "encoding": reading.get("encoding") or reading.get("offered", "")}


def _kept(upload: Any, ending: str) -> tuple[str, str, int]:
    try:
        return sheet_files.keep(upload, ending)
    except OSError as error:
        if not is_disk_full(error):
            raise
        raise SheetRefused(_("The server's disk is full; nothing was kept. Make room, then bring it in again.")) from (
            error
        )


def _heads_sha256(heads: list[str]) -> str:
    return hashlib.sha256(json.dumps([head.strip().casefold() for head in heads]).encode()).hexdigest()


def _recalled(sheet_type: Any, reading: dict[str, str], heads: list[str]) -> tuple[dict[str, str], dict[str, str]]:
    """How a table with these heads was read and matched the last time; otherwise what their names propose."""
    kept = SheetMapping.objects.filter(sheet=sheet_type.code, heads_sha256=_heads_sha256(heads)).first()
    if kept is None:
        return reading, sheets.propose(sheet_type, heads)
    names = {column.name for column in sheet_type.columns}
    mapping = {number: name for number, name in kept.mapping.items() if name in names}
    return {**reading, "decimal": kept.reading.get("decimal", reading.get("decimal", "either"))}, mapping


def _clean(sheet: SheetImport, mapping: Mapping[str, str]) -> dict[str, str]:
    columns = {column.name: str(column.label) for column in type_of(sheet).columns}
    cleaned: dict[str, str] = {}
    for number, name in mapping.items():
        if not name:
            continue
        if not number.isdigit() or int(number) >= len(sheet.columns) or name not in columns:
            raise SheetRefused(_("There is no such column to match. Load the page again."))
        if name in cleaned.values():
            raise SheetRefused(
                _("Two columns of the file go to “%s”. Choose one, and leave the other out.") % columns[name]
            )
        cleaned[number] = name
    if not cleaned:
        raise SheetRefused(_("No column is matched yet. Choose at least one."))
    return cleaned


def _path(sheet: SheetImport) -> Path:
    """Raises :class:`SheetRefused` when the file is gone."""
    if not sheet_files.is_there(sheet.file):
        raise SheetRefused(_("The file is no longer on the server. Drop this one, and bring the table in again."))
    return sheet_files.path_of(sheet.file)


def _move_back(sheet: SheetImport, **changes: Any) -> None:
    if is_live(sheet) or sheet.state in ENDED:
        raise _moved_on()
    _move(sheet, state=State.MAPPING, counts={}, plan="", **changes)


def _move(sheet: SheetImport, **changes: Any) -> None:
    """Change the row while it is as it was seen. Raises :class:`SheetRefused` when somebody else was quicker."""
    as_seen = SheetImport.objects.filter(pk=sheet.pk, state=sheet.state, job_id=sheet.job_id)
    with transaction.atomic():
        if not as_seen.update(**changes):
            raise _moved_on()
        if sheet.plan and "plan" in changes:
            transaction.on_commit(lambda name=str(sheet.plan): sheet_files.remove(name))  # type: ignore[misc]
    for name, value in changes.items():
        setattr(sheet, name, value)


def _moved_on() -> SheetRefused:
    return SheetRefused(_("Somebody has gone on with this table in the meantime. This is how it stands now."))


# --- Checking ----------------------------------------------------------------------------------------


@transaction.atomic
def ask_check(sheet: SheetImport, mapping: Mapping[str, str] | None = None, *, by: User) -> None:
    """Queue the check of every cell, and remember how the columns were matched. Raises :class:`SheetRefused`."""
    if is_live(sheet) or sheet.state in ENDED:
        raise _moved_on()
    _path(sheet)
    if sheet.reading.get("format") == "csv" and not sheet.reading.get("encoding"):
        raise SheetRefused(str(sheet.reading.get("doubt")) or _("Choose the encoding of the text."))
    cleaned = _clean(sheet, sheet.mapping if mapping is None else mapping)
    job = _enqueue("sheet_check", sheet, by)
    _move(sheet, state=State.CHECKING, mapping=cleaned, counts={}, plan="", job=job)
    SheetMapping.objects.update_or_create(
        sheet=sheet.sheet,
        heads_sha256=_heads_sha256(sheet.columns),
        defaults={"mapping": cleaned, "reading": _way_of(sheet.reading)},
    )


@background.handler("sheet_check")
def do_check(job: BackgroundJob) -> None:
    """The worker's part: check a table, unless somebody has gone on with it."""
    sheet, by = _asked_for(job, State.CHECKING)
    if sheet is None:
        return
    try:
        plan = sheets.check(type_of(sheet), _path(sheet), sheet.reading, sheet.mapping, by=by, tick=_sign_of_life(job))
    except (SheetRefused, PermissionDenied) as refused:
        raise JobFailed(str(refused)) from refused
    name = _keep_plan(plan)
    try:
        with transaction.atomic():
            background.finish(job)
            counts = {**plan.counts, "unlisted": plan.unlisted}
            if not _of(job, sheet, State.CHECKING).update(state=State.CHECKED, counts=counts, plan=name):
                raise background.LeaseLost(f"job {job.pk}")
    except BaseException:
        sheet_files.remove(name)
        raise


def _sign_of_life(job: BackgroundJob) -> Callable[[int, int], None]:
    def tick(done: int, of: int) -> None:
        background.progress(job, done, of)

    return tick


def _keep_plan(plan: Any) -> str:
    """Write down what was found, whole, and return its name."""
    name = f"{sheet_files.FOLDER}/{os.urandom(16).hex()}.plan"
    part = sheet_files.part_for(name)
    try:
        with sheet_files.open_text(part) as file:
            plan.to_json_lines(file)
            file.flush()
            os.fsync(file.fileno())
        part.replace(sheet_files.path_of(name))
    except OSError as error:
        part.unlink(missing_ok=True)
        if not is_disk_full(error):
            raise
        logger.exception("No room for what was found in a table.")
        raise JobFailed(_("The server's disk is full; nothing was kept. Make room, then check again.")) from error
    return name


# --- Saving ------------------------------------------------------------------------------------------


@transaction.atomic
def ask_save(sheet: SheetImport, *, by: User) -> None:
    """Queue the saving of a checked table. Raises :class:`SheetRefused` while one cell is wrong, or nothing is new."""
    if standing(sheet) not in (State.CHECKED, "save_failed"):
        raise _moved_on()
    if sheet.counts.get("wrong"):
        raise SheetRefused(_("Nothing is saved while a cell is wrong. Correct the file and bring it in again."))
    if not rows_to_save(sheet):
        raise SheetRefused(_("Nothing in this table is new; there is nothing to save."))
    _move(sheet, state=State.SAVING, job=_enqueue("sheet_save", sheet, by))


def rows_to_save(sheet: SheetImport) -> int:
    return int(sheet.counts.get("added", 0)) + int(sheet.counts.get("changed", 0))


@background.handler("sheet_save")
def do_save(job: BackgroundJob) -> None:
    """The worker's part: save a table, all of it with the end of the job, or nothing.

    Inside its one transaction the job's own row is left alone until the end, so that nobody who looks at it waits.
    """
    sheet, by = _asked_for(job, State.SAVING)
    if sheet is None:
        return
    rows = rows_to_save(sheet)
    background.hold(job, 0, rows, seconds=settings.JOB_LEASE_S + rows / ROWS_PER_S)
    try:
        with transaction.atomic():
            if not _of(job, sheet, State.SAVING).update(
                state=State.SAVED, saved_at=timezone.now(), file="", plan="", reading=_way_of(sheet.reading)
            ):
                raise background.LeaseLost(f"job {job.pk}")
            with _plan_path(sheet).open(encoding="utf-8") as plan:
                saved = sheets.save(type_of(sheet), plan, by=by, tick=lambda done, of: None)
            SheetImport.objects.filter(pk=sheet.pk).update(action_id=saved.action_id)
            background.finish(job)
            transaction.on_commit(lambda: sheet_files.remove(sheet.file, sheet.plan))
    except (SheetRefused, PermissionDenied) as refused:
        raise JobFailed(str(refused)) from refused


def _plan_path(sheet: SheetImport) -> Path:
    if not sheet_files.is_there(sheet.plan):
        raise SheetRefused(_("What the check found is no longer on the server. Check again."))
    return sheet_files.path_of(sheet.plan)


# --- Ending ------------------------------------------------------------------------------------------


def can_stop(sheet: SheetImport) -> bool:
    """A check can be stopped; a save only before it has begun, for it ends whole or not at all."""
    job = sheet.job
    if job is None or not is_live(sheet) or job.cancel_asked:
        return False
    return sheet.state == State.CHECKING or job.state == BackgroundJob.State.QUEUED


def stop(sheet: SheetImport) -> bool:
    """Stop what :func:`can_stop` allows; False when it is too late."""
    return sheet.job is not None and can_stop(sheet) and background.cancel(sheet.job)


@transaction.atomic
def drop(sheet: SheetImport) -> None:
    """Erase the file and what was found in it; the row stays. Raises :class:`SheetRefused` while it is being saved."""
    if sheet.state in ENDED or standing(sheet) == State.SAVING:
        raise _moved_on()
    if sheet.job is not None and is_live(sheet):
        background.cancel(sheet.job)
    names = (str(sheet.file), str(sheet.plan))
    _move(sheet, state=State.DROPPED, file="", plan="", reading=_way_of(sheet.reading))
    transaction.on_commit(lambda: sheet_files.remove(*names))


def tidy(now: datetime | None = None) -> int:
    """Drop tables nobody went on with for :data:`KEPT_DAYS`, and erase files that no row names. Returns how many."""
    before = (now or timezone.now()) - timedelta(days=KEPT_DAYS)
    dropped = 0
    for sheet in SheetImport.objects.exclude(state__in=ENDED).filter(asked_at__lt=before).select_related("job"):
        try:
            drop(sheet)
            dropped += 1
        except SheetRefused:
            logger.info("Table %s is being saved and stays.", sheet.pk)
    known = SheetImport.objects.exclude(state__in=ENDED).values_list("file", "plan")
    for path in sheet_files.strays(name for names in known for name in names):
        path.unlink(missing_ok=True)
    return dropped


def _enqueue(kind: str, sheet: SheetImport, by: User) -> BackgroundJob:
    return background.enqueue(kind=kind, payload={"sheet": sheet.pk}, by=by, queue=BackgroundJob.Queue.HEAVY)


def _asked_for(job: BackgroundJob, state: str) -> tuple[SheetImport | None, User]:
    """The table a job is about, while it waits for this very job; and who asked, while they still may."""
    sheet = SheetImport.objects.filter(pk=job.payload["sheet"]).first()
    if sheet is None:
        raise JobFailed(_("The table is no longer there; nothing was done."))
    try:
        sheet_type = type_of(sheet)
    except SheetRefused as refused:
        raise JobFailed(str(refused)) from refused
    if job.by is None or not sheet_type.can_import(job.by):
        raise JobFailed(_("Whoever asked for this may not bring this table in any more. Nothing was done."))
    return (sheet if sheet.state == state and sheet.job_id == job.pk else None), job.by


def _of(job: BackgroundJob, sheet: SheetImport, state: str) -> Any:
    """The row, while it is in ``state`` and waits for this very job."""
    return SheetImport.objects.filter(pk=sheet.pk, state=state, job_id=job.pk)
