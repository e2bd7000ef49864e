"""Undoing a bulk action or an import: what stands as it left it is put back, what changed since is left alone."""

from __future__ import annotations

import hashlib
import json
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from django.core.exceptions import PermissionDenied
from django.db import IntegrityError, transaction
from django.db.models import Q, QuerySet
from django.utils import timezone
from django.utils.translation import gettext as _

from catalog import bulk
from catalog.bulk_values import is_as_left, put_back
from catalog.models import BulkAction, BulkChange
from catalog.rules import can_edit_catalogue
from catalog.services_bulk import BulkRefused, write


@dataclass(frozen=True, slots=True)
class BackAgain:
    """One record that undoing puts back; ``retires`` when the action added it."""

    row: Any
    change: BulkChange

    @property
    def retires(self) -> bool:
        return self.change.before is None


@dataclass(frozen=True, slots=True)
class UndoPlan:
    back: tuple[BackAgain, ...]
    changed_since: tuple[Any, ...]
    """Records that somebody changed after the action; they stay as they are."""
    gone: int
    mark: str


def actions_for(user: Any) -> QuerySet[BulkAction]:
    """Bulk actions this person may look at: a manager all, others their own. Kinds nobody declares are left out."""
    if not can_edit_catalogue(user):
        return BulkAction.objects.none()
    rows = BulkAction.objects.filter(about__in=list(bulk.TYPES))
    return rows if user.role == "manager" else rows.filter(by_id=user.pk)


def can_undo(user: Any, action: BulkAction) -> bool:
    """A manager undoes any action, others the last one of their own that still stands."""
    if action.undone_at or action.about not in bulk.TYPES or not bulk.get(action.about).may(user):
        return False
    if user.role == "manager":
        return True
    last = BulkAction.objects.filter(by_id=user.pk, undone_at=None).first()
    return last is not None and last.pk == action.pk


def undo_plan(action: BulkAction, *, lock: bool = False) -> UndoPlan:
    """What undoing would put back now, and what it would leave."""
    model: Any = bulk.get(action.about).model
    changes = list(action.changes.all())
    manager = model._default_manager
    found = (manager.select_for_update() if lock else manager.all()).in_bulk([change.row_id for change in changes])
    back, since, gone = [], [], 0
    for change in changes:
        row = found.get(change.row_id)
        if row is None:
            gone += 1
        elif change.before is None and row.retired_at is not None:
            continue  # added and retired by now: nothing to do
        elif is_as_left(row, change.after):
            back.append(BackAgain(row, change))
        else:
            since.append(row)
    return UndoPlan(tuple(back), tuple(since), gone, _mark(back, since))


def _mark(back: Iterable[BackAgain], since: Iterable[Any]) -> str:
    said = [[one.row.pk for one in back], [row.pk for row in since]]
    return hashlib.sha256(json.dumps(said).encode()).hexdigest()


@transaction.atomic
def undo(action: BulkAction, *, seen: str, by: Any) -> UndoPlan | None:
    """Put back what the action moved; ``None`` when it was undone already, and then nothing is touched.

    Records it added are retired, never deleted. Raises BulkRefused, with nothing done, when records changed since the
    plan with the mark ``seen`` was shown or nothing is left to put back; PermissionDenied.
    """
    action = BulkAction.objects.select_for_update().get(pk=action.pk)
    if action.undone_at:
        return None
    if not can_undo(by, action):
        raise PermissionDenied
    todo = undo_plan(action, lock=True)
    if todo.mark != seen:
        raise BulkRefused(_("Some of these records changed since they were shown. Nothing was undone; look once more."))
    if not todo.back:
        raise BulkRefused(_("All of these records were changed since, so nothing is left to put back."))
    now, groups = timezone.now(), defaultdict(list)
    for one in todo.back:
        if one.change.before is None:
            one.row.retired_at = now
            names: tuple[str, ...] = ("retired_at",)
        else:
            names = tuple(sorted(put_back(one.row, one.change.before)))
        groups[names].append(one.row)
    try:
        for names, rows in groups.items():
            if names:
                write(action.about, bulk.get(action.about).model, rows, names, by=by)
    except IntegrityError:
        words = _("What was there before is taken by another record now, a name or a part number. Nothing was undone.")
        raise BulkRefused(words) from None
    BulkAction.objects.filter(pk=action.pk).update(undone_at=now, undone_by_id=getattr(by, "pk", None))
    return todo


def last_of(user: Any) -> BulkAction | None:
    """The latest action that this person may undo."""
    mine = actions_for(user).filter(Q(by_id=user.pk), undone_at=None).first()
    return mine if mine and can_undo(user, mine) else None
