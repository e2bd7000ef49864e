"""What is asked more, or ruled out, after a system fell short: the children of a failed one in the search."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from decimal import Decimal
from typing import Any

from quoting.sizing.brief_choosing import Room
from quoting.sizing.selecting.options import Rest
from quoting.sizing.selecting.problem import Answer
from quoting.sizing.selecting.proving import Proof
from quoting.sizing.selecting.records import Market
from quoting.sizing.selecting.verdict import Raised

STEPS: dict[Raised, float] = {"battery": 1.15, "array": 1.2, "charging": 1.25}
"""By how much more than a failed system has its successor is asked. Workshop practice: about a size of the trade."""
MOST_RATIO = 8.0
"""Of the need beyond which nothing is raised: a room may be no larger."""

ASKED_AND_GOT: dict[Raised, tuple[tuple[str, str], ...]] = {
    "battery": (("battery.asked_ah", "battery.got_ah"),),
    "array": (),
    "charging": (("engine.asked_a", "engine.output_a"), ("mains.asked_a", "mains.output_a")),
}
"""Figures by which a system is measured against what was asked of it."""


@dataclass(frozen=True, slots=True)
class Tried:
    """What one system of a search is asked for: room, options that are ruled out, what the rest of the bill takes."""

    room: Room
    without: frozenset[str] = frozenset()
    rest: Rest = field(default_factory=Rest)
    times: int = 0
    """How often something was tightened on the way here."""


def children(tried: Tried, answer: Answer, proof: Proof, market: Market) -> Iterator[Tried]:
    """What to try after a system failed; nothing where no tightening may help.

    Each reason is met by itself: for a reason that more of something helps, each of those; for parts that led to it,
    the same without the option in that role. Where a system fails in several things, the first that nothing can be
    done about ends this way.
    """
    every = [list(_for_one(tried, answer, proof, market, index)) for index in range(len(proof.failed))]
    if all(every):
        seen: list[Tried] = []
        for one in (one for each in every for one in each):
            if one not in seen:
                seen.append(one)
                yield one


def _for_one(tried: Tried, answer: Answer, proof: Proof, market: Market, index: int) -> Iterator[Tried]:
    failed, again = proof.failed[index], tried.times + 1
    for what in failed.raises:
        room = raised(tried.room, what, proof)
        if room is not None:
            yield replace(tried, room=room, times=again)
    if failed.counts_rest:
        yield replace(tried, rest=rest_of(answer, proof, market), times=again)
    for option in answer.options:
        if any(pick.role in failed.rules_out for pick in option.picks):
            yield replace(tried, without=tried.without | {option.key}, times=again)


def raised(room: Room, what: Raised, proof: Proof, steps: int = 1) -> Room | None:
    """A room that asks more of one thing than a failed system has; ``None`` where that is beyond all measure."""
    field: Any = f"{what}_ratio"
    ratio = getattr(room, field) * has_over_asked(what, proof) * STEPS[what] ** steps
    return room.model_copy(update={field: round(ratio, 4)}) if ratio <= MOST_RATIO else None


def has_over_asked(what: Raised, proof: Proof) -> float:
    """What a system has over what its room asked of it, the least of what counts; never under 1."""
    figures = proof.appraisal.figures
    shares = [
        figures[got].value / figures[asked].value
        for asked, got in ASKED_AND_GOT[what]
        if asked in figures and got in figures and figures[asked].value > 0
    ]
    return max(1.0, min(shares, default=1.0))


def rest_of(answer: Answer, proof: Proof, market: Market) -> Rest:
    """What a proved bill has beside the options that were taken."""
    price = Decimal(proof.facts.price) + market.sundries(proof.appraisal.bill)
    return Rest(price=max(0.0, float(price) - answer.price), mass_kg=max(0.0, proof.appraisal.mass_kg - answer.mass_kg))
