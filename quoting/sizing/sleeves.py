"""Conduit along each cable way of the vehicle: what lies in it, which one takes it, and how full it is.

Both conductors of a circuit lie in one conduit where one takes them; circuits of large conductors have a conduit of
their own; what stays in the vehicle keeps the cover it has. The cable across the drawbar has a sheath and no conduit.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from catalog.kinds.capabilities import Conducting, Sleeving
from quoting.sizing.appraisal import Circuit, Shortfall
from quoting.sizing.brief import Brief, Position, Run, Vehicle
from quoting.sizing.parts import Able, Catalogue, short
from quoting.sizing.sleeves_fill import (
    Bundle,
    Strand,
    disc_mm2,
    estimated_outside_mm,
    fewest,
    fill_ratio,
    goes_in,
    limit_ratio,
)
from quoting.sizing.trace import Finding
from quoting.sizing.wiring_records import SleeveUse

FORMS = ("conduit", "sleeve")
"""Covers that are laid by the metre, the first preferred; heat-shrink covers joints."""
NO_GROMMET = {"engine_space": "no_grommet_fits", "hitch": "no_gland_fits"}
"""Wall that a way passes -> finding where nothing of the catalogue takes its conduit there."""
SINGLE = ("sense", "control")
"""Circuits that may be one conductor; of any other a return of its own size is counted where none is chosen yet."""


@dataclass(frozen=True, slots=True)
class Sleeved:
    """Conduits of every way in use, and what the catalogue lacks for them."""

    uses: tuple[SleeveUse, ...] = ()
    shortfalls: tuple[Shortfall, ...] = ()
    findings: tuple[Finding, ...] = ()


@dataclass(frozen=True, slots=True)
class _Way:
    """What lies along one run."""

    run: Run
    circuits: tuple[Circuit, ...]
    air_c: float
    wall: str
    passes_at: str
    alone: bool = False


def sleeve(brief: Brief, circuits: Sequence[Circuit], apart_mm2: float | None = None) -> Sleeved:
    """Choose a conduit for every cable way that circuits are laid along.

    Parameters
    ----------
    brief : Brief
        For the vehicle's runs and the catalogue.
    circuits : sequence of Circuit
        As designed, with the positions each passes.
    apart_mm2 : float, optional
        Conductor from which a circuit lies apart; the policy's by default. [mm²]

    Returns
    -------
    Sleeved
        Without any conduit in the catalogue the ways are listed without one, and one finding says so.
    """
    parts = Catalogue.of(brief)
    from_mm2 = brief.policy.laid_apart_mm2 if apart_mm2 is None else apart_mm2
    covers = [a for a in parts.having(Sleeving) if a.can.form in FORMS]
    uses, lacking = [], []
    findings: list[Finding] = []
    for way in _ways(brief, circuits, from_mm2):
        use, missing = _cover(parts, way, covers)
        uses.append(_with_grommet(parts, use, way))
        lacking += missing
    if uses and not covers:
        findings.append(Finding(level="info", code="no_conduit_listed", params={"ways": len(uses)}))
    for wall, code in NO_GROMMET.items():
        bare = sorted({_between(brief, use) for use in uses if use.wall == wall and not use.grommet})
        if bare:
            findings.append(Finding(level="info", code=code, params={"ways": "; ".join(bare)}))
    return Sleeved(tuple(uses), tuple(lacking), tuple(findings))


def _between(brief: Brief, use: SleeveUse) -> str:
    names = {p.key: p.name for p in brief.vehicle.positions}
    return f"{names[use.a]} – {names[use.b]}"


def _ways(brief: Brief, circuits: Sequence[Circuit], apart_mm2: float) -> Iterable[_Way]:
    """Runs in use in their order; on each the circuits together, then every large one by itself."""
    laid: dict[frozenset[str], list[Circuit]] = defaultdict(list)
    for circuit in circuits:
        if not circuit.stays and circuit.conductor:
            for pair in pairwise(circuit.passes):
                laid[frozenset(pair)].append(circuit)
    spots = {p.key: p for p in brief.vehicle.positions}
    for run in brief.vehicle.runs:
        here = laid.pop(frozenset((run.a, run.b)), [])
        a, b = spots[run.a], spots[run.b]
        air_c, (wall, at) = max(a.ambient_c, b.ambient_c), _wall(brief.vehicle, a, b)
        together = tuple(c for c in here if c.area_mm2 < apart_mm2)
        if together:
            yield _Way(run, together, air_c, wall, at)
        for circuit in here:
            if circuit.area_mm2 >= apart_mm2:
                yield _Way(run, (circuit,), air_c, wall, at, alone=len(here) > 1)


def _wall(vehicle: Vehicle, a: Position, b: Position) -> tuple[str, str]:
    """Which sheet metal lies between two positions, and the one on its outer side; nothing between most.

    The survey says which positions are in the engine space; both ends of the way across the drawbar are outside.
    """
    if a.engine_space != b.engine_space:
        return "engine_space", a.key if a.engine_space else b.key
    outside = (vehicle.hitch.tow, vehicle.hitch.trailer) if vehicle.hitch is not None else ()
    if (a.key in outside) != (b.key in outside):
        return "hitch", a.key if a.key in outside else b.key
    return "", ""


def conductors_of(parts: Catalogue, circuit: Circuit) -> tuple[tuple[str, float], ...]:
    """Each conductor of a circuit: key of its part, and its area [mm²]; the return is none where the body is it."""
    first = (circuit.conductor, circuit.area_mm2)
    if circuit.role == "negative_bond" or circuit.return_by == "chassis":
        return (first,)
    if circuit.role in SINGLE and not circuit.negative:
        return (first,)
    key = circuit.negative or circuit.conductor
    area = parts.can(key, Conducting).area_mm2 if parts.has(key, Conducting) else circuit.area_mm2
    return first, (key, area)


def _strand(parts: Catalogue, circuit: Circuit) -> tuple[Strand, bool]:
    """A circuit's conductors as discs, and whether an outside diameter had to be estimated."""
    discs, estimated = [], False
    for key, area_mm2 in conductors_of(parts, circuit):
        stated = parts.can(key, Conducting).outside_mm if parts.has(key, Conducting) else None
        estimated = estimated or stated is None
        discs.append(disc_mm2(stated if stated is not None else estimated_outside_mm(area_mm2)))
    return Strand(circuit.tag, tuple(discs)), estimated


