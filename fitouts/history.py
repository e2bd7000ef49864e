"""What was changed, read from the history rows of records: who, when, before, after."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db import models
from django.utils import formats
from django.utils.text import capfirst
from django.utils.translation import gettext as _

from catalog.quantities import format_number
from fitouts.models import User

UNWRITTEN = frozenset({"id", "created_at", "changed_at", "added_at"})
"""Fields that change by themselves."""


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
    """``+`` added, ``~`` changed, ``-`` removed."""
    what: str
    fields: tuple[FieldChange, ...]


_Step = tuple[Any, Any, Any]
"""Word, history row, the row before it."""


def changes(
    *histories: tuple[str | Callable[[Any], str], models.QuerySet[Any]],
    hidden: frozenset[str] = frozenset(),
    limit: int = 40,
) -> list[Change]:
    """The last changes of some records, newest first.

    Parameters
    ----------
    histories
        Pairs of a word for the record ("Vehicle"), or what makes the words of a row, and its history rows,
        ``vehicle.history.all()``.
    hidden
        Names of fields this reader must not see; they are left out as if they had not changed.
    limit
        How many changes to return at most.

    One query for each history, one for the names of the people, one for each model that a field points to.
    """
    steps: list[_Step] = []
    for word, rows in histories:
        newest = list(rows.order_by("-history_date", "-history_id")[: limit * 3])
        before: dict[Any, Any] = {}
        for row in reversed(newest):
            steps.append((word, row, before.get(row.id)))
            before[row.id] = row
    steps.sort(key=lambda step: (step[1].history_date, step[1].history_id), reverse=True)
    names = _people(row.history_user_id for _word, row, _old in steps)
    pointed = _pointed(steps)
    found = []
    for word, row, old in steps:
        fields = _fields(row, old, hidden, pointed) if row.history_type == "~" and old is not None else ()
        if row.history_type == "~" and not fields:
            continue
        by = names.get(row.history_user_id, _("the server"))
        found.append(Change(row.history_date, by, row.history_type, _what(word, row), fields))
        if len(found) == limit:
            break
    return found


def _what(word: str | Callable[[Any], str], row: Any) -> str:
    if callable(word):
        word, own = word(row), ""
    else:
        own = getattr(row, "name", "") or ""
    said = {"+": _("{what} added"), "~": _("{what} changed"), "-": _("{what} removed")}[row.history_type]
    return said.format(what=f"{word} “{own}”" if own else word)


def _people(keys: Iterable[int | None]) -> dict[int | None, str]:
    wanted = {key for key in keys if key is not None}
    return {user.pk: str(user) for user in User.objects.filter(pk__in=wanted)} if wanted else {}


def _written(row: Any) -> list[Any]:
    model = row.instance_type
    return [field for field in model._meta.concrete_fields if field.name not in UNWRITTEN]


def _pointed(steps: list[_Step]) -> dict[type, dict[Any, str]]:
    wanted: dict[type, set[Any]] = {}
    for _word, row, old in steps:
        if row.history_type != "~" or old is None:
            continue
        for field in _written(row):
            a, b = getattr(old, field.attname), getattr(row, field.attname)
            if field.is_relation and a != b:
                wanted.setdefault(field.related_model, set()).update({a, b} - {None})
    return {
        model: {pk: str(found) for pk, found in model._default_manager.in_bulk(keys).items()}  # type: ignore[attr-defined]
        for model, keys in wanted.items()
    }


def _fields(row: Any, old: Any, hidden: frozenset[str], pointed: dict[type, dict[Any, str]]) -> tuple[FieldChange, ...]:
    found = []
    for field in _written(row):
        before, after = getattr(old, field.attname), getattr(row, field.attname)
        if before != after and field.name not in hidden:
            label = capfirst(str(field.verbose_name))
            found.append(FieldChange(label, _said(field, before, pointed), _said(field, after, pointed)))
    return tuple(found)


def _said(field: Any, value: Any, pointed: dict[type, dict[Any, str]]) -> str:
    if field.is_relation:
        gone = _("nothing") if value is None else _("something removed")
        return pointed.get(field.related_model, {}).get(value, gone)
    if value is None or value == "":
        return _("nothing")
    if isinstance(value, bool):
        return _("yes") if value else _("no")
    if field.choices:
        return str(dict(field.flatchoices).get(value, value))
    if isinstance(value, datetime):
        return formats.date_format(value, "j M Y, H:i")
    if isinstance(value, int | float) or hasattr(value, "as_tuple"):
        return format_number(value)
    return str(value)
