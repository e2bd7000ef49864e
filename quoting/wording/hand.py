"""Why a change by hand, or what lies in a vehicle already, is not taken: the rule and its numbers, in a sentence."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from django.utils.translation import gettext_lazy as _

if TYPE_CHECKING:
    from quoting.sizing.wiring_records import RefusedChange

REFUSED: dict[str, Any] = {
    # what section 7 lets nobody override
    "ampacity": _("The conductor carries {limit_a} where it lies; the circuit takes {asked_a}."),
    "device_over_cable": _("A device of {asked_a} on a conductor that carries {limit_a} where it lies."),
    "breaking": _("The fault there is {fault_a}; the device breaks {breaking_a}."),
    "breaking_unknown": _("What the {rating_a} device breaks is not known, and never taken as enough."),
    "adiabatic": _("A fault heats {area_mm2} too far before the device opens; it takes {limit_mm2}."),
    "disconnection": _("A fault of {fault_a} at the far end lasts {clears_s}; at most {limit_s} is allowed."),
    "heat": _("Insulation of {insulation_c} in air of {ambient_c}."),
    "pins": _("The coupling's pins carry {limit_a}; the device is {asked_a}."),
    "maker_minimum": _("The maker wants a device of {limit_a} at least; {asked_a} is asked."),
    "maker_maximum": _("The maker allows a device of {limit_a} at most; {asked_a} is asked."),
    "isolator": _("The isolator carries {limit_a}; a device of {asked_a} does not protect it."),
    "voltage": _("The device is good for {limit_v}; the circuit reaches {asked_v}."),
    "voltage_unknown": _("The highest voltage of the {rating_a} device is not known, and never taken as enough."),
    "both_ends": _("There is a source at each end, so a device is wanted at both."),
    "place": _("The device sits {asked_m} from what feeds it; {limit_m} is the most."),
    "place_unknown": _("Nobody said how far the device sits from what feeds it; {limit_m} is the most."),
    "not_of_copper": _("The resistance that is stated is none that copper of {area_mm2} has."),
    "least_area": _("{area_mm2} is under {limit_mm2}, the thinnest that may be laid (ISO 10133)."),
    "under_current": _("A device of {asked_a} would open: {current_a} in its heat wants {limit_a} at least."),
    "inrush": _("A start of {peak_a} may open a device of {rating_a}."),
    # what policy limits, to be settled with it
    "drop": _("{asked_v} would be lost; the limit is {limit_v}, {limit_ratio}. A higher limit may be settled too."),
    "cutout": _("{left_v} would be left at the appliance, {short_v} less than the {limit_v} it needs with its margin."),
    # what there is
    "cable_not_in_catalogue": _("The catalogue has no such conductor."),
    "device_not_in_catalogue": _("The catalogue has no such device."),
    "no_holder": _("The catalogue has no holder for a link of {asked_a}."),
    "no_rating_between": _("The catalogue has no such device from {asked_a} to {limit_a}."),
    "not_possible": _("With it the circuit cannot be designed."),
    # return through the body
    "return_not_allowed": _("The workshop's policy does not allow the body as a return."),
    "return_of_feed": _("Only an appliance circuit may return through the body."),
    "return_over_hitch": _("No current returns through a towball or drawbar."),
    "return_not_bonded": _("The negative of this circuit is not joined to the body: its converter parts the two."),
    "return_body": _("Only a body of steel may be a return, and the survey does not say that it is."),
    # the circuit itself
    "no_such_circuit": _("There is no such circuit any more."),
    "not_changeable": _("Nothing of this circuit is settled by hand."),
    "leaves_short": _(
        "With it {subject} would lack a part that does: the design could not be built from the catalogue."
    ),
    "undoes_change": _("With it the change to {other} would no longer hold."),
    "by_hand": _("A person settled other conductors or devices for it."),
}
"""Code of ``RefusedChange`` and of the ``rule`` of a finding -> sentence."""


def why_words(code: str, params: Mapping[str, Any]) -> str:
    """The sentence of a rule with its numbers; the code itself where it has none."""
    from quoting.words import fill  # words reads the table above

    return fill(REFUSED[code], params) if code in REFUSED else code


def refused_words(refused: RefusedChange) -> str:
    """Why a change was not taken."""
    return why_words(refused.code, refused.params)
