"""Three offers for one Brief: chosen by an integer programme, each proved by circuits and simulation."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

from quoting.sizing.appraisal import METHOD_VERSION, Appraisal
from quoting.sizing.appraise import brief_sha256
from quoting.sizing.brief import Brief
from quoting.sizing.brief_choosing import OFFERS, OfferName
from quoting.sizing.policy import check_policy
from quoting.sizing.selecting.clashing import clash, lacking_of
from quoting.sizing.selecting.frontier import is_beaten, marked, worth
from quoting.sizing.selecting.making import Making
from quoting.sizing.selecting.proving import Progress, Proof, Proofs
from quoting.sizing.selecting.reasons import lacks_of, why_of
from quoting.sizing.selecting.records import Clash, Market, Miss, OfferMade, Selection, Solved, Steer
from quoting.sizing.selecting.searching import MOST_PROOFS, Outcome, Search, began
from quoting.sizing.selecting.settling import meets
from quoting.sizing.selecting.solving import OutOfTime, counted
from quoting.sizing.system import System, check_wishes
from quoting.sizing.trace import Finding, finding

__all__ = ["Progress", "Selected", "bare", "select"]


@dataclass(frozen=True, slots=True)
class Selected:
    """A selection, with what it was proved by."""

    record: Selection
    appraisals: dict[str, Appraisal] = field(default_factory=dict)
    """By key of the candidate: every system that was worked through."""
    briefs: dict[str, Brief] = field(default_factory=dict)
    """The Brief with picks and room that each of them was worked out from."""


def bare(brief: Brief) -> Brief:
    """A Brief without picks and room: what a selection is made for, and keyed by."""
    return brief.model_copy(update={"picks": (), "room": None}) if brief.picks or brief.room else brief


def select(
    brief: Brief,
    market: Market,
    steer: Steer,
    progress: Progress | None = None,
    *,
    offers: Sequence[OfferName] = OFFERS,
    most_proofs: int = MOST_PROOFS,
) -> Selected:
    """Choose the three offers for a Brief, and prove each.

    Parameters
    ----------
    brief : Brief
        One job; its picks and room are left aside.
    market : Market
        Prices, stock and suppliers of today.
    steer : Steer
        What a person wishes of the choice.
    progress : callable, optional
        Told how many systems were worked through and how many there may be; what it raises stops the search.
    offers : sequence of str
        Which of the three are wanted.
    most_proofs : int
        Systems that are worked through for each of them, at most.

    Returns
    -------
    Selected
        The selection, and the Appraisal and Brief of every candidate. Where an offer could not be made, what cannot be
        met together is in ``clashes``; where the search was given up, a finding says so.

    Raises
    ------
    SizingError
        If no figure can be made from an input.

    Notes
    -----
    An offer is the best by its objective, on the grid of tightenings, of what the programme finds and the proof bears
    out. Systems that were proved for another offer are held against it too, by what the whole bill comes to: so none
    is dearer than another that does all that it does.
    """
    brief = bare(brief)
    check_wishes(brief)
    check_policy(brief.policy)
    wanted = [name for name in OFFERS if name in offers]
    proofs = Proofs(brief, market, steer, most_proofs * len(wanted), progress)
    said: list[Finding] = []
    outcomes: list[Outcome] = []
    for name in wanted:
        begin = outcomes[-1].found.system if outcomes else began(brief)
        outcomes += _searched(proofs, name, most_proofs, begin, said)
    outcomes = [_no_worse_than_any(proofs, one, outcomes) for one in outcomes]
    made = tuple(_offers(proofs, outcomes))
    failed = [one for one in outcomes if not one.holds]
    return Selected(
        Selection(
            method_version=METHOD_VERSION,
            brief_sha256=brief_sha256(brief),
            offers=made,
            candidates=marked(one.candidate() for one in proofs.made.values()),
            clashes={one.offer: _clash(proofs, one) for one in failed},
            findings=(*said, *(_given_up(one) for one in failed if one.proof is not None), *_beaten(made)),
        ),
        {key: one.appraisal for key, one in proofs.made.items()},
        {key: one.brief for key, one in proofs.made.items()},
    )


def _searched(proofs: Proofs, offer: OfferName, most: int, begin: System, said: list[Finding]) -> Iterator[Outcome]:
    """The outcome of one offer's search; none where the solver ran out of time, which is said."""
    policy = proofs.brief.policy.offers[offer]
    search = Search(proofs, offer, policy.objective, policy.room(offer), begin, most)
    try:
        yield search.run()
    except OutOfTime:
        said.append(finding("warning", "offer_out_of_time", offer, offer=offer))


def _no_worse_than_any(proofs: Proofs, mine: Outcome, outcomes: Sequence[Outcome]) -> Outcome:
    """An offer's outcome, or a system that was proved for another and does all that it asks for less.

    The programme weighs the parts; the whole bill, cable and protection in it, may turn the order of two systems.
    """
    best = mine
    for other in outcomes:
        if other is mine or not other.holds or _is_same(best, other) or not _is_less(other, best):
            continue
        assert other.proof is not None
        if not _may_do(proofs, mine, other):
            continue
        proof = proofs.prove(other.proof.picks, mine.start)
        if proof.holds:
            best = _taken_over(mine, other, proof)
    return best


