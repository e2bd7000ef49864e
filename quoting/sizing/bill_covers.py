"""What covers and holds the ways: conduit, grommets and glands at sheet metal, ties, covers over live metal."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable

from catalog.kinds.capabilities import Sleeving
from catalog.kinds.capabilities_fitting import Consuming, Insulating
from quoting.sizing.appraisal import Circuit
from quoting.sizing.bill_ends import outside_mm
from quoting.sizing.bill_lines import METRE, PACK, Count
from quoting.sizing.bill_parts import is_negative_bar
from quoting.sizing.bill_uses import STEPS, Uses, step_of
from quoting.sizing.landings import stud_of
from quoting.sizing.wiring_records import SleeveUse

FILLED_RATIO = 0.6
"""Share that round conductors fill of the bundle that a tie pulls them into. C"""

HOLDS = ("tie", "clip")
"""What of the consumables holds cable."""

SEALANT_ML_PER_PASS = 20.0
"""Round a gland that keeps water out. [ml] C"""

OF_A_BATTERY = ("battery_main", "engine_feed", "inverter_feed")
"""Circuits whose conductors carry a battery's current; ISO 10133 holds them closer together."""

BARE_STUDS = ("isolator", "breaker")
"""Devices with studs of their own and no lid over them; a fuse-link's holder has one. C"""


def ways(count: Count) -> None:
    """Conduit by the metre, a grommet or gland where it passes sheet metal, ties or clips along it."""
    for use in count.wiring.sleeves:
        step = _step(count, use)
        if use.part:
            metres = Uses().add(step, "", use.length_m * use.count)
            count.add(use.part, "sleeve", metres, use.circuits, unit=METRE, spare_ratio=count.spare_ratio)
        if use.wall:
            at = use.passes_at
            count.do("pass_bulkhead", step, use.count, at)
            if use.grommet:
                rule = "gland_hitch" if use.wall == "hitch" else "grommet"
                count.add(use.grommet, rule, Uses().add(step, at, use.count), use.circuits)
            if use.wall == "hitch":
                _sealed(count, step, at, use.count)
    _supports(count)
    _roof(count)


def _step(count: Count, use: SleeveUse) -> str:
    """A conduit is laid with the first circuit in it."""
    return min((step_of(count.circuits.get(tag)) for tag in use.circuits), key=STEPS.index, default="circuits")


def _supports(count: Count) -> None:
    """A tie or clip at least as often as policy says along every way, of the cheapest that goes round."""
    policy = count.brief.policy
    for use in count.wiring.sleeves:
        of_battery = any(count.circuits[tag].role in OF_A_BATTERY for tag in use.circuits)
        every_m = policy.support_battery_every_m if of_battery else policy.support_every_m
        pieces = math.ceil(round(use.length_m / every_m, 6)) * use.count
        across = _across_mm(count, use)
        able = [
            a
            for a in count.parts.having(Consuming)
            if a.can.what in HOLDS and a.can.unit == "pieces" and a.can.most_mm is not None and a.can.most_mm >= across
        ]
        if not able:
            count.lacks("support")
            continue
        best = min(able, key=lambda a: (float(a.cost) / a.can.pack, a.order))
        uses = Uses().add(_step(count, use), "", pieces)
        count.add(
            best.part.key, "support", uses, use.circuits, unit=PACK, in_pack=best.can.pack,
            every_m=policy.support_every_m, battery_every_m=policy.support_battery_every_m,
        )  # fmt: skip


def _across_mm(count: Count, use: SleeveUse) -> float:
    """What a tie goes round: the conduit, or the bundle. [mm]"""
    if use.part:
        can = count.parts.can(use.part, Sleeving)
        return can.outside_mm or 1.2 * can.inner_mm
    return math.sqrt(4 / math.pi * use.conductors_mm2 / FILLED_RATIO)


