"""Fields of a record as a bulk action keeps them, so that it can be undone and what changed since can be told.

Keys are the columns' names (``supplier_id``, ``cost``); values are what JSON knows, money and times as text.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date, datetime, time
from decimal import Decimal
from typing import Any

from django.core.exceptions import FieldDoesNotExist
from django.db.models import Field, Model

from catalog.money_field import MoneyField, exact


def kept(row: Model, names: Iterable[str]) -> dict[str, Any]:
    """The named columns of a row, ready for ``BulkChange.before`` and ``after``."""
    fields = [column(type(row), name) for name in names]
    return {field.attname: _plain(field, getattr(row, field.attname)) for field in fields}


def put_back(row: Model, values: Mapping[str, Any]) -> list[str]:
    """Set kept values on a row, unsaved, and return the names of its fields."""
    names = []
    for name, value in values.items():
        field = column(type(row), name)
        setattr(row, field.attname, _read(field, value))
        names.append(field.name)
    return names


def is_as_left(row: Model, values: Mapping[str, Any]) -> bool:
    """Whether every kept value still stands in the row."""
    for name, value in values.items():
        field = column(type(row), name)
        if _plain(field, getattr(row, field.attname)) != _plain(field, _read(field, value)):
            return False
    return True


def column(model: type[Model], name: str) -> Field[Any, Any]:
    """The field behind a kept name, given as ``supplier`` or ``supplier_id``. Raises ``FieldDoesNotExist``."""
    for field in model._meta.concrete_fields:
        if name in (field.name, field.attname):
            return field
    raise FieldDoesNotExist(f"{model._meta.label} has no column {name!r}")


def _plain(field: Field[Any, Any], value: Any) -> Any:
    if isinstance(value, Decimal):
        return f"{exact(value) if isinstance(field, MoneyField) else value:f}"
    if isinstance(value, datetime | date | time):
        return value.isoformat()
    return value


def _read(field: Field[Any, Any], value: Any) -> Any:
    if value is None:
        return None
    if isinstance(field, MoneyField):
        return exact(str(value))
    return getattr(field, "target_field", field).to_python(value)
