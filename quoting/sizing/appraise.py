"""From a Brief to its Appraisal: loads, needs, choice, own draw, balance, circuits, bill, readings, in that order."""

from __future__ import annotations

import hashlib
import json
import math
from collections.abc import Iterable
from dataclasses import replace

from pydantic import ValidationError

from quoting.sizing import (
    charging,
    converters,
    figures_trip,
    filling,
    got,
    hitch,
    keeping,
    own,
    places,
    placing,
    plan_check,
    stops,
)
from quoting.sizing.appraisal import METHOD_VERSION, Appraisal, Lasting
from quoting.sizing.asking import ask
from quoting.sizing.bill import bill_of
from quoting.sizing.brief import Brief, Part
from quoting.sizing.choice import Choice, choose
from quoting.sizing.choice_bank import settled_bank
from quoting.sizing.circuits import Wiring, design_circuits
from quoting.sizing.cutouts import is_of_12_v
from quoting.sizing.days import day_of, losses_of, room_of
from quoting.sizing.errors import SizingError
from quoting.sizing.expectations import expect
from quoting.sizing.kept import check_kept, check_picks, counted_once, retired
from quoting.sizing.lasting import lasting
from quoting.sizing.loads import Day
from quoting.sizing.needs import Needs
from quoting.sizing.parts import Catalogue
from quoting.sizing.policy import check_policy
from quoting.sizing.sleeves import sleeve
from quoting.sizing.system import Book, System, assemble, check_wishes
from quoting.sizing.trace import Finding
from quoting.sizing.wired import as_wired

MOST_ROUNDS = 5
"""Rounds in which choice and own draw may follow each other."""
MOST_ENERGY_WH = 1e6
"""Energy of a day beyond which no vehicle is meant. [Wh]"""


def canonical(brief: Brief) -> bytes:
    """A Brief as the bytes its key is made of: sorted, without spaces, every default written out."""
    fields = {name: _compact(value) for name, value in brief.model_dump(mode="json", exclude={"catalogue"}).items()}
    fields["catalogue"] = _catalogue_text(brief)
    return f"{{{','.join(f'{_compact(name)}:{fields[name]}' for name in sorted(fields))}}}".encode()


def _compact(value: object) -> str:
    return json.dumps(value, sort_keys=True, separators=(",", ":"), ensure_ascii=False)


_last_text: list[tuple[tuple[Part, ...], str] | None] = [None]
"""The catalogue that was written last, and how: those of one selection are one. Replaced whole."""


def _catalogue_text(brief: Brief) -> str:
    last = _last_text[0]
    if last is None or last[0] is not brief.catalogue:
        said = brief.model_dump(mode="json", include={"catalogue"})
        last = _last_text[0] = brief.catalogue, _compact(said["catalogue"])
    return last[1]


def brief_sha256(brief: Brief) -> str:
    """Key of a result: Brief (with its policy) and METHOD_VERSION."""
    return hashlib.sha256(canonical(brief) + METHOD_VERSION.encode()).hexdigest()


def appraise(brief: Brief) -> Appraisal:
    """Work out everything that follows from a Brief.

    Parameters
    ----------
    brief : Brief
        Checked values with their policy and catalogue.

    Returns
    -------
    Appraisal
        Figures with their working, components, circuits, bill, findings. What the catalogue could not meet is a
        shortfall, and the sums go on with what there is.

    Raises
    ------
    SizingError
        If no figure can be made from an input.
    """
    check_wishes(brief)
    check_policy(brief.policy)
    try:
        return _appraise(brief)
    except (ValidationError, OverflowError, ZeroDivisionError) as error:
        if isinstance(error, ValidationError) and any(e["type"] != "finite_number" for e in error.errors()):
            raise  # a fault of ours, not of the input
        raise SizingError(
            "brief",
            code="conflict",
            message=f"values at the edge of what can be reckoned lead to no number ({_where(error)})",
        ) from error


