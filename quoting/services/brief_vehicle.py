"""What a Brief says of the vehicle, and of the trailer behind it: positions, runs, places and the hitch as one."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from fitouts.models import BatterySpace, Fitout, Hitch, RoofArea, Vehicle, VehiclePosition, VehicleRun
from fitouts.services import towing
from fitouts.services.fitouts import ELECTRIC_VALUES
from fitouts.starter_sets import suggested
from quoting.sizing.brief import Vehicle as SizedVehicle


def vehicle_values(fitout: Fitout) -> dict[str, Any]:
    """The vehicle of a job as the Brief wants it; with a trailer, both and the way across the drawbar."""
    vehicle = fitout.vehicle
    hitch = towing.hitch_of(fitout)
    values: dict[str, Any] = {
        "name": str(vehicle)[:120],  # three columns of 60 make it up
        **{name: getattr(vehicle, name) for name in ELECTRIC_VALUES},
        **_room(fitout),
        **_outline(fitout),
        "positions": [_position(fitout, p) for p in towing.positions_for(fitout)],
        "runs": [
            {"a": str(r.start_id), "b": str(r.end_id), "length_m": r.length_m, "bundled": r.bundled}
            for r in runs_of(fitout)
        ],
        "places": {p.role: str(p.position_id) for p in fitout.placements.all()},
    }
    if hitch is not None:
        values["hitch"] = {
            "tow": str(hitch.tow_position_id),
            "trailer": str(hitch.trailer_position_id),
            "length_m": hitch.length_m,
            "coupling": str(hitch.coupling_id) if hitch.coupling_id else None,
        }
    return values


def air_values(position: VehiclePosition) -> dict[str, Any]:
    """A position and the air there."""
    return {
        "key": str(position.pk),
        "name": position.name,
        "ambient_c": position.ambient_c,
        "engine_space": position.engine_space,
        "aired": position.aired,
        "x_m": position.x_m,
        "y_m": position.y_m,
        "usual_place": position.x_m is not None and not position.is_measured,
    }


def _position(fitout: Fitout, position: VehiclePosition) -> dict[str, Any]:
    values = air_values(position)
    if fitout.trailer_id is not None:
        values["on_trailer"] = position.vehicle_id == fitout.trailer_id
    return values


def _room(fitout: Fitout) -> dict[str, Any]:
    """Roof of whichever carries the panels, spaces of whichever the battery; of payload the less, where parts sit on
    both."""
    sides = {"tow": fitout.vehicle, "trailer": fitout.trailer}
    at = {p.role: _side(fitout, p.position) for p in fitout.placements.select_related("position")}
    roof = sides[at.get("array", "tow")] or fitout.vehicle
    carrying: Iterable[Vehicle | None] = [sides[side] for side in sorted(set(at.values()))] or [fitout.vehicle]
    left = [vehicle.payload_left_kg for vehicle in carrying if vehicle is not None]
    known = [kg for kg in left if kg is not None]
    boxed = sides[at.get("battery", "tow")] or fitout.vehicle
    return {
        "roof_length_m": roof.roof_length_m,
        "roof_width_m": roof.roof_width_m,
        "payload_left_kg": min(known) if known and len(known) == len(left) else None,
        "roof": tuple(area_values(area, on_trailer=roof.pk == fitout.trailer_id) for area in roof.roof_areas.all()),
        "battery_spaces": tuple(space_values(space) for space in boxed.battery_spaces.all()),
    }


def area_values(area: RoofArea, *, on_trailer: bool = False) -> dict[str, Any]:
    """A roof area as the Brief wants it, with what stands in it."""
    return {
        "key": str(area.pk),
        "name": area.name,
        "length_m": area.length_m,
        "width_m": area.width_m,
        "x_m": area.x_m,
        "y_m": area.y_m,
        "on_trailer": on_trailer,
        "taken": tuple(area.taken),
    }


def space_values(space: BatterySpace) -> dict[str, Any]:
    """A battery space as the Brief wants it."""
    sides = ("length_mm", "width_mm", "height_mm")
    return {"key": str(space.pk), "name": space.name, **{side: getattr(space, side) for side in sides}}


def _outline(fitout: Fitout) -> dict[str, Any]:
    """How long and wide the plan is, and what a floor is made of."""
    tow, trailer = fitout.vehicle, fitout.trailer
    values = {
        "length_m": tow.length_m,
        "width_m": tow.width_m,
        "body": tow.body_material,
        "is_trailer": tow.is_trailer,
        **usual_size(tow.body, "usual"),
    }
    if trailer is None:
        return values
    behind = {
        **usual_size(trailer.body or "trailer", "usual_trailer"),
        "trailer_length_m": trailer.length_m,
        "trailer_width_m": trailer.width_m,
        "trailer_body": trailer.body_material,
    }
    return values | behind


def usual_size(body: str, start: str) -> dict[str, float]:
    """Length and width of such a body, for a plan of one that nobody measured; nothing where the body says nothing."""
    usual = suggested(body)
    return {f"{start}_length_m": usual.length_m, f"{start}_width_m": usual.width_m} if usual else {}


def _side(fitout: Fitout, position: VehiclePosition) -> str:
    return "trailer" if fitout.trailer_id and position.vehicle_id == fitout.trailer_id else "tow"


def runs_of(fitout: Fitout) -> list[VehicleRun]:
    """Cable ways of both vehicles; the one across the drawbar is the hitch and not among them."""
    runs = list(fitout.vehicle.runs.all())
    return runs + (list(fitout.trailer.runs.all()) if fitout.trailer else [])


def surveyed(
    vehicle: Vehicle,
    positions: Iterable[VehiclePosition],
    runs: Iterable[VehicleRun],
    areas: Iterable[RoofArea] = (),
) -> SizedVehicle | None:
    """A vehicle as its survey has it, for its plan; nothing while it has no position."""
    spots = [air_values(p) for p in positions]
    if not spots:
        return None
    values = {
        "name": str(vehicle)[:120],
        "nominal_v": vehicle.nominal_v,
        "alternator_control": vehicle.alternator_control,
        "length_m": vehicle.length_m,
        "width_m": vehicle.width_m,
        "is_trailer": vehicle.is_trailer,
        **usual_size(vehicle.body or ("trailer" if vehicle.is_trailer else ""), "usual"),
        "positions": tuple(spots),
        "runs": tuple(
            {"a": str(r.start_id), "b": str(r.end_id), "length_m": r.length_m, "bundled": r.bundled} for r in runs
        ),
        "roof": tuple(area_values(area) for area in areas),
    }
    return SizedVehicle.model_validate(values)


def not_joined(
    positions: dict[int, VehiclePosition], runs: Iterable[VehicleRun], hitch: Hitch | None, ends: list[int]
) -> list[VehiclePosition]:
    """Positions in use that no runs join to the first of them."""
    if not ends:
        return []
    near: dict[int, set[int]] = {pk: set() for pk in positions}
    pairs = [(run.start_id, run.end_id) for run in runs]
    if hitch is not None:
        pairs.append((hitch.tow_position_id, hitch.trailer_position_id))
    for a, b in pairs:
        near[a].add(b)
        near[b].add(a)
    reached, todo = {ends[0]}, [ends[0]]
    while todo:
        for there in near.get(todo.pop(), ()):
            if there not in reached:
                reached.add(there)
                todo.append(there)
    return [positions[pk] for pk in dict.fromkeys(ends) if pk not in reached and pk in positions]
