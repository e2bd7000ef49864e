"""Ways of cable runs on the vehicle plan: along and across, side by side where they share a way. Millimetres.

Each run takes the best of a few ways with at most three bends; runs that then lie on one another are set apart, so that
each can be followed by eye from end to end.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise

from quoting.drawings.pen import Point
from quoting.drawings.placing import Rect

LANE_MM, TRUNK_MM = 1.5, 9.0
"""Between two runs side by side, and the widest that such a bundle is drawn. [mm]"""
STRAIGHT_MM = 0.4
"""Ends this near to one line are joined by it. [mm]"""
CLEAR_MM = 3.0
"""Kept to the mark of a position that a run does not end at. [mm]"""
BEND_COST, CROSS_COST, MARK_COST, SHARED_COST = 5.0, 6.0, 60.0, 0.6
"""What a bend, a crossing, a mark on the way and a millimetre on another run weigh against a millimetre more. House
practice: found by looking."""

Route = tuple[Point, ...]
SHARES = (0.5, 0.35, 0.65, 0.2, 0.8)


@dataclass(slots=True)
class _Segment:
    """A straight piece of a route; ``at`` is its y where it lies along the vehicle, else its x."""

    route: int
    index: int
    is_along: bool
    at: float
    low: float
    high: float
    leans: float
    """Where the rest of the route goes, against ``at``: orders those side by side so that they cross little."""


def lay(ends: Sequence[tuple[Point, Point]], marks: Iterable[Point], inside: Rect) -> list[Route]:
    """Find a way for every run.

    Parameters
    ----------
    ends : sequence of pairs of points
        Where each run begins and ends. [mm]
    marks : iterable of points
        Every position's place. [mm]
    inside : Rect
        The vehicle's outline; ways along its sides keep a little off it. [mm]

    Returns
    -------
    list of tuple of points
        In the order of ``ends``, each of straight pieces along or across.
    """
    spots = list(marks)
    made: list[Route | None] = [None] * len(ends)
    laid: list[Route] = []
    for index in sorted(range(len(ends)), key=lambda i: (math.dist(*ends[i]), i)):
        a, b = ends[index]
        others = [m for m in spots if math.dist(m, a) > 0.1 and math.dist(m, b) > 0.1]
        best = min(_ways(a, b, inside), key=lambda way: _cost(way, others, laid))
        made[index] = best
        laid.append(best)
    return _side_by_side([route for route in made if route is not None])


def _ways(a: Point, b: Point, inside: Rect) -> list[Route]:
    (ax, ay), (bx, by) = a, b
    ways: list[Route] = []
    if abs(ax - bx) < STRAIGHT_MM or abs(ay - by) < STRAIGHT_MM:
        along = abs(ay - by) < STRAIGHT_MM
        ways.append((a, (bx, ay)) if along else (a, (ax, by)))
        for off in (-3 * CLEAR_MM, -2 * CLEAR_MM, 2 * CLEAR_MM, 3 * CLEAR_MM):
            ways.append((a, (ax, ay + off), (bx, ay + off), b) if along else (a, (ax + off, ay), (ax + off, by), b))
    else:
        ways += [(a, (bx, ay), b), (a, (ax, by), b)]
        for share in SHARES:
            x, y = ax + share * (bx - ax), ay + share * (by - ay)
            ways += [(a, (x, ay), (x, by), b), (a, (ax, y), (bx, y), b)]
    ways = [way for way in ways if all(inside.y0 < y < inside.y1 for _, y in way[1:-1])] or ways[:1]
    for y in (inside.y0 + CLEAR_MM, inside.y1 - CLEAR_MM):
        if abs(y - ay) > 1 and abs(y - by) > 1:
            ways.append((a, (ax, y), (bx, y), b))
    for x in (min(ax, bx) - 2 * CLEAR_MM, max(ax, bx) + 2 * CLEAR_MM):
        if inside.x0 < x < inside.x1:
            ways.append((a, (x, ay), (x, by), b))
    return ways


def _cost(way: Route, others: Sequence[Point], laid: Sequence[Route]) -> float:
    cost = math.fsum(math.dist(p, q) for p, q in pairwise(way)) + BEND_COST * (len(way) - 2)
    for p, q in pairwise(way):
        cost += MARK_COST * sum(_near(mark, p, q) for mark in others)
        for route in laid:
            for r, s in pairwise(route):
                cost += SHARED_COST * _shared(p, q, r, s) + CROSS_COST * _crosses(p, q, r, s)
    return cost


def _near(mark: Point, p: Point, q: Point) -> bool:
    x = min(max(mark[0], min(p[0], q[0])), max(p[0], q[0]))
    y = min(max(mark[1], min(p[1], q[1])), max(p[1], q[1]))
    return math.dist(mark, (x, y)) < CLEAR_MM


def _is_along(p: Point, q: Point) -> bool:
    return abs(p[1] - q[1]) <= abs(p[0] - q[0])


def _shared(p: Point, q: Point, r: Point, s: Point) -> float:
    """Length on which two pieces lie on one another. [mm]"""
    if _is_along(p, q) != _is_along(r, s):
        return 0.0
    axis, other = (0, 1) if _is_along(p, q) else (1, 0)
    if abs(p[other] - r[other]) > LANE_MM:
        return 0.0
    return max(
        0.0, min(max(p[axis], q[axis]), max(r[axis], s[axis])) - max(min(p[axis], q[axis]), min(r[axis], s[axis]))
    )


def _crosses(p: Point, q: Point, r: Point, s: Point) -> bool:
    if _is_along(p, q) == _is_along(r, s):
        return False
    (h0, h1), (v0, v1) = ((p, q), (r, s)) if _is_along(p, q) else ((r, s), (p, q))
    x, y = v0[0], h0[1]
    return min(h0[0], h1[0]) < x < max(h0[0], h1[0]) and min(v0[1], v1[1]) < y < max(v0[1], v1[1])


# --- side by side ----------------------------------------------------------------------------------------------------


def _side_by_side(routes: list[Route]) -> list[Route]:
    segments = [_segment(routes, i, j) for i, route in enumerate(routes) for j in range(len(route) - 1)]
    for group in _groups(segments):
        pitch = min(LANE_MM, TRUNK_MM / (len(group) - 1))
        middle = sum(s.at for s in group) / len(group)
        for lane, segment in enumerate(sorted(group, key=lambda s: (s.leans, s.route, s.index))):
            segment.at = middle + (lane - (len(group) - 1) / 2) * pitch
    by_route: dict[int, list[_Segment]] = {}
    for segment in segments:
        by_route.setdefault(segment.route, []).append(segment)
    return [_joined(routes[i], by_route[i]) for i in range(len(routes))]


def _segment(routes: list[Route], i: int, j: int) -> _Segment:
    route = routes[i]
    p, q = route[j], route[j + 1]
    is_along = _is_along(p, q)
    axis, other = (0, 1) if is_along else (1, 0)
    rest = [point[other] - p[other] for k, point in enumerate(route) if k not in (j, j + 1)]
    leans = math.fsum(rest) / len(rest) if rest else 0.0
    return _Segment(i, j, is_along, p[other], min(p[axis], q[axis]), max(p[axis], q[axis]), leans)


def _groups(segments: list[_Segment]) -> list[list[_Segment]]:
    """Pieces of different routes that lie on one another, each group whole."""
    of = list(range(len(segments)))

    def root(i: int) -> int:
        while of[i] != i:
            i = of[i]
        return i

    for i, j in combinations(range(len(segments)), 2):
        a, b = segments[i], segments[j]
        if a.route == b.route or a.is_along != b.is_along or abs(a.at - b.at) > LANE_MM * 0.7:
            continue
        if min(a.high, b.high) - max(a.low, b.low) > 0.5:
            of[root(j)] = root(i)
    found: dict[int, list[_Segment]] = {}
    for i, segment in enumerate(segments):
        found.setdefault(root(i), []).append(segment)
    return [group for group in found.values() if len(group) > 1]


def _joined(route: Route, segments: list[_Segment]) -> Route:
    """Corners anew where pieces were moved; an end stays level with its mark along the piece, and moves across it."""
    points: list[Point] = []
    for k, point in enumerate(route):
        before, after = segments[k - 1] if k else None, segments[k] if k < len(segments) else None
        x, y = point
        for segment in (before, after):
            if segment is not None:
                x, y = (x, segment.at) if segment.is_along else (segment.at, y)
        points.append((x, y))
    return tuple(points)
