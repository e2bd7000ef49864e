"""Invented integer programmes small enough to enumerate: whole numbers, so that ties and misses are exact."""

from __future__ import annotations

import math
from itertools import count

from hypothesis import strategies as st

from quoting.sizing.brief_choosing import Pick
from quoting.sizing.selecting.problem import Option, Problem, Row

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
    groups = GROUPS[: draw(st.integers(2, 4))]
    rows = tuple(_row(draw, *one) for one in draw(st.lists(st.sampled_from(ROWS), unique=True, min_size=1, max_size=5)))
    options, number = [], count()
    for group in groups:
        options += [_option(draw, next(number), (group,), rows) for _ in range(draw(st.integers(1, most_options)))]
    for _ in range(draw(st.integers(0, 2))):
        pair = tuple(sorted(draw(st.lists(st.sampled_from(groups), min_size=2, max_size=2, unique=True))))
        options.append(_option(draw, next(number), pair, rows))
    return Problem(groups, tuple(draw(st.permutations(options))), rows)


def _row(draw: st.DrawFn, name: str, sort: str, least: float, most: float) -> Row:
    if name == "profile":
        return Row(name, "fit", 0.0, 0.0)
    asked = float(draw(st.integers(2, 10) if least > -math.inf else st.integers(4, 12)))
    within = (asked, math.inf) if least > -math.inf else (-math.inf, asked)
    return Row(name, sort, *within, unit=name.rsplit("_", 1)[-1] if "_" in name else "", scale=asked)  # type: ignore[arg-type]


def _option(draw: st.DrawFn, number: int, fills: tuple[str, ...], rows: tuple[Row, ...]) -> Option:
    price, mass = draw(st.integers(1, 6)), draw(st.integers(1, 3))
    gives = {}
    for row in rows:
        low = -1 if row.name == "profile" else 0
        gives[row.name] = float(
            draw(st.integers(low, 1) if row.name == "profile" else st.sampled_from((0, price, 2 * price)))
        )
    gives |= {name: float(v) for name, v in (("budget", price), ("mass_kg", mass)) if name in gives}
    # the same part may stand behind several options of a group, as batteries do in one string and in two
    model = f"{fills[0]}-{draw(st.integers(0, 2))}" if len(fills) == 1 else f"both-{number}"
    role = fills[0] if len(fills) == 1 else "multi_charger"
    pick = Pick(role=role, part=model, quantity=draw(st.integers(1, 2)))  # type: ignore[arg-type]
    return Option(
        key=f"{number:02d}", fills=fills, picks=(pick,), price=float(price), yearly=float(draw(st.integers(1, 6))),
        mass_kg=float(mass), gives=gives,
    )  # fmt: skip
