"""One way to keep history, without a foreign key from here up to the people of the workshop."""

from __future__ import annotations

from typing import Any

from django.db import models
from simple_history.models import HistoricalRecords


def _get_user(instance: Any, **kwargs: Any) -> Any:
    from django.contrib.auth import get_user_model

    return get_user_model().objects.filter(pk=instance.history_user_id).first()


def _set_user(instance: Any, user: Any) -> None:
    instance.history_user_id = None if user is None else user.pk


def history(**options: Any) -> HistoricalRecords:
    """History of a record: who changed what and when. The user is kept as a number, not as a key upward."""
    return HistoricalRecords(
        history_user_id_field=models.IntegerField(null=True, blank=True),
        history_user_getter=_get_user,
        history_user_setter=_set_user,
        **options,
    )
