"""Sensing inputs that a person gave: kept with what is watched, in one transaction."""

from __future__ import annotations

from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext as _

from fitouts.models import Fitout, SensePoint, User
from fitouts.services import senses
from fitouts.services.keeping import keep, signed
from quoting.models import InputPlace
from quoting.sizing.brief_wiring import INPUT_OF

Where = tuple[int, int] | None
"""Unit and channel from 1; ``None``: as the design gives it."""


@transaction.atomic
def add(fitout: Fitout, *, place: Where, by: User | None, **values: Any) -> SensePoint:
    """Watch one thing more. Raises ``ValidationError`` naming each wrong field."""
    _lock(fitout)
    point = senses.add(fitout, by=by, **values)
    _give(point, place, by)
    return point


@transaction.atomic
def change(point: SensePoint, *, place: Where, by: User | None, **values: Any) -> SensePoint:
    """Change what is watched and where it is read; on refusal both stay as they were."""
    _lock(point.fitout)
    point = senses.change(point, by=by, **values)
    _give(point, place, by)
    return point


def _lock(fitout: Fitout) -> None:
    Fitout.objects.select_for_update().get(pk=fitout.pk)


def _give(point: SensePoint, place: Where, by: User | None) -> None:
    kept = InputPlace.objects.filter(sense_point=point).first()
    if place is None:
        if kept is not None:
            signed(kept, by).delete()
        return
    if kept is not None and (kept.unit, kept.channel) == place:
        return
    taken = InputPlace.objects.filter(sense_point__fitout=point.fitout, unit=place[0], channel=place[1])
    for other in taken.exclude(sense_point=point).select_related("sense_point"):
        if INPUT_OF[other.sense_point.what] == INPUT_OF[point.what]:  # type: ignore[index]
            words = _("“%(name)s” was given that input. Give it another first.") % {"name": other.sense_point.name}
            raise ValidationError({"input": words})
    keep(kept or InputPlace(sense_point=point), {"unit": place[0], "channel": place[1]}, by)
