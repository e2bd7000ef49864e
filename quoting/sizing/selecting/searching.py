"""Best first: the cheapest system that the programme finds is proved; where it fails, what failed is tightened.

Systems wait in the order of what the programme has least of, and a tightened one is never better than the one it comes
from; so the first that holds is the best on the grid of tightenings. Russell and Norvig, Artificial Intelligence
(4th ed.), 3.5, uniform-cost search, from memory.
"""

from __future__ import annotations

import heapq
from dataclasses import dataclass, field, replace

from quoting.sizing.brief import Brief
from quoting.sizing.brief_choosing import Objective, OfferName, Room
from quoting.sizing.selecting.proving import Proof, Proofs
from quoting.sizing.selecting.settling import MOST_ROUNDS, Found, ordered, settled_answer
from quoting.sizing.selecting.tightening import STEPS, Tried, children, raised
from quoting.sizing.system import System

MOST_PROOFS = 12
"""Systems that are worked through for one offer."""
MOST_STEPS = 3
"""Times that a step is taken again because the larger need is met by the very same system."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """How the search for an offer ended."""

    offer: OfferName
    objective: Objective
    start: Room
    found: Found
    """What the programme said of the system that holds; else of the nearest, or of the first where it has no answer."""
    proof: Proof | None
    """The system that holds; else the nearest that was tried."""
    proofs: int
    rounds: int
    first: Proof | None = None
    """The system that was best before anything was tightened."""
    tried: Tried | None = None
    spent: bool = False
    """As many systems were worked through as may be, and others were still waiting."""

    @property
    def holds(self) -> bool:
        return self.proof is not None and self.proof.holds


@dataclass(slots=True)
class Search:
    """The search for one offer."""

    proofs: Proofs
    offer: OfferName
    objective: Objective
    start: Room
    begin: System
    most: int = MOST_PROOFS
    rounds: int = 0
    proved: list[tuple[Proof, Found, Tried]] = field(default_factory=list)
    _waiting: list[tuple[float, int, Tried, Found]] = field(default_factory=list)
    _count: int = 0

    def run(self) -> Outcome:
        """Search until a system holds, none is left, or enough were worked through."""
        root = Tried(self.start)
        found = self._solve(root, self.begin)
        if found.answer is None:
            return Outcome(self.offer, self.objective, self.start, found, None, 0, self.rounds, tried=root)
        self._wait(root, found)
        while self._waiting and len(self.proved) < self.most:
            _, _, tried, found = heapq.heappop(self._waiting)
            assert found.answer is not None
            if not found.settled:
                found = self._solve(tried, found.system)
                if found.answer is None:
                    continue
                if self._waiting and found.answer.objective > self._waiting[0][0]:
                    self._wait(tried, found)
                    continue
            assert found.answer is not None
            taken = ordered(found.answer.picks)
            if any(one.picks == taken for one, _, _ in self.proved):
                continue
            proof = self._proof(found, tried)
            self.proved.append((proof, found, tried))
            if proof.holds:
                return self._outcome(len(self.proved) - 1)
            self._open(tried, found, proof)
        return self._outcome(self._nearest(), spent=bool(self._waiting))

    def _proof(self, found: Found, tried: Tried) -> Proof:
        assert found.answer is not None
        return self.proofs.prove(found.answer.picks, tried.room)

    def _open(self, tried: Tried, found: Found, proof: Proof) -> None:
        """Put what may follow a failed system among those that wait."""
        assert found.answer is not None
        for child in children(tried, found, proof, self.proofs.market):
            answered = self._another(child, tried, found)
            if answered is not None:
                self._wait(*answered)

    def _another(self, child: Tried, tried: Tried, found: Found) -> tuple[Tried, Found] | None:
        """A system for a child that is not its parent's again: a step that changes nothing is taken again."""
        assert found.answer is not None
        for _ in range(MOST_STEPS):
            answered = self._solve(child, found.system, most_rounds=1)
            if answered.answer is None:
                return None
            if set(answered.answer.picks) != set(found.answer.picks):
                return child, answered
            further = _further(child, tried)
            if further is None:
                return None
            child = further
        return None

    def _solve(self, tried: Tried, start: System, most_rounds: int = MOST_ROUNDS) -> Found:
        brief = self.proofs.brief.model_copy(update={"room": tried.room})
        options, rest = self.proofs.options, tried.rest
        found = settled_answer(options, brief, self.objective, rest, tried.without, start, most_rounds)
        self.rounds += found.rounds
        return found

    def _wait(self, tried: Tried, found: Found) -> None:
        assert found.answer is not None
        self._count += 1
        heapq.heappush(self._waiting, (found.answer.objective, self._count, tried, found))

    def _nearest(self) -> int:
        """The failed system that lacks least: fewest reasons, then the least chance of going dark, then the first."""

        def lacks(index: int) -> tuple[int, float, int]:
            proof = self.proved[index][0]
            return len(proof.failed), proof.facts.dark_chance_ratio or 0.0, index

        return min(range(len(self.proved)), key=lacks)

    def _outcome(self, index: int, spent: bool = False) -> Outcome:
        proof, found, tried = self.proved[index]
        return Outcome(
            self.offer, self.objective, self.start, found, proof, len(self.proved), self.rounds,
            first=self.proved[0][0], tried=tried, spent=spent,
        )  # fmt: skip


def _further(child: Tried, tried: Tried) -> Tried | None:
    """The same child with its step taken once more; ``None`` where it has none."""
    for what in STEPS:
        if getattr(child.room, f"{what}_ratio") > getattr(tried.room, f"{what}_ratio"):
            room = raised(child.room, what)
            return replace(child, room=room) if room is not None else None
    return None


def began(brief: Brief) -> System:
    """What a search starts from: nothing chosen, but the bank that is kept."""
    from quoting.sizing.choice_bank import settled_bank
    from quoting.sizing.parts import Catalogue
    from quoting.sizing.system import assemble

    parts = Catalogue.of(brief)
    bank = settled_bank(brief, parts)
    return assemble(brief, (bank,) if bank else (), parts)
