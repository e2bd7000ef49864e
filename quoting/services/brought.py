"""What assemblies bring of the things that rules of a design put on the bill as well, so that nothing is bought twice.

A kit with a tray for each battery stands in for the design's own mountings, whichever model either takes. What counts
is what a part does there: it holds a battery, it warns of hydrogen, it passes a roof watertight.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING

from catalog import kinds
from catalog.kinds.capabilities import Airing, Capability, Insulating, Labelling, Mounting, Sleeving
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


def brought_by(uses: Iterable[Use]) -> Counter[Does]:
    """How many of each thing some assemblies bring."""
    found: Counter[Does] = Counter()
    for use in uses:
        for counted in use.counted:
            if counted.line.component is not None:
                for one in _does(counted.line.component):
                    found[one] += int(counted.quantity)
    return found


def _does(component: Component) -> set[Does]:
    try:
        kind = component.declaration
        found = kind.capabilities(kind.clean(component.specification))
    except (kinds.UnknownKind, kinds.SpecError):
        return set()
    return {one for one in map(does, found) if one is not None}


def without_brought(bill: Sequence[BillLine], brought: Mapping[Does, int]) -> list[BillLine]:
    """A design's bill, less what is brought; a line of which nothing is left is gone."""
    left = Counter(brought)
    lines = []
    for line in bill:
        one = OF_RULE.get(line.rule)
        spared = min(float(left[one]), line.quantity) if one is not None else 0.0
        if one is None or not spared:
            lines.append(line)
            continue
        left[one] -= int(spared)
        if spared < line.quantity:
            lines.append(_less(line, spared))
    return lines


def _less(line: BillLine, spared: float) -> BillLine:
    share = 1 - spared / line.quantity
    uses = tuple(use.model_copy(update={"quantity": round(use.quantity * share, 3)}) for use in line.uses)
    quantity = line.quantity - spared
    return line.model_copy(update={"quantity": quantity, "mass_kg": round(line.mass_kg * share, 3), "uses": uses})
