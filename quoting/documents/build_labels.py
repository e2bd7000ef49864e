"""From a frozen design to the labels of its wiring: both ends of every circuit, and every device."""

from __future__ import annotations

from django.utils.translation import gettext as _

from quoting.documents import cautions
from quoting.documents import circuit_words as say
from quoting.documents.build_wiring import wiring_frame
from quoting.documents.by_hand import hand_notes
from quoting.documents.common import Frozen
from quoting.documents.content_wiring import Label, LabelsContent
from quoting.documents.speech import quantity
from quoting.sizing.appraisal import Circuit, Device

RULER_MM = 100
"""A line of this length stands on the page of words, to measure what the printer made of it. [mm]"""


def labels_content(frozen: Frozen) -> LabelsContent:
    """Labels in the order of the schedule, and how to print them."""
    return LabelsContent(
        frame=wiring_frame(frozen, _("Circuit labels"), _("Circuit labels")),
        labels=labels(frozen),
        steps=(
            _("Print at full size: no scaling, no fitting to the page, borders as they are."),
            _("Print the first sheet on plain paper, lay it on a sheet of labels and hold both against the light."),
            _("Measure the line below. If it is not as long as it says, the printer scales: turn that off."),
            _(
                "If all is off by the same small way, feed the sheet by the printer's guides again or set its margin; "
                "the rows and columns stand in the middle of the page."
            ),
            _("A sheet that was begun is used up from its first free label: say which when you ask for the paper."),
            _("This page is for plain paper; print the sheets before it on labels."),
        ),
        by_hand=hand_notes(frozen),
        notices=frozen.notices(),
        cautions=cautions.wiring(frozen),
    )


def labels(frozen: Frozen) -> tuple[Label, ...]:
    """For every circuit the label of its first end, of its devices, of its other end."""
    return tuple(label for circuit in frozen.appraisal.circuits for label in _of_circuit(frozen, circuit))


def _of_circuit(frozen: Frozen, circuit: Circuit) -> list[Label]:
    first = _end(frozen, circuit, circuit.source, circuit.from_position, circuit.target, circuit.to_position)
    other = _end(frozen, circuit, circuit.target, circuit.to_position, circuit.source, circuit.from_position)
    return [first, *(_device(circuit, device) for device in circuit.devices), other]


def _end(frozen: Frozen, circuit: Circuit, here: str, at: str, there: str, there_at: str) -> Label:
    """A conductor's end: which circuit, where the other end is, where this one lands."""
    return Label(
        circuit.tag,
        say.area_words(circuit.area_mm2),
        (
            circuit.name,
            _("to %s") % _landing(frozen, circuit, there, there_at),
            _("here %s") % _landing(frozen, circuit, here, at),
        ),
    )


def _landing(frozen: Frozen, circuit: Circuit, node: str, position: str) -> str:
    """Tag and position of what an end lands on; an appliance has its circuit's own tag, which stands there already."""
    place = frozen.place(position)
    return place or node if node == circuit.tag else ", ".join(each for each in (node, place) if each)


def _device(circuit: Circuit, device: Device) -> Label:
    what = str(say.DEVICES.get(device.what, device.what))
    shape = say.shape_words(device)
    return Label(
        device.tag,
        quantity(device.rating_a, "A"),
        (f"{circuit.tag} {circuit.name}", f"{what}, {shape}" if shape else what),
    )
