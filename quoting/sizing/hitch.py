"""A tow vehicle and its trailer as one system: what is dead while they are apart, what the coupling carries.

The auxiliary battery's side is the live one. Positive and negative of every circuit across the hitch pass a pin each;
no current returns through the drawbar.
"""

from __future__ import annotations

import math
from collections.abc import Set
from dataclasses import replace
from itertools import pairwise

from catalog.kinds.capabilities import Coupling
from quoting.sizing.appraisal import Chosen, Circuit, DeadUnhitched, Node, Shortfall
from quoting.sizing.brief import Brief, Load, Stop, Vehicle
from quoting.sizing.converters import is_behind
from quoting.sizing.errors import SizingError, require
from quoting.sizing.kept import as_settled, marked, settled_as
from quoting.sizing.loads import HOURS, Day, Line
from quoting.sizing.parts import Able, Catalogue, chosen_of, short
from quoting.sizing.topology import position
from quoting.sizing.trace import Finding, step

SOURCES = {"engine": ("starter", "charger", "battery"), "mains": ("inlet", "charger", "battery"),
           "sun": ("array", "charger", "battery")}  # fmt: skip
"""Places that the current of each source passes on its way to the battery."""

OWN_PLACES = {
    "engine_charger": "charger", "mains_charger": "charger", "solar_controller": "charger", "multi_charger": "charger",
    "inverter": "inverter", "switching": "board", "sensing": "board", "converter": "converter",
}  # fmt: skip
"""Place of the parts that draw for themselves; the rest sit with the battery."""


def parted(vehicle: Vehicle, places: tuple[str | None, ...]) -> bool:
    """Say whether a way past these positions needs the hitch; positions that are not said are passed over."""
    sides = [position(vehicle, key).on_trailer for key in places if key]
    return any(a != b for a, b in pairwise(sides))


def dead_unhitched(brief: Brief) -> tuple[DeadUnhitched, ...]:
    """Loads and sources that have no way to the auxiliary battery while the trailer is unhitched; none without a hitch.

    A load is dead when battery, board (or inverter, converter) and load are not all on one side; a source when it, its
    charger and the battery are not.
    """
    vehicle = brief.vehicle
    if vehicle.hitch is None:
        return ()
    found = [
        DeadUnhitched(what="load", key=load.key, name=load.name, essential=load.essential)
        for load in brief.loads
        if parted(vehicle, _way_of(brief, load))
    ]
    wanted = {"engine": brief.wishes.engine_charging, "mains": brief.wishes.mains_charging,
              "sun": brief.wishes.solar_charging}  # fmt: skip
    for source, places in SOURCES.items():
        if wanted[source] and parted(vehicle, tuple(vehicle.places.get(p) for p in places)):  # type: ignore[call-overload]
            found.append(DeadUnhitched(what="source", key=source))
    return tuple(found)


def _way_of(brief: Brief, load: Load) -> tuple[str | None, ...]:
    places = brief.vehicle.places
    if load.bus == "starter":
        return places.get("starter"), load.position
    if load.bus == "ac":
        middle = places.get("inverter")
    elif is_behind(brief, load):
        middle = places.get("converter", places.get("board"))
    else:
        middle = places.get("board")
    return places.get("battery"), middle, load.position


def is_dead(brief: Brief, stop: Stop, source: str) -> bool:
    """Say whether a source cannot charge at a stop, the trailer being unhitched."""
    return not stop.hitched and any(d.what == "source" and d.key == source for d in dead_unhitched(brief))


def left_out(brief: Brief, stop: Stop, day: Day) -> Day:
    """The day at a stop without what is dead there; what it would take while hitched is still said."""
    if stop.hitched or brief.vehicle.hitch is None:
        return day
    dead = {d.key for d in dead_unhitched(brief) if d.what == "load"}
    places = brief.vehicle.places
    if is_dead(brief, stop, "engine"):
        dead.add("own:engine_charger")
    for role, place in OWN_PLACES.items():
        at = places.get(place, places.get("board") if place == "converter" else None)  # type: ignore[call-overload]
        if parted(brief.vehicle, (places.get("battery"), at)):
            dead.add(f"own:{role}")
    return without(day, dead)


def without(day: Day, dead: Set[str]) -> Day:
    """A day in which the lines of those keys take nothing; what they would take is still said."""
    lines = tuple(_silent(x) if x.energy_wh and x.key.removesuffix(":2") in dead else x for x in day.lines)
    on = [0.0] * 24
    for line in lines:
        if line.bus == "ac":
            on = [min(1.0, on[h] + line.on_ratio[h]) for h in HOURS]
    return replace(day, lines=lines, inverter_on=tuple(on))


def _silent(line: Line) -> Line:
    still = (0.0,) * 24
    steps = (*line.steps, step("unhitched_share", 0.0, "", "×", "input"), step("line_energy", 0.0, "Wh", "="))
    return replace(line, profile_w=still, on_ratio=still, energy_wh=0.0, hours_per_day=0.0, steps=steps)


