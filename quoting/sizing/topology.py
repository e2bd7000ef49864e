"""Ways through the vehicle: the shortest cable way between two positions and the worst found along it."""

from __future__ import annotations

import heapq
from dataclasses import dataclass
from itertools import pairwise

from quoting.sizing.brief import Position, Role, Vehicle
from quoting.sizing.errors import SizingError

SAME_PLACE_M = 0.5
"""One-way length between two things at the same position. [m] C, workshop practice."""


@dataclass(frozen=True, slots=True)
class Way:
    """A cable way, one way, with the worst of what it passes."""

    positions: tuple[str, ...]
    run_m: float
    ambient_c: float
    bundled: int
    engine_space: bool
    crossings: int = 0
    """Times it passes the hitch."""


def place(vehicle: Vehicle, role: Role) -> str:
    """Position of a role; :class:`SizingError` when the survey does not say."""
    try:
        return vehicle.places[role]
    except KeyError:
        raise SizingError(f"vehicle.places.{role}", code="missing") from None


def position(vehicle: Vehicle, key: str) -> Position:
    """The position of that key; :class:`SizingError` when there is none."""
    for p in vehicle.positions:
        if p.key == key:
            return p
    raise SizingError("vehicle.positions", value=key, code="not_a_choice", message=f"there is no position {key!r}")


def way(vehicle: Vehicle, a: str, b: str) -> Way:
    """Find the shortest way between two positions (Dijkstra 1959).

    Parameters
    ----------
    vehicle : Vehicle
        With its positions and runs.
    a, b : str
        Keys of the two ends.

    Returns
    -------
    Way
        One-way length, hottest air, most conductors together; equal lengths are settled by the names passed. Between
        tow vehicle and trailer it leads over the hitch.

    Raises
    ------
    SizingError
        If no runs join the two; it names both.
    """
    start, end = position(vehicle, a), position(vehicle, b)
    if a == b:
        return Way((a,), SAME_PLACE_M, start.ambient_c, 1, start.engine_space)
    near: dict[str, list[tuple[str, float, int]]] = {}
    for run in vehicle.runs:
        near.setdefault(run.a, []).append((run.b, run.length_m, run.bundled))
        near.setdefault(run.b, []).append((run.a, run.length_m, run.bundled))
    hitch = vehicle.hitch
    if hitch is not None:
        near.setdefault(hitch.tow, []).append((hitch.trailer, hitch.length_m, 1))
        near.setdefault(hitch.trailer, []).append((hitch.tow, hitch.length_m, 1))
    queue: list[tuple[float, tuple[str, ...], int]] = [(0.0, (a,), 1)]
    done: set[str] = set()
    while queue:
        length, passed, bundled = heapq.heappop(queue)
        here = passed[-1]
        if here == b:
            spots = [position(vehicle, key) for key in passed]
            over = sum(a.on_trailer != b.on_trailer for a, b in pairwise(spots))
            hot = max(p.ambient_c for p in spots)
            return Way(passed, length, hot, bundled, any(p.engine_space for p in spots), over)
        if here in done:
            continue
        done.add(here)
        for there, more, together in near.get(here, ()):
            if there not in done:
                heapq.heappush(queue, (round(length + more, 6), (*passed, there), max(bundled, together)))
    raise SizingError(
        "vehicle.runs",
        code="missing_run",
        message=f"no cable way from {start.name!r} ({a}) to {end.name!r} ({b}). Add the runs between them.",
    )
