"""What changed in a record, from its history, with what a role may not see left out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db.models import Model
from django.utils.translation import gettext as _

from catalog import kinds
from catalog.kinds.uses import WAYS
from catalog.quantities import format_number
from catalog.queries import people_by_id
from catalog.rules import MONEY_FIELDS, can_see_money
from catalog.specs import rows

SILENT = frozenset({"id", "rating", "sort_key", "kind_version"})
"""Fields that only follow others."""
MOST = 200
"""History rows that a page shows."""


@dataclass(frozen=True, slots=True)
class FieldChange:
    label: str
    before: str
    after: str


@dataclass(frozen=True, slots=True)
class Change:
    """One step: who, when, what became of it."""

    at: datetime
    by: str
    kind: str
    """``added``, ``changed``, ``retired`` or ``restored``."""
    what: str
    fields: tuple[FieldChange, ...]


def changes_of(record: Any, *, reader: Any) -> list[Change]:
    """Every step of a record, newest first; money is left out for those who may not see it."""
    hidden = SILENT | (frozenset() if can_see_money(reader) else MONEY_FIELDS)
    steps = list(record.history.order_by("history_date", "history_id")[:MOST])
    people = people_by_id({step.history_user_id for step in steps})
    out: list[Change] = []
    before: Any = None
    for step in steps:
        change = _change(type(record), before, step, hidden, people)
        if change is not None:
            out.append(change)
        before = step
    return out[::-1]


def _change(
    model: type[Model], before: Any, step: Any, hidden: frozenset[str], people: Mapping[Any, str]
) -> Change | None:
    by = people.get(step.history_user_id, _("the program"))
    if before is None:
        return Change(step.history_date, by, "added", _("Added"), ())
    fields: list[FieldChange] = []
    kind, what = "changed", _("Changed")
    for field in model._meta.concrete_fields:
        if field.name in hidden:
            continue
        old, new = getattr(before, field.attname, None), getattr(step, field.attname, None)
        if old == new:
            continue
        if field.name == "retired_at":
            kind, what = ("retired", _("Retired")) if new else ("restored", _("Taken back into use"))
        elif field.name in ("specification", "use"):
            fields.extend(_spec_changes(step, old or {}, new or {}))
        else:
            label = str(getattr(field, "verbose_name", field.name)).capitalize()
            fields.append(FieldChange(label, _words(field, before, old), _words(field, step, new)))
    if not fields and kind == "changed":
        return None
    return Change(step.history_date, by, kind, what, tuple(fields))


def _spec_changes(step: Any, old: Mapping[str, Any], new: Mapping[str, Any]) -> list[FieldChange]:
    try:
        kind = WAYS[step.way] if hasattr(step, "way") else kinds.get(step.kind)
    except LookupError:
        return [FieldChange(_("Specification"), str(old), str(new))]
    pairs = zip(rows(kind, old), rows(kind, new), strict=True)
    return [FieldChange(b.label, str(b.text), str(a.text)) for b, a in pairs if b.text != a.text]


def _words(field: Any, row: Any, value: Any) -> str:
    if field.is_relation:
        related = getattr(row, field.name, None)
        return str(related) if related is not None else _("none")
    if value is None or value == "":
        return _("empty")
    if isinstance(value, bool):
        return _("yes") if value else _("no")
    if field.choices:
        return str(dict(field.flatchoices).get(value, value))
    if isinstance(value, list):
        return ", ".join(format_number(v) for v in value)
    if field.name in MONEY_FIELDS:
        return format_number(value, 2)
    return format_number(value) if isinstance(value, int | float) else str(value)