def _where(error: Exception) -> str:
    """What was being written down when a value could not be: the record's name, or the kind of overflow."""
    return error.title if isinstance(error, ValidationError) else type(error).__name__


def _appraise(brief: Brief) -> Appraisal:
    parts = Catalogue.of(brief)
    check_kept(brief, parts)
    check_picks(brief, parts)
    book, system, choice, days, needs = _settle(brief, parts)
    worst = max(range(len(days)), key=lambda i: days[i].energy_wh)
    day = days[worst]
    results = tuple(line.result(system.bank_v) for line in day.lines)
    capacity = system.capacity_ah or needs.battery.capacity_ah[system.chemistry]
    wiring = design_circuits(brief, choice, results, needs)
    if wiring.coupling is not None:
        choice = replace(choice, chosen=(*choice.chosen, wiring.coupling))
    wiring = _sleeved(brief, wiring)
    system = as_wired(system, wiring.circuits, wiring.shortfalls, book)
    room = room_of(brief, day)
    got.bank(system, needs, day, book)
    got.engine(system, room, book)
    got.mains(system, brief.trip[worst], day, book)
    got.solar(system, days, book)
    got.inverter(system, needs, book)
    for figure in converters.figures(needs.converter, *(system.converter or (None, None))):
        book.figures[figure.code] = figure
    book.findings.extend((*counted_once(brief, parts), *retired(brief, parts)))
    book.findings.extend(hitch.findings(brief, system.engine[0] if system.engine else None))
    book.findings.extend(plan_check.findings(brief.vehicle))
    book.findings.extend(places.of_trip(brief.trip))
    got.starter(brief, day.starter_wh, book)
    got.parked(system, day, book)
    keeping.life(system, brief.trip[worst], day, book)
    keeping.damage(system, book)
    keeping.cold_charging(system, book)
    keeping.starter(brief, room, book)
    stop_results = stops.run(system, days, max(capacity, 1e-6), book)
    filling.figures(system, day, stop_results[worst], book)
    outlook = figures_trip.look(system, days, wiring.circuits, results, book)
    bill = bill_of(brief, choice, wiring)
    placed = placing.place(brief, parts, choice.chosen)
    return Appraisal(
        brief_sha256=brief_sha256(brief),
        system_v=brief.wishes.system_v,
        figures=book.figures,
        loads=results,
        profile_w=own.total_w(day),
        stops=stop_results,
        chosen=choice.chosen,
        nodes=wiring.nodes,
        circuits=wiring.circuits,
        channels=wiring.channels,
        modules=wiring.modules,
        shed_groups=wiring.shed_groups,
        bill=bill.lines,
        mass_kg=math.fsum(line.mass_kg for line in bill.lines),
        room=brief.room,
        panels=placed.panels,
        batteries=placed.batteries,
        shortfalls=(*choice.shortfalls, *wiring.shortfalls),
        findings=_once((*book.findings, *choice.findings, *wiring.findings, *placed.findings, *bill.findings)),
        expectations=expect(brief, choice, wiring, book.figures),
        lasting=_lasting(system, day, capacity),
        sources=got.sources(system, stop_results, worst),
        questions=wiring.questions,
        dead_unhitched=hitch.dead_unhitched(brief),
        outlook=outlook,
        inputs=wiring.inputs,
        ac=wiring.ac,
        pieces=wiring.pieces,
        refused=wiring.refused,
        sleeves=wiring.sleeves,
    )


def _sleeved(brief: Brief, wiring: Wiring) -> Wiring:
    """With conduit along the ways that its circuits take."""
    covered = sleeve(brief, wiring.circuits)
    return replace(
        wiring,
        sleeves=covered.uses,
        shortfalls=(*wiring.shortfalls, *covered.shortfalls),
        findings=(*wiring.findings, *covered.findings),
    )


