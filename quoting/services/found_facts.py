"""How a vehicle came, as every paper of its job keeps it; and what of it still stands in the way."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from django.utils import timezone
from django.utils.translation import gettext as _

from fitouts.models import Defect, Fitout, FoundPart
from fitouts.services import found, towing
from quoting.services import kept


def found_facts(fitout: Fitout) -> dict[str, Any]:
    """Parts as found and defects, for a frozen record."""
    parts = fitout.found_parts.select_related("position", "component")
    defects = fitout.defects.select_related("position", "part", "mended_by")
    return {
        "parts": [_part(fitout, part) for part in parts],
        "defects": [_defect(fitout, defect) for defect in defects],
    }


def _part(fitout: Fitout, part: FoundPart) -> dict[str, Any]:
    return {
        "name": part.name,
        "quantity": part.quantity,
        "where": towing.position_words(fitout, part.position) if part.position else "",
        "label_words": part.label_words,
        "serial": part.serial,
        "plan": part.plan,
        "counted_on": bool(kept.role_of(part)),
        "as_part": part.component.name if part.component else "",
        "notes": part.notes,
    }


def _defect(fitout: Fitout, defect: Defect) -> dict[str, Any]:
    return {
        "level": defect.level,
        "words": defect.words,
        "where": towing.position_words(fitout, defect.position) if defect.position else "",
        "part": defect.part.name if defect.part else "",
        "measured": defect.measured,
        "remedy": defect.remedy,
        "mended_on": timezone.localtime(defect.mended_at).date().isoformat() if defect.mended_at else None,
        "mended_by": str(defect.mended_by or ""),
        "mended_words": defect.mended_words,
        "left_because": defect.left_because,
    }


def before_issue(fitout: Fitout) -> Iterator[str]:
    """What of the vehicle as found must be settled before a quote says what becomes of it."""
    for part in found.undecided(fitout.found_parts.all()):
        yield _("What becomes of “%(name)s” is not decided: keep it, replace it or take it out.") % {"name": part.name}
    for defect in fitout.defects.filter(level=Defect.Level.DANGER):
        if not defect.remedy and not found.is_settled(defect):
            yield _("Danger without a remedy: %(words)s. Say what to do, or why it is left.") % {"words": defect.words}
    if fitout.kind == Fitout.Kind.FAULT and not fitout.defects.exists():
        yield _("No defect is written down. Say what is wrong before the work is priced.")


def open_dangers(fitout: Fitout) -> list[str]:
    """Dangers that are neither mended nor left with a reason: no vehicle is handed over with one."""
    return [
        _("Danger open: %(words)s. Mend it, or say why it is left.") % {"words": defect.words}
        for defect in fitout.defects.filter(level=Defect.Level.DANGER)
        if not found.is_settled(defect)
    ]
