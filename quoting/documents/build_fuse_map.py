"""From a frozen design to the sheet that stays in the vehicle: what protects what, and how to turn everything off."""

from __future__ import annotations

from dataclasses import replace

from django.utils.translation import gettext as _

from quoting.documents import advice, fuse_devices, weathers
from quoting.documents.build_wiring import wiring_frame
from quoting.documents.by_hand import hand_lines
from quoting.documents.common import Frozen
from quoting.documents.content_wiring import FuseMapContent


def fuse_map_content(frozen: Frozen) -> FuseMapContent:
    """Everything a fuse map prints."""
    frame = wiring_frame(frozen, _("Fuse map"), _("Fuse map"))
    return FuseMapContent(
        frame=replace(frame, lead=frame.running, address=frame.address[:1]),
        warning=_(
            "Never fit a larger fuse, and never bridge one: the cable behind it would burn first. Find out why it "
            "blew; replace it once, by the same rating and the same kind."
        ),
        kill=_kill(frozen),
        call=advice.emergency_words(frozen),
        places=fuse_devices.places(frozen),
        spares=fuse_devices.spares(frozen),
        notes=(*_notes(frozen), *(_("By hand: %s") % line for line in hand_lines(frozen))),
        notices=frozen.notices(without=weathers.TOLD),
    )


def _kill(frozen: Frozen) -> tuple[str, ...]:
    """How to turn everything off, in order."""
    steps = list(advice.emergency(frozen)[0].sentences)
    if frozen.has("alternator", "starter_battery"):
        steps.insert(0, _("Stop the engine, take the key out."))
        steps.append(
            _("What hangs on the starter battery stays live until that battery is disconnected, negative first.")
        )
    return tuple(steps)


def _notes(frozen: Frozen) -> tuple[str, ...]:
    notes = [_("A breaker or an output that tripped: turn off what it feeds, reset it once, and no more.")]
    if frozen.has_mains:
        notes.append(_("Devices of the mains-voltage part are not on this sheet; they are for licensed people."))
    notes.append(_("Keep this sheet where the fuses are. Whoever changes a circuit or its fuse puts a new sheet here."))
    return tuple(notes)
