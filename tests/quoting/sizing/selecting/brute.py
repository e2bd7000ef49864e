"""Plain enumeration of an integer programme, written for reading: every way to fill the groups, the rows, the best.

It knows :mod:`quoting.sizing.selecting.problem` and nothing of matrices, dominance or a solver.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from fractions import Fraction

from quoting.sizing.brief_choosing import Objective
from quoting.sizing.selecting.problem import Option, Problem, Row

System = tuple[Option, ...]

WITHIN = 1e-9
"""Share of a row's scale, or of 1 if that is more, by which its bound may be missed: what sums of floats are worth."""


def systems(problem: Problem) -> Iterator[System]:
    """Every way to fill each group exactly once, whatever the rows say; options in the order of their keys."""
    yield from _fill(tuple(sorted(problem.options, key=lambda o: o.key)), frozenset(problem.groups), ())


def _fill(options: tuple[Option, ...], empty: frozenset[str], taken: System) -> Iterator[System]:
    if not empty:
        yield tuple(sorted(taken, key=lambda o: o.key))
        return
    group = min(empty)
    for option in options:
        if group in option.fills and empty.issuperset(option.fills):
            yield from _fill(options, empty - set(option.fills), (*taken, option))


def total(row: Row, system: Iterable[Option]) -> Fraction:
    """What the options give to a row, exactly."""
    return sum((Fraction(option.gives.get(row.name, 0.0)) for option in system), Fraction(0))


def miss(row: Row, system: Iterable[Option]) -> float:
    """By how much a row is missed, as a share of its scale; 0 where it holds."""
    value = total(row, system)
    below = Fraction(row.least) - value if row.least > -math.inf else Fraction(0)
    above = value - Fraction(row.most) if row.most < math.inf else Fraction(0)
    missed = float(max(below, above, Fraction(0)))
    return 0.0 if missed <= WITHIN * max(1.0, row.scale) else missed / row.scale


def holds(problem: Problem, system: System) -> bool:
    return all(miss(row, system) == 0 for row in problem.rows)


def value(system: Iterable[Option], objective: Objective) -> float:
    """What is to be least, to the cent or the gram."""
    of = {"price": lambda o: o.price, "cost_per_year": lambda o: o.yearly, "mass": lambda o: o.mass_kg}[objective]
    return math.fsum(of(option) for option in system)


def order(system: System, objective: Objective) -> tuple[float, float, tuple[str, ...]]:
    """Least objective, then mass, then the keys in their order."""
    keys = tuple(sorted(option.key for option in system))
    mass = math.fsum(option.mass_kg for option in system)
    return round(value(system, objective), 4), round(mass, 4), keys


def all_best(problem: Problem, objective: Objective, without: Iterable[str] = ()) -> list[System]:
    """Every system that holds, the best first; empty where there is none."""
    banned = set(without)
    left = Problem(problem.groups, tuple(o for o in problem.options if o.key not in banned), problem.rows)
    return sorted((s for s in systems(left) if holds(left, s)), key=lambda s: order(s, objective))


def best(problem: Problem, objective: Objective, without: Iterable[str] = ()) -> System | None:
    found = all_best(problem, objective, without)
    return found[0] if found else None


def least_give(problem: Problem) -> float | None:
    """Least sum of misses of needs and limits, as shares of what was asked; ``None`` where nothing is compatible."""
    fit = Problem(problem.groups, problem.options, tuple(r for r in problem.rows if r.sort == "fit"))
    soft = [r for r in problem.rows if r.sort != "fit"]
    return min((math.fsum(miss(r, s) for r in soft) for s in systems(fit) if holds(fit, s)), default=None)
