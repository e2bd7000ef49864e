"""Vehicles that may be picked for a fleet run, with what would stop each."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from django.db.models import QuerySet

from fitouts.models import Fitout, Stage, Vehicle, VehiclePosition
from fitouts.queries import vehicles_for
from fitouts.services.fitouts import ASIDE


@dataclass(frozen=True, slots=True)
class Candidate:
    """A vehicle that may be picked, with what it lacks of the brief and the jobs it has."""

    vehicle: Vehicle
    picked: bool
    lacks: tuple[str, ...] = ()
    """Names of positions in the brief that its survey does not have."""
    jobs: tuple[str, ...] = ()
    """Numbers of its jobs under way."""


def candidates(vehicles: Iterable[Vehicle], picked: set[int], content: dict[str, Any] | None) -> list[Candidate]:
    """Vehicles with what would stop each; two queries. Without a brief nothing is known to lack."""
    rows = list(vehicles)
    keys = [vehicle.pk for vehicle in rows]
    spots: dict[int, set[str]] = {}
    for key, name in VehiclePosition.objects.filter(vehicle__in=keys).values_list("vehicle", "name"):
        spots.setdefault(key, set()).add(name)
    jobs = jobs_under_way(rows)
    wanted = positions_of(content) if content else ()
    return [
        Candidate(
            vehicle,
            vehicle.pk in picked,
            tuple(name for name in wanted if name not in spots.get(vehicle.pk, ())),
            tuple(jobs.get(vehicle.pk, ())),
        )
        for vehicle in rows
    ]


def jobs_under_way(vehicles: Iterable[Vehicle]) -> dict[int, list[str]]:
    """By vehicle, the numbers of its jobs that are neither over nor set aside; one query."""
    found: dict[int, list[str]] = {}
    rows = Fitout.objects.filter(vehicle__in=[vehicle.pk for vehicle in vehicles])
    rows = rows.exclude(stage__in=(*ASIDE, Stage.DELIVERED, Stage.CLOSED)).order_by("pk")
    for key, number in rows.values_list("vehicle", "number"):
        found.setdefault(key, []).append(number)
    return found


def positions_of(content: dict[str, Any]) -> tuple[str, ...]:
    """Names of the vehicle's positions that a brief uses, each once."""
    lines = [row.get("position") for row in content["lines"] if not row.get("on_trailer")]
    senses = [row["position"] for row in content.get("senses", ()) if not row.get("on_trailer")]
    return tuple(dict.fromkeys(name for name in (*content["places"].values(), *lines, *senses) if name))


def like(vehicle: Vehicle, user: Any) -> QuerySet[Vehicle]:
    """Vehicles in use of the same owner, make and model."""
    rows = vehicles_for(user).filter(customer=vehicle.customer_id, retired_at=None, customer__retired_at=None)
    return rows.filter(make=vehicle.make, model=vehicle.model).exclude(pk=vehicle.pk).order_by("registration", "pk")
