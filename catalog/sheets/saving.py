"""Writing a plan: everything in one short transaction, with history, and with what is needed to undo it."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any

from django.core.exceptions import PermissionDenied
from django.db import IntegrityError, transaction
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from catalog import finding
from catalog.bulk_values import column, is_as_left, put_back
from catalog.models import BulkAction, BulkChange
from catalog.sheets.batches import batches
from catalog.sheets.limits import SheetRefused
from catalog.sheets.matching import LeftOut, Unclear
from catalog.sheets.plan import Plan
from catalog.sheets.sheet_type import SheetType, Values

Tick = Callable[[int, int], Any]
AT_ONCE = 500


@dataclass(frozen=True, slots=True)
class Saved:
    """What was written, and the action by which it is undone; no action when nothing had to be written."""

    added: int
    changed: int
    action_id: int | None


def save(type: SheetType, plan_file: Any, *, by: Any, tick: Tick) -> Saved:
    """Write a checked plan, whole or not at all.

    Every record that the plan changes must still be as it was when it was checked, and none that it adds may have
    come in between: else :class:`SheetRefused` names the first. Raises ``PermissionDenied``; what ``tick`` raises goes
    through, and nothing is kept then either.
    """
    if not type.can_import(by):
        raise PermissionDenied
    plan = Plan.read(plan_file)
    if plan.code != type.code or plan.wrong:
        raise SheetRefused(_("Nothing is saved while a cell is wrong. Put it right and check the table once more."))
    try:
        with transaction.atomic():
            return _Saving(type, by, plan, tick).run()
    except IntegrityError:
        raise SheetRefused(
            _("The records changed while the table was saved; nothing was kept. Check the table once more.")
        ) from None


class _Saving:
    def __init__(self, type: SheetType, by: Any, plan: Plan, tick: Tick) -> None:
        self.type, self.by, self.plan, self.tick = type, by, plan, tick
        self.now = timezone.now()
        self.total, self.done = plan.added + plan.changed, 0
        self.action: BulkAction | None = None

    def run(self) -> Saved:
        if not self.total:
            return Saved(0, 0, None)
        self.action = BulkAction.objects.create(
            about=self.type.about, deed=BulkAction.Deed.IMPORT, words=self._words(), by_id=getattr(self.by, "pk", None)
        )
        for batch in batches(self.plan.entries("changed"), AT_ONCE):
            self._change(batch)
        if self.plan.added:
            self._refuse_newcomers()
        for batch in batches(self.plan.entries("added"), AT_ONCE):
            self._add(batch)
        return Saved(self.plan.added, self.plan.changed, self.action.pk)

    def _words(self) -> str:
        said = [
            ngettext("%(count)d added", "%(count)d added", self.plan.added) % {"count": self.plan.added},
            ngettext("%(count)d changed", "%(count)d changed", self.plan.changed) % {"count": self.plan.changed},
        ]
        return f"{self.type.label}: {', '.join(said)}"[:200]

    def _change(self, batch: list[Values]) -> None:
        model = self.type.model
        found = model._default_manager.select_for_update().in_bulk([row["pk"] for row in batch])
        moved: set[str] = set()
        for row in batch:
            record = found.get(row["pk"])
            if record is None or not self._is_as_planned(record, row):
                words = _("“%(name)s” (row %(row)d) changed since the check; nothing was saved. Check once more.")
                raise SheetRefused(words % {"name": row["name"], "row": row["row"]})
            put_back(record, row["after"])
            moved |= set(row["after"])
        records = [found[row["pk"]] for row in batch]
        if moved:
            self._write_over(records, moved)
        self._keep(records, batch, is_new=False)

    def _is_as_planned(self, record: Any, row: Values) -> bool:
        return not self.type.refusal(record) and is_as_left(record, row["before"])

    def _write_over(self, records: list[Any], moved: set[str]) -> None:
        """All moved fields of all records in a few statements: rows that are there already are written over."""
        model = self.type.model
        set_once = [f.attname for f in model._meta.concrete_fields if getattr(f, "auto_now_add", False)]
        kept = [{name: getattr(record, name) for name in set_once} for record in records]
        names = [column(model, name).name for name in sorted(moved)]
        model._default_manager.bulk_create(
            records, batch_size=AT_ONCE, update_conflicts=True, unique_fields=["pk"], update_fields=names
        )
        for record, values in zip(records, kept, strict=True):
            for name, value in values.items():
                setattr(record, name, value)

    def _refuse_newcomers(self) -> None:
        index = self.type.index()
        for row in self.plan.entries("added"):
            try:
                is_new = index.find(row["finds"]) is None
            except (Unclear, LeftOut):
                is_new = False
            if not is_new:
                words = _("“%(name)s” (row %(row)d) is there by now; nothing was saved. Check once more.")
                raise SheetRefused(words % {"name": row["name"], "row": row["row"]})

    def _add(self, batch: list[Values]) -> None:
        model = self.type.model
        records = [model() for _row in batch]
        for record, row in zip(records, batch, strict=True):
            put_back(record, row["after"])
        model._default_manager.bulk_create(records, batch_size=AT_ONCE)
        self._keep(records, batch, is_new=True)

    def _keep(self, records: list[Any], batch: list[Values], *, is_new: bool) -> None:
        """History, what goes beside the records, what undoes it."""
        history: Any = self.type.model.history  # type: ignore[attr-defined]
        history.bulk_history_create(
            records, batch_size=AT_ONCE, update=not is_new, default_user=self.by, default_date=self.now
        )
        self.type.write_beside(zip(records, batch, strict=True), by=self.by)
        BulkChange.objects.bulk_create(
            [
                BulkChange(
                    action=self.action,
                    row_id=record.pk,
                    before=None if is_new else row["before"],
                    after=row["after"],
                )
                for record, row in zip(records, batch, strict=True)
            ],
            batch_size=AT_ONCE,
        )
        index_words(self.type.about, records)
        self.done += len(records)
        self.tick(self.done, self.total)


def index_words(about: str, records: Iterable[Any]) -> None:
    """Bring the words by which the records are found up to date."""
    one = finding.FINDABLE.get(about)
    if one is None:
        return
    for batch in batches((record.pk for record in records), finding.BATCH):
        finding.index_rows(about, one.rows().filter(pk__in=batch))
