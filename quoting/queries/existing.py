"""What lies in a vehicle already, and what became of it in the design that is shown."""

from __future__ import annotations

from dataclasses import dataclass

from django.utils.translation import gettext as _

from fitouts.models import Fitout
from quoting.models import Design, ExistingCircuit
from quoting.queries.findings import finding_row
from quoting.services import designs, existing
from quoting.services.brief_circuits import existing_values
from quoting.services.existing import BuiltCircuit
from quoting.sizing.appraisal import Appraisal
from quoting.sizing.brief_wiring import Existing


@dataclass(frozen=True, slots=True)
class ExistingRow:
    """A circuit that lies there."""

    circuit: ExistingCircuit
    tag: str
    """Of the circuit it is in the design; empty where there is none."""
    state: str
    """``stays``, ``replaced``, ``unused`` or ``new`` since the design was made."""
    words: str
    why: str = ""


@dataclass(frozen=True, slots=True)
class ExistingPage:
    """Everything the page shows."""

    rows: tuple[ExistingRow, ...]
    may_take_over: int
    """Circuits of our own records that the design has too and that are not on the list."""
    alone: tuple[BuiltCircuit, ...]
    """Of our own records, like nothing in the design: matched by hand."""
    has_design: bool
    ours: bool
    """One of our systems is in the vehicle."""


def existing_page(fitout: Fitout, design: Design | None) -> ExistingPage:
    """Rows, and what our own records offer; their snapshots are read."""
    appraisal = existing.circuits_of(design)
    rows = list(fitout.existing_circuits.all())
    built = existing.as_built(existing.systems_before(fitout))
    circuits = appraisal.circuits if appraisal else ()
    matched = existing.match(built, circuits)
    known = {row.circuit for row in rows}
    return ExistingPage(
        rows=existing_rows(rows, design, appraisal),
        may_take_over=sum(1 for _one, circuit in matched.pairs if circuit.key not in known),
        alone=matched.alone if appraisal else (),
        has_design=appraisal is not None,
        ours=bool(built),
    )


def existing_rows(
    rows: list[ExistingCircuit], design: Design | None, appraisal: Appraisal | None
) -> tuple[ExistingRow, ...]:
    """Each row with what the design made of it."""
    if design is None or appraisal is None:
        return tuple(ExistingRow(row, "", "new", _("no design yet")) for row in rows)
    counted = {one.circuit: one for one in designs.brief_of(design).existing}
    return tuple(_row(row, counted.get(row.circuit), appraisal) for row in rows)


def _row(row: ExistingCircuit, counted: Existing | None, appraisal: Appraisal) -> ExistingRow:
    circuit = next((c for c in appraisal.circuits if c.key == row.circuit), None)
    tag = circuit.tag if circuit else ""
    if counted is None or counted != Existing.model_validate(existing_values(row)):
        return ExistingRow(row, tag, "new", _("written down since the design was made"))
    if circuit is None:
        return ExistingRow(row, "", "unused", _("nothing of this design uses it"))
    if circuit.stays:
        return ExistingRow(row, tag, "stays", _("stays"))
    why = [finding_row(f) for f in appraisal.findings if f.code == "existing_replaced" and f.subject == circuit.tag]
    return ExistingRow(row, tag, "replaced", _("is replaced"), " ".join(one.words for one in why))
