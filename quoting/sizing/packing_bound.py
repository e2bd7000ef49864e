"""How many identical rectangles a place with things in it can hold at most: what proves a packing the best there is."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import lru_cache
from itertools import pairwise

Box = tuple[int, int, int, int]
"""x, y, length along x, width along y."""
NO_LIMIT = 1 << 60


def most_by_slices(length: int, width: int, piece: tuple[int, int], taken: Sequence[Box]) -> int:
    r"""Upper bound of the pieces, turned by 90 degrees at will, that a place holds.

    A line across the place cuts :math:`i` pieces lying along it and :math:`j` lying across it, with
    :math:`i a + j b \le` what is free on the line. Summed over all lines of one direction, the numbers of pieces
    that lie each way are a mean of such whole cuts; the same holds for the other direction. The bound is the most
    whole pieces that both sums allow.

    Parameters
    ----------
    length, width : int
        Sides of the place. [any unit of length]
    piece : tuple of int
        Long and short side of a piece. [the same unit]
    taken : sequence of Box
        Rectangles in the place where nothing may lie. [the same unit]

    Returns
    -------
    int
        No packing holds more.

    Notes
    -----
    Without anything taken this is the linear bound of [1]_ and [2]_. Things in the way only change which cuts a line
    allows, so each stripe between their edges is summed with its own.

    References
    ----------
    .. [1] Isermann, H. (1987). Ein Planungssystem zur Optimierung der Palettenbeladung. OR Spektrum 9, 235-249.
    .. [2] Letchford, A. N., and Amaral, A. (2001). Analysis of upper bounds for the pallet loading problem.
       European Journal of Operational Research 132, 582-593.
    """
    a, b = piece
    along = _limits(_stripes(length, width, taken), a, b)
    flipped = [(y, x, w, ln) for x, y, ln, w in taken]
    across = _limits(_stripes(width, length, flipped), a, b)
    free = length * width - _union(taken)
    most = free // (a * b)
    best = 0
    for lying in range(most + 1):
        standing = most - lying
        for per_i, per_j, total in along:
            standing = min(standing, _left(total, per_i * b, per_j * a, lying))
        for per_i, per_j, total in across:
            standing = min(standing, _left(total, per_j * a, per_i * b, lying))
        if standing >= 0:
            best = max(best, lying + standing)
    return best


def _left(total: int, each_lying: int, each_standing: int, lying: int) -> int:
    """Standing pieces that a limit leaves beside so many lying ones; negative: none of them."""
    rest = total - each_lying * lying
    if rest < 0:
        return -1
    return rest // each_standing if each_standing else NO_LIMIT


def _limits(stripes: Iterable[tuple[int, tuple[int, ...]]], a: int, b: int) -> list[tuple[int, int, int]]:
    """Limits (p, q, total): p times what lies along the lines and q times what lies across them sum to no more."""
    lines = [(thick, segments) for thick, segments in stripes if segments]
    hulls = {s: _hull(s, a, b) for _, segments in lines for s in segments}
    normals = {(1, 0), (0, 1)}
    for hull in hulls.values():
        normals |= {(j0 - j1, i1 - i0) for (i0, j0), (i1, j1) in pairwise(hull)}
    found = []
    for p, q in sorted(normals):
        top = {s: max(p * i + q * j for i, j in hull) for s, hull in hulls.items()}
        found.append((p, q, sum(thick * sum(top[s] for s in segments) for thick, segments in lines)))
    return found


@lru_cache(maxsize=4096)
def _hull(free: int, a: int, b: int) -> tuple[tuple[int, int], ...]:
    """Corners of the convex hull of whole cuts (i, j) with i a + j b <= free, from most j to most i."""
    corners: list[tuple[int, int]] = []
    for i in range(free // a + 1):
        point = (i, (free - i * a) // b)
        while len(corners) > 1 and _not_outside(corners[-2], corners[-1], point):
            corners.pop()
        corners.append(point)
    return tuple(corners)


def _not_outside(first: tuple[int, int], middle: tuple[int, int], last: tuple[int, int]) -> bool:
    turn = (middle[0] - first[0]) * (last[1] - first[1]) - (middle[1] - first[1]) * (last[0] - first[0])
    return turn >= 0


def _stripes(length: int, width: int, taken: Sequence[Box]) -> list[tuple[int, tuple[int, ...]]]:
    """Stripes along x between the edges of what is taken: how thick, and the free lengths in each."""
    edges = sorted({0, width, *(e for _, y, _, w in taken for e in (y, y + w) if 0 < e < width)})
    found = []
    for low, high in pairwise(edges):
        there = sorted((x, x + ln) for x, y, ln, w in taken if y < high and y + w > low)
        at, free = 0, []
        for start, end in there:
            if start > at:
                free.append(start - at)
            at = max(at, end)
        if at < length:
            free.append(length - at)
        found.append((high - low, tuple(free)))
    return found


def _union(taken: Sequence[Box]) -> int:
    """Area that rectangles cover together."""
    if not taken:
        return 0
    length, width = max(x + ln for x, _, ln, _ in taken), max(y + w for _, y, _, w in taken)
    free = sum(thick * sum(segments) for thick, segments in _stripes(length, width, taken))
    return length * width - free
