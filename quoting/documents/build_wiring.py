"""From a frozen design to the lists that wiring is built from."""

from __future__ import annotations

from itertools import groupby
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from catalog.quantities import UNIT_SPACE
from quoting import words
from quoting.documents import build_schedule, cautions, cutting
from quoting.documents import circuit_words as say
from quoting.documents.by_hand import hand_notes
from quoting.documents.common import Frozen
from quoting.documents.content import Frame
from quoting.documents.content_wiring import AcRow, InputRow, ModuleBlock, OutputRow, ShedRow, WiringContent
from quoting.documents.speech import figure, percent, quantity
from quoting.sizing.wiring_records import AcLink, InputUse, OutputGroup, OutputModule

SENSES: dict[str, Any] = {
    "voltage": gettext_lazy("voltage"),
    "resistance": gettext_lazy("resistance"),
    "temperature": gettext_lazy("temperature"),
    "current": gettext_lazy("current"),
    "digital": gettext_lazy("on or off"),
}


def wiring_frame(frozen: Frozen, title: str, lead: str) -> Frame:
    """Frame of a paper that is built from: which job, vehicle, design, and whether as designed or as built."""
    body = frozen.body
    job = body["job"].get("title") or body["brief"]["title"]
    state = _("as built") if frozen.is_as_built else _("as designed")
    return frozen.frame(
        title=title,
        lead=f"{lead}: {job}",
        running=_("%(title)s, %(vehicle)s; %(volts)s system")
        % {
            "title": job,
            "vehicle": _("plate %s") % frozen.plate() if frozen.personal else body["vehicle"]["name"],
            "volts": f"{frozen.appraisal.system_v}{UNIT_SPACE}V",
        },
        mark=_("%(lead)s, job %(number)s, %(state)s") % {"lead": lead, "number": body["job"]["number"], "state": state},
        dated=f"{frozen.design_mark()}; {frozen.dated()}",
    )


def wiring_content(frozen: Frozen) -> WiringContent:
    """Schedule, outputs, inputs, cable, terminals and conduits, with everything that must be known beside them."""
    appraisal = frozen.appraisal
    return WiringContent(
        frame=wiring_frame(frozen, _("Wiring lists"), _("Wiring lists")),
        schedule=build_schedule.schedule_rows(frozen),
        by_hand=hand_notes(frozen),
        modules=module_blocks(frozen),
        shedding=tuple(_shed(group) for group in appraisal.shed_groups),
        inputs=_inputs(appraisal.inputs),
        cables=cutting.cable_blocks(frozen),
        terminals=cutting.terminal_rows(frozen),
        sleeves=cutting.sleeve_rows(frozen),
        ac=tuple(_ac(link, words.questions_for(appraisal)) for link in appraisal.ac),
        questions=tuple(words.questions_for(appraisal)),
        notices=frozen.notices(),
        cautions=cautions.wiring(frozen),
        notes=build_schedule.notes(frozen),
    )


def module_blocks(frozen: Frozen) -> tuple[ModuleBlock, ...]:
    """Outputs by module, spare ones too; of older designs by part, with the outputs that are used."""
    channels = frozen.appraisal.channels
    if frozen.appraisal.modules:
        return tuple(_module(frozen, module, channels) for module in frozen.appraisal.modules)
    parts = dict.fromkeys((str(c.get("part") or ""), int(c.get("module") or 1)) for c in channels)
    return tuple(
        ModuleBlock(
            str((frozen.parts.get(part) or {}).get("name") or part),
            "",
            tuple(
                _output(frozen, c)
                for c in sorted(channels, key=lambda c: int(c.get("channel") or 0))
                if (str(c.get("part") or ""), int(c.get("module") or 1)) == (part, number)
            ),
        )
        for part, number in parts
    )


def _module(frozen: Frozen, module: OutputModule, channels: tuple[dict[str, Any], ...]) -> ModuleBlock:
    on = {int(c["channel"]): c for c in channels if int(c.get("module") or 1) == module.number}
    place = frozen.place(module.position)
    name = _("%(number)d: %(name)s") % {"number": module.number, "name": module.name}
    rows = []
    for number, limit_a in enumerate(module.limits_a, 1):
        if number in on:
            rows.append(_output(frozen, on[number]))
        else:
            rows.append(OutputRow(str(number), "", _("spare"), "", figure(limit_a, 1), "", ""))
    return ModuleBlock(
        f"{name}, {place}" if place else name,
        _("%(load)s of %(total)s in all") % {"load": figure(module.load_a, 1), "total": quantity(module.total_a, "A")},
        tuple(rows),
    )


def _output(frozen: Frozen, channel: dict[str, Any]) -> OutputRow:
    tag = str(channel.get("circuit") or "")
    circuit = next((each for each in frozen.appraisal.circuits if each.tag == tag), None)
    shed, limit, load = channel.get("shed_below_ratio"), channel.get("limit_a"), channel.get("load_a")
    return OutputRow(
        channel=str(channel.get("channel") or ""),
        tag=str(channel.get("tag") or ""),
        circuit=f"{tag} {circuit.name}" if circuit else (tag or _("spare")),
        load="" if load is None else figure(float(load), 1),
        limit="" if limit is None else figure(float(limit), 1),
        group=str(say.GROUPS[circuit.group]) if circuit else "",
        order=_("at %s") % percent(float(shed)) if shed else "",
    )


def _shed(group: OutputGroup) -> ShedRow:
    return ShedRow(
        order=str(group.order),
        below=percent(group.below_ratio),
        restore=percent(group.restore_ratio),
        backstop=_("under %(below)s for %(delay)s; back at %(restore)s")
        % {
            "below": quantity(group.backstop_v, "V"),
            "delay": quantity(group.backstop_delay_min, "min"),
            "restore": quantity(group.backstop_restore_v, "V"),
        },
        circuits=", ".join(group.circuits),
        outputs=", ".join(group.outputs),
    )


def _ac(link: AcLink, questions: list[str]) -> AcRow:
    """A way with the numbers of what is asked of it; a question that is not on the list stands in words."""
    asked = [words.question_words(code) for code in link.questions]
    numbers = sorted(questions.index(each) + 1 for each in asked if each in questions)
    return AcRow(
        tag=link.tag,
        name=link.name,
        way=f"{link.source} – {link.target}",
        conductors=str(link.conductors),
        questions=(", ".join(map(str, numbers)), *(each for each in asked if each not in questions)),
    )


def _inputs(uses: tuple[InputUse, ...]) -> tuple[InputRow, ...]:
    """What is watched a row each; spare inputs of one sense side by side in one."""
    rows: list[InputRow] = []
    for (unit, sense, spare), together in groupby(uses, key=lambda use: (use.unit, use.sense, not use.key)):
        same = list(together)
        if spare:
            channels = f"{same[0].channel}–{same[-1].channel}" if len(same) > 1 else str(same[0].channel)
            rows.append(InputRow(f"{unit}: {same[0].name}", channels, _sense(sense), _("spare"), ""))
        else:
            rows += [_input(use) for use in same]
    return tuple(rows)


def _sense(sense: str) -> str:
    return str(SENSES.get(sense, sense))


def _input(use: InputUse) -> InputRow:
    return InputRow(
        part=f"{use.unit}: {use.name}",
        channel=str(use.channel),
        sense=_sense(use.sense),
        watched=" ".join(each for each in (use.tag, use.watched) if each) or _("spare"),
        circuit=use.circuit,
    )
