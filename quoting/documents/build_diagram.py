"""From a frozen design to the words and numbers around its single-line diagram."""

from __future__ import annotations

from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from catalog.quantities import UNIT_SPACE
from quoting import words
from quoting.documents import cautions
from quoting.documents.common import Frozen
from quoting.documents.content import CutRow, DiagramContent, OutputRow, ScheduleRow
from quoting.documents.speech import figure, percent
from quoting.sizing.appraisal import Circuit, Device

DEVICES = {
    "fuse": gettext_lazy("fuse"),
    "breaker": gettext_lazy("breaker"),
    "isolator": gettext_lazy("isolator"),
    "channel": gettext_lazy("output"),
    "residual": gettext_lazy("residual-current"),
}
DECIDED = {
    "ampacity": gettext_lazy("current"),
    "drop": gettext_lazy("drop"),
    "cutout": gettext_lazy("voltage at the load"),
    "device": gettext_lazy("its device"),
    "adiabatic": gettext_lazy("short circuit"),
    "least": gettext_lazy("least size"),
}
GROUPS = {"always_live": gettext_lazy("Always live"), "away": gettext_lazy("Away set"), "none": ""}


def diagram_content(frozen: Frozen) -> DiagramContent:
    """Everything beside the drawing itself."""
    body, appraisal = frozen.body, frozen.appraisal
    title = body["job"].get("title") or body["brief"]["title"]
    state = _("as built") if frozen.is_as_built else _("as designed")
    mark = _("Single-line diagram and circuit schedule, job %(number)s, %(state)s") % {
        "number": body["job"]["number"],
        "state": state,
    }
    frame = frozen.frame(
        title=_("Single-line diagram"),
        lead=_("Single-line diagram and circuit schedule: %s") % title,
        running=_("%(title)s, %(vehicle)s; %(volts)s system")
        % {
            "title": title,
            "vehicle": _("plate %s") % frozen.plate() if frozen.personal else body["vehicle"]["name"],
            "volts": f"{appraisal.system_v}{UNIT_SPACE}V",
        },
        mark=mark,
        dated=_("%(design)s; %(day)s; symbols after IEC 60617")
        % {"design": frozen.design_mark(), "day": frozen.dated()},
    )
    return DiagramContent(
        frame=frame,
        schedule=tuple(_scheduled(frozen, circuit) for circuit in appraisal.circuits),
        outputs=tuple(_output(frozen, channel) for channel in appraisal.channels),
        cuts=_cuts(frozen),
        questions=tuple(words.questions_for(appraisal)),
        notices=frozen.notices(),
        cautions=cautions.wiring(frozen),
        notes=(
            _("Length is one way; a negative of the same size runs beside each positive. Drop counts both."),
            _(
                "Carries: what the conductor may carry after heat and bundling. Breaks: what the device "
                "breaks; Fault: what can flow just behind it."
            ),
            _(
                "IEC 60228, ISO 10133 and ISO 8820 are named as the books the figures come from, not as a "
                "claim of compliance."
            ),
        ),
    )


def _name(frozen: Frozen, key: str) -> str:
    """A node by tag and name."""
    node = next((each for each in frozen.appraisal.nodes if each.tag == key), None)
    return f"{node.tag} {node.name}" if node else key


def _scheduled(frozen: Frozen, circuit: Circuit) -> ScheduleRow:
    way = f"{circuit.source} – {circuit.target}"
    positions = (frozen.place(circuit.from_position), frozen.place(circuit.to_position))
    if any(positions):
        way += f"; {positions[0]} – {positions[1]}" if positions[0] != positions[1] else f"; {positions[0]}"
    carries = circuit.current_a > 0
    return ScheduleRow(
        tag=circuit.tag,
        what=circuit.name,
        way=way,
        current=figure(circuit.current_a, 1) if carries else "–",
        length=figure(circuit.run_m, 1),
        area=figure(circuit.area_mm2),
        drop=figure(circuit.drop_v, 2) if carries else "–",
        drop_total=_("%(got)s of %(limit)s")
        % {"got": figure(100 * circuit.drop_ratio, 1), "limit": figure(100 * circuit.drop_limit_ratio, 0)}
        if carries
        else "–",
        ampacity=figure(circuit.ampacity_a, 0),
        devices=tuple(_device(device) for device in circuit.devices),
        breaking=tuple(_kilo(device.breaking_a) for device in circuit.devices),
        fault=tuple(_kilo(device.fault_a) for device in circuit.devices),
        decided=str(DECIDED.get(circuit.decided_by) or words.rule_words(circuit.decided_by)),
    )


def _device(device: Device) -> str:
    return f"{device.tag} {DEVICES[device.what]} {figure(device.rating_a)}{UNIT_SPACE}A"


def _kilo(current_a: float | None) -> str:
    """Amperes in thousands, a dash where none is stated; two decimals, for a panel gives only some amperes."""
    return "–" if current_a is None else figure(current_a / 1000, 2)


def _output(frozen: Frozen, channel: dict[str, Any]) -> OutputRow:
    tag = str(channel.get("circuit") or "")
    circuit = next((each for each in frozen.appraisal.circuits if each.tag == tag), None)
    part = str(channel.get("part") or "")
    shed = channel.get("shed_below_ratio")
    limit, load = channel.get("limit_a"), channel.get("load_a")
    return OutputRow(
        part=str((frozen.parts.get(part) or {}).get("name") or part),
        channel=str(channel.get("channel") or channel.get("tag") or ""),
        circuit=f"{tag} {circuit.name}" if circuit else (tag or _("spare")),
        load="" if load is None else figure(float(load), 1),
        limit="" if limit is None else figure(float(limit), 1),
        group=str(GROUPS[circuit.group]) if circuit else "",
        order=_("at %s") % percent(float(shed)) if shed else "",
    )


def _cuts(frozen: Frozen) -> tuple[CutRow, ...]:
    """One positive and one negative of the same length for every circuit, by cable."""
    rows = []
    circuits = [c for c in frozen.appraisal.circuits if c.conductor]
    for circuit in sorted(circuits, key=lambda c: (-c.area_mm2, c.conductor, c.tag)):
        part = frozen.parts.get(circuit.conductor) or {}
        cable = str(part.get("name") or f"{figure(circuit.area_mm2)}{UNIT_SPACE}mm²")
        ends = f"{circuit.source} – {circuit.target}"
        rows.append(
            CutRow(
                cable,
                _("one, %s") % circuit.colour
                if circuit.role == "negative_bond"
                else _("one %s, one negative") % circuit.colour,
                f"{circuit.tag} {circuit.name} ({ends})",
                figure(circuit.run_m, 1),
            )
        )
    return tuple(rows)


__all__ = ["diagram_content", "percent"]
