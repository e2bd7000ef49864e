"""The few packings that a search does not settle, as an integer programme: one variable for each place of a piece."""

from __future__ import annotations

import math
from collections.abc import Sequence

from quoting.sizing.packing_board import Board
from quoting.sizing.packing_bound import Box

MOST_COVERED = 40_000
"""Points covered by all places together, up to which a programme is begun: about half a second of work."""
NODE_LIMIT = 10
WHOLE = 1e-6


def by_programme(board: Board, best: list[Box], most: int) -> tuple[list[Box], bool]:
    """The best packing of a board, from one that is known; and whether it is proved.

    No point of the board is covered twice [1]_. What the solver's bound does not leave open is proved, whether or not
    it came to an end.

    Parameters
    ----------
    board : Board
        Points and what may begin at each.
    best : list of Box
        A packing to better. [the board's unit]
    most : int
        Pieces at which to stop.

    Returns
    -------
    tuple of list and bool
        Places, and whether no packing (up to ``most``) holds more.

    References
    ----------
    .. [1] Beasley, J. E. (1985). An exact two-dimensional non-guillotine cutting tree search procedure. Operations
       Research 33, 49-64.
    """
    places = [option for here in board.options for option in here]
    if not places:
        return best, True
    if sum(cover.bit_count() for cover, _ in places) > MOST_COVERED:
        return best, False
    import numpy as np
    from scipy.optimize import Bounds, LinearConstraint, milp

    n = len(places)
    found = milp(
        -np.ones(n),
        constraints=[
            LinearConstraint(_once([cover for cover, _ in places], board), -np.inf, 1),
            LinearConstraint(np.ones((1, n)), -np.inf, most),
        ],
        integrality=np.ones(n),
        bounds=Bounds(0, 1),
        options={"node_limit": NODE_LIMIT, "mip_rel_gap": 0},
    )
    if found.x is not None:
        taken = [box for (_, box), x in zip(places, found.x, strict=True) if x > 0.5]
        best = max(best, taken, key=len)
    bound = found.mip_dual_bound
    proved = found.status == 0 or (bound is not None and math.floor(-bound + WHOLE) <= len(best))
    return best, proved


def _once(covers: Sequence[int], board: Board):  # type: ignore[no-untyped-def]  # scipy's matrices have no types
    """Sparse matrix: a row for each point, a column for each place, 1 where it covers the point."""
    import numpy as np
    from scipy.sparse import csr_matrix

    rows, columns = [], []
    for column, cover in enumerate(covers):
        while cover:
            low = cover & -cover
            rows.append(low.bit_length() - 1)
            columns.append(column)
            cover ^= low
    return csr_matrix((np.ones(len(rows)), (rows, columns)), shape=(board.nx * board.ny, len(covers)))
