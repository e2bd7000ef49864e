"""The whole search: every way in which pieces pushed together can lie, until the best is found or the work is too much.

Points are taken in order, row by row. At the first that is not settled a piece begins lying, begins standing, or the
point stays bare for good; what stays bare may not come to more than what a better packing could spare.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence

from quoting.sizing.packing_blocks import sums_of
from quoting.sizing.packing_bound import Box, most_by_slices

MOST_NODES = 40_000
"""Points settled before the search is given up: about a tenth of a second."""
MOST_POINTS = 4_000
"""Points in a search; more are not begun."""


class _Board:
    """Points of a place and what covers them: one bit each in whole numbers."""

    def __init__(self, length: int, width: int, piece: tuple[int, int], taken: Sequence[Box]) -> None:
        self.piece = piece
        starts_x = sorted({0, *(x + ln for x, _, ln, _ in taken if x + ln < length)})
        starts_y = sorted({0, *(y + w for _, y, _, w in taken if y + w < width)})
        edges_x = {e for x, _, ln, _ in taken for e in (x, x + ln) if 0 <= e < length}
        edges_y = {e for _, y, _, w in taken for e in (y, y + w) if 0 <= e < width}
        begin_x, begin_y = sums_of(piece, length, starts_x), sums_of(piece, width, starts_y)
        self.xs = sorted({*begin_x, *edges_x, length})
        self.ys = sorted({*begin_y, *edges_y, width})
        self.nx, self.ny = len(self.xs) - 1, len(self.ys) - 1
        self.size = self.nx * self.ny
        self.begins = (frozenset(begin_x), frozenset(begin_y))
        self.taken = taken

    def fill(self) -> None:
        """Work out areas, covers and what may begin where."""
        self.full = (1 << self.size) - 1
        self.area = [
            (self.xs[i + 1] - self.xs[i]) * (self.ys[j + 1] - self.ys[j])
            for j in range(self.ny)
            for i in range(self.nx)
        ]
        self.blocked = 0
        for box in self.taken:
            self.blocked |= self._cover(*box)
        self.free = sum(area for k, area in enumerate(self.area) if not self.blocked >> k & 1)
        a, b = self.piece
        ways = ((a, b),) if a == b else ((a, b), (b, a))
        self.options: list[list[tuple[int, Box]]] = []
        for y in self.ys[:-1]:
            for x in self.xs[:-1]:
                here = []
                if x in self.begins[0] and y in self.begins[1]:
                    for ln, w in ways:
                        if x + ln <= self.xs[-1] and y + w <= self.ys[-1]:
                            cover = self._cover(x, y, ln, w)
                            if not cover & self.blocked:
                                here.append((cover, (x, y, ln, w)))
                self.options.append(here)

    def _cover(self, x: int, y: int, ln: int, w: int) -> int:
        i0, i1 = bisect_left(self.xs, x), min(bisect_left(self.xs, x + ln), self.nx)
        j0, j1 = bisect_left(self.ys, y), min(bisect_left(self.ys, y + w), self.ny)
        row = ((1 << (i1 - i0)) - 1) << i0 if i1 > i0 else 0
        bits = 0
        for j in range(j0, j1):
            bits |= row << (j * self.nx)
        return bits


def search(
    length: int, width: int, piece: tuple[int, int], taken: Sequence[Box], best: list[Box], most: int
) -> tuple[list[Box], bool]:
    """The best packing, from one that is known and a bound that holds; and whether it is proved the best.

    Parameters
    ----------
    length, width : int
        Sides of the place. [any unit of length]
    piece : tuple of int
        Long and short side of a piece. [the same unit]
    taken : sequence of Box
        Where nothing may lie. [the same unit]
    best : list of Box
        A packing to better. [the same unit]
    most : int
        Pieces at which to stop: as many as are wanted, or an upper bound.

    Returns
    -------
    tuple of list and bool
        Places, and whether no packing (up to ``most``) holds more.
    """
    board = _Board(length, width, piece, taken)
    if board.size > MOST_POINTS:
        return best, False
    board.fill()
    return _Searching(board, best, most).run()


class _Searching:
    def __init__(self, board: _Board, best: list[Box], most: int) -> None:
        self.board, self.best, self.most = board, best, most
        self.each = board.piece[0] * board.piece[1]
        self.nodes = 0
        self.seen: dict[int, int] = {}
        self._spare()

    def _spare(self) -> None:
        """Area that may stay bare in a packing of one piece more."""
        self.spare = self.board.free - (len(self.best) + 1) * self.each

    def run(self) -> tuple[list[Box], bool]:
        """Go through the board depth first, what begins before what stays bare."""
        board = self.board
        stack: list[tuple[int, int, tuple[Box, ...]]] = [(board.blocked, 0, ())]
        while stack and len(self.best) < self.most:
            settled, bare, placed = stack.pop()
            if bare > self.spare or self.seen.get(settled, bare + 1) <= bare:
                continue
            self.seen[settled] = bare
            self.nodes += 1
            if self.nodes > MOST_NODES:
                return self.best, False
            at = (~settled & (settled + 1)).bit_length() - 1
            if at >= board.size:
                continue
            stack.append((settled | 1 << at, bare + board.area[at], placed))
            for cover, box in reversed(board.options[at]):
                if not cover & settled:
                    stack.append((settled | cover, bare, (*placed, box)))
                    if len(placed) + 1 > len(self.best):
                        self.best = [*placed, box]
                        self._spare()
        return self.best, True


def bound_of(length: int, width: int, piece: tuple[int, int], taken: Sequence[Box]) -> int:
    """Upper bound of the pieces in a place, its sides first cut to what pieces can fill where nothing is taken."""
    if not taken:
        length, width = (max(s for s in sums_of(piece, side)) for side in (length, width))
    return most_by_slices(length, width, piece, taken)
