"""The plan of a surveyed vehicle, for the vehicle's own page."""

from __future__ import annotations

from collections.abc import Sequence

from django import template

from fitouts.models import Vehicle, VehiclePosition, VehicleRun
from quoting.queries.plan import PlanPage, survey_plan

register = template.Library()


@register.simple_tag
def plan_of(vehicle: Vehicle, positions: Sequence[VehiclePosition], runs: Sequence[VehicleRun]) -> PlanPage | None:
    """The plan, or nothing while there is none to draw. Asks the database for nothing more."""
    return survey_plan(vehicle, positions, runs)
