"""How every service writes a record: checked whole, with who did it in its history."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, TypeVar

from django.db.models import Model

from fitouts.models import User

Record = TypeVar("Record", bound=Model)


def keep(record: Record, values: Mapping[str, Any], by: User | None) -> Record:
    """Set values, check everything, save. Raises ``ValidationError`` naming each wrong field."""
    for name, value in values.items():
        setattr(record, name, value)
    record.full_clean()
    signed(record, by).save()
    return record


def signed(record: Record, by: User | None) -> Record:
    """Say who does what comes next to this record, where there is no request to tell."""
    record._history_user = by  # type: ignore[attr-defined]
    return record
