"""The part of the catalogue that goes into a Brief.

Up to :data:`WHOLE_UP_TO` components all go. A larger catalogue is narrowed, step by step, and the first two steps lose
nothing that a design could take:

1. Kinds that can do nothing the sizing asks for stay out; so do parts for another voltage or chemistry.
2. Of parts that are alike in every stated value the cheapest few stay. Everything is chosen by capability first and by
   cost, mass and key after it, so the dearer of two that are alike is never chosen (``quoting.sizing.parts``).
3. A kind that has more than :data:`MOST_OF_A_KIND` left is thinned: the cheapest of each size in steps as fine as the
   room allows, the one that reaches furthest in each value, then the next cheapest. This may lose the cheapest answer,
   so it is told: :func:`cuts` gives a sentence for the page of the job. Kinds that the programme chooses from are
   looked at in further ways, by price, mass, shelf and supplier, and keep what any would (``brief_preferred``).

What was asked for by name, and what is in the vehicle already, always goes. Each kind's answer is kept until its stamp
moves (``catalog.stamps``), so looking again costs two queries.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import lru_cache
from typing import Any

from django.db import connection
from django.db.models import Q, QuerySet
from django.utils.translation import gettext as _

from catalog import kinds
from catalog.kinds.base import Field, Kind
from catalog.models import Component
from catalog.paging import count_up_to
from catalog.quantities import format_number
from catalog.stamps import stamps
from fitouts.models import Fitout
from quoting.services.asked_kinds import asked_kinds
from quoting.services.brief_preferred import NOT_SAID, Preferred, Sold, chosen_kinds, preferred_by, ways_of

WHOLE_UP_TO = 1500
"""A catalogue of so many components goes into a Brief whole."""
MOST_OF_A_KIND = 150
"""So many of a kind are looked at where the catalogue is larger than that. A design takes a second or two then."""
SIZES_TO_ONE = 3
"""Standard sizes are kept whole up to so many times :data:`MOST_OF_A_KIND`: areas by colours, ratings by series."""
ALIKE = 2
"""So many of parts that are alike stay: the choice and the one named beside it."""
STEPS_PER_DECADE = (0, 24, 12, 6, 3, 1)
"""How finely sizes are told apart: every value by itself, then steps between 1 and 10, fewer and fewer."""

SPECIFIED = ("specification", "sell_price", "stock", "lead_days", "supplier_id")
FIELDS = ("pk", "kind", "name", "part_number", "specification", "cost", "mass_kg", "lead_days")


@dataclass(frozen=True, slots=True)
class Cut:
    """A kind of which not every component was looked at."""

    kind: str
    there: int
    looked_at: int

    @property
    def words(self) -> str:
        said = _(
            "The catalogue has %(there)s of the kind “%(kind)s” that would do for this voltage; %(few)s were looked "
            "at, the cheapest of each size first. Ask for a component by name to have it looked at."
        )
        plural = str(_(kinds.get(self.kind).plural))
        return said % {"there": format_number(self.there), "kind": plural, "few": format_number(self.looked_at)}


@dataclass(frozen=True, slots=True)
class _Of:
    """What of one kind goes into a Brief."""

    values: tuple[dict[str, Any], ...]
    cut: Cut | None = None


@dataclass(frozen=True, slots=True)
class Row:
    """A component as it is narrowed: its place in the order of choice, and what it states."""

    pk: int
    order: tuple[Any, float, str]
    spec: dict[str, Any]
    sold: Sold = NOT_SAID


def values_for(fitout: Fitout | None, always: Collection[int] = ()) -> list[dict[str, Any]]:
    """The components that a design of this job chooses from, as a Brief holds them, by key.

    ``always`` go whatever they are, retired ones too. Without a job: for any voltage and chemistry.
    """
    wanted = {*(fitout.pinned if fitout else ()), *always}
    if count_up_to(Component.objects.in_use(), WHOLE_UP_TO) <= WHOLE_UP_TO:
        kept = Q(pk__in=list(always))
        return _values(Component.objects.filter(Q(retired_at=None) | kept).order_by("pk"))
    found = {value["key"]: value for one in _narrowed(fitout) for value in one.values}
    lacking = [key for key in wanted if str(key) not in found]
    more = Component.objects.filter(pk__in=lacking).filter(Q(retired_at=None) | Q(pk__in=list(always)))
    found |= {value["key"]: value for value in _values(more)}
    return sorted(found.values(), key=lambda value: int(value["key"]))


def ruled_out(fitout: Fitout) -> list[int]:
    """Keys of components that a job does without: those ruled out by name, and those of suppliers ruled out."""
    return [*fitout.banned, *of_banned_suppliers(fitout)]


def of_banned_suppliers(fitout: Fitout) -> list[int]:
    """Keys of components that are out for no other reason than who sells them; one asked for by name stays in."""
    if not fitout.suppliers_banned:
        return []
    named = {int(key) for key in (*fitout.pinned, *fitout.banned)}
    rows = Component.objects.in_use().filter(supplier_id__in=fitout.suppliers_banned).order_by("pk")
    return [pk for pk in rows.values_list("pk", flat=True) if pk not in named]


def cuts(fitout: Fitout) -> list[Cut]:
    """Kinds of which not every component was looked at; empty for all but very large catalogues."""
    if count_up_to(Component.objects.in_use(), WHOLE_UP_TO) <= WHOLE_UP_TO:
        return []
    return [one.cut for one in _narrowed(fitout) if one.cut is not None]


def _narrowed(fitout: Fitout | None) -> list[_Of]:
    usable: tuple[int, int, tuple[str, ...]] = (12, 24, ())
    banned: frozenset[int] = frozenset()
    if fitout is not None:
        usable = (fitout.vehicle.nominal_v, fitout.system_v, tuple(sorted(fitout.chemistries)))
        banned = frozenset(int(key) for key in ruled_out(fitout))
    place = str(connection.settings_dict["NAME"])
    asked, preferred = asked_kinds(), preferred_by(fitout)
    return [
        _of_kind(place, kind, stamp, *usable, banned, MOST_OF_A_KIND, preferred)
        for kind, stamp in stamps().items()
        if kind in asked
    ]


@lru_cache(maxsize=400)
def _of_kind(
    place: str, kind: str, stamp: int, vehicle_v: int, system_v: int, chemistries: tuple[str, ...],
    banned: frozenset[int], most: int, preferred: Preferred,
) -> _Of:  # fmt: skip
    """Kept by database, kind and stamp: the stamp is another one as soon as a component of the kind is."""
    declaration = kinds.get(kind)
    rows = Component.objects.in_use().filter(kind=kind)
    if count_up_to(rows, most) > most:
        fit = rows.filter(_usable(declaration, vehicle_v, system_v, chemistries))
        rows = fit if fit.exists() else rows  # none that fits is told by the choice itself, with the nearest
    there = [
        Row(pk, (cost, mass, str(pk)), spec, Sold(*sold))
        for pk, cost, mass, spec, *sold in rows.order_by("pk").values_list("pk", "cost", "mass_kg", *SPECIFIED)
    ]
    if len(there) > most:
        there = [row for row in there if row.pk not in banned]
    few, is_cut = survivors(declaration, there, most)
    if len(few) < len(there) and kind in chosen_kinds():
        few = _with_preferred(declaration, there, few, most, preferred)
    values = _values(Component.objects.filter(pk__in=[row.pk for row in few]))
    return _Of(tuple(values), Cut(kind, len(there), len(few)) if is_cut else None)


def _usable(kind: Kind, vehicle_v: int, system_v: int, chemistries: Sequence[str]) -> Q:
    """Parts whose stated voltage and chemistry a design of this job could take at all."""
    fit, volts = Q(), {vehicle_v, system_v, 12}
    for field in kind.fields:
        where = f"specification__{field.name}"
        if field.name in ("input_nominal_v", "output_nominal_v") and field.type == "number":
            fit &= Q(**{f"{where}__in": sorted(float(v) for v in volts)}) | Q(**{where: None})
        elif field.name == "chemistry" and field.type == "choice" and chemistries:
            fit &= Q(**{f"{where}__in": list(chemistries)})
    return fit


def _values(rows: QuerySet[Component]) -> list[dict[str, Any]]:
    """Components as the sizing reads them."""
    return [
        {
            "key": str(pk), "kind": kind, "name": name, "part_number": part_number, "spec": spec,
            "cost": f"{cost:.4f}", "mass_kg": mass_kg, "lead_days": lead_days,
        }
        for pk, kind, name, part_number, spec, cost, mass_kg, lead_days in rows.values_list(*FIELDS)
    ]  # fmt: skip


# --- Narrowing one kind: no database below this line -------------------------------------------------------


def survivors(kind: Kind, rows: Sequence[Row], most: int) -> tuple[list[Row], bool]:
    """The rows of one kind that are looked at, and whether that may have lost the cheapest answer.

    At most ``most`` rows; up to :data:`SIZES_TO_ONE` times as many where that keeps every size there is.
    """
    if len(rows) <= most:
        return list(rows), False
    unlike = _unlike(kind, sorted(rows, key=lambda row: row.order))
    if len(unlike) <= most:
        return unlike, False
    kept: dict[int, Row] = {}
    for row in _one_of_each_size(kind, unlike, most):
        kept[row.pk] = row
    for row in _furthest(kind, unlike):
        if len(kept) < most:
            kept.setdefault(row.pk, row)
    for row in unlike:
        if len(kept) >= most:
            break
        kept.setdefault(row.pk, row)
    return list(kept.values()), True


def _with_preferred(kind: Kind, rows: Sequence[Row], few: list[Row], most: int, by: Preferred) -> list[Row]:
    """With what any further way of looking at the parts would keep."""
    kept = {row.pk: row for row in few}
    for way in ways_of(rows, kind.group, by):
        placed = [replace(row, order=(Decimal(n), 0.0, "")) for n, row in enumerate(way)]
        for row in survivors(kind, placed, most)[0]:
            kept.setdefault(row.pk, row)
    return list(kept.values())


def _unlike(kind: Kind, ordered: Sequence[Row]) -> list[Row]:
    """Without the dearer of those that state the same."""
    seen: dict[Any, int] = {}
    kept = []
    for row in ordered:
        mark = repr([row.spec.get(field.name) for field in kind.fields])
        seen[mark] = seen.get(mark, 0) + 1
        if seen[mark] <= ALIKE:
            kept.append(row)
    return kept


def _one_of_each_size(kind: Kind, ordered: Sequence[Row], most: int) -> list[Row]:
    """The cheapest of each size: of every one, or in the finest steps that leave a third of the room.

    A cable wants its negative, a link its holder, a conductor its terminal, all of the very size.
    """
    sorts, sizes = _sorts(kind), _sizes(kind)
    for steps in STEPS_PER_DECADE:
        first: dict[Any, Row] = {}
        for row in ordered:
            mark = (*(repr(row.spec.get(f.name)) for f in sorts), *(_step(row.spec.get(f.name), steps) for f in sizes))
            first.setdefault(mark, row)
        if len(first) <= (most * SIZES_TO_ONE if steps == 0 else most * 2 // 3):
            return list(first.values())
    return _spread(list(first.values()), most * 2 // 3)


def _spread(rows: Sequence[Row], most: int) -> list[Row]:
    """Every so many of rows in order of cost, the first and the last among them."""
    gap = (len(rows) - 1) / max(1, most - 1)
    return [rows[round(i * gap)] for i in range(most)]


def _furthest(kind: Kind, ordered: Sequence[Row]) -> list[Row]:
    """For each value the cheapest of those that state the most of it, and of those that state the least."""
    found = []
    for field in kind.fields:
        if field.type not in ("number", "integer"):
            continue
        stating = [row for row in ordered if isinstance(row.spec.get(field.name), int | float)]
        if stating:
            found.append(max(stating, key=lambda row: row.spec[field.name]))
            found.append(min(stating, key=lambda row: row.spec[field.name]))
    return found


def _sorts(kind: Kind) -> list[Field]:
    """What tells parts of different sorts apart: choices, yes or no, and numbers out of a list."""
    return [f for f in kind.fields if f.type in ("choice", "choices", "boolean") or (f.options and f.type == "number")]


def _sizes(kind: Kind) -> list[Field]:
    """The numbers on the rating line, which a part is named and bought by."""
    return [f for f in kind.fields if f.in_rating and f.type in ("number", "integer") and not f.options]


def _step(value: Any, per_decade: int) -> Any:
    if not isinstance(value, int | float) or per_decade == 0 or value <= 0:
        return value
    return round(math.log10(value) * per_decade)
