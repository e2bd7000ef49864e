"""Packings made of blocks: quick, neat to build, and mostly the best there is. What is not, the search goes on from."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence

from quoting.sizing.packing_bound import Box

MOST_CUTS = 60
"""Cuts tried along a side. With more, the piece is so small beside the place that rows of it leave little."""


def sums_of(piece: tuple[int, int], most: int, starts: Sequence[int] = (0,)) -> list[int]:
    """Where an edge can lie if everything is pushed together: whole sums of the piece's sides from each start.

    Any packing can be pushed to such places [1]_.

    References
    ----------
    .. [1] Herz, J. C. (1972). Recursive computational procedure for two-dimensional stock cutting. IBM Journal of
       Research and Development 16, 462-469.
    """
    a, b = piece
    found: set[int] = set()
    for start in starts:
        for one in range(start, most + 1, a):
            found.update(range(one, most + 1, b))
    return sorted(found)


def rows_of(length: int, width: int, piece: tuple[int, int]) -> list[Box]:
    """All pieces one way round, whichever way holds more; lying along x where both hold as many."""
    a, b = piece
    lying, standing = (length // a) * (width // b), (length // b) * (width // a)
    along, across = (a, b) if lying >= standing else (b, a)
    return [(i * along, j * across, along, across) for i in range(length // along) for j in range(width // across)]


class Blocks:
    """Packings of one piece into empty rectangles by cutting them right through, each size worked out once."""

    def __init__(self, piece: tuple[int, int], longest: int) -> None:
        self.piece = piece
        self.sums = sums_of(piece, longest)
        self.known: dict[tuple[int, int], int] = {}
        self.cuts: dict[tuple[int, int], tuple[str, int]] = {}

    def shrunk(self, side: int) -> int:
        """The most of a side that pieces can fill."""
        at = bisect_right(self.sums, side)
        return self.sums[at - 1] if at else 0

    def count(self, length: int, width: int) -> int:
        """Pieces in an empty rectangle, by rows and cuts right through."""
        a, b = self.piece
        length, width = self.shrunk(length), self.shrunk(width)
        if min(length, width) < b or max(length, width) < a:
            return 0
        key = (length, width)
        if key in self.known:
            return self.known[key]
        best = max((length // a) * (width // b), (length // b) * (width // a))
        most = length * width // (a * b)
        for way, side in (("x", length), ("y", width)):
            for cut in self._cuts(side):
                if best >= most:
                    break
                if way == "x":
                    got = self.count(cut, width) + self.count(length - cut, width)
                else:
                    got = self.count(length, cut) + self.count(length, width - cut)
                if got > best:
                    best = got
                    self.cuts[key] = (way, cut)
        self.known[key] = best
        return best

    def _cuts(self, side: int) -> list[int]:
        half = bisect_right(self.sums, side // 2)
        return self.sums[1:half][:MOST_CUTS]

    def places(self, x: int, y: int, length: int, width: int) -> list[Box]:
        """The pieces that :meth:`count` counted, from this corner."""
        if not self.count(length, width):
            return []
        length, width = self.shrunk(length), self.shrunk(width)
        way, cut = self.cuts.get((length, width), ("", 0))
        if way == "x":
            return self.places(x, y, cut, width) + self.places(x + cut, y, length - cut, width)
        if way == "y":
            return self.places(x, y, length, cut) + self.places(x, y + cut, length, width - cut)
        return [(x + px, y + py, pl, pw) for px, py, pl, pw in rows_of(length, width, self.piece)]

    def round_a_middle(self, length: int, width: int, at_least: int) -> list[Box]:
        """Five blocks turning round a middle one, where they hold more than ``at_least``; else nothing.

        The fewest blocks that no cut goes right through [1]_.

        References
        ----------
        .. [1] Morabito, R., and Morales, S. (1998). A simple and effective recursive procedure for the
           manufacturer's pallet loading problem. Journal of the Operational Research Society 49, 819-828.
        """
        a, b = self.piece
        length, width = self.shrunk(length), self.shrunk(width)
        most = length * width // (a * b)
        xs = [s for s in self.sums if 0 < s < length][:MOST_CUTS]
        ys = [s for s in self.sums if 0 < s < width][:MOST_CUTS]
        best, found = at_least, None
        if len(xs) * len(ys) > MOST_CUTS * MOST_CUTS // 9:
            return []
        for x1 in xs:
            for x2 in (x for x in xs if x >= x1):
                for y1 in ys:
                    for y2 in (y for y in ys if y >= y1):
                        blocks = _five(length, width, x1, x2, y1, y2)
                        got = sum(self.count(ln, w) for _, _, ln, w in blocks)
                        if got > best:
                            best, found = got, blocks
                            if best >= most:
                                return [place for block in found for place in self.places(*block)]
        return [place for block in found for place in self.places(*block)] if found else []


def _five(length: int, width: int, x1: int, x2: int, y1: int, y2: int) -> tuple[Box, ...]:
    """Left bottom, right bottom, right top, left top, and the middle that they turn round."""
    return (
        (0, 0, x1, y2),
        (x1, 0, length - x1, y1),
        (x2, y1, length - x2, width - y1),
        (0, y2, x2, width - y2),
        (x1, y1, x2 - x1, y2 - y1),
    )


def round_what_is_taken(blocks: Blocks, length: int, width: int, taken: Sequence[Box]) -> list[Box]:
    """Pieces beside what is taken: the place is cut along its edges until the parts are empty."""
    known: dict[Box, tuple[int, list[Box]]] = {}

    def best_of(part: Box) -> tuple[int, list[Box]]:
        if part in known:
            return known[part]
        x, y, ln, w = part
        inside = [t for t in taken if _meet(t, part)]
        if not inside:
            known[part] = (blocks.count(ln, w), [part])
            return known[part]
        best: tuple[int, list[Box]] = (0, [])
        for tx, ty, tl, tw in inside:
            for cut in (tx, tx + tl):
                if x < cut < x + ln:
                    best = max(best, _both(best_of((x, y, cut - x, w)), best_of((cut, y, x + ln - cut, w))), key=_first)
            for cut in (ty, ty + tw):
                if y < cut < y + w:
                    best = max(
                        best, _both(best_of((x, y, ln, cut - y)), best_of((x, cut, ln, y + w - cut))), key=_first
                    )
        known[part] = best
        return best

    _, parts = best_of((0, 0, length, width))
    return [place for part in parts for place in blocks.places(*part)]


def _both(one: tuple[int, list[Box]], other: tuple[int, list[Box]]) -> tuple[int, list[Box]]:
    return one[0] + other[0], one[1] + other[1]


def _first(one: tuple[int, list[Box]]) -> int:
    return one[0]


def _meet(one: Box, other: Box) -> bool:
    """Whether two rectangles share area."""
    x, y, ln, w = one
    ox, oy, oln, ow = other
    return x < ox + oln and ox < x + ln and y < oy + ow and oy < y + w
