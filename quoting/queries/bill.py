"""The bill of a job twice: as the workshop buys it, by supplier, and as it is built, by step and place."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal

from django.utils.translation import gettext as _

from catalog.models import Component, LabourOperation
from catalog.quantities import format_number
from fitouts.models import Fitout
from quoting import words
from quoting.models import Design, Revision
from quoting.queries.shown import Shown, shown
from quoting.services import assembled, assemblies, designs
from quoting.sizing.appraisal import Appraisal, BillLine, BillUse
from quoting.sizing.bill_uses import STEPS

VIEWS = ("bought", "built")
KITS = "assemblies"
"""Step of what assemblies bring: whoever builds fits it where the assembly says."""
WORK = "work of the step"
"""Where the work of a step stands, after its parts: no position has such a key."""
ALONG = ""
"""Position of what lies along a way, or of which nobody said where."""


@dataclass(frozen=True, slots=True)
class BuyRow:
    """One part to get, whatever rules ask it."""

    name: str
    what: str
    part_number: str
    quantity: float
    unit: str
    """``each``, ``m`` or ``pack``."""
    stock: int
    to_order: int
    """Whole metres, packs or pieces beyond what is on the shelf."""
    lead_days: int
    order_by: date | None
    late: bool
    """The day to order by has gone."""
    why: str
    mass_kg: float
    cost: Decimal
    """Of what is to be ordered, as the workshop pays."""

    @property
    def needed(self) -> str:
        return quantity_words(self.quantity, self.unit)

    @property
    def shelf(self) -> str:
        return quantity_words(self.stock, self.unit)

    @property
    def order(self) -> str:
        return quantity_words(self.to_order, self.unit) if self.to_order else ""


@dataclass(frozen=True, slots=True)
class Supply:
    """What one supplier has to send, and what of theirs is on the shelf."""

    name: str
    rows: tuple[BuyRow, ...]
    orders: int
    order_by: date | None
    cost: Decimal


@dataclass(frozen=True, slots=True)
class UseRow:
    """So much of a line at one place."""

    name: str
    quantity: str
    what: str
    """What it is, beside its name."""
    of: str
    """What is bought of it in all, where that is more."""
    circuits: tuple[str, ...]
    why: str
    is_work: bool
    mass_kg: float


@dataclass(frozen=True, slots=True)
class Spot:
    """A place in the vehicle, with the parts that are used there in one step; or the work of the step."""

    name: str
    rows: tuple[UseRow, ...]


@dataclass(frozen=True, slots=True)
class StepGroup:
    """One step of the build."""

    code: str
    title: str
    spots: tuple[Spot, ...]


@dataclass(frozen=True, slots=True)
class BillPage:
    """Both ways to read one bill; their masses and numbers of lines are the same."""

    design: Design
    supplies: tuple[Supply, ...]
    by_licensed: tuple[UseRow, ...]
    """Asked of the licensed person, who brings it."""
    steps: tuple[StepGroup, ...]
    parts: int
    mass: Shown | None
    bay: date | None
    orders: int
    late: int
    cost: Decimal
    accepted: bool
    """It is the bill of the accepted quote; else of the newest design."""


def bill_page(fitout: Fitout, design: Design, accepted: Revision | None, today: date) -> BillPage:
    """The bill of a design with the job's assemblies; eight queries. ``accepted``: the revision that is built by."""
    appraisal = designs.appraisal_of(design)
    bill = _whole(fitout, appraisal, design, accepted)
    components = Component.objects.select_related("supplier").in_bulk([int(x.part) for x in bill if x.part])
    supplies = _supplies(bill, components, fitout.booked_from, today)
    bought = [x for x in bill if x.part]
    return BillPage(
        design=design,
        supplies=supplies,
        by_licensed=tuple(_use(x, x.uses[0], {}, components) for x in bill if not x.part and not x.labour and x.uses),
        steps=_steps(bill, {p["key"]: p["name"] for p in design.brief["vehicle"]["positions"]}, components),
        parts=len({x.part for x in bought}),
        mass=shown(math.fsum(x.mass_kg for x in bill), "kg"),
        bay=fitout.booked_from,
        orders=sum(s.orders for s in supplies),
        late=sum(row.late for s in supplies for row in s.rows),
        cost=sum((s.cost for s in supplies), Decimal(0)),
        accepted=accepted is not None,
    )


def _whole(fitout: Fitout, appraisal: Appraisal, design: Design, accepted: Revision | None) -> list[BillLine]:
    if accepted is None:
        return assemblies.bill_of(fitout, appraisal, design)
    return assemblies.with_uses(appraisal.bill, assembled.uses_of(accepted))


# --- As the workshop buys -----------------------------------------------------------------------------------------


@dataclass(slots=True)
class _Needed:
    quantity: float = 0.0
    mass_kg: float = 0.0
    unit: str = ""
    why: dict[str, None] = field(default_factory=dict)


def _supplies(
    bill: Iterable[BillLine], components: Mapping[int, Component], bay: date | None, today: date
) -> tuple[Supply, ...]:
    needed: dict[int, _Needed] = {}
    for line in bill:
        if line.part and not line.kept and int(line.part) in components:
            one = needed.setdefault(int(line.part), _Needed())
            one.quantity, one.mass_kg, one.unit = one.quantity + line.quantity, one.mass_kg + line.mass_kg, line.unit
            one.why[_why(line)] = None
    found: dict[str, list[BuyRow]] = {}
    for pk, one in needed.items():
        component = components[pk]
        name = component.supplier.name if component.supplier else _("No supplier given")
        found.setdefault(name, []).append(_buy(component, one, bay, today))
    return tuple(_supply(name, rows) for name, rows in sorted(found.items()))


