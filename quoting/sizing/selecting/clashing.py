"""Where no system meets everything: what cannot be met together, by how much, and the smallest change that would do.

What keeps parts compatible (rows of the sort ``fit``) never gives way. Needs, limits and wishes that leave options out
may be asked by how much they would have to.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, replace

from quoting.sizing.appraisal import Shortfall
from quoting.sizing.brief import Brief
from quoting.sizing.choice import choose
from quoting.sizing.needs import Needs
from quoting.sizing.selecting.elastic import Elastic, Given
from quoting.sizing.selecting.problem import Problem, Row
from quoting.sizing.selecting.records import Clash, Miss, Said
from quoting.sizing.selecting.solving import OutOfTime

GROUP = "group"
"""Code of a miss that is a group which nothing fills."""
WISH = "wish"
"""Code of a miss that is a wish which would have to be given up."""


def clash(problem: Problem, freed: Sequence[tuple[Said, Problem]] = ()) -> Clash:
    """Say what cannot be met together.

    Parameters
    ----------
    problem : Problem
        One that has no answer.
    freed : sequence of (Said, Problem)
        Wishes that leave options out, each with the problem as it is without that wish.

    Returns
    -------
    Clash
        ``together``: an irreducible set of needs, limits and wishes; leave any one out, and the others can be met. Each
        with the best there is while the others of the set hold. Where parts that must be there do not go together
        whatever their size, it is those groups.
        ``change``: needs, limits and wishes that give way least, as the sum of shares of what was asked (a wish counts
        as a whole); of equal changes the one with the cheapest system. ``limits``: the same with every need met.

    Notes
    -----
    Deletion filter over the rows, elastic programme for the sizes: Chinneck and Dravnieks (1991), from memory. Needs
    are left out first and wishes last, so that what a person can change is named where several sets would do. All
    are empty where the problem has an answer, and each where the solver does not settle it in its time.
    """
    asked = _Asked.of(*with_wishes(problem, freed))
    try:
        if asked.give(asked.soft) is not None:
            return Clash(together=(), change=())
        groups = asked.problem.groups if asked.give(()) is None else ()
        together = _groups_apart(asked) if groups else _rows_apart(asked)
    except OutOfTime:
        return Clash(together=(), change=())
    change = _least(asked, asked.soft, groups)
    limits = () if groups else _least(asked, asked.limits)
    return Clash(together=together, change=change, limits=() if limits == change else limits)


def _least(asked: _Asked, rows: Collection[str], groups: Collection[str] = ()) -> tuple[Miss, ...]:
    """What gives where only those may; nothing where they alone do not help, or the solver does not settle it."""
    try:
        return asked.misses(asked.give(asked.soft, rows, groups, cheapest=True))
    except OutOfTime:
        return ()


def with_wishes(problem: Problem, freed: Sequence[tuple[Said, Problem]]) -> tuple[Problem, dict[str, Said]]:
    """The problem with the options that each wish leaves out, held off by a row for every wish, and who said which.

    An option that only several wishes together leave out stays out: giving up one of them would not bring it back. Rows
    that keep those options compatible come along, with what the others give to them.
    """
    options, rows, said = {o.key: o for o in problem.options}, {row.name: row for row in problem.rows}, {}
    for number, (wish, without) in enumerate(freed, start=1):
        name = f"{WISH}_{number}"
        theirs = {option.key: option for option in without.options}
        new = [option for key, option in theirs.items() if key not in options]
        if not new:
            continue
        fit = {row.name: row for row in without.rows if row.sort == "fit" and row.name not in rows}
        for key in options.keys() & theirs.keys():
            more = {row: value for row, value in theirs[key].gives.items() if row in fit}
            options[key] = replace(options[key], gives={**options[key].gives, **more}) if more else options[key]
        options |= {option.key: replace(option, gives={**option.gives, name: 1.0}) for option in new}
        said[name] = wish
        rows |= {**fit, name: Row(name, "limit", most=0.0, scale=float(max(1, len(problem.groups))))}
    return Problem(problem.groups, tuple(options.values()), tuple(rows.values())), said


@dataclass(frozen=True, slots=True)
class _Asked:
    """A problem of which some rows may give."""

    elastic: Elastic
    said: Mapping[str, Said]
    """Rows that are wishes."""
    soft: tuple[str, ...]
    """Rows that may give: needs, then limits, then wishes."""

    @classmethod
    def of(cls, problem: Problem, said: Mapping[str, Said]) -> _Asked:
        rank = {"need": 0, "limit": 1}
        rows = sorted((r for r in problem.rows if r.sort in rank), key=lambda r: (r.name in said, rank[r.sort]))
        return cls(Elastic(problem), said, tuple(row.name for row in rows))

    @property
    def problem(self) -> Problem:
        return self.elastic.problem

    @property
    def limits(self) -> tuple[str, ...]:
        """Those of them that are no needs."""
        needs = {row.name for row in self.problem.rows if row.sort == "need"}
        return tuple(name for name in self.soft if name not in needs)

    def give(
        self, asked: Collection[str], rows: Collection[str] = (), groups: Collection[str] = (), cheapest: bool = False
    ) -> Given | None:
        """Where only some of the rows that may give are asked, the system for which least of ``rows`` gives."""
        dropped = [name for name in self.soft if name not in asked]
        return self.elastic.give(rows, groups, whole=self.said, dropped=dropped, cheapest=cheapest)

    def misses(self, given: Given | None) -> tuple[Miss, ...]:
        """What gives, in the order of the rows; groups that stay empty first."""
        if given is None:
            return ()
        gone = {r.name for r in self.problem.rows if self._is_of(r, given.empty)}
        rows = [self._miss(r, given.slack[r.name]) for r in self.problem.rows if r.name in given.slack.keys() - gone]
        return (*(_empty(group) for group in given.empty), *rows)

    def _is_of(self, row: Row, groups: Collection[str]) -> bool:
        """Say whether a row is a need of nothing but groups that stay empty."""
        if not groups or row.sort != "need":
            return False
        givers = [o for o in self.problem.options if o.gives.get(row.name)]
        return all(set(o.fills) <= set(groups) for o in givers)

    def _miss(self, row: Row, by: float) -> Miss:
        if row.name in self.said:
            return Miss(code=WISH, asked=0.0, best=1.0, short_by=1.0, unit="", wish=self.said[row.name])
        # a row with both bounds is missed at one of them; sizes have one
        asked, best = (row.least, row.least - by) if math.isfinite(row.least) else (row.most, row.most + by)
        return Miss(code=row.name, asked=asked + row.beside, best=best + row.beside, short_by=by, unit=row.unit)


def _core(names: Sequence[str], can_be_met: Callable[[Collection[str]], bool]) -> tuple[str, ...]:
    """Leave out, one after the other, whatever the rest does without and still cannot be met."""
    core = list(names)
    for name in names:
        rest = [other for other in core if other != name]
        if not can_be_met(rest):
            core = rest
    return tuple(core)


def _rows_apart(asked: _Asked) -> tuple[Miss, ...]:
    """Needs, limits and wishes that cannot be met together."""
    core = _core(asked.soft, lambda names: asked.give(names) is not None)
    return tuple(one for name in core for one in asked.misses(asked.give(core, (name,))))


def _groups_apart(asked: _Asked) -> tuple[Miss, ...]:
    """Parts that do not go together whatever is asked of their size, as the groups that they would fill."""
    groups = asked.problem.groups

    def can_be_met(names: Collection[str]) -> bool:
        return asked.give((), groups=[g for g in groups if g not in names]) is not None

    return tuple(_empty(group) for group in _core(groups, can_be_met))


def _empty(group: str) -> Miss:
    return Miss(code=f"{GROUP}:{group}", asked=1.0, best=0.0, short_by=1.0, unit="")


ROLES: Mapping[str, str] = {
    "engine": "engine_charger",
    "mains": "mains_charger",
    "solar": "solar_controller",
    "array": "panel",
}
"""Group -> what a shortfall of it is told for, where they are not called the same."""


def lacking_of(problem: Problem, brief: Brief, needs: Needs) -> tuple[Shortfall, ...]:
    """Groups for which there is no option at all, each with the nearest part and what it misses.

    Parameters
    ----------
    problem : Problem
        With its groups and options.
    brief : Brief
        Its catalogue and wishes are looked through as if parts were chosen one by one.
    needs : Needs
        What is asked.
    """
    filled = {group for option in problem.options for group in option.fills}
    subjects = {ROLES.get(group, group) for group in problem.groups if group not in filled}
    if not subjects:
        return ()
    bare = brief.model_copy(update={"picks": ()})
    return tuple(one for one in choose(bare, needs).shortfalls if one.subject in subjects)
