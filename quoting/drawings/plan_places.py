"""Where positions are on the vehicle plan: as measured, as usual, or placed so that the cable lengths fit.

Metres in the vehicle's own frame: x behind the front (of a trailer: behind its coupling), y right of the middle.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal

from quoting.sizing.brief import Position, Vehicle

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[Any]

Pull = tuple[float, float | None]
How = Literal["measured", "usual", "lengths"]

USUAL_M, USUAL_TRAILER_M = (5.0, 1.9), (4.8, 2.0)
"""Length and width of a tow vehicle and of a trailer where nothing is known of the body. [m] C"""
DRAWBAR_RATIO, DRAWBAR_MOST_M = 0.27, 1.6
"""Drawbar over a trailer's length, and the longest drawn. C, for the outline alone."""
LAID_RATIO = 0.75
"""Straight distance over the length of a cable, which goes round corners and up and down. C"""
APART_M, EDGE_M = 0.4, 0.12
"""Kept between two places that are not measured, and to the outline. [m] For reading."""
FRONT_RATIO = 0.16
"""Where an engine space is, over the vehicle's length. C"""
MOST_ROUNDS = 300


@dataclass(frozen=True, slots=True)
class Outline:
    """A vehicle from above. [m]"""

    length_m: float
    width_m: float
    is_measured: bool
    drawbar_m: float = 0.0
    """From the coupling to the body; 0 for a vehicle that is not towed."""


@dataclass(frozen=True, slots=True)
class Spot:
    """A position on the plan."""

    position: Position
    x_m: float
    y_m: float
    how: How


@dataclass(frozen=True, slots=True)
class Placed:
    """Everything of the plan in metres, each vehicle in its own frame."""

    tow: Outline
    trailer: Outline | None
    spots: tuple[Spot, ...]

    def spot(self, key: str) -> Spot:
        return next(s for s in self.spots if s.position.key == key)


def place(vehicle: Vehicle) -> Placed:
    """Place every position of a vehicle and of the trailer behind it.

    Parameters
    ----------
    vehicle : Vehicle
        Positions without a place are put where the lengths of the runs fit best: the stress of all pairs is least
        (Kamada and Kawai 1989), inside the outline, engine space towards the front, hitch at its end.

    Returns
    -------
    Placed
        In the order of the vehicle's positions; equal vehicles give equal places. [m]
    """
    towed = [p for p in vehicle.positions if p.on_trailer]
    tow = _outline(
        (vehicle.length_m, vehicle.width_m), (vehicle.usual_length_m, vehicle.usual_width_m), USUAL_M,
        [p for p in vehicle.positions if not p.on_trailer], towed=vehicle.is_trailer,
    )  # fmt: skip
    trailer = None
    if towed or vehicle.hitch is not None:
        trailer = _outline(
            (vehicle.trailer_length_m, vehicle.trailer_width_m),
            (vehicle.usual_trailer_length_m, vehicle.usual_trailer_width_m), USUAL_TRAILER_M, towed, towed=True,
        )  # fmt: skip
    places: dict[str, tuple[float, float, How]] = {}
    for outline, side in ((tow, False), (trailer, True)):
        if outline is not None:
            places |= _side(vehicle, [p for p in vehicle.positions if p.on_trailer is side], outline)
    return Placed(tow, trailer, tuple(Spot(p, *places[p.key]) for p in vehicle.positions))


def _outline(
    measured: tuple[float | None, float | None],
    usual: tuple[float | None, float | None],
    fallback: tuple[float, float],
    positions: Sequence[Position],
    towed: bool,
) -> Outline:
    """The size as measured, else as such bodies have it; grown where a measured place is outside."""
    length = measured[0] or usual[0] or fallback[0]
    width = measured[1] or usual[1] or fallback[1]
    length = max([length, *(p.x_m for p in positions if p.x_m is not None)])
    width = max([width, *(2 * abs(p.y_m) for p in positions if p.y_m is not None)])
    drawbar = min(DRAWBAR_RATIO * length, DRAWBAR_MOST_M) if towed else 0.0
    return Outline(length, width, None not in measured, drawbar)


def _side(vehicle: Vehicle, positions: list[Position], outline: Outline) -> dict[str, tuple[float, float, How]]:
    known: dict[str, tuple[float, float, How]] = {
        p.key: (p.x_m, p.y_m, "usual" if p.usual_place else "measured")
        for p in positions
        if p.x_m is not None and p.y_m is not None
    }
    open_ = [p for p in positions if p.key not in known]
    if not open_:
        return known
    fixed = {p.key: known[p.key][:2] for p in positions if p.key in known}
    found = _fit(vehicle, positions, fixed, outline)
    return known | {p.key: (*found[p.key], "lengths") for p in open_}