def _buy(component: Component, one: _Needed, bay: date | None, today: date) -> BuyRow:
    lacking = max(0, math.ceil(round(one.quantity, 3)) - component.stock)
    order_by = bay - timedelta(days=component.lead_days) if bay and lacking else None
    return BuyRow(
        name=component.name,
        what=_what(component),
        part_number=component.part_number,
        quantity=one.quantity,
        unit=one.unit,
        stock=component.stock,
        to_order=lacking,
        lead_days=component.lead_days,
        order_by=order_by,
        late=order_by is not None and order_by < today,
        why=", ".join(one.why),
        mass_kg=one.mass_kg,
        cost=component.cost * lacking,
    )


def _supply(name: str, rows: list[BuyRow]) -> Supply:
    rows.sort(key=lambda row: (not row.to_order, row.order_by or date.max, row.name))
    days = [row.order_by for row in rows if row.order_by]
    return Supply(
        name, tuple(rows), sum(row.to_order > 0 for row in rows), min(days, default=None),
        sum((row.cost for row in rows), Decimal(0)),
    )  # fmt: skip


# --- As it is built -----------------------------------------------------------------------------------------------


def _steps(
    bill: Sequence[BillLine], positions: Mapping[str, str], components: Mapping[int, Component]
) -> tuple[StepGroup, ...]:
    work = dict(LabourOperation.objects.values_list("code", "name"))
    order = {key: i for i, key in enumerate(positions)}
    found: dict[str, dict[str, list[UseRow]]] = {}
    for line in bill:
        for use in () if line.kept else _uses_of(line):
            at = WORK if line.labour else use.position
            found.setdefault(use.step, {}).setdefault(at, []).append(_use(line, use, work, components))
    codes = [code for code in STEPS if code in found] + [code for code in found if code not in STEPS]
    titles = {code: _("From assemblies") if code == KITS else words.build_step_words(code) for code in codes}
    return tuple(StepGroup(code or "other", titles[code], _spots(found[code], positions, order)) for code in codes)


def _uses_of(line: BillLine) -> tuple[BillUse, ...]:
    """Where a line goes: work by step alone; what was kept before there were uses, and kits, as a whole."""
    if not line.uses:
        step = KITS if line.rule.startswith(assemblies.RULE) else line.step
        return (BillUse(step=step, quantity=line.quantity),)
    if not line.labour:
        return line.uses
    sums: dict[str, float] = {}
    for use in line.uses:
        sums[use.step] = sums.get(use.step, 0.0) + use.quantity
    return tuple(BillUse(step=step, quantity=quantity) for step, quantity in sums.items())


def _spots(at: Mapping[str, list[UseRow]], positions: Mapping[str, str], order: Mapping[str, int]) -> tuple[Spot, ...]:
    """Places in the survey's order, then what lies along the ways, then the work."""
    last = {ALONG: len(order) + 1, WORK: len(order) + 2}
    names = {**positions, ALONG: _("Along the cable runs"), WORK: _("Work")}
    keys = sorted(at, key=lambda key: last.get(key, order.get(key, len(order))))
    return tuple(Spot(names.get(key, key), tuple(at[key])) for key in keys)


def _use(line: BillLine, use: BillUse, work: Mapping[str, str], components: Mapping[int, Component]) -> UseRow:
    component = components.get(int(line.part)) if line.part else None
    whole = line.quantity > use.quantity + 1e-9
    return UseRow(
        name=work.get(line.labour, line.name) if line.labour else words.bill_name(line),
        what=_what(component) if component else "",
        quantity=_used(line, use.quantity),
        of=_used(line, line.quantity) if whole else "",
        circuits=line.circuits,
        why=_why(line),
        is_work=bool(line.labour),
        mass_kg=line.mass_kg * use.quantity / line.quantity if line.quantity else 0.0,
    )


def _used(line: BillLine, quantity: float) -> str:
    """A quantity as whoever builds counts it: of what comes in packs the pieces, or what is in the tube."""
    used, unit = line.params.get("used"), str(line.params.get("used_unit") or "each")
    if line.unit != "pack" or not isinstance(used, int | float) or not line.quantity:
        return quantity_words(quantity, line.unit)
    return quantity_words(round(used * quantity / line.quantity), unit)


def _what(component: Component) -> str:
    """What a part is, with its rating: its name alone says little."""
    words_ = str(component.declaration.label)
    return f"{words_}, {component.rating}" if component.rating else words_


def _why(line: BillLine) -> str:
    if line.rule.startswith(assemblies.RULE):
        return _("assembly “%(name)s”") % {"name": line.rule.removeprefix(assemblies.RULE)}
    return words.rule_words(line.rule)


def quantity_words(quantity: float, unit: str) -> str:
    """A quantity as a bill has it: pieces bare, metres and packs with their unit."""
    number = format_number(round(quantity, 2))
    if unit in ("each", "job"):
        return number
    return f"{number}\N{NO-BREAK SPACE}{_('pack') if unit == 'pack' else unit}"
