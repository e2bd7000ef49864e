"""Doing something to many records at once: first shown, then done whole or not at all, and kept to be undone."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.core.exceptions import PermissionDenied, ValidationError
from django.db import IntegrityError, transaction
from django.db.models import Model
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from catalog import finding
from catalog.bulk import MOST, BulkType, Deed
from catalog.bulk_values import column, kept
from catalog.models import BulkAction, BulkChange, Component, PriceChange

AT_ONCE = 200
NAMED = 5
"""Records named in a refusal; of the rest it says how many."""


class BulkRefused(Exception):
    """Nothing was done; the text says why, naming records."""


@dataclass(frozen=True, slots=True)
class Moved:
    """One record of a plan: the row with its new values, unsaved, and its columns before and after."""

    row: Any
    before: dict[str, Any]
    after: dict[str, Any]


@dataclass(frozen=True, slots=True)
class BulkPlan:
    """What a deed would do to some records."""

    moved: tuple[Moved, ...]
    same: int
    """Records it would leave as they are."""
    refused: tuple[tuple[Any, str], ...]
    """Records it may not be done to, each with the sentence why."""
    mark: str
    """Stands for exactly these records with exactly these values, before and after."""

    def total(self, name: str, *, after: bool) -> Decimal:
        """Sum of a column of money over the records that move."""
        sides = (moved.after if after else moved.before for moved in self.moved)
        return sum((Decimal(side[name]) for side in sides if side[name] is not None), Decimal(0))


def plan(one: BulkType, deed: Deed, rows: Iterable[Any]) -> BulkPlan:
    """What the deed would do to these rows; they are changed in memory alone. Raises BulkRefused above 5000 rows."""
    found = list(rows)
    if len(found) > MOST:
        words = _("%(count)d are too many at once; at most %(most)d. Narrow the filter and do it in parts.")
        raise BulkRefused(words % {"count": len(found), "most": MOST})
    moved: list[Moved] = []
    refused: list[tuple[Any, str]] = []
    for row in found:
        before = kept(row, deed.names)
        try:
            deed.change(row)
            after = kept(row, deed.names)
            if after != before:
                _check(row, deed.names)
                moved.append(Moved(row, before, after))
        except ValidationError as error:
            refused.append((row, " ".join(error.messages)))
    return BulkPlan(tuple(moved), len(found) - len(moved) - len(refused), tuple(refused), _mark(moved, found))


def _check(row: Model, names: Sequence[str]) -> None:
    wanted = {column(type(row), name).name for name in names}
    row.clean_fields(exclude={f.name for f in row._meta.fields} - wanted)


def _mark(moved: Iterable[Moved], rows: Iterable[Any]) -> str:
    in_order = sorted(moved, key=lambda one: one.row.pk)
    said = [[one.row.pk, one.before, _settled(one.after)] for one in in_order]
    return hashlib.sha256(json.dumps([said, sorted(row.pk for row in rows)], sort_keys=True).encode()).hexdigest()


def _settled(values: dict[str, Any]) -> dict[str, Any]:
    """Without the moment of retiring, which is another when the deed is done."""
    return {name: bool(value) if name == "retired_at" else value for name, value in values.items()}


@transaction.atomic
def do(one: BulkType, deed: Deed, keys: Sequence[int], *, seen: str, by: Any) -> BulkAction:
    """Do the deed to all these records, with history, price steps and what is needed to undo it; one transaction.

    ``seen`` is the mark of the plan that a person was shown. Raises BulkRefused, with nothing done, when a record has
    changed or gone since, when one may not be changed so, or when nothing would move; PermissionDenied.
    """
    if not one.may(by):
        raise PermissionDenied
    rows = one.rows(by).select_related(None).filter(pk__in=list(keys))
    locked = list(one.model._default_manager.select_for_update().filter(pk__in=rows.values("pk")).order_by("pk"))
    todo = plan(one, deed, locked)
    if todo.refused:
        raise BulkRefused(refusal(todo))
    if todo.mark != seen:
        raise BulkRefused(_("Some of these records changed since they were shown. Nothing was done; look once more."))
    if not todo.moved:
        raise BulkRefused(_("All of them are like that already. Nothing was done."))
    action = BulkAction.objects.create(
        about=one.about, deed=deed.code, words=deed.words(len(todo.moved))[:200], by_id=getattr(by, "pk", None)
    )
    try:
        write(one.about, one.model, [moved.row for moved in todo.moved], deed.names, by=by)
    except IntegrityError:
        raise BulkRefused(_("A record would be like another that must differ. Nothing was done.")) from None
    changes = [
        BulkChange(action=action, row_id=moved.row.pk, before=moved.before, after=moved.after) for moved in todo.moved
    ]
    BulkChange.objects.bulk_create(changes, batch_size=AT_ONCE)
    return action


def refusal(todo: BulkPlan) -> str:
    """The records that may not be changed so, by name, and why."""
    named = [_("%(name)s: %(why)s") % {"name": row, "why": why} for row, why in todo.refused[:NAMED]]
    more = len(todo.refused) - NAMED
    if more > 0:
        named.append(ngettext("And %(n)d more.", "And %(n)d more.", more) % {"n": more})
    return _("Nothing was done. %(records)s") % {"records": " ".join(named)}


def write(about: str, model: type[Model], rows: Sequence[Any], names: Iterable[str], *, by: Any) -> None:
    """Write these columns of many rows, each with its history row, price step and words. Within a transaction."""
    fields = [column(model, name).name for name in names]
    old_costs = _costs(rows) if model is Component and "cost" in fields else {}
    model._default_manager.bulk_update(rows, fields, batch_size=AT_ONCE)  # type: ignore[arg-type]
    model.history.bulk_history_create(  # type: ignore[attr-defined]
        rows, batch_size=AT_ONCE, update=True, default_user=by, default_date=timezone.now()
    )
    steps = [
        PriceChange(
            component=row, cost=row.cost, supplier_name=str(row.supplier or ""), changed_by_id=getattr(by, "pk", None)
        )
        for row in rows
        if row.pk in old_costs and old_costs[row.pk] != row.cost
    ]
    PriceChange.objects.bulk_create(steps, batch_size=AT_ONCE)
    if about in finding.FINDABLE:
        again = finding.FINDABLE[about].rows()
        for start in range(0, len(rows), finding.BATCH):
            keys = [row.pk for row in rows[start : start + finding.BATCH]]
            finding.index_rows(about, again.filter(pk__in=keys))


def _costs(rows: Sequence[Any]) -> dict[int, Decimal]:
    """What stands in the database, and each row's supplier at hand for its price step."""
    found = Component.objects.select_related("supplier").in_bulk([row.pk for row in rows])
    for row in rows:
        if row.supplier_id == found[row.pk].supplier_id:
            row.supplier = found[row.pk].supplier
    return {pk: row.cost for pk, row in found.items()}