def _fit(
    vehicle: Vehicle, positions: list[Position], fixed: dict[str, tuple[float, float]], outline: Outline
) -> dict[str, tuple[float, float]]:
    """Coordinates of all, those in ``fixed`` kept."""
    import numpy as np
    from scipy.optimize import minimize

    keys = [p.key for p in positions]
    wanted = LAID_RATIO * _lengths(vehicle, keys, math.hypot(outline.length_m, outline.width_m))
    pulls = _pulls(vehicle, positions, outline)
    start = _start(keys, wanted, fixed, pulls, outline)
    free = np.array([key not in fixed for key in keys])
    upper = np.triu_indices(len(keys), 1)
    goal = wanted[upper]

    def stress(flat: Array) -> tuple[float, Array]:
        at = start.copy()
        at[free] = flat.reshape(-1, 2)
        gap = at[upper[0]] - at[upper[1]]
        far = np.maximum(np.hypot(gap[:, 0], gap[:, 1]), 1e-6)
        off, near = (far - goal) / goal, np.maximum(0.0, APART_M - far) / APART_M
        slope = (2 * off / goal - 20 * near / APART_M) / far
        grown = np.zeros_like(at)
        np.add.at(grown, upper[0], slope[:, None] * gap)
        np.add.at(grown, upper[1], -slope[:, None] * gap)
        value = float((off**2).sum() + 10 * (near**2).sum())
        for index, pull in pulls.items():
            for axis, to_m in enumerate(pull):
                if to_m is not None:
                    value += 4.0 * (at[index, axis] - to_m) ** 2
                    grown[index, axis] += 8.0 * (at[index, axis] - to_m)
        return value, grown[free].ravel()

    bounds = [_within(outline.length_m), _across(outline.width_m)] * int(free.sum())
    low, high = np.array(bounds).T
    found = minimize(
        stress, np.clip(start[free].ravel(), low, high), jac=True, method="L-BFGS-B", bounds=bounds,
        options={"maxiter": MOST_ROUNDS},
    )  # fmt: skip
    at = start.copy()
    at[free] = found.x.reshape(-1, 2)
    return {
        key: (_hundredth(_off_drawbar(x, key, vehicle, outline)), _hundredth(y))
        for key, (x, y) in zip(keys, at, strict=True)
    }


def _off_drawbar(x_m: float, key: str, vehicle: Vehicle, outline: Outline) -> float:
    """A place that nobody measured is in the body, not on the drawbar, but for the end of the hitch."""
    if vehicle.hitch is not None and key == vehicle.hitch.trailer:
        return x_m
    return max(x_m, outline.drawbar_m + EDGE_M) if outline.drawbar_m else x_m


def _hundredth(value: float) -> float:
    return round(float(value), 2) + 0.0


def _within(length_m: float) -> tuple[float, float]:
    return EDGE_M, length_m - EDGE_M


def _across(width_m: float) -> tuple[float, float]:
    return EDGE_M - width_m / 2, width_m / 2 - EDGE_M


def _lengths(vehicle: Vehicle, keys: list[str], unknown_m: float) -> Array:
    """Shortest cable way between each two of one side; where none joins them, the outline's diagonal. [m]"""
    import numpy as np
    from scipy.sparse.csgraph import shortest_path

    index = {key: i for i, key in enumerate(keys)}
    direct = np.zeros((len(keys), len(keys)))
    for run in vehicle.runs:
        if run.a in index and run.b in index:
            a, b = index[run.a], index[run.b]
            shortest = min(run.length_m, direct[a, b] or run.length_m)
            direct[a, b] = direct[b, a] = shortest
    found = np.asarray(shortest_path(direct, directed=False))
    return np.maximum(np.where(np.isfinite(found), found, unknown_m), 0.1)


def _pulls(vehicle: Vehicle, positions: list[Position], outline: Outline) -> dict[int, Pull]:
    """Where some are drawn to: engine spaces to the front, the ends of the hitch to it."""
    front_m = FRONT_RATIO * outline.length_m
    pulls: dict[int, Pull] = {
        i: (front_m, None) for i, p in enumerate(positions) if p.engine_space and not p.on_trailer
    }
    if vehicle.hitch is not None:
        for i, p in enumerate(positions):
            if p.key == vehicle.hitch.tow:
                pulls[i] = outline.length_m, 0.0
            elif p.key == vehicle.hitch.trailer:
                pulls[i] = 0.0, 0.0
    return pulls


def _start(
    keys: list[str],
    wanted: Array,
    fixed: dict[str, tuple[float, float]],
    pulls: dict[int, Pull],
    outline: Outline,
) -> Array:
    """Where the search begins: classical scaling turned along the vehicle, or round the measured places."""
    import numpy as np

    at = np.zeros((len(keys), 2))
    known = [i for i, key in enumerate(keys) if key in fixed]
    for i in known:
        at[i] = fixed[keys[i]]
    if known:
        for i in (i for i, key in enumerate(keys) if key not in fixed):
            near = min(known, key=lambda k: (wanted[i, k], k))
            turn = i * math.pi * (3 - math.sqrt(5))
            at[i] = at[near] + wanted[i, near] * np.array([math.cos(turn), math.sin(turn)])
        return at
    centred = np.eye(len(keys)) - 1 / len(keys)
    values, vectors = np.linalg.eigh(-0.5 * centred @ wanted**2 @ centred)
    axes = [vectors[:, -k] * math.sqrt(max(values[-k], 0.0)) for k in (1, 2) if k <= len(keys)]
    for k, axis in enumerate(axes):
        first = next((i for i in range(len(keys)) if abs(axis[i]) > 1e-9), 0)
        at[:, k] = -axis if axis[first] > 0 else axis
    ahead = [i for i in pulls if pulls[i][0] < outline.length_m / 2] or [0]
    behind = [i for i in pulls if pulls[i][0] >= outline.length_m / 2]
    front = float(np.mean(at[ahead, 0]))
    if (behind and front > float(np.mean(at[behind, 0]))) or (not behind and front > 0):
        at[:, 0] *= -1
    at[:, 0] += outline.length_m / 2
    return at
