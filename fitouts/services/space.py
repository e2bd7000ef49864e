"""Roof areas and battery spaces of a vehicle: what the survey measured, kept whole or not at all."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext as _

from catalog.quantities import format_number
from fitouts.models import BatterySpace, RoofArea, User, Vehicle
from fitouts.services.keeping import keep, signed

MOST_TAKEN = 12
MOST_AREAS = 20
MOST_SPACES = 10
SIDES = ("x_m", "y_m", "length_m", "width_m")
"""Measures of what stands in an area: from its front edge, from its left edge, along the vehicle, across it."""
TINY_M = 1e-9


@transaction.atomic
def add_area(vehicle: Vehicle, *, by: User | None, **values: Any) -> RoofArea:
    """Keep a free area of a vehicle's roof. Raises ``ValidationError`` naming each wrong field."""
    if vehicle.roof_areas.count() >= MOST_AREAS:
        raise ValidationError(_("A roof has at most {most} areas. Join two of them.").format(most=MOST_AREAS))
    return _keep_area(RoofArea(vehicle=vehicle), values, by)


@transaction.atomic
def change_area(area: RoofArea, *, by: User | None, **values: Any) -> RoofArea:
    """Change a roof area; designs keep the one they were worked out with."""
    return _keep_area(area, values, by)


@transaction.atomic
def remove_area(area: RoofArea, *, by: User | None) -> None:
    signed(area, by).delete()


@transaction.atomic
def add_space(vehicle: Vehicle, *, by: User | None, **values: Any) -> BatterySpace:
    """Keep a box into which batteries may go. Raises ``ValidationError`` naming each wrong field."""
    if vehicle.battery_spaces.count() >= MOST_SPACES:
        raise ValidationError(_("A vehicle has at most {most} battery spaces.").format(most=MOST_SPACES))
    return keep(BatterySpace(vehicle=vehicle), values, by)


@transaction.atomic
def change_space(space: BatterySpace, *, by: User | None, **values: Any) -> BatterySpace:
    return keep(space, values, by)


@transaction.atomic
def remove_space(space: BatterySpace, *, by: User | None) -> None:
    signed(space, by).delete()


def _keep_area(area: RoofArea, values: Mapping[str, Any], by: User | None) -> RoofArea:
    taken = values.get("taken", area.taken)
    length_m, width_m = values.get("length_m", area.length_m), values.get("width_m", area.width_m)
    for index, one in enumerate(taken):
        for said in outside(one, length_m, width_m).values():
            raise ValidationError({"taken": _("Number {n}: {said}").format(n=index + 1, said=said)})
    if len(taken) > MOST_TAKEN:
        raise ValidationError({"taken": _("At most {most} things stand in one area.").format(most=MOST_TAKEN)})
    return keep(area, values, by)


def outside(taken: Mapping[str, float], length_m: float, width_m: float) -> dict[str, str]:
    """What of a thing reaches out of its area, by the measure that is too large, in words with numbers."""
    found = {}
    along = _("It ends {end} m from the front edge; the area is {side} m long.")
    across = _("It ends {end} m from the left edge; the area is {side} m wide.")
    for name, end_m, side_m, words in (
        ("length_m", taken["x_m"] + taken["length_m"], length_m, along),
        ("width_m", taken["y_m"] + taken["width_m"], width_m, across),
    ):
        if end_m > side_m + TINY_M:
            found[name] = words.format(end=_metres(end_m), side=_metres(side_m))
    return found


def _metres(value: float) -> str:
    return format_number(round(value, 3))
