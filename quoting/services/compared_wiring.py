"""In what two Briefs differ about wiring: what is watched, settled by hand, laid out, and what lies there already."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import Any

from django.utils.translation import gettext as _

from quoting.sizing.load_circuit import words_of

Raw = Mapping[str, Any]
Said = tuple[str, str]
"""Part of the Brief, and a sentence."""


def wiring(before: Raw, now: Raw, names: Mapping[str, str] | None = None) -> Iterator[Said]:
    """A sentence for each difference; fields that one of the two does not know count as empty.

    ``names`` are those of circuits by their keys, as far as a design knows them.
    """

    def name(circuit: str) -> str:
        return (names or {}).get(circuit) or circuit_name(circuit, now, before)

    yield from _listed("senses", before, now, "key", lambda key, row: row["name"], SENSES)
    yield from _listed("changes", before, now, "circuit", lambda key, row: name(key), CHANGES)
    yield from _listed("existing", before, now, "circuit", lambda key, row: row["name"], EXISTING)
    if _of(before, "layout") != _of(now, "layout"):
        yield "layout", _("Circuits were laid on other outputs.")
    if _of(before, "inputs") != _of(now, "inputs"):
        yield "inputs", _("What is watched was laid on other inputs.")
    if _of(before, "kept") != _of(now, "kept"):
        yield "kept", _("Which parts stay in the vehicle was changed.")


def circuit_name(key: str, *briefs: Raw) -> str:
    """What a circuit is called that only its key is known of: its load, or its key in words."""
    plain = key.removeprefix("load:").partition("@")[0]
    if plain != key.partition("@")[0]:
        return next((x["name"] for brief in briefs for x in brief["loads"] if x["key"] == plain), words_of(plain))
    return key.replace("_", " ").capitalize()


SENSES: tuple[Callable[[], str], ...] = (
    lambda: _("“%(name)s” is watched now."),
    lambda: _("“%(name)s” is no longer watched."),
    lambda: _("“%(name)s” is watched in another way or place."),
)
CHANGES: tuple[Callable[[], str], ...] = (
    lambda: _("The circuit “%(name)s” was settled by hand."),
    lambda: _("What was settled by hand for “%(name)s” was taken back."),
    lambda: _("The circuit “%(name)s” was settled by hand in another way."),
)
EXISTING: tuple[Callable[[], str], ...] = (
    lambda: _("“%(name)s” is written down as lying in the vehicle."),
    lambda: _("“%(name)s” is no longer counted on as lying in the vehicle."),
    lambda: _("What lies in the vehicle of “%(name)s” was written down anew."),
)


def _listed(
    part: str,
    before: Raw,
    now: Raw,
    key: str,
    name: Callable[[str, Raw], str],
    said: tuple[Callable[[], str], ...],
) -> Iterator[Said]:
    added, gone, changed = said
    old = {row[key]: row for row in _of(before, part)}
    new = {row[key]: row for row in _of(now, part)}
    for one in [k for k in new if k not in old]:
        yield part, added() % {"name": name(one, new[one])}
    for one in [k for k in old if k not in new]:
        yield part, gone() % {"name": name(one, old[one])}
    for one in [k for k in new if k in old and new[k] != old[k]]:
        yield part, changed() % {"name": name(one, new[one])}


def _of(brief: Raw, part: str) -> list[Any]:
    return list(brief.get(part) or ())


PLACED = ("x_m", "y_m", "is_measured")
"""What a position says of the plan alone: no figure follows from it."""


def only_placed(before: list[Raw], now: list[Raw]) -> bool:
    """Do positions differ in nothing but where they are drawn?"""
    return _unplaced(before) == _unplaced(now)


def _unplaced(positions: list[Raw]) -> list[dict[str, Any]]:
    return [{k: v for k, v in one.items() if k not in PLACED} for one in positions]
