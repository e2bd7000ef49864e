"""Price against the chance of going dark: which systems no other beats in both."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from decimal import Decimal

from quoting.sizing.brief_choosing import Objective
from quoting.sizing.selecting.records import Candidate, Facts


def on_frontier(facts: Sequence[Facts]) -> tuple[bool, ...]:
    """Say of each system whether none is both no dearer and no likelier to go dark, and better in one of the two.

    Of systems equal in both, those that last the most days without charging are on it; what was not simulated is not.
    One pass in the order of price (Kung, Luccio and Preparata 1975 for two objectives, from memory).
    """
    simulated = [i for i, one in enumerate(facts) if one.dark_chance_ratio is not None]
    order = sorted(simulated, key=lambda i: place(facts[i]))
    found: set[int] = set()
    best: tuple[Decimal, float, float] | None = None
    for i in order:
        price, dark, days = place(facts[i])
        if best is None or dark < best[1] or (price, dark, days) == best:
            found.add(i)
            best = price, dark, days
    return tuple(i in found for i in range(len(facts)))


def place(facts: Facts) -> tuple[Decimal, float, float]:
    """Where a system stands: price, chance of going dark, days without charging counted down."""
    dark = facts.dark_chance_ratio
    return Decimal(facts.price), 1.0 if dark is None else dark, -(facts.days_without_charging or 0.0)


def marked(candidates: Iterable[Candidate]) -> tuple[Candidate, ...]:
    """The candidates, each told whether it is on the frontier of those that were proved."""
    every = tuple(candidates)
    proved = [i for i, one in enumerate(every) if one.holds]
    on = dict(zip(proved, on_frontier([every[i].facts for i in proved]), strict=True))
    return tuple(one.model_copy(update={"frontier": on.get(i, False)}) for i, one in enumerate(every))


def is_beaten(one: Facts, by: Facts, objective: Objective = "price") -> bool:
    """Say whether another system is no dearer, no worse in what the one has least of, and at least as good in all else.

    All else: chance of going dark, days without charging, years of battery life, and the room that is left in spare
    outputs, capacity and array. Equal ones beat nobody.
    """
    mine, theirs = _counts(one, objective), _counts(by, objective)
    return mine != theirs and all(b <= a for a, b in zip(mine, theirs, strict=True))


def worth(facts: Facts, objective: Objective) -> float:
    """What an offer has least of, of the whole system. [currency, currency/year or kg]"""
    if objective == "mass":
        return facts.mass_kg
    return float(facts.price if objective == "price" else facts.cost_per_year or facts.price)


def _counts(facts: Facts, objective: Objective) -> tuple[float, ...]:
    """What systems are compared by, less being better."""
    return (
        float(facts.price),
        worth(facts, objective),
        1.0 if facts.dark_chance_ratio is None else facts.dark_chance_ratio,
        -(facts.days_without_charging or 0.0),
        -(facts.battery_years or 0.0),
        -float(facts.spare_outputs),
        -(facts.capacity_ah or 0.0),
        -(facts.array_w or 0.0),
    )
