"""Systems worked through whole, circuits and simulation too: each once for all three offers, so many at most."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field

from quoting.sizing.appraisal import Appraisal
from quoting.sizing.appraise import appraise
from quoting.sizing.brief import Brief
from quoting.sizing.brief_choosing import Pick, Room
from quoting.sizing.selecting.facts import facts_of
from quoting.sizing.selecting.records import Candidate, Facts, Market, Steer
from quoting.sizing.selecting.settling import Options, ordered
from quoting.sizing.selecting.verdict import Failed, failures

Progress = Callable[[int, int], None]
"""Told how many systems were worked through and how many there may be at most; it may raise, to stop the search."""


@dataclass(frozen=True, slots=True)
class Proof:
    """A system with all that follows from it."""

    key: str
    brief: Brief
    """With picks and room."""
    appraisal: Appraisal
    facts: Facts
    failed: tuple[Failed, ...]

    @property
    def holds(self) -> bool:
        return not self.failed

    @property
    def picks(self) -> tuple[Pick, ...]:
        return self.brief.picks

    @property
    def room(self) -> Room:
        assert self.brief.room is not None
        return self.brief.room

    def candidate(self) -> Candidate:
        """What is kept of it."""
        return Candidate(
            key=self.key,
            offer=self.room.offer,
            picks=self.picks,
            room=self.room,
            facts=self.facts,
            holds=self.holds,
            fails=tuple(one.said for one in self.failed),
        )


@dataclass(slots=True)
class Proofs:
    """Every system that was worked through, and how many may be. The weathers are the same for all: one seed."""

    brief: Brief
    market: Market
    steer: Steer
    most: int
    progress: Progress | None = None
    made: dict[str, Proof] = field(default_factory=dict)
    options: Options = field(init=False)

    def __post_init__(self) -> None:
        self.options = Options(self.market, self.steer)

    def prove(self, picks: Iterable[Pick], room: Room) -> Proof:
        """Work a system through for an offer's room; one that was is not again."""
        settled = ordered(picks)
        key = key_of(settled, room)
        if key not in self.made:
            if self.progress is not None:
                self.progress(len(self.made), max(self.most, len(self.made) + 1))
            brief = self.brief.model_copy(update={"picks": settled, "room": room})
            appraisal = appraise(brief)
            facts = facts_of(brief, appraisal, self.market)
            failed = failures(brief, appraisal, facts, self.market, self.steer)
            self.made[key] = Proof(key, brief, appraisal, facts, failed)
        return self.made[key]


def key_of(picks: tuple[Pick, ...], room: Room) -> str:
    """A candidate's key: of its picks and room, and nothing else."""
    said = {"picks": [pick.model_dump() for pick in picks], "room": room.model_dump()}
    return hashlib.sha256(json.dumps(said, sort_keys=True).encode()).hexdigest()[:16]
