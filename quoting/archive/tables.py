"""Which tables make the workshop, and how a value of a row is written and read."""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import UTC, date, datetime, time
from decimal import Decimal
from typing import Any

from django.apps import apps
from django.core.exceptions import ValidationError
from django.db import models

from catalog.money_field import MoneyField

APPS = ("catalog", "fitouts", "quoting")
LEFT_OUT = {
    "catalog.searchword": "made anew from the records",
    "fitouts.user_groups": "roles take the place of groups",
    "fitouts.user_user_permissions": "roles take the place of permissions",
    "quoting.archive": "tells of the archive folder of one computer",
    "quoting.sheetimport": "tables on their way in; what was saved is in the records",
}
"""Tables of the three apps that an archive does without, and why."""
BATCH = 2000


def tables() -> tuple[type[models.Model], ...]:
    """Every model whose rows are archived, by name."""
    found = (m for m in apps.get_models(include_auto_created=True) if m._meta.app_label in APPS)
    kept = [m for m in found if m._meta.label_lower not in LEFT_OUT and m._meta.managed and not m._meta.proxy]
    return tuple(sorted(kept, key=lambda m: m._meta.label_lower))


def columns(model: type[models.Model]) -> tuple[models.Field[Any, Any], ...]:
    return tuple(model._meta.concrete_fields)


def lines(model: type[models.Model]) -> Iterator[bytes]:
    """The rows of a table by key, each a line of JSON that depends on nothing but the values."""
    fields = columns(model)
    rows = model._base_manager.order_by("pk").values_list(*(f.attname for f in fields))
    for row in rows.iterator(chunk_size=BATCH):
        yield line_of([written(f, value) for f, value in zip(fields, row, strict=True)])


def line_of(values: list[Any]) -> bytes:
    text = json.dumps(values, ensure_ascii=False, sort_keys=True, separators=(",", ":"), allow_nan=False)
    return text.encode() + b"\n"


def written(field: Any, value: Any) -> Any:
    """A value as JSON: amounts and moments as text, so that no digit is lost."""
    target = field.target_field if field.is_relation else field
    if value is None:
        return None
    if isinstance(target, models.JSONField):
        return tidy(value)
    if isinstance(target, MoneyField):
        return f"{value:.4f}"
    if isinstance(value, Decimal):
        return f"{value:.{target.decimal_places}f}"
    if isinstance(value, datetime):
        return value.astimezone(UTC).isoformat(timespec="microseconds")
    if isinstance(value, date | time):
        return value.isoformat()
    if isinstance(value, bool | int | str):
        return value
    if isinstance(value, float):
        return tidy(value)
    if isinstance(target, models.FileField):
        return str(value)
    raise TypeError(f"{field.model._meta.label}.{field.name}: no way to write {type(value).__name__}")


def tidy(value: Any) -> Any:
    """JSON in which a number has one form on every database: PostgreSQL knows no -0.0 and no 1e+22."""
    if isinstance(value, float):
        if value == 0:
            return 0.0
        return int(value) if abs(value) >= 1e15 and value.is_integer() else value
    if isinstance(value, dict):
        return {key: tidy(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [tidy(item) for item in value]
    return value


def read(field: Any, value: Any) -> Any:
    """The inverse of :func:`written`. Raises ``ValidationError`` or ``ValueError`` for what the column cannot hold."""
    target = field.target_field if field.is_relation else field
    if value is None:
        if not field.null:
            raise ValidationError("a value is missing")
        return None
    if isinstance(target, models.JSONField):
        return value
    if isinstance(target, models.DateTimeField):
        return datetime.fromisoformat(value)
    if isinstance(target, models.FileField):
        return str(value)
    return target.to_python(value)
