"""Assemblies of an accepted quote in the bay: a step to tick for each, and the parts whose serials are kept.

They come from the versions and counts that the revision was priced with, never from what the job holds now.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from django.db.models import Prefetch
from django.utils.translation import gettext as _

from catalog import kinds
from catalog.assemblies import Counted
from catalog.kinds import capabilities as can
from catalog.models import AssemblyVersion, Component
from catalog.quantities import format_number
from catalog.queries_assemblies import whole_lines
from fitouts.models import FitoutAssembly
from quoting.models import Revision
from quoting.services import assemblies
from quoting.services.assemblies import Use
from quoting.services.build_steps import BuildStep

ROLE = "assembly"
SERIALLED = (
    can.Storage,
    can.EngineCharging,
    can.MainsCharging,
    can.SolarControl,
    can.Panel,
    can.Inverting,
    can.Switching,
    can.Monitoring,
    can.ResidualProtection,
    can.Inlet,
)
"""What a part does whose serial number the owner and the next workshop want: the same as a design chooses."""
LONGEST_STEP = 280


def uses_of(revision: Revision) -> list[Use]:
    """The assemblies of a revision as they were priced."""
    priced = dict(revision.assemblies)
    if not priced:
        return []
    rows = AssemblyVersion.objects.filter(pk__in=priced).select_related("assembly").order_by("pk")
    versions = rows.prefetch_related(Prefetch("lines", whole_lines()))
    fitout = revision.quote.fitout
    taken = [FitoutAssembly(fitout=fitout, version=version, quantity=priced[version.pk]) for version in versions]
    return assemblies.uses_of(taken, assemblies.counts_of_design(revision.built_design))


def steps(uses: list[Use]) -> Iterator[BuildStep]:
    """What to do for each assembly, in as many steps as its words need."""
    for use in uses:
        head = _("Fit %(name)s: ") % {"name": use.version.assembly}
        for number, words in enumerate(_packed([_item(c) for c in use.counted], LONGEST_STEP - len(head))):
            yield BuildStep(f"assembly:{use.version.pk}:{number}", f"{head}{words}")


def parts(uses: list[Use]) -> Iterator[dict[str, Any]]:
    """Parts with a serial number of their own, one by one, as :class:`FittedPart` takes them."""
    for use in uses:
        for counted in use.counted:
            component = counted.line.component
            if component is None or not has_serial(component):
                continue
            many = int(counted.quantity)
            for number in range(1, many + 1):
                yield {
                    "key": f"{ROLE}:{use.version.pk}:{counted.line.pk}:{number}",
                    "component_id": component.pk,
                    "role": ROLE,
                    "name": component.name if many == 1 else f"{component.name[:110]}, {number}",
                    "part_number": component.part_number,
                    "settings_asked": {},
                }


def has_serial(component: Component) -> bool:
    """Whether a part is one of those whose serial numbers are kept."""
    try:
        kind = component.declaration
        found = kind.capabilities(kind.clean(component.specification))
    except (kinds.UnknownKind, kinds.SpecError):
        return False
    return any(isinstance(capability, SERIALLED) for capability in found)


def _item(counted: Counted) -> str:
    if counted.is_labour:
        return str(counted.line.what)
    number = format_number(counted.quantity)
    return f"{number} m {counted.line.what}" if counted.unit == "m" else f"{number} × {counted.line.what}"


def _packed(items: list[str], room: int) -> Iterator[str]:
    """Items one after another, in pieces that fit."""
    piece = ""
    for item in items:
        longer = f"{piece}, {item}" if piece else item
        if piece and len(longer) > room:
            yield piece
            longer = item
        piece = longer
    if piece:
        yield piece