def findings(brief: Brief, charger: Chosen | None) -> tuple[Finding, ...]:
    """What being hitched and unhitched means for loads, charging and starter battery."""
    vehicle = brief.vehicle
    if vehicle.hitch is None:
        return ()
    dead, found = dead_unhitched(brief), []
    for one in dead:
        if one.what == "load" and one.essential:
            found.append(_finding("warning", "unhitched_essential_dead", one.key, name=one.name))
    for load in brief.loads:
        if load.bus == "starter" and load.position and position(vehicle, load.position).on_trailer:
            found.append(_finding("warning", "starter_load_over_hitch", load.key, name=load.name))
    gone = {d.key for d in dead if d.what == "source"}
    for i, stop in enumerate(brief.trip):
        if stop.hitched:
            continue
        hours = {"engine": stop.driving_h_per_day, "mains": stop.mains_h_per_day, "sun": 24.0}
        for source in ("engine", "mains", "sun"):
            if source in gone and hours[source] > 0:
                level, code = "info" if source == "sun" else "warning", f"unhitched_no_{source}"
                found.append(_finding(level, code, f"stop:{i}", name=stop.site.name, lost_h=hours[source]))
    if "engine" in gone and charger is not None:
        found.append(_finding("info", "hitch_opens_engine_off", "engine", name=charger.name))
    return tuple(found)


def _finding(level: str, code: str, subject: str, **params: str | float) -> Finding:
    return Finding.model_validate({"level": level, "code": code, "subject": subject, "params": params})


def coupling_drop_v(current_a: float, pin_ohm: float, pairs: int = 1, crossings: int = 1) -> float:
    r"""Voltage lost in the contacts of a coupling, positive and negative. [V]

    .. math:: U = 2 R I / n

    Parameters
    ----------
    current_a : float
        Of the circuit. [A]
    pin_ohm : float
        One mated contact. [Ω]
    pairs : int
        Pairs of pins side by side.
    crossings : int
        Couplings that the circuit passes.

    Examples
    --------
    >>> round(coupling_drop_v(30, 0.002), 3), round(coupling_drop_v(30, 0.002, pairs=2), 3)
    (0.12, 0.06)

    Ohm's law.
    """
    require("current_a", current_a, minimum=0, maximum=1e5, unit="A")
    require("pin_ohm", pin_ohm, minimum=0, maximum=1, unit="Ω")
    require("pairs", pairs, minimum=1, maximum=100)
    return current_a * contact_ohm(pin_ohm, pairs, crossings)


def contact_ohm(pin_ohm: float, pairs: int, crossings: int) -> float:
    """Two contacts for each crossing, feed and return, with pairs side by side. [Ω]"""
    return 2 * pin_ohm * crossings / pairs


def given_coupling(brief: Brief, parts: Catalogue) -> Able[Coupling] | None:
    """The coupling that is settled or named by the hitch; raises :class:`SizingError` when it couples nothing."""
    hitch, settled = brief.vehicle.hitch, settled_as(brief, "coupling")
    key = settled.part if settled else hitch.coupling if hitch else None
    if key is None:
        return None
    try:
        return Able(parts.part(key), parts.can(key, Coupling))
    except KeyError:
        raise SizingError(
            "vehicle.hitch.coupling", value=key, code="not_a_choice",
            message=f"{key!r} is no part of the catalogue that couples",
        ) from None  # fmt: skip


def couplings_for(parts: Catalogue, crossing: list[Circuit], high_v: float) -> list[Able[Coupling]]:
    """Couplings whose pins carry every crossing circuit and its device, cheapest first."""
    models = [a for a in parts.having(Coupling) if a.can.max_v >= high_v]
    return [a for a in models if sum(pairs_for(a.can, c) for c in crossing) <= a.can.pins]


def pairs_for(can: Coupling, circuit: Circuit) -> int:
    """Pairs that carry the device of a circuit, which is over its current by the policy's margin."""
    asked = max([circuit.current_a, *(d.rating_a for d in circuit.devices if d.what in ("fuse", "breaker"))])
    return max(1, math.ceil(asked / can.pin_a - 1e-9))


def lacking(parts: Catalogue, crossing: list[Circuit], high_v: float) -> Shortfall:
    """Say what the largest coupling of the catalogue misses."""
    models = parts.having(Coupling)
    asked = sum(max([c.current_a, *(d.rating_a for d in c.devices)]) for c in crossing)
    if not models:
        return short("none_of_kind", "coupling", "coupling", asked=asked, unit="A")
    volts = [a for a in models if a.can.max_v >= high_v]
    if not volts:
        top = max(models, key=lambda a: (a.can.max_v, a.part.key))
        return short(
            "wrong_voltage", "coupling", "coupling", best=top, asked=high_v, best_value=top.can.max_v, unit="V"
        )
    near = max(volts, key=lambda a: (a.can.pins * a.can.pin_a, a.part.key))
    if near.can.pins * near.can.pin_a >= asked:
        return short("no_match", "coupling", "coupling", best=near, asked=asked, unit="A")
    carried = near.can.pins * near.can.pin_a
    return short("too_small", "coupling", "coupling", best=near, best_value=carried, asked=asked, unit="A")


