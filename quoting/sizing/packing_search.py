"""The whole search: every way in which pieces pushed together can lie, until the best is found or the work is too much.

Points are taken in order, row by row along the shorter side. At the first that is not settled a piece begins lying,
begins standing, or the point stays bare for good. What stays bare, and what each row must leave bare as no pieces sum
to its free length, may not come to more than what a better packing could spare.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from itertools import pairwise

from quoting.sizing.packing_blocks import sums_of
from quoting.sizing.packing_board import Board
from quoting.sizing.packing_bound import Box
from quoting.sizing.packing_programme import by_programme

MOST_NODES = 6_000
"""Points settled before the search is given up: about a hundredth of a second."""
MOST_POINTS = 4_000
"""Points in a search; more are not begun."""


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
    if length > width:
        found, proved = search(width, length, piece, _turned(taken), _turned(best), most)
        return _turned(found), proved
    board = Board(length, width, piece, taken)
    if board.nx * board.ny > MOST_POINTS:
        return best, False
    found, proved = _Searching(board, piece, best, most).run()
    return (found, proved) if proved else by_programme(board, found, most)


def _turned(boxes: Sequence[Box]) -> list[Box]:
    return [(y, x, w, ln) for x, y, ln, w in boxes]


class _Searching:
    def __init__(self, board: Board, piece: tuple[int, int], best: list[Box], most: int) -> None:
        self.board, self.best, self.most = board, best, most
        self.each = piece[0] * piece[1]
        self.sums = sums_of(piece, board.xs[-1])
        self.row = (1 << board.nx) - 1
        self.thick = [high - low for low, high in pairwise(board.ys)]
        rows = [board.closed >> j * board.nx & self.row for j in range(board.ny)]
        self.lost_in: dict[int, int] = {}
        self.lost_above = [0] * (board.ny + 1)
        for j in reversed(range(board.ny)):
            self.lost_above[j] = self.lost_above[j + 1] + self.thick[j] * self._lost(rows[j])
        self.free = sum(thick * self._open(row) for thick, row in zip(self.thick, rows, strict=True))
        self._spare()

    def _spare(self) -> None:
        """Area that may stay bare in a packing of one piece more."""
        self.spare = self.free - (len(self.best) + 1) * self.each

    def _runs(self, settled: int) -> list[tuple[int, int]]:
        """Stretches of a row that are not settled, as point numbers from and to."""
        left, found = ~settled & self.row, []
        while left:
            start = (left & -left).bit_length() - 1
            rest = left >> start
            size = (~rest & (rest + 1)).bit_length() - 1
            found.append((start, start + size))
            left &= ~(((1 << size) - 1) << start)
        return found

    def _open(self, settled: int) -> int:
        return sum(self.board.xs[end] - self.board.xs[start] for start, end in self._runs(settled))

    def _lost(self, settled: int) -> int:
        """Length of a row that stays bare however pieces lie in it, as no sum of sides fills its stretches."""
        lost = self.lost_in.get(settled)
        if lost is None:
            lengths = [self.board.xs[end] - self.board.xs[start] for start, end in self._runs(settled)]
            lost = sum(free - self.sums[bisect_right(self.sums, free) - 1] for free in lengths)
            self.lost_in[settled] = lost
        return lost

    def run(self) -> tuple[list[Box], bool]:
        """Go through the board depth first, what begins before what stays bare."""
        board, nodes, seen, nx = self.board, 0, dict[int, int](), self.board.nx
        stack: list[tuple[int, int, tuple[Box, ...]]] = [(board.closed, 0, ())]
        while stack and len(self.best) < self.most:
            settled, bare, placed = stack.pop()
            at = (~settled & (settled + 1)).bit_length() - 1
            j, i = divmod(at, nx)
            if j >= board.ny:
                continue
            lost = self.thick[j] * self._lost(settled >> j * nx & self.row)
            if bare + lost + self.lost_above[j + 1] > self.spare or seen.get(settled, bare + 1) <= bare:
                continue
            seen[settled] = bare
            nodes += 1
            if nodes > MOST_NODES:
                return self.best, False
            more = self.thick[j] * (board.xs[i + 1] - board.xs[i])
            stack.append((settled | 1 << at, bare + more, placed))
            for cover, box in reversed(board.options[at]):
                if not cover & settled:
                    stack.append((settled | cover, bare, (*placed, box)))
                    if len(placed) + 1 > len(self.best):
                        self.best = [*placed, box]
                        self._spare()
        return self.best, True
