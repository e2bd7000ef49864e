"""What a bulk action moves, in words: one line for each column of each record."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import time
from decimal import Decimal
from typing import Any

from django.utils.text import capfirst
from django.utils.translation import gettext as _

from catalog.bulk_values import column
from catalog.forms_bulk import by_how_much
from catalog.money_field import MoneyField
from catalog.quantities import format_number
from catalog.services_bulk import Moved


@dataclass(frozen=True, slots=True)
class Line:
    """One column of one record, before and after."""

    name: str
    before: str
    after: str
    by: str
    label: str = ""


def lines_of(moved: Iterable[Moved]) -> list[Line]:
    """Every moved column of these records; records they point to are named in one query for each kind."""
    todo = [(one, name) for one in moved for name in one.after if one.before.get(name) != one.after[name]]
    names = _pointed(todo)
    return [_line(one, name, names) for one, name in todo]


def _pointed(todo: list[tuple[Moved, str]]) -> dict[Any, dict[Any, str]]:
    wanted: dict[Any, set[Any]] = {}
    for one, name in todo:
        field = column(type(one.row), name)
        if field.is_relation:
            wanted.setdefault(field.related_model, set()).update({one.before.get(name), one.after[name]} - {None})
    return {
        model: {pk: str(row) for pk, row in model._default_manager.in_bulk(pks).items()}
        for model, pks in wanted.items()
    }


def _line(one: Moved, name: str, names: dict[Any, dict[Any, str]]) -> Line:
    field: Any = column(type(one.row), name)
    before, after = one.before.get(name), one.after[name]
    by = ""
    if isinstance(field, MoneyField):
        by = by_how_much(*(None if value is None else Decimal(value) for value in (before, after)))
    label = capfirst(str(field.verbose_name))
    return Line(str(one.row), _said(field, before, names), _said(field, after, names), by, label)


def _said(field: Any, value: Any, names: dict[Any, dict[Any, str]]) -> str:
    if field.name == "retired_at":
        return _("retired") if value else _("in use")
    if field.name == "sell_price" and value is None:
        return _("by markup")
    if value is None or value == "":
        return _("nothing")
    if field.is_relation:
        return names.get(field.related_model, {}).get(value, _("something removed"))
    if isinstance(field, MoneyField):
        return format_number(Decimal(value), 2)
    if isinstance(value, bool):
        return _("yes") if value else _("no")
    if field.choices:
        return str(dict(field.flatchoices).get(value, value))
    if isinstance(value, int | float):
        return format_number(value)
    if field.get_internal_type() == "TimeField":
        return time.fromisoformat(value).strftime("%H:%M")
    return str(value)
