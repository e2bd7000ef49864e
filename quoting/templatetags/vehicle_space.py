"""Roof areas and battery spaces of a surveyed vehicle, for the vehicle's own page."""

from __future__ import annotations

from collections.abc import Sequence

from django import template
from pydantic import ValidationError

from fitouts.models import BatterySpace, RoofArea
from quoting.queries.space import SpaceFigure, roof_figure, space_figure

register = template.Library()


@register.simple_tag
def roof_of(areas: Sequence[RoofArea]) -> SpaceFigure | None:
    """The roof drawn, or nothing while there is none to draw. Asks the database for nothing more."""
    try:
        return roof_figure(areas)
    except ValidationError:
        return None  # kept past today's limits: its form says what is wrong


@register.simple_tag
def spaces_of(spaces: Sequence[BatterySpace]) -> SpaceFigure | None:
    """The battery spaces drawn, or nothing while there is none to draw."""
    try:
        return space_figure(spaces)
    except ValidationError:
        return None