def _taken_over(mine: Outcome, other: Outcome, proof: Proof) -> Outcome:
    """Another offer's system as mine: measured by what mine has least of, in the programme that mine was sought in."""
    answer = other.found.answer
    assert answer is not None
    sought = mine if mine.holds else other
    least = sought.found.answer
    counts = counted(sought.found.problem, answer.options, mine.objective)
    bound = least.bound if least is not None and mine.holds else counts
    answer = replace(answer, objective=counts, bound=min(bound, counts), optimal=answer.optimal)
    return replace(
        mine, found=replace(sought.found, answer=answer), proof=proof, tried=sought.tried, spent=False
    )  # fmt: skip


def _may_do(proofs: Proofs, mine: Outcome, other: Outcome) -> bool:
    """Say whether it is worth working another offer's system through for this one's room."""
    assert other.proof is not None
    dark = other.proof.facts.dark_chance_ratio
    if dark is not None and dark > mine.start.dark_chance_ratio:
        return False
    brief = proofs.brief.model_copy(update={"room": mine.start})
    return meets(brief, other.proof.picks, other.found.system)


def _is_same(one: Outcome, other: Outcome) -> bool:
    return one.proof is not None and other.proof is not None and one.proof.picks == other.proof.picks


def _is_less(one: Outcome, than: Outcome) -> bool:
    """Say whether a system may be better for an offer than what was found for it; any is than none."""
    assert one.proof is not None
    if than.proof is None or not than.holds:
        return True
    return worth(one.proof.facts, than.objective) < worth(than.proof.facts, than.objective)


def _offers(proofs: Proofs, outcomes: Sequence[Outcome]) -> Iterator[OfferMade]:
    """Those that hold, each with the reasons it was chosen for, from the leanest on."""
    so_far: list[tuple[OfferName, Proof]] = []
    for one in outcomes:
        if not one.holds or one.proof is None or one.found.answer is None:
            continue
        proof, answer = one.proof, one.found.answer
        making = Making(proofs, one)
        yield OfferMade(
            offer=one.offer,
            objective=one.objective,
            room=proof.room,
            picks=proof.picks,
            facts=proof.facts,
            why=why_of(one),
            lacks=lacks_of(one, so_far, proofs),
            solved=Solved(
                options=answer.size[0],
                rows=answer.size[1],
                bound=answer.bound,
                objective=answer.objective,
                gap_ratio=_gap(answer.bound, answer.objective),
                optimal=answer.optimal,
                rounds=one.rounds,
            ),
            proofs=one.proofs,
            near_misses=making.near_misses(),
            wish_prices=making.wish_prices(),
            same_as=next((name for name, other in so_far if other.picks == proof.picks), None),
        )
        so_far.append((one.offer, proof))


def _gap(bound: float, objective: float) -> float:
    return max(0.0, (objective - bound) / abs(objective)) if objective else 0.0


def _clash(proofs: Proofs, one: Outcome) -> Clash:
    """What cannot be met together: by the programme where it has no answer, else what the nearest system misses."""
    if one.proof is None:
        making = Making(proofs, one)
        problem = making.whole(making.brief, proofs.steer)
        lacking = lacking_of(problem, making.brief, one.found.needs)
        return clash(problem, making.freed()).model_copy(update={"lacking": lacking})
    misses = tuple(_misses(one.proof))
    return Clash(together=misses, change=misses)


def _misses(proof: Proof) -> Iterator[Miss]:
    """By how much the nearest system misses what it was not granted; what has no size is told with the candidate."""
    names = {
        "fails_dark": ("dark_chance", "allowed_ratio", "chance_ratio", ""),
        "fails_budget": ("budget", "budget", "price", ""),
        "fails_mass": ("mass_kg", "most_kg", "mass_kg", "kg"),
        "fails_spares": ("outputs", "spare", "free", ""),
    }
    for one in proof.failed:
        if one.said.code in names:
            code, asked_name, best_name, unit = names[one.said.code]
            asked, best = (float(one.said.params[name] or 0) for name in (asked_name, best_name))
            yield Miss(code=code, asked=asked, best=best, short_by=abs(best - asked), unit=unit)


def _given_up(one: Outcome) -> Finding:
    """No system was borne out: either as many were tried as may be, or nothing was left to tighten."""
    assert one.proof is not None
    code = "offer_not_proved" if one.spent else "offer_not_reached"
    return finding("warning", code, one.offer, offer=one.offer, proofs=one.proofs, candidate=one.proof.key)


def _beaten(made: Sequence[OfferMade]) -> Iterator[Finding]:
    """Offers that another beats in price and in everything that makes a system reliable."""
    for one in made:
        by = next((o for o in made if o.picks != one.picks and is_beaten(one.facts, o.facts, one.objective)), None)
        if by is not None:
            yield finding("info", f"{one.offer}_beaten", one.offer, offer=by.offer)
