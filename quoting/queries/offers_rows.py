"""Needs, limits, groups and wishes that cannot be met together, in words and numbers."""

from __future__ import annotations

import math

from catalog.quantities import format_number
from quoting import words
from quoting.queries.shown import Shown, shown
from quoting.sizing.selecting.clashing import GROUP, WISH
from quoting.sizing.selecting.records import Miss
from quoting.wording import selecting_rows as wording

PLACES = {
    "budget": 2,
    "dark_chance": 3,
    "roof_m2": 2,
    "battery_space_m2": 2,
    "spare_outputs": 0,
    "outputs": 0,
    "inputs": 0,
}
"""Places after the point that a bound is shown with; 1 where nothing is said."""


def row_label(one: Miss) -> str:
    """What cannot be met: a need or limit, or the part that has to be there; a wish is worded as wishes are."""
    name, _colon, of = one.code.partition(":")
    if name == GROUP:
        return str(wording.GROUP.get(of, of))
    label = wording.ROW[name][0] if name in wording.ROW else name
    return f"{label}, {wording.OF_ROW.get(of, of)}" if of else str(label)


def asked_words(one: Miss) -> str:
    """What is asked: “at least 180 Ah”."""
    return _bound(one, one.asked, wording.WANTED, wording.WISHED)


def best_words(one: Miss) -> str:
    """The best there is, or what it would have to be; rounded so that what is shown would do."""
    places = PLACES.get(_name(one), 1)
    step = 10.0**-places
    steps = one.best / step
    whole = math.floor(steps + 1e-6) if one.best < one.asked else math.ceil(steps - 1e-6)
    return _bound(one, round(whole * step, places), wording.NONE_FITS, wording.GIVEN_UP)


def short_of(one: Miss) -> Shown | None:
    """By how much it is missed; nothing where it has no size."""
    if _name(one) in (GROUP, WISH):
        return None
    if _name(one) == "budget":
        return Shown(format_number(one.short_by, 2), "")
    return shown(100 * one.short_by, "%") if _name(one) == "dark_chance" else shown(one.short_by, one.unit)


def _bound(one: Miss, value: float, of_group: object, of_wish: object) -> str:
    name = _name(one)
    if name == GROUP:
        return str(of_group)
    if name == WISH:
        return str(of_wish)
    template = wording.ROW[name][1] if name in wording.ROW else "{value}"
    return str(template).format(value=_number(name, value, one.unit))


def _number(name: str, value: float, unit: str) -> str:
    if name == "dark_chance":
        return words.number_words(100 * value, "%")
    is_whole = name != "budget" and value == round(value)
    text = format_number(value, 0 if is_whole else PLACES.get(name, 1))
    return f"{text}{words.NARROW}{unit}" if unit else text


def _name(one: Miss) -> str:
    return one.code.partition(":")[0]
