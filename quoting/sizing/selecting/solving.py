"""The first best answer of a programme: least objective, of equals the lightest, of those the first by its keys.

HiGHS (Huangfu and Hall 2018) through ``scipy.optimize.milp`` finds it on what :mod:`dominance` leaves; money and mass
are whole steps, so that equal is equal, and every answer is checked by sums rounded once against the whole programme.
"""

from __future__ import annotations

import math
from collections.abc import Collection
from copy import copy
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from quoting.sizing.brief_choosing import Objective
from quoting.sizing.selecting.dominance import Reduced, reduced
from quoting.sizing.selecting.matrices import PER_UNIT, Matrices, sparse
from quoting.sizing.selecting.problem import Answer, Option, Problem

if TYPE_CHECKING:
    from quoting.sizing.selecting.matrices import Floats

    Cut = tuple[Floats, float]

TIME_LIMIT_S = 20.0
"""For one question to the solver."""
MOST_CUTS = 8
"""Answers that the solver's own tolerance let through and that are put aside, before it counts as a fault."""
CHUNK = 24
"""Options whose order is settled in one question: weights of powers of two that a float holds exactly."""


class OutOfTime(RuntimeError):
    """The solver found no answer within its time; there may be one."""


class WrongAnswer(RuntimeError):
    """The solver gave an answer that does not meet the programme: a fault, never an answer."""


def solve(
    problem: Problem,
    objective: Objective,
    without: Collection[str] = (),
    *,
    under: float | None = None,
    time_limit_s: float = TIME_LIMIT_S,
    dominance: bool = True,
) -> Answer | None:
    """The best answer of a problem.

    Parameters
    ----------
    problem : Problem
        Groups, options and rows.
    objective : {"price", "cost_per_year", "mass"}
        What there is to be least of.
    without : collection of str
        Keys of options that are not to be taken.
    under : float, optional
        Only an answer that counts less than this: whether there is one is sooner told than the best of all.
    time_limit_s : float
        For each question to the solver. [s]
    dominance : bool
        Leave out beforehand what cannot be best.

    Returns
    -------
    Answer or None
        ``None``: proved that nothing meets it. ``optimal`` is false where the time was over before the proof; then
        ``bound`` says how much better an answer could be.

    Raises
    ------
    OutOfTime
        If the time was over before any answer was found.
    WrongAnswer
        If the solver gives what does not meet the problem.

    Examples
    --------
    >>> from quoting.sizing.selecting.problem import Row
    >>> small, large = (Option(key, ("bank",), (), price, price, 1.0, {"ah": ah}) for key, price, ah in
    ...                 (("small", 300.0, 100.0), ("large", 500.0, 200.0)))
    >>> problem = Problem(("bank",), (small, large), (Row("ah", "need", least=150.0),))
    >>> solve(problem, "price").options[0].key
    'large'
    """
    return Programme(problem).solve(objective, without, under=under, time_limit_s=time_limit_s, dominance=dominance)


