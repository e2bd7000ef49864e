"""The circuit schedule: every circuit of a frozen design in a row of words and numbers."""

from __future__ import annotations

from django.utils.translation import gettext as _

from catalog.quantities import UNIT_SPACE
from quoting.documents import circuit_words as say
from quoting.documents.by_hand import note_numbers
from quoting.documents.common import Frozen
from quoting.documents.content_wiring import DeviceWords, ScheduleRow
from quoting.documents.speech import figure, quantity
from quoting.sizing.appraisal import Circuit, Device

LEAST_A = 0.1
"""Under it a second decimal is printed: a signal is not nothing. [A]"""


def schedule_rows(frozen: Frozen) -> tuple[ScheduleRow, ...]:
    """Every circuit, in the order of the diagram."""
    numbers = note_numbers(frozen)
    return tuple(_row(frozen, circuit, numbers.get(circuit.tag, "")) for circuit in frozen.appraisal.circuits)


def notes(frozen: Frozen) -> tuple[str, ...]:
    """What the columns mean."""
    out = [
        _(
            "Length is one way. Drop counts both conductors, devices and joints; under it, in all from the battery "
            "post against its limit."
        ),
        _(
            "Carries: what the conductor may carry after heat and bundling, under it what the design current leaves. "
            "Breaks: what the device breaks, under it the current that can flow just behind it. Clears: the longest "
            "that a fault at the far end lasts. At load: with the battery low."
        ),
        _(
            "IEC 60228, ISO 10133 and ISO 8820 are named as the books the figures come from, not as a claim of "
            "compliance."
        ),
    ]
    if any(circuit.stays for circuit in frozen.appraisal.circuits):
        out.insert(2, _("In the vehicle: the circuit lies there already, passed every rule, and stays."))
    return tuple(out)


def _row(frozen: Frozen, circuit: Circuit, note: str) -> ScheduleRow:
    carries = circuit.current_a > 0
    marks = [_("by hand, note %s") % note] if note else []
    if circuit.stays:
        marks.append(_("in the vehicle"))
    return ScheduleRow(
        tag=circuit.tag,
        name=circuit.name,
        way=say.way_words(frozen, circuit),
        current=figure(circuit.current_a, 1 if circuit.current_a >= LEAST_A else 2) if carries else "–",
        peak=_("peak %s") % figure(circuit.peak_a, 1) if circuit.peak_a > circuit.current_a else "",
        length=figure(circuit.run_m, 1),
        conductor=say.conductor_words(circuit),
        insulation=quantity(circuit.insulation_c, "°C"),
        back=say.return_words(circuit),
        drop=figure(circuit.drop_v, 2) if carries else "–",
        drop_total=_("%(got)s of %(limit)s%(space)s%%")
        % {
            "got": figure(100 * circuit.drop_ratio, 1),
            "limit": figure(100 * circuit.drop_limit_ratio, 0 if _whole(100 * circuit.drop_limit_ratio) else 1),
            "space": UNIT_SPACE,
        }
        if carries
        else "",
        volts=figure(circuit.voltage_v, 1) if carries and circuit.voltage_v > 0 else "–",
        ampacity=figure(circuit.ampacity_a, 0) if say.is_rated(circuit) else "–",
        left=_("left %s") % figure(circuit.left_a, 0) if carries and say.is_rated(circuit) else "",
        devices=tuple(_device(circuit, device) for device in circuit.devices),
        clears="–" if circuit.clears_s is None else figure(circuit.clears_s),
        decided=say.decided_words(circuit),
        marks=tuple(marks),
    )


def _whole(value: float) -> bool:
    return abs(value - round(value)) < 1e-6


def _device(circuit: Circuit, device: Device) -> DeviceWords:
    said = [say.series_words(device)]
    if len({each.end for each in circuit.devices}) > 1:  # at both ends: which is which
        said.insert(0, _("at %s") % (circuit.source if device.end == "source" else circuit.target))
    if device.stays:
        said.append(_("in the vehicle"))
    under = ", ".join(each for each in said if each)
    return DeviceWords(say.device_words(device), under, say.kilo(device.breaking_a), say.kilo(device.fault_a))
