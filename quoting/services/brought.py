"""What assemblies bring of the things that rules of a design put on the bill as well, so that nothing is bought twice.

A kit with a tray for each battery stands in for the design's own mountings, where it holds as much. What counts is
what a part does there: it holds a battery, it warns of hydrogen, it passes a roof watertight.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from catalog import kinds
from catalog.kinds.capabilities import Capability, Sleeving
from catalog.kinds.capabilities_fitting import Airing, Insulating, Labelling, Mounting
from catalog.models import Component
from quoting.sizing.appraisal import BillLine

if TYPE_CHECKING:
    from quoting.services.assemblies import Use

Does = tuple[str, ...]

OF_RULE: Mapping[str, Does] = {
    **{f"mount_{what}": ("holds", what) for what in ("battery", "panel", "inverter", "board")},
    **{f"cover_{over}": ("covers", over) for over in ("bar", "post")},
    **{f"label_{hazard}": ("warns", hazard) for hazard in ("battery", "daylight", "hydrogen", "mains", "two_sources")},
    "label_shut_off": ("names", "shut_off"),
    "label_list": ("names", "circuit"),
    "gland_roof": ("passes", "watertight"),
    "grommet": ("passes", "inside"),
    "vent": ("airs",),
}
"""Rule of a design's line -> what its part does there. What goes by the metre or share of a pack is not among them."""


def does(can: Capability) -> Does | None:
    """What a part does by one of its capabilities, as far as rules ask it; ``None`` for anything else."""
    if isinstance(can, Mounting):
        return "holds", can.what
    if isinstance(can, Insulating):
        return "covers", can.over
    if isinstance(can, Labelling):
        return ("warns", can.hazard) if can.hazard else ("names", can.purpose)
    if isinstance(can, Sleeving) and can.form == "grommet":
        return "passes", "watertight" if can.watertight else "inside"
    return ("airs",) if isinstance(can, Airing) else None


@dataclass(slots=True)
class Brought:
    """One thing that some assemblies bring, and how many of it still stand in for nothing."""

    does: Does
    can: Capability
    left: float


def brought_by(uses: Iterable[Use]) -> list[Brought]:
    """What some assemblies bring of the things that rules count."""
    found = []
    for use in uses:
        for counted in use.counted:
            if counted.line.component is not None:
                able = _able(counted.line.component)
                found += [Brought(one, can, int(counted.quantity)) for one, can in able.items()]
    return found


def _able(component: Component) -> dict[Does, Capability]:
    try:
        kind = component.declaration
        able = kind.capabilities(kind.clean(component.specification))
    except (kinds.UnknownKind, kinds.SpecError):
        return {}
    return {one: can for can in able if (one := does(can)) is not None}


def without_brought(bill: Sequence[BillLine], brought: Sequence[Brought]) -> list[BillLine]:
    """A design's bill, less what is brought and would do there; a line of which nothing is left is gone."""
    there = {each.does for each in brought}
    asked = [line for line in bill if OF_RULE.get(line.rule) in there]
    own = Component.objects.in_bulk({int(line.part) for line in asked if line.part.isdigit()}) if asked else {}
    lines = []
    for line in bill:
        one = OF_RULE.get(line.rule)
        part = own.get(int(line.part)) if one in there and line.part.isdigit() else None
        able = _able(part).get(one) if part is not None and one is not None else None
        if able is None:
            lines.append(line)
        elif rest := _left_of(line, [each for each in brought if each.does == one], able):
            lines.append(rest)
    return lines


def _left_of(line: BillLine, brought: Iterable[Brought], own: Capability) -> BillLine | None:
    """What is still to be bought of a line."""
    spared = 0.0
    for each in brought:
        if stands_in(each.can, own, line.params):
            takes = min(each.left, line.quantity - spared)
            each.left -= takes
            spared += takes
    if not spared:
        return line
    return _less(line, spared) if spared < line.quantity else None


def stands_in(kit: Capability, own: Capability, asked: Mapping[str, object]) -> bool:
    """Whether what a kit brings would hold, cover, pass or air as much as the design's own part for it.

    A tray for 35 kg holds no battery of 60, however many a kit has of it. The sizes of what is held are not on the
    line: those that the design's own part takes are asked instead.
    """
    match kit, own:
        case Mounting(), Mounting():
            return kit.carries_kg >= _held_kg(asked, own) and all(
                mine is None or mine >= (theirs or 0)
                for mine, theirs in (
                    (kit.length_mm, own.length_mm),
                    (kit.width_mm, own.width_mm),
                    (kit.height_mm, own.height_mm),
                )
            )
        case Insulating(), Insulating():
            return kit.stud_mm >= own.stud_mm and kit.studs >= own.studs
        case Sleeving(), Sleeving():
            return kit.inner_mm >= own.inner_mm and kit.ways >= own.ways
        case Airing(), Airing():
            return kit.free_cm2 >= own.free_cm2
    return True


def _held_kg(asked: Mapping[str, object], own: Mounting) -> float:
    held_kg = asked.get("held_kg")
    return float(held_kg) if isinstance(held_kg, int | float) else own.carries_kg


def _less(line: BillLine, spared: float) -> BillLine:
    share = 1 - spared / line.quantity
    uses = tuple(use.model_copy(update={"quantity": round(use.quantity * share, 3)}) for use in line.uses)
    quantity = line.quantity - spared
    return line.model_copy(update={"quantity": quantity, "mass_kg": round(line.mass_kg * share, 3), "uses": uses})
