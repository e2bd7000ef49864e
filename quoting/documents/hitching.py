"""What an owner must know of a trailer that makes one system with its tow vehicle, before it is unhitched."""

from __future__ import annotations

from django.utils.translation import gettext as _

from quoting.documents.common import Frozen
from quoting.documents.content import Named


def unhitching(frozen: Frozen) -> tuple[Named, ...]:
    """What is dead once the trailer stands alone, and how the coupling is parted; nothing where there is no hitch."""
    if not frozen.brief["vehicle"].get("hitch"):
        return ()
    said = [_dead(frozen)]
    said.append(
        _(
            "Engine off, everything that the coupling feeds off, then part it: never pull it under load. Cap both "
            "halves at once: each may be live, the vehicle's from the starter battery and the trailer's from its own. "
            "Hitched again, look at the pins, and see that it charges."
        )
    )
    return (Named(_("Unhitched"), tuple(said)),)


def _dead(frozen: Frozen) -> str:
    sources = {
        "engine": _("charging from the engine"),
        "mains": _("charging from the mains"),
        "sun": _("charging from the sun"),
    }
    found = frozen.appraisal.dead_unhitched
    names = [each.name if each.what == "load" else sources.get(each.key, each.key) for each in found]
    if not names:
        return _("Nothing goes dead: whatever is used is on the battery's side.")
    return _("Dead while the trailer stands alone: %s.") % ", ".join(names)
