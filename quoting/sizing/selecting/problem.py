"""An integer programme in plain values: options that fill groups, rows that join them. Knows no part and no solver.

Each group that is wanted is filled by exactly one option; an option may fill several (a charger with three inputs). A
row bounds the sum, over the options taken, of what each gives to it. Rows of the sort ``fit`` keep parts compatible
and never give way; ``need`` and ``limit`` may be asked by how much they would have to.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from quoting.sizing.brief_choosing import Pick

Sort = Literal["fit", "need", "limit"]

EXACT = 1e-9
"""Share of what a row asks by which it may be missed: what a sum of floats is worth."""


@dataclass(frozen=True, slots=True)
class Option:
    """One way to fill a group: a part in a number and a layout."""

    key: str
    """Its own among the options; equal inputs give equal keys. Ties are settled by it in the end."""
    fills: tuple[str, ...]
    picks: tuple[Pick, ...]
    price: float
    """With the labour that fits it. [currency]"""
    yearly: float
    """Price over the years that it lasts. [currency/year]"""
    mass_kg: float
    gives: Mapping[str, float] = field(default_factory=dict)
    """Row -> what it adds to the row's sum."""
    kept: tuple[Pick, ...] = ()
    """What of it is in the vehicle already: no pick of it is made, as it is the choice for its role anyway."""
    waits: bool = False
    """So many of it are not on the shelf."""

    @property
    def parts(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(pick.part for pick in self.picks))


@dataclass(frozen=True, slots=True)
class Row:
    """least <= sum of what the options taken give <= most."""

    name: str
    sort: Sort
    least: float = -math.inf
    most: float = math.inf
    unit: str = ""
    scale: float = 1.0
    """What a miss is measured against, so that amperes and kilograms can be weighed: the size that was asked."""
    beside: float = 0.0
    """What counts towards it beside the options, and is taken off its bounds already."""

    @property
    def code(self) -> str:
        """Its name without what tells it from others of the same sort, such as a chemistry."""
        return self.name.partition(":")[0]

    @property
    def slack(self) -> float:
        """By how much it may be missed: what sums of floats are worth."""
        return EXACT * max(1.0, self.scale)

    def holds(self, value: float) -> bool:
        """Say whether a sum lies within the row's bounds."""
        return self.least - self.slack <= value <= self.most + self.slack


@dataclass(frozen=True, slots=True)
class Problem:
    """Groups to fill, options, rows."""

    groups: tuple[str, ...]
    options: tuple[Option, ...]
    rows: tuple[Row, ...]
    premium_ratio: float = 0.0
    """How much dearer an objective counts what is not on the shelf, where stock is preferred."""


@dataclass(frozen=True, slots=True)
class Answer:
    """The options taken, and what the solver says of them."""

    options: tuple[Option, ...]
    objective: float
    bound: float
    """No answer is better than this."""
    optimal: bool
    size: tuple[int, int] = (0, 0)
    """Options and rows that the solver was given, what cannot be best left out."""

    @property
    def picks(self) -> tuple[Pick, ...]:
        return tuple(pick for option in self.options for pick in option.picks)

    @property
    def price(self) -> float:
        return math.fsum(option.price for option in self.options)

    @property
    def mass_kg(self) -> float:
        return math.fsum(option.mass_kg for option in self.options)
