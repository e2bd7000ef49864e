"""An integer programme whose rows may give way, by as little as will do.

A row that gives has a slack, measured in shares of its scale; a group that gives may stay empty at the price of a whole
share. The least sum of them is found with HiGHS, and of equal sums the cheapest system. Chinneck, Feasibility and
Infeasibility in Optimization (2008), chapters 6 and 9, from memory.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from quoting.sizing.selecting.dominance import capped, reduced, undominated
from quoting.sizing.selecting.matrices import PER_UNIT, Matrices, sparse
from quoting.sizing.selecting.problem import Option, Problem, Row
from quoting.sizing.selecting.solving import OutOfTime

if TYPE_CHECKING:
    from quoting.sizing.selecting.matrices import Floats, Mask

WITHIN = 1e-6
"""Share that the sum of what gives may be off: the solver's own tolerance."""
MOST_CUTS = 50
"""Systems that the solver may take for good by its tolerance, and that miss a row exactly, before it counts as none."""
TIME_LIMIT_S = 30.0
"""For one question to the solver."""


@dataclass(frozen=True, slots=True)
class Given:
    """A system and what had to give for it."""

    options: tuple[Option, ...]
    slack: Mapping[str, float]
    """Row -> by how much it is missed, in its own unit. Only rows that are missed."""
    empty: tuple[str, ...] = ()
    """Groups that nothing fills."""


@dataclass(frozen=True, slots=True)
class Giving:
    """What may give way in one question."""

    rows: frozenset[str] = frozenset()
    groups: frozenset[str] = frozenset()
    whole: frozenset[str] = frozenset()
    """Rows that give by their whole scale or not at all."""
    dropped: frozenset[str] = frozenset()
    """Rows that are not asked at all."""


class Elastic:
    """One problem, asked by how little it would have to give."""

    def __init__(self, problem: Problem) -> None:
        import numpy as np

        self.problem = problem
        self.matrices = Matrices.of(problem)
        self.scale = np.array([row.scale for row in problem.rows], dtype=float)

    def give(
        self,
        rows: Collection[str] = (),
        groups: Collection[str] = (),
        *,
        whole: Collection[str] = (),
        dropped: Collection[str] = (),
        cheapest: bool = False,
    ) -> Given | None:
        """The system for which least has to give.

        Parameters
        ----------
        rows, groups : collection of str
            Names of the rows and groups that may give way; every other row holds, every other group is filled.
        whole : collection of str
            Rows that give by their whole scale or not at all.
        dropped : collection of str
            Rows that are not asked at all.
        cheapest : bool
            Of the systems for which equally little gives, the cheapest.

        Returns
        -------
        Given or None
            ``None``: there is no system, however much those give.

        Raises
        ------
        OutOfTime
            If the solver does not settle it in its time.
        """
        giving = Giving(frozenset(rows) - frozenset(dropped), frozenset(groups), frozenset(whole), frozenset(dropped))
        model = _Model.of(self, giving, priced=False)
        found = model.least(model.weights) if model is not None else None
        if found is None or not cheapest:
            return found
        most = weight_of(self.problem, found, whole) + WITHIN
        priced = _Model.of(self, giving, priced=True)
        return (priced.least(priced.prices, most_weight=most) if priced is not None else None) or found


def weight_of(problem: Problem, given: Given, whole: Collection[str] = ()) -> float:
    """Sum of what gives, as shares of what was asked."""
    shares = (1.0 if r.name in whole else given.slack[r.name] / r.scale for r in problem.rows if r.name in given.slack)
    return math.fsum(shares) + len(given.empty)


def missed_by(row: Row, options: Collection[Option]) -> float:
    """By how much options miss a row, in its unit; 0 where it holds."""
    value = math.fsum(option.gives.get(row.name, 0.0) for option in options)
    return 0.0 if row.holds(value) else max(row.least - value, value - row.most)


