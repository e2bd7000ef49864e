"""What cannot be in the best answer, left out before the solver: exact, whatever the other parts are.

Two grounds. *Impossible*: with the most favourable choice of everything else an option still breaks a row (bounds of a
row's activity, Savelsbergh 1994). *Dominated*: another option fills the same groups, is no dearer and no heavier, helps
every row as much, and comes first in the order of ties. Rows that no choice can break are left out as well.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from quoting.sizing.selecting.matrices import Matrices

if TYPE_CHECKING:
    from quoting.sizing.selecting.matrices import Floats, Mask, Whole

MOST_ROUNDS = 6
"""Rounds of taking out the impossible, each of which may make more impossible."""


@dataclass(frozen=True, slots=True)
class Reduced:
    """What is left of a programme."""

    matrices: Matrices
    costs: Whole
    rows: Mask
    """Rows that may still be broken."""
    gives: Floats
    """As in the matrices, but no better than it can matter: see :func:`capped`."""


def reduced(matrices: Matrices, costs: Whole, dominance: bool = True) -> Reduced | None:
    """Leave out options that cannot be in the first best answer; ``None`` where a group is left empty.

    Parameters
    ----------
    matrices : Matrices
        Options as columns.
    costs : ndarray
        What each option counts for, shape (options,).
    dominance : bool
        Leave out the dominated too, not only the impossible.
    """
    import numpy as np

    left = np.ones(len(matrices.options), dtype=bool)
    for _ in range(MOST_ROUNDS):
        now = matrices.columns(left)
        if not now.fills.any(axis=1).all():
            return None
        possible = _possible(now)
        if possible.all():
            break
        left[np.flatnonzero(left)[~possible]] = False
    now, cost = matrices.columns(left), costs[left]
    if not now.fills.any(axis=1).all():
        return None
    gives, open_rows = capped(now)
    if dominance:
        best = undominated(now, cost, np.where(open_rows[:, None], gives, 0.0))
        now, cost, gives = now.columns(best), cost[best], gives[:, best]
        gives, open_rows = capped(now)
    return Reduced(now, cost, open_rows, gives)


def _bounds(matrices: Matrices) -> tuple[Floats, Floats]:
    """Least and most that each group can give to each row, both of shape (groups, rows).

    An option that fills several groups counts in each with its share, so that the groups' bounds add up to a bound.
    """
    import numpy as np

    share = matrices.gives / np.maximum(matrices.fills.sum(axis=0), 1)
    within = [share[:, np.flatnonzero(fills)] for fills in matrices.fills]
    return np.array([x.min(axis=1) for x in within]), np.array([x.max(axis=1) for x in within])


def _others(matrices: Matrices, of_groups: Floats) -> Floats:
    """What all else gives to a row beside each option, of shape (rows, options), from what each group gives."""
    import numpy as np

    first, kinds = _kinds(matrices)
    own = np.array([of_groups[matrices.fills[:, at]].sum(axis=0) for at in first]).T
    others: Floats = (of_groups.sum(axis=0)[:, None] - own)[:, kinds]
    return others


def _kinds(matrices: Matrices) -> tuple[Whole, Whole]:
    """Options by the groups that they fill: the first of each kind, and each option's kind."""
    import numpy as np

    marks = 2 ** np.arange(len(matrices.fills)) @ matrices.fills
    _, first, kinds = np.unique(marks, return_index=True, return_inverse=True)
    return first, kinds.ravel()


def _possible(matrices: Matrices) -> Mask:
    """Options beside which all else can still meet every row."""
    import numpy as np

    low, high = (_others(matrices, bound) for bound in _bounds(matrices))
    slack = matrices.slack[:, None] * 2
    under = matrices.gives + low <= matrices.most[:, None] + slack
    over = matrices.gives + high >= matrices.least[:, None] - slack
    possible: Mask = np.logical_and.reduce(under & over, axis=0)
    return possible


def capped(matrices: Matrices) -> tuple[Floats, Mask]:
    """What options give, no better than can matter, and the rows that may still be broken.

    Where an option meets a row's bound whatever all else gives, more of it is worth nothing.
    """
    import numpy as np

    bounds = _bounds(matrices)
    low, high = (_others(matrices, bound) for bound in bounds)
    enough = matrices.least[:, None] - low
    little = matrices.most[:, None] - high
    gives = matrices.gives
    # a row with both bounds is left as it is: towards which of them an option helps is not told
    only_least, only_most = np.isinf(matrices.most), np.isinf(matrices.least)
    gives = np.where(only_least[:, None], np.minimum(gives, enough), gives)
    gives = np.where(only_most[:, None], np.maximum(gives, little), gives)
    total_low, total_high = (bound.sum(axis=0) for bound in bounds)
    safe = (total_low >= matrices.least) & (total_high <= matrices.most)
    return gives, ~safe


def undominated(matrices: Matrices, costs: Whole, gives: Floats) -> Mask:
    """Options that no other one dominates, of shape (options,).

    Parameters
    ----------
    matrices : Matrices
        For what options fill, and the direction in which each row wants more.
    costs : ndarray
        Shape (options,).
    gives : ndarray
        Of each row that may be broken, shape (rows, options); the others as zeros.
    """
    import numpy as np

    upwards, downwards = ~np.isinf(matrices.least), ~np.isinf(matrices.most)
    worth = np.vstack([matrices.mass[None, :], -gives[upwards], gives[downwards]]).T
    found = np.zeros(len(matrices.options), dtype=bool)
    first, kinds = _kinds(matrices)
    for kind in range(len(first)):
        members = np.flatnonzero(kinds == kind)
        # options stand in the order of their keys, and the sort is stable: what comes first wins a tie
        members = members[np.lexsort((matrices.mass[members], costs[members]))]
        found[members[_first_of_each(worth[members])]] = True
    return found


def _first_of_each(worth: Floats) -> Whole:
    """Rows that no earlier row equals or undercuts in every column."""
    import numpy as np

    differ = (worth != worth[:1]).any(axis=0)
    worth = worth[:, differ]
    left = np.arange(len(worth))
    kept = []
    while len(left):
        first, left = left[0], left[1:]
        kept.append(first)
        if len(left):
            left = left[(worth[left] < worth[first]).any(axis=1)]
    return np.array(kept, dtype=int)
