"""What an assembly comes to for given counts: quantities by formula, mass and minutes. Money is none of it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal
from typing import Any

from catalog import kinds
from catalog.models import AssemblyLine

Counts = Mapping[str, float]
"""How many of each in a job, by the codes of ``AssemblyLine.Per``."""
Per = AssemblyLine.Per
COUNTED = tuple(per for per in Per.values if per != Per.ASSEMBLY)
"""What a design counts; how many of the assembly itself a job takes, a person says."""
ONE_OF_EACH: dict[str, float] = dict.fromkeys(Per.values, 1.0)
THOUSANDTH = Decimal("0.001")


@dataclass(frozen=True, slots=True)
class Counted:
    """A line of an assembly with the quantity that some counts give."""

    line: AssemblyLine
    quantity: Decimal
    unit: str
    mass_kg: float
    minutes: float

    @property
    def is_labour(self) -> bool:
        return self.line.labour_id is not None


def quantity_of(line: AssemblyLine, counts: Counts) -> Decimal:
    """``fixed`` + ``each`` × the count, never less than that: whole ones up, the rest to the next thousandth.

    The sum is made in decimals, so that 0.1 × 30 is 3 and not a little more, which rounding up would make 4.
    """
    count = _decimal(counts.get(line.per, 0.0))
    exact = _decimal(line.fixed) + _decimal(line.each) * count
    return exact.quantize(Decimal(1) if line.round_up else THOUSANDTH, rounding=ROUND_CEILING)


def count(lines: Iterable[AssemblyLine], counts: Counts) -> list[Counted]:
    """Every line with its quantity, in order; lines of which nothing is needed are left out."""
    found = []
    for line in lines:
        quantity = quantity_of(line, counts)
        if quantity:
            mass_kg = float(quantity) * line.component.mass_kg if line.component else 0.0
            minutes = float(quantity) * line.labour.minutes_per_unit if line.labour else 0.0
            found.append(Counted(line, quantity, unit_of(line), mass_kg, minutes))
    return found


def unit_of(line: AssemblyLine) -> str:
    """``each``, ``m`` or ``job``, as the lines of a bill have it."""
    if line.labour is not None:
        return {"metre": "m", "job": "job"}.get(line.labour.unit, "each")
    assert line.component is not None
    try:
        return "m" if line.component.declaration.priced_per == "metre" else "each"
    except kinds.UnknownKind:
        return "each"


def retired_in(lines: Iterable[AssemblyLine]) -> list[str]:
    """Names of what is no longer in use among some lines."""
    return [str(line.what) for line in lines if line.what.is_retired]


def formula_of(line: AssemblyLine) -> tuple[float, float, str, bool]:
    """What makes two lines the same beside what they are of."""
    return line.fixed, line.each, line.per, line.round_up


@dataclass(frozen=True, slots=True)
class LineChange:
    """One line that differs between two versions; ``before`` or ``after`` is missing when it came or went."""

    before: AssemblyLine | None
    after: AssemblyLine | None

    @property
    def what(self) -> Any:
        line = self.after or self.before
        assert line is not None
        return line.what


def differences(before: Sequence[AssemblyLine], after: Sequence[AssemblyLine]) -> list[LineChange]:
    """Lines that came, went or changed, matched by what they are of, in order of appearance."""
    old, new = _by_thing(before), _by_thing(after)
    found = []
    for key in [*old, *(k for k in new if k not in old)]:
        lines, others = old.get(key, []), new.get(key, [])
        for i in range(max(len(lines), len(others))):
            a = lines[i] if i < len(lines) else None
            b = others[i] if i < len(others) else None
            if a is None or b is None or formula_of(a) != formula_of(b):
                found.append(LineChange(a, b))
    return found


def _by_thing(lines: Sequence[AssemblyLine]) -> dict[tuple[int | None, int | None], list[AssemblyLine]]:
    found: dict[tuple[int | None, int | None], list[AssemblyLine]] = {}
    for line in lines:
        found.setdefault((line.component_id, line.labour_id), []).append(line)
    return found


def _decimal(value: float) -> Decimal:
    return Decimal(str(value))