def wiring_of(brief: Brief) -> Wiring:
    """The circuits that follow from a Brief, and nothing else of it: quick enough to try a change of one.

    Raises :class:`SizingError` where :func:`appraise` would.
    """
    check_wishes(brief)
    check_policy(brief.policy)
    parts = Catalogue.of(brief)
    check_kept(brief, parts)
    check_picks(brief, parts)
    _book, system, choice, days, needs = _settle(brief, parts)
    day = max(days, key=lambda d: d.energy_wh)
    return design_circuits(brief, choice, tuple(line.result(system.bank_v) for line in day.lines), needs)


def _settle(brief: Brief, parts: Catalogue) -> tuple[Book, System, Choice, tuple[Day, ...], Needs]:
    """Choose until the parts' own draw changes nothing any more, or the rounds are over.

    The loads are worked out again in every round, with the chosen inverter's losses, the chosen converter's efficiency
    and every part's own draw; so the last round's figures are those of the parts that are chosen.
    """
    bank = settled_bank(brief, parts)
    system = assemble(brief, (bank,) if bank else (), parts)
    seen: list[tuple[object, ...]] = []
    settled = False
    for _ in range(MOST_ROUNDS):
        book, days, needs = once_through(brief, system)
        choice = choose(brief, needs)
        mark = tuple((c.role, c.part, c.quantity, c.series, c.parallel) for c in choice.chosen)
        settled = bool(seen) and mark == seen[-1]
        seen.append(mark)
        system = assemble(brief, choice.chosen, parts)
        if settled:
            break
    book, days, needs = once_through(brief, system)
    if not settled:
        book.note("info", "choice_not_settled", "", rounds=MOST_ROUNDS)
    return book, system, choice, days, needs


def once_through(brief: Brief, system: System) -> tuple[Book, tuple[Day, ...], Needs]:
    """Days of the trip with a system's own draw and losses, and what they ask; figures and findings are in the book."""
    book = Book()
    curve = losses_of(brief, system, book)
    days = tuple(day_of(system, stop, index, curve) for index, stop in enumerate(brief.trip))
    for day in days:
        if not day.energy_wh <= MOST_ENERGY_WH:
            raise SizingError("loads", value=round(day.energy_wh), minimum=0, maximum=MOST_ENERGY_WH, unit="Wh")
        for found in day.findings:
            if all((f.code, f.subject) != (found.code, found.subject) for f in book.findings):
                book.findings.append(found)
    book.findings.extend(
        f for f in charging.vehicle_findings(brief.vehicle, brief.wishes.engine_charging) if f not in book.findings
    )
    _bus_findings(brief, days[0], book)
    needs = ask(brief, days, curve, system, book)
    wanting = converters.not_carried(needs.converter, *(system.converter or (None, None)))
    if wanting:
        names, amps = ", ".join(c.name for c in wanting), converters.continuous_a(wanting)
        book.note("warning", "converter_needed", "house12", loads=names, current_a=amps)
    return book, days, needs


def _bus_findings(brief: Brief, day: Day, book: Book) -> None:
    by_key = {x.key: x for x in day.lines}
    for load in brief.loads:
        if load.bus == "starter":
            line = by_key[load.key]
            energy = line.hours_per_day * load.use.power_w * load.quantity
            book.note("warning", "starter_load", load.key, name=load.name, energy_wh=energy)
        low_v = load.min_voltage_v
        if low_v is not None and is_of_12_v(brief, load):
            book.note("warning", "cutout_of_12_v", load.key, name=load.name, voltage_v=low_v)


def _lasting(system: System, day: Day, capacity_ah: float) -> tuple[Lasting, ...]:
    policy = system.chemistry_policy
    rate_h, exponent = (system.storage[1].rate_h, system.storage[1].peukert) if system.storage else (20.0, 1.0)
    return lasting(
        day.lines, capacity_ah, system.bank_v, policy.usable_depth_ratio, policy.end_of_life_ratio, rate_h, exponent
    )


def _once(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Each finding once, dangers first."""
    order = {"danger": 0, "warning": 1, "info": 2}
    unique: list[Finding] = []
    for found in findings:
        if found not in unique:
            unique.append(found)
    return tuple(sorted(unique, key=lambda f: order[f.level]))
