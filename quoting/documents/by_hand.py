"""What a person settled by hand, and why: it stands on every paper, for no paper may look as if it were worked out."""

from __future__ import annotations

from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from quoting.documents.circuit_words import DEVICES
from quoting.documents.common import Frozen
from quoting.documents.content_wiring import HandNote
from quoting.documents.speech import percent, quantity
from quoting.sizing.appraisal import Circuit
from quoting.sizing.wiring_records import Changed, RefusedChange
from quoting.wording.hand import refused_words

FIELDS: dict[str, Any] = {
    "area_mm2": gettext_lazy("conductor"),
    "insulation_c": gettext_lazy("insulation class"),
    "rating_a": gettext_lazy("rating of the device"),
    "form": gettext_lazy("kind of device"),
    "run_m": gettext_lazy("length one way"),
    "drop_limit_ratio": gettext_lazy("limit of the drop"),
    "return_by": gettext_lazy("return"),
}
RETURNS: dict[str, Any] = {"conductor": gettext_lazy("by a conductor"), "chassis": gettext_lazy("by the body")}
UNITS = {"area_mm2": "mm²", "insulation_c": "°C", "rating_a": "A", "run_m": "m"}


def hand_notes(frozen: Frozen) -> tuple[HandNote, ...]:
    """Every change that stands, numbered through by circuit; then those that are not taken."""
    changed = [(circuit, each) for circuit in frozen.appraisal.circuits for each in circuit.changed]
    numbers = note_numbers(frozen)
    stand = tuple(
        HandNote(numbers[circuit.tag], f"{circuit.tag} {circuit.name}", change_words(each), reason_words(each))
        for circuit, each in changed
    )
    return (*stand, *(_refused(each) for each in frozen.appraisal.refused))


def _refused(refused: RefusedChange) -> HandNote:
    """A change that is not taken, with the rule that refuses it; the circuit stands as worked out."""
    field = FIELDS.get(refused.field)
    why = refused_words(refused)
    said = _("%(field)s not taken: %(why)s") % {"field": field, "why": why} if field else _("not taken: %s") % why
    return HandNote(
        "–", " ".join(each for each in (refused.tag, refused.name) if each) or refused.circuit, said, refused.reason
    )


def note_numbers(frozen: Frozen) -> dict[str, str]:
    """Number of the note of each circuit that was changed by hand, by tag."""
    tags = [circuit.tag for circuit in frozen.appraisal.circuits if circuit.changed]
    return {tag: str(number) for number, tag in enumerate(tags, 1)}


def change_words(change: Changed) -> str:
    """What it is now, and what was worked out: ``conductor 6 mm², worked out 4 mm²``."""
    field = FIELDS.get(change.field, change.field)
    after = _value(change.field, change.after)
    if change.before is None or change.before == "":
        return _("%(field)s %(after)s") % {"field": field, "after": after}
    before = _value(change.field, change.before)
    return _("%(field)s %(after)s, worked out %(before)s") % {"field": field, "after": after, "before": before}


def reason_words(change: Changed) -> str:
    """The reason that was given and by whom."""
    reason = change.reason.strip().rstrip(".")
    return _("%(reason)s (%(by)s)") % {"reason": reason, "by": change.by} if change.by else reason


def hand_lines(frozen: Frozen) -> tuple[str, ...]:
    """One line for each circuit that was changed by hand."""
    lines = []
    for circuit in frozen.appraisal.circuits:
        if circuit.changed:
            lines.append(f"{circuit.tag} {circuit.name}: {circuit_line(circuit)}")
    return tuple(lines)


def circuit_line(circuit: Circuit) -> str:
    """All changes of one circuit with their reasons; changes for the same reason give it once."""
    told: dict[str, list[str]] = {}
    for change in circuit.changed:
        told.setdefault(reason_words(change), []).append(change_words(change))
    return (
        "; ".join(_("%(what)s, because: %(why)s") % {"what": ", ".join(what), "why": why} for why, what in told.items())
        + "."
    )


def _value(field: str, value: Any) -> str:
    if field == "form":
        return str(DEVICES.get(str(value), value))
    if field == "return_by":
        return str(RETURNS.get(str(value), value))
    if isinstance(value, int | float) and not isinstance(value, bool):
        return percent(value, 1) if field.endswith("_ratio") else quantity(value, UNITS.get(field, ""))
    return str(value)
