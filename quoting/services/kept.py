"""What a design may count on of the parts that stay in a vehicle: their roles, and what is to be asked first."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from catalog.models import Component
from fitouts.models import Fitout, FoundPart
from quoting.sizing.kept import CAN

ROLE_NAMES = {
    "battery": gettext_lazy("auxiliary battery"),
    "engine_charger": gettext_lazy("charger, from the engine"),
    "mains_charger": gettext_lazy("charger, from mains"),
    "solar_controller": gettext_lazy("solar controller"),
    "multi_charger": gettext_lazy("charger of several sources"),
    "panel": gettext_lazy("solar panel"),
    "inverter": gettext_lazy("inverter"),
    "switching": gettext_lazy("switched outputs"),
    "monitor": gettext_lazy("monitor"),
    "inlet": gettext_lazy("shore inlet"),
    "residual": gettext_lazy("residual-current device"),
    "converter": gettext_lazy("converter"),
    "coupling": gettext_lazy("coupling of the trailer"),
    "sensing": gettext_lazy("sensing inputs"),
}
"""What a kept part is there for, in the words of a list."""

SEVERAL = "multi_charger"
READS = "sensing"
"""A part is kept for its inputs alone; those of a monitor or charger come with what it is there for."""


@dataclass(frozen=True, slots=True)
class Question:
    """What a design must know of a kept part first."""

    part: FoundPart
    words: str


def roles_of(component: Component | None) -> tuple[str, ...]:
    """What a component could be there for, by what it can do; empty for cable, fuses and the like."""
    if component is None:
        return ()
    kind = component.declaration
    able = kind.capabilities(kind.clean(component.specification))
    roles = [role for role, wanted in CAN.items() if any(isinstance(one, wanted) for one in able)]
    sources = sum(any(isinstance(one, wanted) for one in able) for wanted in CAN[SEVERAL])
    found = tuple(role for role in roles if role != SEVERAL or sources > 1)
    return found if found == (READS,) else tuple(role for role in found if role != READS)


def role_of(part: FoundPart) -> str:
    """What a kept part is there for; empty while it has to be asked, or where it is nothing a design counts on."""
    roles = roles_of(part.component)
    if part.role in roles:
        return part.role
    return roles[0] if len(roles) == 1 else ""


def kept_parts(fitout: Fitout) -> list[FoundPart]:
    return list(fitout.found_parts.filter(plan=FoundPart.Plan.KEEP).select_related("component"))


def kept_values(fitout: Fitout) -> list[dict[str, Any]]:
    """The kept parts of a job as the Brief wants them: one model for each role."""
    counts: dict[tuple[int, str], int] = defaultdict(int)
    for part in kept_parts(fitout):
        role = role_of(part)
        if role and part.component_id is not None:
            counts[part.component_id, role] += part.quantity
    return [{"part": str(key), "quantity": quantity, "role": role} for (key, role), quantity in counts.items()]


def questions(parts: Sequence[FoundPart]) -> list[Question]:
    """What stands between kept parts and a design: a role that has to be said, two models for one role."""
    found, filled = [], dict[str, FoundPart]()
    for part in parts:
        roles, role = roles_of(part.component), role_of(part)
        if part.component is not None and part.component.retired_at:
            words = _("“%(name)s” is retired in the catalogue; a design cannot count on it.")
            found.append(Question(part, words % {"name": part.component.name}))
        elif len(roles) > 1 and not role:
            names = ", ".join(str(ROLE_NAMES[each]) for each in roles)
            words = _("Say what “%(name)s” is there for: %(roles)s.") % {"name": part.name, "roles": names}
            found.append(Question(part, words))
        elif role and role in filled and filled[role].component_id != part.component_id:
            words = _("“%(one)s” and “%(other)s” are both kept as %(role)s. A design counts on one model for each.")
            both = {"one": filled[role].name, "other": part.name, "role": str(ROLE_NAMES[role])}
            found.append(Question(part, words % both))
        elif role:
            filled.setdefault(role, part)
    return found


def not_counted_on(parts: Iterable[FoundPart]) -> list[FoundPart]:
    """Kept parts that no design can count on: nobody has said which part of the catalogue they equal."""
    return [part for part in parts if part.plan == FoundPart.Plan.KEEP and not roles_of(part.component)]
