"""From a fault job as it was mended to what its owner reads: found, done, left, measured, and what to watch."""

from __future__ import annotations

from django.utils.translation import gettext as _

from quoting.documents import advice, as_found, cautions
from quoting.documents.build_test import test_content
from quoting.documents.common import Frozen
from quoting.documents.content import Fact, FittedRow, MendedContent, Named
from quoting.documents.speech import unparted
from quoting.documents.text import strong


def mended_content(frozen: Frozen) -> MendedContent:
    """Everything the handover sheet of a fault job prints."""
    body, money = frozen.body, frozen.locality
    number, title = body["job"]["number"], body["job"]["title"]
    sheet = test_content(frozen)
    return MendedContent(
        frame=frozen.frame(
            title=_("Handover sheet"),
            lead=_("%s: what was found, what was mended, what to watch") % title,
            running=_("Handover sheet: %(title)s, %(plate)s") % {"title": title, "plate": frozen.plate()},
            mark=_("Handover sheet, job %s") % number,
            dated=_("%(day)s, as mended, %(quote)s") % {"day": frozen.dated(), "quote": frozen.design_mark()},
            facts=(
                Fact(_("Owner"), frozen.customer_lines()),
                Fact(_("Vehicle"), frozen.vehicle_lines()),
                Fact(_("Handed over"), (strong(money.day(body["delivered_on"])),)),
                Fact(_("Faults and questions"), _reach(frozen)),
            ),
        ),
        dangers=as_found.left_dangers(frozen),
        defects=as_found.defects(frozen),
        found=as_found.parts(frozen),
        fitted=tuple(
            FittedRow(part["name"], part.get("part_number") or "", part.get("serial") or "")
            for part in body.get("fitted") or ()
        ),
        readings=sheet.groups,
        watch=_watch(frozen),
        emergency=_emergency(frozen),
        emergency_words=advice.emergency_words(frozen),
        cautions=(*cautions.living(frozen), cautions.answering_mended()),
    )


def _reach(frozen: Frozen) -> tuple[str, ...]:
    shop = frozen.body["workshop"]
    lines = (strong(shop["name"]), unparted(shop.get("phone") or ""), shop.get("email") or "")
    return tuple(line for line in lines if line)


def _watch(frozen: Frozen) -> tuple[Named, ...]:
    body = frozen.body
    out = [
        Named(
            _("If it comes back"),
            (
                _("A fuse that blows again, a smell, a warm cable, a lamp that glows: stop, switch off, and call us. ")
                + _("A fuse that blew once has said that something is wrong behind it."),
            ),
        ),
        Named(
            _("Joints worked on"),
            (_("They are looked at and tightened again by %s.") % frozen.locality.day(body["retorque_due_on"]),),
        ),
        Named(
            _("What this job was not"),
            (
                _(
                    "We looked for the fault you told us of and for what stood in our way. The rest of the vehicle's "
                    "wiring was not tested, and nothing was designed."
                ),
            ),
        ),
    ]
    return tuple(out)


def _emergency(frozen: Frozen) -> tuple[Named, ...]:
    """What holds for any installation, known or not."""
    reach = ", ".join(line for line in _reach(frozen)[:2])
    return (
        Named(
            _("Isolate"),
            (
                _("Turn the battery isolator off if there is one, else disconnect the battery, negative first."),
                _("Pull the mains lead out. Cover panels: their leads stay live in daylight."),
            ),
        ),
        Named(
            _("Fire"),
            (
                _("Only if it is safe: isolate as above. Keep away from smoke; it is poisonous."),
                _("Tell the fire brigade which batteries are in the vehicle, and where."),
            ),
        ),
        Named(
            _("Crash"),
            (_("Engine off, key away. Tell the rescuers of every battery and its cables. Have it looked at first."),),
        ),
        Named(_("Then"), (_("Call us before it is used again: %s.") % reach,)),
    )
