"""Vehicles: what they are, what the survey measured, where things can sit and how cables run."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import ProtectedError, Q
from django.utils import timezone
from django.utils.translation import gettext as _

from fitouts.models import Customer, User, Vehicle, VehiclePosition, VehicleRun
from fitouts.services.keeping import keep, signed
from fitouts.starter_sets import StarterSet


class PositionInUse(Exception):
    """A job has something at this position."""


class SetNotApplicable(Exception):
    """A starter set is for a vehicle without positions."""


@transaction.atomic
def add_vehicle(customer: Customer, *, by: User | None, **values: Any) -> Vehicle:
    """Keep a customer's vehicle. Raises ``ValidationError`` naming each wrong field."""
    return keep(Vehicle(customer=customer), values, by)


@transaction.atomic
def change_vehicle(vehicle: Vehicle, *, by: User | None, **values: Any) -> Vehicle:
    """Change what a vehicle is or what the survey measured; issued papers keep what they said."""
    return keep(vehicle, values, by)


@transaction.atomic
def retire_vehicle(vehicle: Vehicle, *, by: User | None) -> Vehicle:
    """Take a vehicle out of lists to choose from: sold, written off."""
    return vehicle if vehicle.retired_at else keep(vehicle, {"retired_at": timezone.now()}, by)


@transaction.atomic
def restore_vehicle(vehicle: Vehicle, *, by: User | None) -> Vehicle:
    return keep(vehicle, {"retired_at": None}, by) if vehicle.retired_at else vehicle


@transaction.atomic
def add_position(vehicle: Vehicle, *, by: User | None, **values: Any) -> VehiclePosition:
    """Name a place in the vehicle. Two places of one vehicle never have the same name."""
    return keep(VehiclePosition(vehicle=vehicle), values, by)


@transaction.atomic
def change_position(position: VehiclePosition, *, by: User | None, **values: Any) -> VehiclePosition:
    return keep(position, values, by)


@transaction.atomic
def place_positions(
    vehicle: Vehicle, places: Mapping[int, tuple[float | None, float | None]], *, by: User | None
) -> list[VehiclePosition]:
    """Set where positions of a vehicle are on its plan, all or none; return those that moved, now measured.

    ``places`` gives for a position's id metres behind the front and right of the middle, both or neither. Raises
    ``ValidationError`` naming each wrong value, and for an id that is not this vehicle's.
    """
    found = {p.pk: p for p in vehicle.positions.select_for_update()}
    strange = [pk for pk in places if pk not in found]
    if strange:
        raise ValidationError(_("One of these positions is no longer there. Open the plan again."), code="gone")
    moved = []
    for pk, (x_m, y_m) in places.items():
        position = found[pk]
        if (position.x_m, position.y_m) != (x_m, y_m):
            moved.append(keep(position, {"x_m": x_m, "y_m": y_m, "is_measured": True}, by))
    return moved


@transaction.atomic
def remove_position(position: VehiclePosition, *, by: User | None) -> None:
    """Remove a place and the cable runs that end there.

    Raises :class:`PositionInUse` while a job has something there.
    """
    try:
        signed(position, by).delete()
    except ProtectedError:
        raise PositionInUse(
            _("“{name}” is where a job has something. Move that first, then remove the position.").format(
                name=position.name
            )
        ) from None


def _runs_twice(run: VehicleRun) -> bool:
    pair = Q(start=run.start_id, end=run.end_id) | Q(start=run.end_id, end=run.start_id)
    return VehicleRun.objects.filter(pair, vehicle=run.vehicle_id).exclude(pk=run.pk).exists()


def check_run(run: VehicleRun) -> None:
    """Raise ``ValidationError`` for a run between strangers, to itself, or a second time between the same two."""
    if run.start_id is None or run.end_id is None:
        return
    if run.start_id == run.end_id:
        raise ValidationError({"end": _("A run goes from one position to another.")})
    if {run.start.vehicle_id, run.end.vehicle_id} != {run.vehicle_id}:
        raise ValidationError({"start": _("Both positions must be this vehicle's.")})
    if _runs_twice(run):
        raise ValidationError({"end": _("There is a run between these two already. Change that one.")})


def _keep_run(run: VehicleRun, values: dict[str, Any], by: User | None) -> VehicleRun:
    for name, value in values.items():
        setattr(run, name, value)
    check_run(run)
    return keep(run, {}, by)


@transaction.atomic
def add_run(vehicle: Vehicle, *, by: User | None, **values: Any) -> VehicleRun:
    """Keep a cable way between two positions, its length one way."""
    return _keep_run(VehicleRun(vehicle=vehicle), values, by)


@transaction.atomic
def change_run(run: VehicleRun, *, by: User | None, **values: Any) -> VehicleRun:
    return _keep_run(run, values, by)


@transaction.atomic
def remove_run(run: VehicleRun, *, by: User | None) -> None:
    signed(run, by).delete()


@transaction.atomic
def apply_starter_set(vehicle: Vehicle, chosen: StarterSet, *, by: User | None) -> None:
    """Give a vehicle without positions the usual ones of its body, every run and place marked to be measured.

    Raises :class:`SetNotApplicable` when the vehicle has positions already.
    """
    if vehicle.positions.exists():
        raise SetNotApplicable(_("This vehicle has positions already. A usual set is only a start."))
    spots = {}
    for spot in chosen.spots:
        x_m, y_m = chosen.place_m(spot, vehicle.length_m, vehicle.width_m)
        values = {"name": spot.name, "ambient_c": spot.ambient_c, "engine_space": spot.engine_space}
        spots[spot.name] = add_position(vehicle, by=by, **values, x_m=x_m, y_m=y_m, is_measured=False)
    for start, end, length_m in chosen.runs:
        add_run(vehicle, by=by, start=spots[start], end=spots[end], length_m=length_m, is_measured=False)