def _roof(count: Count) -> None:
    """Where the array's conductors pass the roof: a gland that keeps water out, each conductor by a way of its own."""
    strings = [c for c in count.wiring.circuits if c.role == "solar_array" and not c.stays and len(c.passes) > 1]
    if not strings:
        return
    tags = [c.tag for c in strings]
    across = max(outside_mm(count, p) for p in count.wiring.pieces if p.circuit in tags)
    glands = [
        a
        for a in count.parts.having(Sleeving)
        if a.can.form == "grommet" and a.can.watertight and a.can.inner_mm >= across
    ]
    at, conductors = strings[0].from_position, sum(_conductors(c) for c in strings)
    if not glands:
        count.lacks("gland_roof", unsafe=True)
        return
    best = min(glands, key=lambda a: (a.cost * math.ceil(conductors / a.can.ways), a.order))
    pieces = math.ceil(conductors / best.can.ways)
    count.add(
        best.part.key, "gland_roof", Uses().add("solar", at, pieces), tags, conductors=conductors, across_mm=across
    )
    _sealed(count, "solar", at, pieces)


def _conductors(circuit: Circuit) -> int:
    return 1 if circuit.return_by == "chassis" else 2


def _sealed(count: Count, step: str, position: str, passes: int) -> None:
    sealant(count, Uses().add(step, position, passes * SEALANT_ML_PER_PASS))


def sealant(count: Count, uses: Uses) -> None:
    """So much sealant, by the share of a tube. [ml]"""
    _used_up(count, "sealant", uses)


def adhesive(count: Count, uses: Uses) -> None:
    """So much adhesive, by the share of a tube. [ml]"""
    _used_up(count, "adhesive", uses)


def _used_up(count: Count, what: str, uses: Uses) -> None:
    tubes = [a for a in count.parts.having(Consuming) if a.can.what == what and a.can.unit == "ml"]
    if not tubes:
        count.lacks(what)
        return
    best = min(tubes, key=lambda a: (float(a.cost) / a.can.pack, a.order))
    count.add(best.part.key, what, uses, unit=PACK, in_pack=best.can.pack, used_unit="ml")


def live_metal(count: Count) -> None:
    """A cover over every live busbar, and one over each live post and bare stud.

    References
    ----------
    .. [1] 33 CFR 183.420, batteries: each terminal protected so that no metal part falls on it.
    """
    for node in count.wiring.nodes:
        studs, stud_mm = node.params.get("studs"), node.params.get("stud_mm")
        if node.what not in ("busbar", "board") or is_negative_bar(node.tag) or not isinstance(studs, int | float):
            continue
        step = "boards" if node.what == "board" else "battery"
        _cover(count, "bar", float(stud_mm or 0), int(studs), Uses().add(step, node.position, 1), (node.tag,))
    _posts(count)


def _posts(count: Count) -> None:
    posts: dict[float | None, Uses] = defaultdict(Uses)
    tags: dict[float | None, list[str]] = defaultdict(list)
    battery = count.choice.role("battery")
    if battery is not None and not battery.kept:
        stud_mm = stud_of(count.parts, battery.part)
        posts[stud_mm].add("battery", count.brief.vehicle.places.get("battery", ""), battery.quantity)
        tags[stud_mm] += [n.tag for n in count.wiring.nodes if n.what == "battery"]
    bare = {d.tag for c in count.wiring.circuits for d in c.devices if d.what in BARE_STUDS and not d.stays}
    for piece in count.wiring.pieces:
        for end in piece.ends:
            if end.at in bare and end.form == "ring" and piece.polarity == "positive":
                posts[end.stud_mm].add(step_of(count.circuits.get(piece.circuit)), end.position, 1)
                tags[end.stud_mm].append(piece.circuit)
    for stud_mm, uses in posts.items():
        _cover(count, "post", stud_mm, 1, uses, tags[stud_mm])


def _cover(count: Count, over: str, stud_mm: float | None, studs: int, uses: Uses, tags: Iterable[str]) -> None:
    fits = [
        a
        for a in count.parts.having(Insulating)
        if a.can.over == over and a.can.stud_mm >= (stud_mm or 0) and a.can.studs >= studs
    ]
    if not fits:
        count.lacks(f"cover_{over}", unsafe=True)
        return
    largest = -1 if stud_mm is None else 1  # over a post that nobody measured goes the largest there is
    best = min(fits, key=lambda a: (a.can.studs, largest * a.can.stud_mm, a.order))
    count.add(best.part.key, f"cover_{over}", uses, tags)
