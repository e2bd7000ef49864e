"""What the wiring as designed means for the sources: how much their feeds lose, and which ways were refused."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from quoting.sizing.appraisal import Circuit, Shortfall
from quoting.sizing.brief import Brief, Role
from quoting.sizing.hitch import parted
from quoting.sizing.system import Book, System

STRETCHES: dict[str, tuple[tuple[Role, Role, tuple[str, ...]], ...]] = {
    "engine": (("starter", "charger", ("engine_feed",)), ("charger", "battery", ("charger_output",))),
    "mains": (("charger", "battery", ("mains_output", "charger_output")),),
    "sun": (("array", "charger", ("solar_array",)), ("charger", "battery", ("controller_output", "charger_output"))),
}
"""Places that a source's current passes between, and the roles of the circuits that carry it there."""


def as_wired(system: System, circuits: tuple[Circuit, ...], shortfalls: Iterable[Shortfall], book: Book) -> System:
    """The system with its engine feed's resistance, and without the sources that have no way over the hitch.

    A source is cut where its way passes the hitch and a coupling is lacking for it, hitched or not.
    """
    feed = next((c for c in circuits if c.role == "engine_feed" and c.current_a > 0), None)
    cut = frozenset(_refused(system.brief, circuits, shortfalls))
    for source in sorted(cut):
        one = {"engine": system.engine, "mains": system.mains, "sun": system.solar}[source]
        if one is not None:
            book.note("warning", f"hitch_refused_{source}", source, name=one[0].name)
    return replace(system, feed_ohm=feed.drop_v / feed.current_a if feed else None, cut=cut)


def _refused(brief: Brief, circuits: tuple[Circuit, ...], shortfalls: Iterable[Shortfall]) -> Iterable[str]:
    """Sources whose stretch over the hitch has no circuit with pins to carry it."""
    if brief.vehicle.hitch is None or not any(s.need.code == "coupling" for s in shortfalls):
        return
    carried = {c.role for c in circuits if c.crosses_hitch and c.pins_a}
    places = brief.vehicle.places
    for source, stretches in STRETCHES.items():
        for start, end, roles in stretches:
            if parted(brief.vehicle, (places.get(start), places.get(end))) and not carried & set(roles):
                yield source
                break
