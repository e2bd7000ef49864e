"""Sensing inputs given out: which reads what, as a person laid it where that fits, else by itself.

An input is named by the part's number among those that sense and by its own among the inputs of its kind there.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from quoting.sizing.brief import Brief
from quoting.sizing.brief_wiring import INPUT_OF, LaidIn, Sense
from quoting.sizing.choice_sensing import Unit
from quoting.sizing.trace import Finding, Scalar

Distance = Callable[[Unit, Sense], tuple[float, ...]]
"""How far a unit is from what is watched: compared, the least first."""


@dataclass(frozen=True, slots=True)
class Given:
    """One input and what is on it."""

    unit: Unit
    kind: str
    channel: int
    """From 1, among the inputs of its kind."""
    sense: Sense | None = None
    laid: bool = False


def give_inputs(brief: Brief, units: Iterable[Unit], distance: Distance) -> tuple[list[Given], list[Finding]]:
    """Give every sense an input of its kind: where a person put it, else the nearest that is free.

    Parameters
    ----------
    brief : Brief
        What is watched, and the inputs that a person gave.
    units : iterable of Unit
        Pieces with inputs.
    distance : callable
        Of a unit from what is watched; the least is taken.

    Returns
    -------
    tuple
        Every input there is, used or spare, by unit, kind and number; and what a person gave that does not fit. As any
        input of a kind serves, a sense is left without one only when all of its kind are taken.
    """
    every = [
        Given(unit, kind, channel)
        for unit in units
        for kind, count in unit.inputs.items()
        for channel in range(1, count + 1)
    ]
    taken: dict[int, Given] = {}
    said: list[Finding] = []
    senses = {sense.key: sense for sense in brief.senses}
    for laid in brief.inputs:
        sense = senses.get(laid.sense)
        slot = _slot(every, laid, sense)
        refusal = _refusal(laid, sense, slot, taken)
        if refusal is not None:
            said.append(refusal)
        elif sense is not None and slot is not None:
            taken[slot] = Given(every[slot].unit, every[slot].kind, every[slot].channel, sense, laid=True)
    placed = {given.sense.key for given in taken.values() if given.sense is not None}
    for sense in brief.senses:
        if sense.key in placed:
            continue
        free = [i for i, g in enumerate(every) if i not in taken and g.kind == INPUT_OF[sense.what]]
        slot = min(free, key=lambda i: (distance(every[i].unit, sense), i), default=None)
        if slot is not None:
            taken[slot] = Given(every[slot].unit, every[slot].kind, every[slot].channel, sense)
    return [taken.get(i, given) for i, given in enumerate(every)], said


def _slot(every: list[Given], laid: LaidIn, sense: Sense | None) -> int | None:
    if sense is None:
        return None
    place = laid.unit, INPUT_OF[sense.what], laid.channel
    return next((i for i, g in enumerate(every) if (g.unit.number, g.kind, g.channel) == place), None)


def _refusal(laid: LaidIn, sense: Sense | None, slot: int | None, taken: dict[int, Given]) -> Finding | None:
    """Why a person's choice does not fit; ``None``: it does."""
    params: dict[str, Scalar] = {"unit": laid.unit, "channel": laid.channel}
    if sense is None:
        return Finding(level="info", code="input_for_nothing", subject=laid.sense, params={**params, "key": laid.sense})
    params |= {"name": sense.name, "kind": INPUT_OF[sense.what]}
    if slot is None:
        return Finding(level="warning", code="input_not_there", subject=sense.key, params=params)
    if slot in taken:
        other = taken[slot].sense
        params |= {"other": other.name if other else ""}
        return Finding(level="warning", code="input_taken", subject=sense.key, params=params)
    return None
