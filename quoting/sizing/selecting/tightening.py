"""What is asked more, or ruled out, after a system fell short: the children of a failed one in the search."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from decimal import Decimal
from typing import Any

from quoting.sizing.brief_choosing import Room
from quoting.sizing.selecting.options import Rest
from quoting.sizing.selecting.problem import Answer
from quoting.sizing.selecting.proving import Proof
from quoting.sizing.selecting.records import Market
from quoting.sizing.selecting.settling import Found
from quoting.sizing.selecting.verdict import Raised

STEPS: dict[Raised, float] = {"battery": 1.15, "array": 1.2, "charging": 1.25}
"""By how much more than a failed system has its successor is asked. Workshop practice: about a size of the trade."""
MOST_RATIO = 8.0
"""Of the need beyond which nothing is raised: a room may be no larger."""

ROWS: dict[Raised, tuple[str, ...]] = {
    "battery": ("capacity_ah",),
    "array": ("array_w",),
    "charging": ("engine_a", "mains_a"),
}
"""Rows of the programme by which a system is measured against what was asked of it."""


@dataclass(frozen=True, slots=True)
class Tried:
    """What one system of a search is asked for: room, options that are ruled out, what the rest of the bill takes."""

    room: Room
    without: frozenset[str] = frozenset()
    rest: Rest = field(default_factory=Rest)
    times: int = 0
    """How often something was tightened on the way here."""


def children(tried: Tried, found: Found, proof: Proof, market: Market) -> Iterator[Tried]:
    """What to try after a system failed; nothing where no tightening may help.

    Each reason is met by itself: for a reason that more of something helps, each of those; for parts that led to it,
    the same without the option in that role. Where a system fails in several things, the first that nothing can be
    done about ends this way.
    """
    every = [list(_for_one(tried, found, proof, market, index)) for index in range(len(proof.failed))]
    if all(every):
        seen: list[Tried] = []
        for one in (one for each in every for one in each):
            if one not in seen:
                seen.append(one)
                yield one


def _for_one(tried: Tried, found: Found, proof: Proof, market: Market, index: int) -> Iterator[Tried]:
    failed, again = proof.failed[index], tried.times + 1
    assert found.answer is not None
    for what in failed.raises:
        room = raised(tried.room, what, has_over_asked(what, found))
        if room is not None:
            yield replace(tried, room=room, times=again)
    if failed.counts_rest:
        yield replace(tried, rest=rest_of(found.answer, proof, market), times=again)
    for option in found.answer.options:
        if any(pick.role in failed.rules_out for pick in option.picks):
            yield replace(tried, without=tried.without | {option.key}, times=again)


def raised(room: Room, what: Raised, over: float = 1.0) -> Room | None:
    """A room that asks a step more of one thing than a failed system has; ``None`` where that is beyond all measure.

    ``over``: what the system has of it over what its room asked.
    """
    name: Any = f"{what}_ratio"
    ratio = getattr(room, name) * over * STEPS[what]
    return room.model_copy(update={name: round(ratio, 4)}) if ratio <= MOST_RATIO else None


def has_over_asked(what: Raised, found: Found) -> float:
    """What an answer has over what its room asked of it, the least of what counts; never under 1."""
    assert found.answer is not None
    shares = [
        sum(option.gives.get(row.name, 0.0) for option in found.answer.options) / row.least
        for row in found.problem.rows
        if row.code in ROWS[what] and 0 < row.least < math.inf
    ]
    return max(1.0, min(shares, default=1.0))


def rest_of(answer: Answer, proof: Proof, market: Market) -> Rest:
    """What a proved bill has beside the options that were taken."""
    price = Decimal(proof.facts.price) + market.sundries(proof.appraisal.bill)
    return Rest(price=max(0.0, float(price) - answer.price), mass_kg=max(0.0, proof.appraisal.mass_kg - answer.mass_kg))