class Programme:
    """A problem as matrices, for several questions."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.matrices = Matrices.of(problem)

    def without_row(self, name: str) -> Programme:
        """The same without one of its rows; nothing is written down anew."""
        import numpy as np

        rows = self.problem.rows
        freed = np.array([row.name == name for row in rows], dtype=bool)
        free = copy(self)
        free.problem = replace(
            self.problem, rows=tuple(replace(r, least=-math.inf, most=math.inf) if r.name == name else r for r in rows)
        )
        free.matrices = replace(
            self.matrices,
            problem=free.problem,
            least=np.where(freed, -np.inf, self.matrices.least),
            most=np.where(freed, np.inf, self.matrices.most),
        )
        return free

    def solve(
        self,
        objective: Objective,
        without: Collection[str] = (),
        *,
        under: float | None = None,
        over: float | None = None,
        time_limit_s: float = TIME_LIMIT_S,
        dominance: bool = True,
    ) -> Answer | None:
        """As :func:`solve`; ``over``: only an answer that counts no less than this; dominance is left out."""
        import numpy as np

        if not self.problem.groups:
            return Answer((), 0.0, 0.0, True) if meets(self.problem, ()) else None
        matrices, costs = self.matrices, self.matrices.costs(objective)
        if without:
            left = np.array([option.key not in without for option in matrices.options], dtype=bool)
            matrices, costs = matrices.columns(left), costs[left]
        left_over = reduced(matrices, costs, dominance and over is None)
        if left_over is None:
            return None
        search = _Search(self.problem, left_over, time_limit_s)
        if under is not None:
            search.hold_under(round(under * PER_UNIT))
        if over is not None:
            search.hold_over(round(over * PER_UNIT))
        return search.run()


@dataclass(frozen=True, slots=True)
class _Found:
    taken: tuple[int, ...]
    """Columns."""
    bound: float
    proved: bool


class _Search:
    """Questions to the solver about one reduced programme."""

    def __init__(self, problem: Problem, left: Reduced, time_limit_s: float) -> None:
        import numpy as np

        self.problem, self.left, self.time_limit_s = problem, left, time_limit_s
        matrices = left.matrices
        ones = np.ones(len(matrices.fills))
        self.blocks: list[Floats] = [matrices.fills.astype(float), left.gives[left.rows]]
        self.low: list[Floats] = [ones, matrices.least[left.rows]]
        self.high: list[Floats] = [ones, matrices.most[left.rows]]
        self.size = len(matrices.options), len(ones) + int(left.rows.sum())

    def hold_under(self, steps: int) -> None:
        """Ask only for what counts less than so many steps."""
        self._hold(self.left.costs / PER_UNIT, (steps - 0.5) / PER_UNIT)

    def hold_over(self, steps: int) -> None:
        """Ask only for what counts at least so many steps."""
        self._hold(-self.left.costs / PER_UNIT, -(steps - 0.5) / PER_UNIT)

    def run(self) -> Answer | None:
        costs = self.left.costs
        first = self._best(costs / PER_UNIT)
        if first is None:
            return None
        least = self._sum(costs, first)
        if not first.proved:
            return self._answer(first, least, first.bound)
        best = self._of_equals(first, least)
        return self._answer(best, least, min(first.bound, least / PER_UNIT))

    def _of_equals(self, first: _Found, least: int) -> _Found:
        """Of answers that cost the same the lightest, and of those the first by its keys."""
        mass = self.left.matrices.mass
        self._hold(self.left.costs / PER_UNIT, (least + 0.5) / PER_UNIT)
        other = self._in_time(mass / PER_UNIT, (self._no_good(first),))
        if other is None:
            return first
        best = min((first, other), key=lambda found: self._sum(mass, found))
        lightest = self._sum(mass, best)
        self._hold(mass / PER_UNIT, (lightest + 0.5) / PER_UNIT)
        return self._first_by_keys(best)

    def _first_by_keys(self, best: _Found) -> _Found:
        """Of answers that are alike in all else, the one that takes the first option if any does, then the next ...

        Some options at a time: each weighs more than all after it together.
        """
        import numpy as np

        count = self.size[0]
        for start in range(0, count, CHUNK):
            chunk = np.arange(start, min(start + CHUNK, count))
            weights = np.zeros(count)
            weights[chunk] = -(2.0 ** np.arange(len(chunk))[::-1])
            found = self._in_time(weights)
            if found is None or not found.proved:
                return best
            best = found
            settled = np.isin(chunk, best.taken).astype(float)
            self.blocks.append(np.eye(count)[chunk])
            self.low.append(settled)
            self.high.append(settled)
        return best

    def _hold(self, values: Floats, most: float) -> None:
        import numpy as np

        self.blocks.append(values[None, :])
        self.low.append(np.array([-np.inf]))
        self.high.append(np.array([most]))

    def _no_good(self, found: _Found) -> Cut:
        """A row that this answer alone breaks."""
        import numpy as np

        row = np.zeros(self.size[0])
        row[list(found.taken)] = 1.0
        return row, len(found.taken) - 1.0

    def _in_time(self, costs: Floats, cuts: tuple[Cut, ...] = ()) -> _Found | None:
        """As :meth:`_best`; nothing where the time was over, as which of equals is taken is worth no more."""
        try:
            return self._best(costs, cuts)
        except OutOfTime:
            return None

    def _best(self, costs: Floats, cuts: tuple[Cut, ...] = ()) -> _Found | None:
        """The best answer that holds exactly: one that only the solver's tolerance let through is put aside."""
        for _ in range(MOST_CUTS):
            found = self._ask(costs, cuts)
            if found is None or self._holds(found):
                return found
            cuts = (*cuts, self._no_good(found))
        raise WrongAnswer(f"{MOST_CUTS} answers of the solver miss the rows")

    def _ask(self, costs: Floats, cuts: tuple[Cut, ...] = ()) -> _Found | None:
        import numpy as np
        from scipy.optimize import Bounds, LinearConstraint, milp

        blocks = [*self.blocks, *(row[None, :] for row, _ in cuts)]
        low = np.concatenate([*self.low, np.full(len(cuts), -np.inf)])
        high = np.concatenate([*self.high, np.array([most for _, most in cuts])])
        # without presolve: these are small, and its way back prints to standard output at times
        asked = {"disp": False, "presolve": False, "mip_rel_gap": 0.0, "time_limit": self.time_limit_s}
        said = milp(
            costs, constraints=LinearConstraint(sparse(blocks), low, high), integrality=np.ones(len(costs)),
            bounds=Bounds(0, 1), options=asked,
        )  # fmt: skip
        if said.status == 2:
            return None
        if said.x is None:
            if said.status == 1:
                raise OutOfTime(f"no answer within {self.time_limit_s:g} s among {len(costs)} options")
            raise WrongAnswer(str(said.message))
        taken = tuple(int(i) for i in np.flatnonzero(said.x > 0.5))
        bound = said.mip_dual_bound
        return _Found(taken, float(bound) if bound is not None else -math.inf, said.status == 0)

    def _holds(self, found: _Found) -> bool:
        return meets(self.problem, self._options(found))

    def _options(self, found: _Found) -> tuple[Option, ...]:
        return tuple(self.left.matrices.options[i] for i in found.taken)

    def _sum(self, values: Any, found: _Found) -> int:
        return sum(int(values[i]) for i in found.taken)

    def _answer(self, found: _Found, least: int, bound: float) -> Answer:
        options = self._options(found)
        if not meets(self.problem, options):
            raise WrongAnswer("the answer misses a row")
        return Answer(options, least / PER_UNIT, bound, found.proved, self.size)


def counted(problem: Problem, options: Collection[Option], objective: Objective) -> float:
    """What an objective counts of options, in the programme's own steps."""
    costs = Matrices.of(replace(problem, options=tuple(options))).costs(objective)
    return int(costs.sum()) / PER_UNIT


def meets(problem: Problem, options: Collection[Option]) -> bool:
    """Say whether options fill each group once and every row holds, each sum rounded once."""
    filled = sorted(group for option in options for group in option.fills)
    if filled != sorted(problem.groups):
        return False
    return all(row.holds(math.fsum(o.gives.get(row.name, 0.0) for o in options)) for row in problem.rows)
