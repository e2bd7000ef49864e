"""What was changed in records, read from their histories: who, when, before, after, in words."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db.models import QuerySet
from django.utils import formats
from django.utils.text import capfirst
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from catalog import kinds
from catalog.kinds.uses import WAYS
from catalog.money_field import MoneyField
from catalog.quantities import format_number
from catalog.queries import people_by_id
from catalog.rules import MONEY_FIELDS, can_see_money
from catalog.specs import rows

SILENT = frozenset({"id", "rating", "sort_key", "kind_version", "created_at", "changed_at", "added_at", "engineering"})
"""Fields that only follow others, change by themselves, or are told value by value on a page of their own."""
SPECIFICATIONS = frozenset({"specification", "use"})
"""Fields with the values of a declaration, told value by value."""
SAID = {
    "added": (gettext_lazy("Added"), gettext_lazy("{what} added")),
    "changed": (gettext_lazy("Changed"), gettext_lazy("{what} changed")),
    "removed": (gettext_lazy("Removed"), gettext_lazy("{what} removed")),
    "retired": (gettext_lazy("Retired"), gettext_lazy("{what} retired")),
    "restored": (gettext_lazy("Taken back into use"), gettext_lazy("{what} taken back into use")),
}
"""What became of a record: on its own page, and among others."""
KINDS = {"+": "added", "~": "changed", "-": "removed"}


@dataclass(frozen=True, slots=True)
class FieldChange:
    """One field, before and after, in words."""

    label: str
    before: str
    after: str


@dataclass(frozen=True, slots=True)
class Change:
    """One step in the life of a record."""

    at: datetime
    by: str
    kind: str
    """``added``, ``changed``, ``removed``, ``retired`` or ``restored``."""
    what: str
    fields: tuple[FieldChange, ...]


@dataclass(frozen=True, slots=True)
class _Step:
    word: str | Callable[[Any], str]
    row: Any
    before: Any

    def changed(self) -> Iterator[tuple[Any, Any, Any]]:
        """Fields that are told, with the value before and after."""
        if self.row.history_type != "~" or self.before is None:
            return
        for field in self.row.instance_type._meta.concrete_fields:
            old, new = getattr(self.before, field.attname), getattr(self.row, field.attname)
            if old != new and field.name not in SILENT:
                yield field, old, new


def changes_of(record: Any, *, reader: Any) -> list[Change]:
    """The last changes of one record of the catalogue; money is left out for those who may not see it."""
    hidden: frozenset[str] = frozenset() if can_see_money(reader) else MONEY_FIELDS
    return changes(("", record.history.all()), hidden=hidden, limit=70)


def changes(
    *histories: tuple[str | Callable[[Any], str], QuerySet[Any]],
    hidden: frozenset[str] = frozenset(),
    limit: int = 40,
) -> list[Change]:
    """The last changes of some records, newest first.

    Parameters
    ----------
    histories
        Pairs of a word for the record ("Vehicle", nothing on the record's own page), or what makes the words of a
        row, and its history rows, ``vehicle.history.all()``.
    hidden
        Names of fields this reader must not see; they are left out as if they had not changed.
    limit
        How many changes to return at most.

    One query for each history, one for the names of the people, one for each model that a field points to.
    """
    steps = _steps(histories, limit * 3)
    people = people_by_id({step.row.history_user_id for step in steps})
    pointed = _pointed(steps)
    found = []
    for step in steps:
        change = _change(step, hidden, people, pointed)
        if change is not None:
            found.append(change)
        if len(found) == limit:
            break
    return found


def _steps(histories: tuple[tuple[str | Callable[[Any], str], QuerySet[Any]], ...], most: int) -> list[_Step]:
    steps: list[_Step] = []
    for word, history in histories:
        before: dict[Any, Any] = {}
        for row in reversed(history.order_by("-history_date", "-history_id")[:most]):
            steps.append(_Step(word, row, before.get(row.id)))
            before[row.id] = row
    return sorted(steps, key=lambda step: (step.row.history_date, step.row.history_id), reverse=True)


def _pointed(steps: list[_Step]) -> dict[Any, dict[Any, str]]:
    """Names of the rows that changed fields point to."""
    wanted: dict[Any, set[Any]] = {}
    for step in steps:
        for field, old, new in step.changed():
            if field.is_relation:
                wanted.setdefault(field.related_model, set()).update({old, new} - {None})
    return {
        model: {pk: str(found) for pk, found in model._default_manager.in_bulk(keys).items()}
        for model, keys in wanted.items()
    }


def _change(
    step: _Step, hidden: frozenset[str], people: Mapping[Any, str], pointed: Mapping[Any, dict[Any, str]]
) -> Change | None:
    kind = KINDS[step.row.history_type]
    fields: list[FieldChange] = []
    for field, old, new in step.changed():
        if field.name in hidden:
            continue
        if field.name == "retired_at":
            kind = "retired" if new else "restored"
        elif field.name in SPECIFICATIONS:
            fields.extend(_spec_changes(step.row, old or {}, new or {}))
        else:
            label = capfirst(str(field.verbose_name))
            fields.append(FieldChange(label, _said(field, old, pointed), _said(field, new, pointed)))
    if kind == "changed" and not fields:
        return None
    by = people.get(step.row.history_user_id, _("the server"))
    return Change(step.row.history_date, by, kind, _what(step, kind), tuple(fields))


def _what(step: _Step, kind: str) -> str:
    alone, among = SAID[kind]
    if not step.word:
        return str(alone)
    if callable(step.word):
        return among.format(what=step.word(step.row))
    own = getattr(step.row, "name", "")
    return among.format(what=f"{step.word} “{own}”" if own else step.word)


def _spec_changes(row: Any, old: Mapping[str, Any], new: Mapping[str, Any]) -> list[FieldChange]:
    try:
        kind = WAYS[row.way] if hasattr(row, "way") else kinds.get(row.kind)
    except LookupError:
        return [FieldChange(_("Specification"), str(old), str(new))]
    pairs = zip(rows(kind, old), rows(kind, new), strict=True)
    return [FieldChange(b.label, str(b.text), str(a.text)) for b, a in pairs if b.text != a.text]


def _said(field: Any, value: Any, pointed: Mapping[Any, dict[Any, str]]) -> str:
    if value is None or value == "":
        return _("nothing")
    own = getattr(field.model, "says", {}).get(field.name)
    if own is not None:
        return str(own(value))
    if field.is_relation:
        return pointed.get(field.related_model, {}).get(value, _("something removed"))
    if isinstance(value, bool):
        return _("yes") if value else _("no")
    if field.choices:
        return str(dict(field.flatchoices).get(value, value))
    if isinstance(value, datetime):
        return formats.date_format(value, "j M Y, H:i")
    if isinstance(value, list):
        return ", ".join(format_number(v) if isinstance(v, int | float) else str(v) for v in value)
    if isinstance(field, MoneyField):
        return format_number(value, 2)
    if isinstance(value, int | float) or hasattr(value, "as_tuple"):
        return format_number(value)
    return str(value)
