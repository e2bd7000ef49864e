"""Why an offer is what it is, and what the next cheaper one would lack: sentences as data."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal

from quoting.sizing.brief_choosing import OfferName
from quoting.sizing.selecting.facts import text
from quoting.sizing.selecting.proving import Proof, Proofs
from quoting.sizing.selecting.records import Said
from quoting.sizing.selecting.searching import Outcome
from quoting.sizing.trace import Scalar


def why_of(outcome: Outcome) -> Said:
    """One sentence: what it has least of, what room it has, and whether the proof raised it.

    ``why_<objective>`` where the first system that the programme found was borne out, else ``..._raised``, with the
    chance of going dark that the first had; ``..._proved`` where that one failed in something else.
    """
    assert outcome.proof is not None
    room, facts, first = outcome.proof.room, outcome.proof.facts, outcome.first
    params: dict[str, Scalar] = {
        "offer": outcome.offer,
        "battery_ratio": room.battery_ratio,
        "array_ratio": room.array_ratio,
        "charging_ratio": room.charging_ratio,
        "allowed_ratio": room.dark_chance_ratio,
        "dark_ratio": facts.dark_chance_ratio,
        "price": facts.price,
        "yearly": facts.cost_per_year,
        "mass_kg": facts.mass_kg,
    }
    code = f"why_{outcome.objective}"
    if first is not None and first.picks != outcome.proof.picks and not first.holds:
        dark = any(one.said.code == "fails_dark" for one in first.failed)
        code = f"{code}_raised" if dark else f"{code}_proved"
        params["first_dark_ratio"] = first.facts.dark_chance_ratio
    return Said(code=code, params=params)


def lacks_of(outcome: Outcome, cheaper: Sequence[tuple[OfferName, Proof]], proofs: Proofs) -> tuple[Said, ...]:
    """What the next cheaper would lack: of the offers before it, else of the systems that were tried and failed."""
    mine = outcome.proof
    assert mine is not None
    price = Decimal(mine.facts.price)
    others = [(name, one) for name, one in cheaper if Decimal(one.facts.price) < price]
    if others:
        name, other = max(others, key=lambda pair: Decimal(pair[1].facts.price))
        saves = text(price - Decimal(other.facts.price))
        worse = tuple(_said(code, **params, offer=name) for code, params in _worse(mine, other))
        return (_said("lacks_saves" if worse else "lacks_nothing", offer=name, saves=saves), *worse)
    if cheaper and all(one.picks == mine.picks for _, one in cheaper):
        return (_said("lacks_same", offer=cheaper[-1][0]),)
    failed = [one for one in proofs.made.values() if not one.holds and Decimal(one.facts.price) < price]
    if failed:
        near = max(failed, key=lambda one: Decimal(one.facts.price))
        saves = text(price - Decimal(near.facts.price))
        return (_said("lacks_tried", saves=saves), *(one.said for one in near.failed))
    return (_said("lacks_no_cheaper", offer=outcome.offer),)


def _worse(mine: Proof, other: Proof) -> Iterator[tuple[str, dict[str, Scalar]]]:
    """In what another system is worse, with both numbers."""
    here, there = mine.facts, other.facts
    lit, darker = here.dark_chance_ratio, there.dark_chance_ratio
    if lit is not None and darker is not None and darker > lit:
        yield "lacks_light", {"here_ratio": lit, "there_ratio": darker}
    for code, name, ending, least in COUNTED:
        one, two = getattr(here, name), getattr(there, name)
        if one is not None and two is not None and one - two >= least:
            yield code, {f"here{ending}": one, f"there{ending}": two}


COUNTED = (
    ("lacks_days", "days_without_charging", "_days", 0.05),
    ("lacks_years", "battery_years", "", 0.1),
    ("lacks_outputs", "spare_outputs", "", 1),
    ("lacks_capacity", "capacity_ah", "_ah", 1),
    ("lacks_array", "array_w", "_w", 1),
)
"""Code of what is lacking, the fact that it is of, the ending of its numbers, the least that counts."""


def _said(code: str, **params: Scalar) -> Said:
    return Said(code=code, params=params)