@dataclass(frozen=True, slots=True)
class _Model:
    """Options, empty groups and slacks as the columns of one sparse matrix, in this order."""

    elastic: Elastic
    giving: Giving
    options: tuple[Option, ...]
    matrix: Any
    low: Floats
    high: Floats
    integral: Floats
    most: Floats
    weights: Floats
    prices: Floats

    @classmethod
    def of(cls, elastic: Elastic, giving: Giving, priced: bool) -> _Model | None:
        """Columns and rows of a question; ``None`` where a group that must be filled has no option left."""
        import numpy as np

        problem = elastic.problem
        asked = np.array([row.name not in giving.dropped for row in problem.rows], dtype=bool)
        left = _left(elastic.matrices, asked, giving, priced)
        if left is None:
            return None
        rows = [row for row, is_asked in zip(problem.rows, asked, strict=True) if is_asked]
        slacks = _slacks(rows, giving.rows)
        may_be_empty = [at for at, group in enumerate(problem.groups) if group in giving.groups]
        n, spare = len(left.options), len(may_be_empty) + len(slacks)
        top = np.hstack([left.fills.astype(float), np.zeros((len(problem.groups), spare))])
        bottom = np.hstack([left.gives[asked] / elastic.scale[asked, None], np.zeros((len(rows), spare))])
        for column, at in enumerate(may_be_empty, start=n):
            top[at, column] = 1.0
        for column, (at, sign) in enumerate(slacks, start=n + len(may_be_empty)):
            bottom[at, column] = sign
        ones = np.ones(len(problem.groups))
        return cls(
            elastic,
            giving,
            left.options,
            sparse([top, bottom]),
            np.concatenate([ones, left.least[asked] / elastic.scale[asked]]),
            np.concatenate([ones, left.most[asked] / elastic.scale[asked]]),
            np.array([1.0] * (n + len(may_be_empty)) + [float(rows[at].name in giving.whole) for at, _ in slacks]),
            np.array([1.0] * (n + len(may_be_empty)) + [math.inf] * len(slacks)),
            np.array([0.0] * n + [1.0] * spare),
            np.concatenate([left.costs("price") / PER_UNIT, np.zeros(spare)]),
        )

    def least(self, costs: Floats, most_weight: float = math.inf) -> Given | None:
        """The system with the least costs; one that only the solver's tolerance let through is put aside."""
        import numpy as np
        from scipy.optimize import Bounds, LinearConstraint, milp

        if not len(costs):
            return None if self.elastic.problem.groups else Given((), {})
        rows = [LinearConstraint(self.matrix, self.low, self.high)]
        if math.isfinite(most_weight):
            rows.append(LinearConstraint(self.weights[None, :], -np.inf, most_weight))
        for _ in range(MOST_CUTS):
            said = milp(
                costs,
                constraints=rows,
                integrality=self.integral,
                bounds=Bounds(0, self.most),
                options={"disp": False, "mip_rel_gap": 0.0, "time_limit": TIME_LIMIT_S},
            )
            if said.status == 1:
                raise OutOfTime(f"nothing settled within {TIME_LIMIT_S:g} s among {len(costs)} columns")
            if said.x is None:
                return None
            found = self._given(said.x)
            if self.giving.rows.issuperset(found.slack):
                return found
            taken = ((said.x > 0.5) & np.isfinite(self.most)).astype(float)
            rows.append(LinearConstraint(taken[None, :], -np.inf, taken.sum() - 1))
        return None

    def _given(self, x: Floats) -> Given:
        """The system of a solution, and exactly what it misses."""
        problem = self.elastic.problem
        taken = tuple(o for o, part in zip(self.options, x, strict=False) if part > 0.5)
        missed = {row.name: missed_by(row, taken) for row in problem.rows if row.name not in self.giving.dropped}
        filled = {group for option in taken for group in option.fills}
        empty = tuple(g for g in problem.groups if g not in filled)
        return Given(taken, {name: by for name, by in missed.items() if by}, empty)


def _slacks(rows: Sequence[Row], soft: Collection[str]) -> list[tuple[int, float]]:
    """Place and sign of every slack: one for each bound of a row that gives."""
    bounds = ((i, bound, sign) for i, r in enumerate(rows) for bound, sign in ((r.least, 1.0), (r.most, -1.0)))
    return [(i, sign) for i, bound, sign in bounds if rows[i].name in soft and math.isfinite(bound)]


def _left(matrices: Matrices, asked: Mask, giving: Giving, priced: bool) -> Matrices | None:
    """Options that may be in the answer: possible by the rows that hold, and not undercut in anything that counts."""
    import numpy as np

    rows = matrices.problem.rows
    free = replace(
        matrices, least=np.where(asked, matrices.least, -np.inf), most=np.where(asked, matrices.most, np.inf)
    )
    soft = np.array([row.name in giving.rows for row in rows], dtype=bool)
    if giving.groups:
        return free
    firm = replace(free, least=np.where(soft, -np.inf, free.least), most=np.where(soft, np.inf, free.most))
    costs = matrices.costs("price") if priced else np.zeros(len(matrices.options), dtype=np.int64)
    possible = reduced(firm, costs, dominance=False)
    if possible is None:
        return None
    keys = {option.key for option in possible.matrices.options}
    free = free.columns(np.array([option.key in keys for option in matrices.options], dtype=bool))
    gives, still_open = capped(free)
    light = replace(free, mass=np.zeros(len(free.options), dtype=np.int64))
    costs = free.costs("price") if priced else np.zeros(len(free.options), dtype=np.int64)
    return free.columns(undominated(light, costs, np.where(still_open[:, None], gives, 0.0)))
