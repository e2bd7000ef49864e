"""An integer programme whose rows may give way, by as little as will do.

A row that gives has a slack, measured in shares of its scale; a group that gives may stay empty at the price of a whole
share. The least sum of them is found with HiGHS, and of equal sums the cheapest system. Chinneck, Feasibility and
Infeasibility in Optimization (2008), chapters 6 and 9, from memory.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from quoting.sizing.selecting.problem import Option, Problem, Row

if TYPE_CHECKING:
    from numpy import float64
    from numpy.typing import NDArray

    Floats = NDArray[float64]

WITHIN = 1e-6
"""Share that the sum of what gives may be off: the solver's own tolerance."""
MOST_CUTS = 50
"""Systems that the solver may take for good by its tolerance, and that miss a row exactly, before it counts as none."""
TIME_LIMIT_S = 20.0
"""For one question to the solver; what it has by then is taken, and counts as not proved least."""


@dataclass(frozen=True, slots=True)
class Given:
    """A system and what had to give for it."""

    options: tuple[Option, ...]
    slack: Mapping[str, float]
    """Row -> by how much it is missed, in its own unit. Only rows that are missed."""
    empty: tuple[str, ...] = ()
    """Groups that nothing fills."""
    proved: bool = True

    @property
    def is_nothing(self) -> bool:
        return not self.slack and not self.empty


def total_of(row: Row, options: Collection[Option]) -> float:
    """Sum of what options give to a row."""
    return math.fsum(option.gives.get(row.name, 0.0) for option in options)


def missed_by(row: Row, options: Collection[Option]) -> float:
    """By how much options miss a row, in its unit; 0 where it holds."""
    value = total_of(row, options)
    return 0.0 if row.holds(value) else max(row.least - value, value - row.most)


def give(
    problem: Problem,
    rows: Collection[str] = (),
    groups: Collection[str] = (),
    *,
    cheapest: bool = False,
    whole: Collection[str] = (),
) -> Given | None:
    """The system for which least has to give.

    Parameters
    ----------
    problem : Problem
        Groups, options and rows.
    rows, groups : collection of str
        Names of the rows and groups that may give way; every other row holds, every other group is filled.
    cheapest : bool
        Of the systems for which equally little gives, the cheapest.
    whole : collection of str
        Rows that give by their whole scale or not at all.

    Returns
    -------
    Given or None
        ``None``: there is no system, however much those give.
    """
    model = _Model(problem, rows, groups, whole)
    found = model.least(model.weights())
    if found is None or not cheapest or found.is_nothing:
        return found
    return model.least(model.prices(), most_weight=weight_of(problem, found, whole) + WITHIN) or found


def weight_of(problem: Problem, given: Given, whole: Collection[str] = ()) -> float:
    """Sum of what gives, as shares of what was asked."""
    shares = (1.0 if r.name in whole else given.slack[r.name] / r.scale for r in problem.rows if r.name in given.slack)
    return math.fsum(shares) + len(given.empty)


class _Model:
    """Options, slacks and empty groups as the columns of one sparse matrix."""

    def __init__(
        self, problem: Problem, rows: Collection[str], groups: Collection[str], whole: Collection[str]
    ) -> None:
        import numpy as np
        from scipy.sparse import coo_array

        self.problem = problem
        self.soft = frozenset(rows)
        self.options = tuple(sorted(problem.options, key=lambda o: o.key))
        count = len(self.options)
        place = {name: i for i, name in enumerate([*problem.groups, *(f"row {r.name}" for r in problem.rows)])}
        at: list[int] = []
        column: list[int] = []
        value: list[float] = []
        for j, option in enumerate(self.options):
            for group in option.fills:
                at.append(place[group])
                column.append(j)
                value.append(1.0)
            for row in problem.rows:
                gives = option.gives.get(row.name, 0.0)
                if gives:
                    at.append(place[f"row {row.name}"])
                    column.append(j)
                    value.append(gives / row.scale)
        self.most = [1.0] * count
        self.integral = [1] * count
        for group in problem.groups:
            if group in groups:
                at.append(place[group])
                column.append(len(self.most))
                value.append(1.0)
                self.most.append(1.0)
                self.integral.append(1)
        self.chosen = len(self.most)
        for row in problem.rows:
            for bound, sign in ((row.least, 1.0), (row.most, -1.0)):
                if row.name in rows and math.isfinite(bound):
                    at.append(place[f"row {row.name}"])
                    column.append(len(self.most))
                    value.append(sign)
                    self.most.append(math.inf)
                    self.integral.append(int(row.name in whole))
        self.matrix = coo_array((value, (at, column)), shape=(len(place), len(self.most))).tocsr()
        ones = [1.0] * len(problem.groups)
        self.low = np.array([*ones, *(r.least / r.scale for r in problem.rows)])
        self.high = np.array([*ones, *(r.most / r.scale for r in problem.rows)])

    def weights(self) -> list[float]:
        return [0.0] * len(self.options) + [1.0] * (len(self.most) - len(self.options))

    def prices(self) -> list[float]:
        return [o.price for o in self.options] + [0.0] * (len(self.most) - len(self.options))

    def least(self, costs: list[float], most_weight: float = math.inf) -> Given | None:
        import numpy as np
        from scipy.optimize import Bounds, LinearConstraint, milp

        if not self.most:
            return None if self.problem.groups else Given((), {})
        rows = [LinearConstraint(self.matrix, self.low, self.high)]
        if math.isfinite(most_weight):
            rows.append(LinearConstraint(np.array([self.weights()]), -np.inf, most_weight))
        integral = np.array(self.integral)
        for _ in range(MOST_CUTS):
            said = milp(
                np.array(costs),
                constraints=rows,
                integrality=integral,
                bounds=Bounds(0, np.array(self.most)),
                options={"disp": False, "mip_rel_gap": 0.0, "time_limit": TIME_LIMIT_S},
            )
            if said.x is None:
                return None
            found = self._given(said.x, said.status == 0)
            if self.soft.issuperset(found.slack):
                return found
            taken = ((said.x > 0.5) & (np.arange(len(self.most)) < self.chosen)).astype(float)
            rows.append(LinearConstraint(taken, -np.inf, taken.sum() - 1))
        return None

    def _given(self, x: Floats, proved: bool) -> Given:
        """The system of a solution, and exactly what it misses."""
        taken = tuple(o for o, part in zip(self.options, x, strict=False) if part > 0.5)
        missed = {row.name: missed_by(row, taken) for row in self.problem.rows}
        filled = {group for option in taken for group in option.fills}
        empty = tuple(g for g in self.problem.groups if g not in filled)
        return Given(taken, {name: by for name, by in missed.items() if by}, empty, proved)
