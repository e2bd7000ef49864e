"""Invented integer programmes small enough to enumerate: whole numbers, so that ties and misses are exact."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from itertools import combinations, count
from random import Random
from typing import Any

from hypothesis import strategies as st

from quoting.sizing.brief_choosing import Pick
from quoting.sizing.selecting.problem import Option, Problem, Row

OneOf = Callable[[Sequence[Any]], Any]
"""Draws one of several: by chance, or as a search for what fails wants it."""

GROUPS = ("battery", "engine_charger", "mains_charger", "inverter")
ROWS = (
    ("profile", "fit", 0.0, 0.0),
    ("voltage", "fit", -math.inf, 1.0),
    ("capacity_ah", "need", 1.0, math.inf),
    ("engine_a", "need", 1.0, math.inf),
    ("surge_w", "need", 1.0, math.inf),
    ("budget", "limit", -math.inf, 1.0),
    ("mass_kg", "limit", -math.inf, 1.0),
    ("roof_m2", "limit", -math.inf, 1.0),
)
"""Name, sort, and whether there is a least and a most."""


@st.composite
def problems(draw: st.DrawFn, most_options: int = 4) -> Problem:
    """Two to four groups, a few options each, some that fill two; rows of every sort, some that nothing can meet."""
    return made(lambda among: draw(st.sampled_from(among)), most_options)


def problem_at(number: int) -> Problem:
    """One of a fixed run of such problems."""
    return made(Random(number).choice, 4)


def made(one_of: OneOf, most_options: int) -> Problem:
    """A problem by what is drawn."""
    groups = GROUPS[: one_of((2, 3, 4))]
    rows = [_row(one_of, *one) for one in ROWS if one_of((True, False))] or [_row(one_of, *ROWS[2])]
    options, number = [], count()
    for group in groups:
        options += [_option(one_of, next(number), (group,), rows) for _ in range(one_of(range(1, most_options + 1)))]
    for _ in range(one_of((0, 1, 2))):
        options.append(_option(one_of, next(number), one_of([*combinations(groups, 2)]), rows))
    options.sort(key=lambda option: one_of(range(100)))
    return Problem(groups, tuple(options), tuple(rows))


def _row(one_of: OneOf, name: str, sort: str, least: float, most: float) -> Row:
    if name == "profile":
        return Row(name, "fit", 0.0, 0.0)
    asked = float(one_of(range(2, 11) if least > -math.inf else range(4, 13)))
    within = (asked, math.inf) if least > -math.inf else (-math.inf, asked)
    return Row(name, sort, *within, unit=name.rsplit("_", 1)[-1] if "_" in name else "", scale=asked)  # type: ignore[arg-type]


def _option(one_of: OneOf, number: int, fills: tuple[str, ...], rows: Sequence[Row]) -> Option:
    price, mass = one_of(range(1, 7)), one_of(range(1, 4))
    gives = {}
    for row in rows:
        among = (-1, 0, 1) if row.name == "profile" else (0, price, 2 * price)
        gives[row.name] = float(one_of(among))
    gives |= {name: float(v) for name, v in (("budget", price), ("mass_kg", mass)) if name in gives}
    # the same part may stand behind several options of a group, as batteries do in one string and in two
    model = f"{fills[0]}-{one_of(range(3))}" if len(fills) == 1 else f"both-{number}"
    role = fills[0] if len(fills) == 1 else "multi_charger"
    pick = Pick(role=role, part=model, quantity=one_of((1, 2)))  # type: ignore[arg-type]
    return Option(
        key=f"{number:02d}", fills=fills, picks=(pick,), price=float(price), yearly=float(one_of(range(1, 7))),
        mass_kg=float(mass), gives=gives,
    )  # fmt: skip
