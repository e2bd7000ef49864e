"""The assemblies of a job as its page shows them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from django.db.models import Max, Prefetch
from django.utils.translation import gettext as _

from catalog.assemblies import Counted, LineChange, differences, retired_in
from catalog.models import AssemblyVersion
from catalog.quantities import format_number
from catalog.queries_assemblies import whole_lines
from fitouts.models import Fitout
from fitouts.services.assemblies import is_locked
from quoting.models import Design
from quoting.queries.shown import Shown, shown
from quoting.services import assemblies, designs
from quoting.services.assemblies import Use
from quoting.sizing.appraisal import Appraisal


@dataclass(frozen=True, slots=True)
class CountedRow:
    """One line of an assembly with its quantity for this job, and how many the design has of the same by itself."""

    counted: Counted
    besides: str


@dataclass(frozen=True, slots=True)
class UseRow:
    """An assembly that the job takes."""

    use: Use
    rows: tuple[CountedRow, ...]
    mass_kg: float
    minutes: float
    retired: tuple[str, ...]
    newer: AssemblyVersion | None = None
    changes: tuple[LineChange, ...] = ()


@dataclass(frozen=True, slots=True)
class BillRow:
    """One line that an assembly adds to the bill: name, quantity as printed, mass, which assembly."""

    name: str
    quantity: str
    mass: Shown | None
    why: str


@dataclass(frozen=True, slots=True)
class Panel:
    """Everything the part shows."""

    uses: list[UseRow] = field(default_factory=list)
    bill: list[BillRow] = field(default_factory=list)
    is_counted: bool = False
    """A design says how many of everything there are."""
    is_fault: bool = False
    """No design is made; what goes by something it would count is none."""
    is_locked: bool = False
    mass_kg: float = 0.0
    design_number: int | None = None
    all_mass: Shown | None = None
    """Of design and assemblies together, where there are any."""
    over_payload: tuple[Shown | None, Shown | None] | None = None
    """Mass of everything, and the payload left, where the first is more."""


def panel(fitout: Fitout, design: Design | None, appraisal: Appraisal | None = None) -> Panel:
    """The assemblies of a job with the quantities of its newest design; six queries, however many there are."""
    rows = assemblies.rows_of(fitout)
    if not rows:
        return Panel(is_locked=is_locked(fitout))
    if design is not None and appraisal is None:
        appraisal = assemblies.designs.appraisal_of(design)
    uses = assemblies.uses_of(rows, assemblies.counts_of_design(design, appraisal))
    newest = _newest([row.version for row in rows])
    own = _own(appraisal)
    found = [_row(use, newest.get(use.version.assembly_id), own) for use in uses]
    mass_kg = sum(row.mass_kg for row in found)
    is_fault = fitout.kind == Fitout.Kind.FAULT
    all_kg = mass_kg + (appraisal.mass_kg if appraisal else 0.0)
    return Panel(
        uses=found,
        bill=[b for row in found for b in _bill(row)] if design else [],
        is_counted=design is not None or is_fault,
        is_fault=is_fault,
        is_locked=is_locked(fitout),
        mass_kg=mass_kg,
        design_number=design.number if design else None,
        all_mass=shown(all_kg, "kg"),
        over_payload=_over(fitout, all_kg),
    )


def mass_of(fitout: Fitout, design: Design | None) -> float:
    """What the job's assemblies weigh with the counts of a design, less what they stand in for. [kg]"""
    rows = assemblies.rows_of(fitout)
    if not rows or design is None:
        return sum(c.mass_kg for use in assemblies.uses_of(rows, None) for c in use.counted)
    appraisal = designs.appraisal_of(design)
    uses = assemblies.uses_of(rows, assemblies.counts_of_design(design, appraisal))
    return sum(x.mass_kg for x in assemblies.with_uses(appraisal.bill, uses)) - sum(x.mass_kg for x in appraisal.bill)


def _newest(versions: list[AssemblyVersion]) -> dict[int, AssemblyVersion]:
    rows = AssemblyVersion.objects.filter(assembly__in=[v.assembly_id for v in versions])
    rows = rows.annotate(last=Max("assembly__versions__number")).prefetch_related(Prefetch("lines", whole_lines()))
    return {row.assembly_id: row for row in rows if row.number == row.last}


def _row(use: Use, newest: AssemblyVersion | None, own: Mapping[tuple[str, str], str]) -> UseRow:
    lines = list(use.version.lines.all())
    newer = newest if newest is not None and newest.number > use.version.number else None
    return UseRow(
        use=use,
        rows=tuple(CountedRow(c, own.get(_key(c), "")) for c in use.counted),
        mass_kg=sum(c.mass_kg for c in use.counted),
        minutes=sum(c.minutes for c in use.counted),
        retired=tuple(retired_in(lines)),
        newer=newer,
        changes=tuple(differences(lines, list(newer.lines.all()))) if newer else (),
    )


def _key(counted: Counted) -> tuple[str, str]:
    what: Any = counted.line.what
    return ("", what.code) if counted.is_labour else (str(what.pk), "")


def _own(appraisal: Appraisal | None) -> dict[tuple[str, str], str]:
    """How many of each part the design's own bill has; labour is added up anyhow."""
    found: dict[tuple[str, str], float] = {}
    for line in appraisal.bill if appraisal else ():
        if line.part:
            found[line.part, ""] = found.get((line.part, ""), 0.0) + line.quantity
    return {key: format_number(round(quantity, 2)) for key, quantity in found.items()}


def _bill(row: UseRow) -> list[BillRow]:
    why = _("assembly “%(name)s”, version %(number)d") % {
        "name": row.use.version.assembly,
        "number": row.use.version.number,
    }
    return [
        BillRow(
            name=str(c.line.what),
            quantity=format_number(c.quantity) + (f"\N{NO-BREAK SPACE}{c.unit}" if c.unit != "each" else ""),
            mass=shown(c.mass_kg, "kg") if c.mass_kg else None,
            why=why,
        )
        for c in row.use.counted
    ]


def _over(fitout: Fitout, mass_kg: float) -> tuple[Shown | None, Shown | None] | None:
    left_kg = fitout.vehicle.payload_left_kg
    if left_kg is None or mass_kg <= left_kg:
        return None
    return shown(mass_kg, "kg"), shown(left_kg, "kg")