def as_settled_coupling(
    brief: Brief, parts: Catalogue, shortfalls: tuple[Shortfall, ...], given: Able[Coupling]
) -> tuple[Shortfall, ...]:
    """What a settled coupling misses, as its shortfall: with the cheapest that carries it instead."""
    settled = settled_as(brief, "coupling")
    if settled is None:
        return shortfalls
    out = []
    for one in shortfalls:
        asked = one.params.get("asked")
        if one.need.code == "coupling" and isinstance(asked, int | float):
            fits = [a for a in parts.having(Coupling) if a.can.pins * a.can.pin_a >= asked]
            one = as_settled(one, settled, given.part.name, fits[0].part.name if fits else "")
        out.append(one)
    return tuple(out)


def too_thick(able: Able[Coupling], circuits: tuple[Circuit, ...]) -> tuple[Finding, ...]:
    """Say which conductors are thicker than the coupling's contacts take, where its maker states that."""
    most = able.part.spec.get("largest_mm2")
    if not isinstance(most, int | float):
        return ()
    return tuple(
        _finding("warning", "coupling_takes_less", c.tag, name=c.name, area_mm2=c.area_mm2, largest_mm2=float(most))
        for c in circuits
        if c.crosses_hitch and c.role not in SIGNALS and c.area_mm2 > most
    )


SIGNALS = ("control", "sense")
"""Roles of circuits that take contacts of a coupling which carry no charge."""


def with_dead(brief: Brief, circuits: tuple[Circuit, ...]) -> tuple[Circuit, ...]:
    """The circuits, each told whether a battery reaches it while the trailer stands alone.

    What the sun alone feeds is not counted as reached: it is live by day, and dead in the dark. A circuit over the
    hitch is dead in the half away from its source; fed from both ends it is dead nowhere, and a signal tells nothing.
    """
    if brief.vehicle.hitch is None:
        return circuits
    reached = _reached(circuits)
    return tuple(c.model_copy(update={"dead_unhitched": True}) if _is_dead(c, reached) else c for c in circuits)


def _reached(circuits: tuple[Circuit, ...]) -> set[str]:
    """Tags of the nodes that a battery feeds with the coupling apart."""
    reached = {c.source for c in circuits if c.source.startswith(BATTERIES)}
    joined = [c for c in circuits if not c.crosses_hitch and c.role not in SIGNALS]
    grew = True
    while grew:
        more = {end for c in joined if {c.source, c.target} & reached for end in (c.source, c.target)} - reached
        reached |= more
        grew = bool(more)
    return reached


BATTERIES = ("B", "G")
"""What tags of batteries and of the alternator begin with."""


def apart(brief: Brief, nodes: tuple[Node, ...], circuits: tuple[Circuit, ...]) -> tuple[Finding, ...]:
    """Say which boards stay live on each side with the coupling apart, and which circuits are dead; none without."""
    if brief.vehicle.hitch is None:
        return ()
    reached = _reached(circuits)
    live: dict[bool, list[str]] = {True: [], False: []}
    for node in nodes:
        if node.tag in reached and node.what in ("board", "inverter", "converter"):
            live[position(brief.vehicle, node.position).on_trailer].append(node.name)
    dead = [c.name for c in circuits if c.dead_unhitched and c.role not in SIGNALS]
    rows = (("unhitched_live", live[True]), ("unhitched_live_tow", live[False]), ("unhitched_dead", dead))
    return tuple(
        _finding("info", code, "coupling", names=", ".join(dict.fromkeys(names))) for code, names in rows if names
    )


def _is_dead(circuit: Circuit, reached: Set[str]) -> bool:
    if circuit.role == "negative_bond":
        return False
    if circuit.crosses_hitch:
        return circuit.role not in FED_FROM_BOTH
    return circuit.role not in SIGNALS and not {circuit.source, circuit.target} & reached


FED_FROM_BOTH = ("charger_output", "controller_output", "mains_output", "battery_main")
"""Circuits with a source at each end: both halves of a coupling in them are live when they are apart."""


def live_halves(brief: Brief, circuits: tuple[Circuit, ...]) -> tuple[Finding, ...]:
    """Say which half of the coupling stays live when it is pulled apart: that on the side of a circuit's source."""
    sides: dict[bool, list[str]] = {}
    for c in circuits:
        if c.crosses_hitch and c.role not in SIGNALS:
            fed = (c.from_position, c.to_position) if c.role in FED_FROM_BOTH else (c.from_position,)
            for key in fed:
                sides.setdefault(position(brief.vehicle, key).on_trailer, []).append(c.name)
    return tuple(
        _finding("info", code, "coupling", names=", ".join(dict.fromkeys(sides[on_trailer])))
        for on_trailer, code in ((False, "coupling_live_on_tow"), (True, "coupling_live_on_trailer"))
        if on_trailer in sides
    )


def coupling_chosen(brief: Brief, parts: Catalogue, able: Able[Coupling]) -> Chosen:
    """A coupling as part of the system."""
    settled = settled_as(brief, "coupling")
    found = chosen_of("coupling", ("coupling",), able, "")
    return marked(found, settled, parts) if settled else found
