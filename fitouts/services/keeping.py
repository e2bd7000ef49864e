"""How every service writes a record: checked whole, with who did it in its history."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, TypeVar

from django.db.models import Model

from fitouts.models import User

TURNING = dict.fromkeys((*range(0x202A, 0x202F), *range(0x2066, 0x206A)))
"""Marks that turn round what follows them: with one in a name a page reads “A 51” where “15 A” stands."""

Record = TypeVar("Record", bound=Model)


def keep(record: Record, values: Mapping[str, Any], by: User | None) -> Record:
    """Set values, check everything, save. Raises ``ValidationError`` naming each wrong field.

    Marks that turn text round are dropped: nobody sees them, and numbers beside them would read backwards.
    """
    for name, value in values.items():
        setattr(record, name, as_typed(value))
    record.full_clean()
    signed(record, by).save()
    return record


def as_typed(value: Any) -> Any:
    """A value without marks that turn text round."""
    return value.translate(TURNING) if isinstance(value, str) else value


def signed(record: Record, by: User | None) -> Record:
    """Say who does what comes next to this record, where there is no request to tell."""
    record._history_user = by  # type: ignore[attr-defined]
    return record
