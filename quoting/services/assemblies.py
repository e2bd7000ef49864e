"""Assemblies of a job against its design: counts, quantities, the lines they add to a bill."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from django.db.models import Prefetch
from django.utils.translation import gettext as _

from catalog import kinds
from catalog.assemblies import COUNTED, Counted, Counts, Per, count, retired_in
from catalog.models import AssemblyVersion
from catalog.queries_assemblies import whole_lines
from fitouts.models import Fitout, FitoutAssembly
from quoting.models import Design
from quoting.services import designs
from quoting.services.brought import brought_by, without_brought
from quoting.sizing.appraisal import Appraisal, BillLine
from quoting.sizing.bill import CHARGERS
from quoting.sizing.bill_lines import SMALL
from quoting.sizing.one_piece import pieces

RULE = "assembly:"
ENDS = ("terminate", "crimp_lug")
"""Operations that end a conductor, each one end."""
LONGEST_RULE = 40
MOST_OF_A_PART = 100_000
"""Of one line; more is a slip of the pen, and more than a quote has room to print."""


class TooMany(Exception):
    """A quantity that no quote can hold; the text says which."""


@dataclass(frozen=True, slots=True)
class Use:
    """An assembly in a job: how many, at which version, and what that comes to."""

    row: FitoutAssembly
    counted: tuple[Counted, ...]

    @property
    def version(self) -> AssemblyVersion:
        return self.row.version


def counts_of(appraisal: Appraisal, load_count: int) -> dict[str, float]:
    """What a design counts, by the codes of ``AssemblyLine.Per``: as its pages show it, metres as they are bought.

    A part that stays in the vehicle is fixed already, and does not count.
    """
    chosen: dict[str, int] = {}
    for part in (part for part in pieces(appraisal.chosen) if not part.kept):
        chosen[part.role] = chosen.get(part.role, 0) + part.quantity
    metres = sum(line.quantity for line in appraisal.bill if line.part and line.unit == "m" and line.rule not in SMALL)
    return {
        Per.CIRCUIT: float(len(appraisal.circuits)),
        Per.METRE: round(metres, 3),
        Per.BATTERY: float(chosen.get("battery", 0)),
        Per.PANEL: float(chosen.get("panel", 0)),
        Per.CHARGER: float(sum(chosen.get(role, 0) for role in CHARGERS)),
        Per.INVERTER: float(chosen.get("inverter", 0)),
        Per.LOAD: float(load_count),
        Per.CABLE_END: sum(line.quantity for line in appraisal.bill if line.labour in ENDS),
    }


def counts_of_design(design: Design | None, appraisal: Appraisal | None = None) -> dict[str, float] | None:
    """The counts of a kept design; ``None`` while there is none."""
    if design is None:
        return None
    loads = sum(load["quantity"] for load in design.brief["loads"])
    return counts_of(appraisal or designs.appraisal_of(design), loads)


def rows_of(fitout: Fitout) -> list[FitoutAssembly]:
    """What a job takes, with the lines of each, in the order it was taken; three queries."""
    rows = fitout.assemblies.select_related("version__assembly")
    return list(rows.prefetch_related(Prefetch("version__lines", whole_lines())))


def uses_of(rows: Iterable[FitoutAssembly], counts: Counts | None) -> list[Use]:
    """Quantities of each; without counts, of what goes by the assembly alone."""
    return [Use(row, tuple(_counted(row.version, row.quantity, counts))) for row in rows]


def _counted(version: AssemblyVersion, quantity: int, counts: Counts | None) -> list[Counted]:
    known = {**dict.fromkeys(COUNTED, 0.0), **(counts or {}), Per.ASSEMBLY: float(quantity)}
    return count(version.lines.all(), known)


def bill_lines(uses: Iterable[Use]) -> list[BillLine]:
    """What assemblies add to a bill: one line for each part of each assembly, and their labour by operation.

    Raises :class:`TooMany` for a quantity that no quote can hold.
    """
    return [line for use in uses for line in _lines_of(use)]


def _lines_of(use: Use) -> list[BillLine]:
    rule = rule_of(use.version)
    found: dict[tuple[str, str], BillLine] = {}
    for counted in use.counted:
        what = counted.line.what
        part = "" if counted.is_labour else str(what.pk)
        labour = what.code if counted.is_labour else ""
        before = found.get((part, labour))
        quantity = float(counted.quantity) + (before.quantity if before else 0.0)
        if quantity > MOST_OF_A_PART:
            words = _("The assembly “%(name)s” asks for %(n)g of “%(what)s”; at most %(most)d. Look at its formula.")
            params = {"name": use.version.assembly, "n": quantity, "what": what, "most": MOST_OF_A_PART}
            raise TooMany(words % params)
        found[part, labour] = BillLine(
            group="labour" if counted.is_labour else group_of(what.kind),
            part=part,
            labour=labour,
            name=what.name,
            quantity=round(quantity, 3),
            unit=counted.unit,
            mass_kg=round((before.mass_kg if before else 0.0) + counted.mass_kg, 3),
            rule=rule,
        )
    return list(found.values())


def group_of(kind: str) -> str:
    """The group of a bill that a kind of component stands in."""
    try:
        return kinds.get(kind).group
    except kinds.UnknownKind:
        return "other"


def rule_of(version: AssemblyVersion) -> str:
    """What put a line on the bill: the assembly's name and number, as much of the name as there is room for."""
    tail = f" v{version.number}"
    return f"{RULE}{version.assembly.name[: LONGEST_RULE - len(RULE) - len(tail)]}{tail}"


def with_assemblies(bill: Sequence[BillLine], more: Sequence[BillLine]) -> list[BillLine]:
    """A bill with what assemblies add: parts as lines of their own, labour as more of the same operation."""
    lines = list(bill)
    at = {line.labour: i for i, line in enumerate(lines) if line.labour}
    for line in more:
        if line.labour and line.labour in at:
            same = lines[at[line.labour]]
            lines[at[line.labour]] = same.model_copy(update={"quantity": round(same.quantity + line.quantity, 3)})
            continue
        if line.labour:
            at[line.labour] = len(lines)
        lines.append(line)
    return lines


def bill_of(fitout: Fitout, appraisal: Appraisal, design: Design | None) -> list[BillLine]:
    """The bill of a job as it is priced: its design's, and what its assemblies add. Raises :class:`TooMany`."""
    rows = rows_of(fitout)
    if not rows:
        return list(appraisal.bill)
    return with_uses(appraisal.bill, uses_of(rows, counts_of_design(design, appraisal)))


def with_uses(bill: Sequence[BillLine], uses: Sequence[Use]) -> list[BillLine]:
    """A bill with what assemblies add, each thing once: what they bring, the design's own rules need not.

    Raises :class:`TooMany` for a quantity that no quote can hold.
    """
    return with_assemblies(without_brought(bill, brought_by(uses)), bill_lines(uses))


def stamp(fitout: Fitout) -> list[list[int]]:
    """Which versions a job takes and how many of each: what a draft keeps, to see later that they have changed."""
    return [list(pair) for pair in fitout.assemblies.order_by("version_id").values_list("version_id", "quantity")]


def retired_parts(fitout: Fitout) -> list[tuple[str, str]]:
    """Assemblies of a job with a part that is no longer in use, and that part's name."""
    return [
        (str(row.version.assembly), name) for row in rows_of(fitout) for name in retired_in(row.version.lines.all())
    ]
