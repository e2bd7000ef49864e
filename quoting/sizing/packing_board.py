"""A place to pack as points: where pieces that are pushed together can begin, and what each would cover."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence

from quoting.sizing.packing_blocks import sums_of
from quoting.sizing.packing_bound import Box


class Board:
    """Points of a place and what covers them, one bit each in whole numbers; ``nx`` points to a row."""

    def __init__(self, length: int, width: int, piece: tuple[int, int], taken: Sequence[Box]) -> None:
        begin_x = sums_of(piece, length, sorted({0, *(x + ln for x, _, ln, _ in taken)}))
        begin_y = sums_of(piece, width, sorted({0, *(y + w for _, y, _, w in taken)}))
        self.xs = sorted({*begin_x, *(x for x, _, _, _ in taken), length})
        self.ys = sorted({*begin_y, *(y for _, y, _, _ in taken), width})
        self.nx, self.ny = len(self.xs) - 1, len(self.ys) - 1
        self.options = self._options(piece, taken, set(begin_x), set(begin_y))
        reached = 0
        for here in self.options:
            for cover, _ in here:
                reached |= cover
        self.closed = ((1 << self.nx * self.ny) - 1) & ~reached
        """Points that something stands on or that no piece can cover."""

    def _options(
        self, piece: tuple[int, int], taken: Sequence[Box], begin_x: set[int], begin_y: set[int]
    ) -> list[list[tuple[int, Box]]]:
        """What may begin at each point, where nothing else lies yet."""
        blocked = 0
        for box in taken:
            blocked |= self._cover(box)
        a, b = piece
        ways = ((a, b),) if a == b else ((a, b), (b, a))
        found: list[list[tuple[int, Box]]] = []
        for y in self.ys[:-1]:
            for x in self.xs[:-1]:
                boxes = [(x, y, ln, w) for ln, w in ways if x + ln <= self.xs[-1] and y + w <= self.ys[-1]]
                covers = [(self._cover(box), box) for box in boxes if x in begin_x and y in begin_y]
                found.append([(cover, box) for cover, box in covers if not cover & blocked])
        return found

    def _cover(self, box: Box) -> int:
        x, y, ln, w = box
        i0, i1 = bisect_left(self.xs, x), min(bisect_left(self.xs, x + ln), self.nx)
        j0, j1 = bisect_left(self.ys, y), min(bisect_left(self.ys, y + w), self.ny)
        row = ((1 << (i1 - i0)) - 1) << i0
        return sum(row << (j * self.nx) for j in range(j0, j1))