def hottest_c(circuits: Iterable[Circuit], air_c: float) -> float:
    """Temperature of the hottest conductor at its design current in air of ``air_c``. [°C]

    A conductor that carries its corrected ampacity is as hot as its insulation class; its rise over the air goes with
    the square of the current (IEC 60287's balance of heat, with one resistance).
    """
    rises = [
        (c.insulation_c - c.ambient_c) * min(1.0, c.current_a / c.ampacity_a) ** 2
        for c in circuits
        if c.ampacity_a > 0 and c.insulation_c > c.ambient_c
    ]
    return air_c + max(rises, default=0.0)


def _cover(parts: Catalogue, way: _Way, covers: list[Able[Sleeving]]) -> tuple[SleeveUse, list[Shortfall]]:
    made = [_strand(parts, circuit) for circuit in way.circuits]
    strands = [strand for strand, _ in made]
    hot_c = hottest_c(way.circuits, way.air_c)
    usable = [a for a in covers if a.can.max_c >= hot_c]
    able, bundles = _choose(strands, usable)
    fullest = max(bundles, key=lambda b: fill_ratio(b, able.can.inner_mm) / limit_ratio(b)) if able else strands
    use = SleeveUse(
        a=way.run.a,
        b=way.run.b,
        length_m=way.run.length_m,
        circuits=tuple(circuit.tag for circuit in way.circuits),
        conductors=sum(len(strand.discs_mm2) for strand in strands),
        conductors_mm2=round(math.fsum(strand.mm2 for strand in strands), 2),
        part=able.part.key if able else "",
        name=able.part.name if able else "",
        inner_mm=able.can.inner_mm if able else None,
        count=len(bundles) if able else 1,
        fill_ratio=round(fill_ratio(fullest, able.can.inner_mm), 4) if able else None,
        limit_ratio=limit_ratio(fullest),
        estimated=any(estimated for _, estimated in made),
        hottest_c=round(hot_c, 1),
        alone=way.alone,
        passes_wall=way.wall == "engine_space",
        wall=way.wall,
        passes_at=way.passes_at,
    )
    if able or not covers:
        return use, []
    return use, [_lacks(use, strands, covers, usable, hot_c)]


def _choose(strands: list[Strand], usable: list[Able[Sleeving]]) -> tuple[Able[Sleeving] | None, tuple[Bundle, ...]]:
    """The smallest that takes everything; else as few side by side as there can be, the pairs kept if that goes."""
    single = [Strand(s.circuit, (disc,)) for s in strands for disc in s.discs_mm2]
    for form in FORMS:
        sizes = sorted((a for a in usable if a.can.form == form), key=lambda a: (a.can.inner_mm, a.order))
        one = next((a for a in sizes if goes_in(strands, a.can.inner_mm)), None)
        if one is not None:
            return one, (tuple(strands),)
        for pieces in (strands, single):
            best = fewest(pieces, sizes[-1].can.inner_mm) if sizes else None
            if best is None:
                continue
            for able in sizes:
                shared = fewest(pieces, able.can.inner_mm)
                if shared is not None and len(shared) <= len(best):
                    return able, shared
    return None, ()


def _lacks(
    use: SleeveUse, strands: list[Strand], covers: list[Able[Sleeving]], usable: list[Able[Sleeving]], hot_c: float
) -> Shortfall:
    subject = ", ".join(use.circuits)
    if not usable:
        best = max(covers, key=lambda a: (a.can.max_c, a.order))
        value = best.can.max_c
        return short("too_small", "sleeving", subject, best=best, best_value=value, asked=hot_c, unit="°C")
    best = max(usable, key=lambda a: (a.can.inner_mm, a.order))
    thickest = max(disc for strand in strands for disc in strand.discs_mm2)
    asked = math.sqrt(4 / math.pi * thickest / limit_ratio((Strand("", (thickest,)),)))
    return short("too_small", "sleeving", subject, best=best, best_value=best.can.inner_mm, asked=asked, unit="mm")


def _with_grommet(parts: Catalogue, use: SleeveUse, way: _Way) -> SleeveUse:
    """Where a way passes sheet metal: the smallest grommet that takes its conduit; outside, one that is watertight."""
    if not way.wall or not use.part:
        return use
    can = parts.can(use.part, Sleeving)
    if can.outside_mm is None:
        return use
    fits = [
        a
        for a in parts.having(Sleeving)
        if a.can.form == "grommet"
        and a.can.inner_mm >= can.outside_mm
        and a.can.max_c >= way.air_c
        and (a.can.watertight or way.wall != "hitch")
    ]
    if not fits:
        return use
    best = min(fits, key=lambda a: (a.can.inner_mm, a.order))
    return use.model_copy(update={"grommet": best.part.key, "grommet_name": best.part.name})
