"""Switched outputs as the page shows them: modules, what hangs on each output, what goes off when, sensing inputs."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _

from quoting import words
from quoting.models import Design
from quoting.queries.shown import shown
from quoting.services import designs
from quoting.services.layouts import Row, laid, state_of, why_move_refused
from quoting.sizing.appraisal import Appraisal, Circuit
from quoting.sizing.brief import Brief
from quoting.sizing.outputs import Bench, bench_of
from quoting.sizing.outputs_fit import Laid, Want
from quoting.sizing.sharing import sheds_below
from quoting.sizing.wiring_records import InputUse
from quoting.wording.laid import laid_refused_words
from quoting.wording.outputs import INPUT_KIND


@dataclass(frozen=True, slots=True)
class Hung:
    """A circuit that wants a switched output."""

    key: str
    tag: str
    name: str
    loads: str
    current: str
    current_a: float
    least_a: float
    group: str
    """``away`` or ``always_live``."""
    sheds: str
    """Charge under which it goes off; empty: it is not let go."""
    by_hand: bool
    left: str
    """What its output carries beyond it."""


@dataclass(frozen=True, slots=True)
class Slot:
    module: int
    channel: int
    limit: str
    limit_a: float
    on: Hung | None
    takes: bool
    """The circuit that is held may be put here."""
    why_not: str
    held: bool
    """The circuit that is held hangs here now."""


@dataclass(frozen=True, slots=True)
class Block:
    """One module."""

    number: int
    name: str
    where: str
    load: str
    total: str
    left: str
    load_a: float
    total_a: float
    protects: bool
    sheds: bool
    slots: tuple[Slot, ...]
    spare: int


@dataclass(frozen=True, slots=True)
class ShedRow:
    """Circuits that go off together."""

    order: int
    below: str
    back: str
    circuits: tuple[tuple[str, str, str], ...]
    """Tag, name, and the output each hangs on."""


@dataclass(frozen=True, slots=True)
class Wired:
    """A circuit that hangs on no output."""

    tag: str
    name: str
    current: str
    group: str
    why: str


@dataclass(frozen=True, slots=True)
class OutputsPage:
    blocks: tuple[Block, ...]
    unplaced: tuple[Hung, ...]
    refused: tuple[str, ...]
    wired: tuple[Wired, ...]
    sheds: tuple[ShedRow, ...]
    backstop: tuple[str, str, str]
    """Voltage, voltage at which they come back, delay."""
    held: Hung | None
    state: str
    by_hand: int
    count: int
    spare: int
    spare_asked: int


def outputs_page(design: Design, rows: Sequence[Row], held: str = "") -> OutputsPage | None:
    """The latest design's outputs with what people laid; ``None`` where nothing is switched.

    ``held``: key of a circuit that was picked up: every output says whether it may go there.
    """
    brief, appraisal = designs.brief_of(design), designs.appraisal_of(design)
    bench = bench_of(brief, appraisal)
    if bench is None:
        return None
    found = bench.try_layout(laid(rows))
    by_key = {c.key: c for c in appraisal.circuits if c.key}
    hung = {w.key: _hung(w, by_key[w.key], brief, bench, found) for w in bench.wants}
    up = hung.get(held)
    blocks = tuple(_block(m, bench, found, hung, up, brief, appraisal) for m in range(bench.modules.count))
    policy, per_12 = brief.policy, brief.wishes.system_v / 12
    return OutputsPage(
        blocks=blocks,
        unplaced=tuple(hung[w.key] for w in found.unplaced),
        refused=tuple(laid_refused_words(r) for r in found.refused),
        wired=tuple(_wired(appraisal, brief, hung)),
        sheds=tuple(_sheds(bench, found, hung, brief)) if bench.can.sheds else (),
        backstop=(
            printed(policy.backstop_v_per_12 * per_12, "V"),
            printed(policy.backstop_restore_v_per_12 * per_12, "V"),
            printed(policy.backstop_delay_min, "min"),
        ),
        held=up,
        state=state_of(rows),
        by_hand=len(found.by_hand),
        count=len(bench.wants),
        spare=sum(block.spare for block in blocks),
        spare_asked=brief.spare_outputs,
    )


def _hung(want: Want, circuit: Circuit, brief: Brief, bench: Bench, found: Laid) -> Hung:
    loads = [x for x in brief.loads if x.key in circuit.loads]
    level = sheds_below(loads) if bench.can.sheds else None
    place = found.places.get(want.key)
    names = ", ".join(x.name for x in loads)
    return Hung(
        key=want.key,
        tag=want.tag,
        name=want.name,
        loads="" if names == want.name else names,
        current=printed(want.current_a, "A"),
        current_a=round(want.current_a, 3),
        least_a=round(want.least_a, 3),
        group=circuit.group,
        sheds="" if level is None else words.param_words("below_ratio", level),
        by_hand=want.key in found.by_hand,
        left="" if place is None else printed(bench.modules.limits_a[place[1]] - want.current_a, "A"),
    )


def _block(
    m: int, bench: Bench, found: Laid, hung: dict[str, Hung], up: Hung | None, brief: Brief, appraisal: Appraisal
) -> Block:
    on = {place[1]: hung[key] for key, place in found.places.items() if place[0] == m}
    part = next(c for c in appraisal.chosen if c.role == "switching")
    load_a, total_a = sum(h.current_a for h in on.values()), bench.modules.total_a
    slots = tuple(_slot(m, c, limit_a, on.get(c), bench, found, up) for c, limit_a in enumerate(bench.modules.limits_a))
    kept = next((x for x in appraisal.modules if x.number == m + 1), None)
    where = next((p.name for p in brief.vehicle.positions if kept is not None and p.key == kept.position), "")
    return Block(
        number=m + 1,
        name=part.name,
        where=where,
        load=printed(load_a, "A"),
        total=printed(total_a, "A"),
        left=printed(total_a - load_a, "A"),
        load_a=round(load_a, 2),
        total_a=total_a,
        protects=bench.can.protects,
        sheds=bench.can.sheds,
        slots=slots,
        spare=sum(slot.on is None for slot in slots),
    )


def _slot(m: int, c: int, limit_a: float, on: Hung | None, bench: Bench, found: Laid, up: Hung | None) -> Slot:
    held = up is not None and on is not None and on.key == up.key
    why = "" if up is None or held else why_move_refused(bench, found, up.key, (m, c))
    return Slot(
        module=m + 1,
        channel=c + 1,
        limit=printed(limit_a, "A"),
        limit_a=limit_a,
        on=on,
        takes=up is not None and not held and not why,
        why_not=why,
        held=held,
    )


def _sheds(bench: Bench, found: Laid, hung: dict[str, Hung], brief: Brief) -> Iterable[ShedRow]:
    """Groups in the order in which they go."""
    levels: dict[float, list[Hung]] = {}
    for want in bench.wants:
        loads = [x for x in brief.loads if x.key in bench.loads[want.key]]
        level = sheds_below(loads)
        if level is not None and want.key in found.places:
            levels.setdefault(level, []).append(hung[want.key])
    over = brief.policy.shed_restore_ratio
    for order, level in enumerate(sorted(levels, reverse=True), start=1):
        yield ShedRow(
            order=order,
            below=words.param_words("below_ratio", level),
            back=words.param_words("back_ratio", min(1.0, level + over)),
            circuits=tuple((h.tag, h.name, place_words(found.places[h.key])) for h in levels[level]),
        )


def printed(value: float, unit: str) -> str:
    """A number with its unit, as the pages write it."""
    one = shown(value, unit)
    return f"{one.number}\N{NO-BREAK SPACE}{one.unit}" if one is not None else ""


def place_words(place: tuple[int, int]) -> str:
    return _("module %(module)d, output %(channel)d") % {"module": place[0] + 1, "channel": place[1] + 1}


def _wired(appraisal: Appraisal, brief: Brief, hung: dict[str, Hung]) -> Iterable[Wired]:
    """Circuits to appliances and controls on no output, and why."""
    by_key = {x.key: x for x in brief.loads}
    for c in appraisal.circuits:
        if c.role != "load" or c.key in hung:
            continue
        loads = [by_key[key] for key in c.loads if key in by_key]
        if any(x.bus == "starter" for x in loads):
            why = _("On the starter battery.")
        elif not loads:
            why = _("Feeds the monitor and the modules themselves.")
        elif not all(x.channel for x in loads):
            why = _("May not hang on a switched output.")
        else:
            why = _("Stays on, and is not to be let go.")
        yield Wired(c.tag, c.name, printed(c.current_a, "A"), c.group, why)


@dataclass(frozen=True, slots=True)
class InputRow:
    """Inputs of one kind of one part that senses."""

    name: str
    unit: int
    reads: str
    used: tuple[InputUse, ...]
    spare: int


def input_rows(appraisal: Appraisal) -> tuple[InputRow, ...]:
    """What reads what, by part and kind of input, in the order of the parts."""
    found: dict[tuple[int, str, str], list[InputUse]] = {}
    for use in appraisal.inputs:
        found.setdefault((use.unit, use.name, use.sense), []).append(use)
    rows = []
    for (unit, name, sense), mine in found.items():
        used = tuple(use for use in mine if use.key or use.watched)
        rows.append(InputRow(name, unit, str(INPUT_KIND.get(sense, sense)), used, len(mine) - len(used)))
    return tuple(rows)


def spare_by_kind(rows: Iterable[InputRow]) -> list[tuple[str, int]]:
    """Spare inputs of each kind, of all parts together."""
    found: dict[str, int] = {}
    for row in rows:
        found[row.reads] = found.get(row.reads, 0) + row.spare
    return list(found.items())
