"""Findings of converters, of a trailer behind its tow vehicle, and of parts that are kept: a title and a sentence."""

from typing import Any

from django.utils.translation import gettext_lazy as _

FINDING_SYSTEMS: dict[str, Any] = {
    # converters
    "converter_limits_fault": (
        _("The converter's own limit protects {name}"),
        _(
            "Into a fault the converter gives at most {limit_a}, which does not open {device_a} within 5 s. The "
            "conductor carries {carries_a}, so nothing overheats; but every load on this converter goes off until the "
            "fault is found."
        ),
    ),
    "converter_not_switched": (
        _("{name} stays on with its converter"),
        _("It is in the Away set but has no switched output, and the converter is on all day. Switch it at the load."),
    ),
    "cutout_of_12_v": (
        _("{name} is said to work down to {voltage_v}, on a bus of 24 V"),
        _(
            "That is the value of an appliance for 12 V, which 24 V would destroy. If it is one, put it on the 12 V "
            "bus, behind a converter. If it is made for both, enter its lowest voltage on 24 V: until then it is not "
            "checked."
        ),
    ),
    # hitch
    "coupling_takes_less": (
        _("The conductor of {name} is thicker than the coupling takes"),
        _(
            "It is {area_mm2}; a contact takes up to {largest_mm2}. Choose a coupling with larger contacts, or ask its "
            "maker how a thicker conductor is joined."
        ),
    ),
    "coupling_live_on_tow": (
        _("The coupling's half on the tow vehicle stays live when it is pulled apart"),
        _(
            "It is fed from there ({names}). Fit the half whose contacts cannot be touched, with a cap, on this side, "
            "and measure its polarity before the first joining."
        ),
    ),
    "coupling_live_on_trailer": (
        _("The coupling's half on the trailer stays live when it is pulled apart"),
        _(
            "It is fed from there ({names}). Fit the half whose contacts cannot be touched, with a cap, on this side, "
            "and measure its polarity before the first joining."
        ),
    ),
    "unhitched_essential_dead": (
        _("{name} is dead while the trailer is unhitched"),
        _(
            "It is essential, and its way from the auxiliary battery leads over the hitch. Feed it on the battery's "
            "side."
        ),
    ),
    "unhitched_no_engine": (
        _("No charging from the engine at {name}"),
        _(
            "The trailer is unhitched there: the {lost_h} a day that the vehicle is driven give the auxiliary battery "
            "nothing."
        ),
    ),
    "unhitched_no_mains": (
        _("No charging from mains at {name}"),
        _(
            "The trailer is unhitched there, and inlet or charger are not on the battery's side: {lost_h} a day at "
            "mains give it nothing."
        ),
    ),
    "unhitched_no_sun": (
        _("No charging from the sun at {name}"),
        _("The trailer is unhitched there, and panels or controller are not on the auxiliary battery's side."),
    ),
    "hitch_refused_engine": (
        _("The engine has no way over the hitch"),
        _("No coupling carries what {name} takes: nothing is counted from the engine, hitched or not."),
    ),
    "hitch_refused_mains": (
        _("Mains has no way over the hitch"),
        _("No coupling carries what {name} gives: nothing is counted from mains, hitched or not."),
    ),
    "hitch_refused_sun": (
        _("The sun has no way over the hitch"),
        _("No coupling carries what {name} gives: nothing is counted from the sun, hitched or not."),
    ),
    "starter_load_over_hitch": (
        _("{name} draws on the starter battery through the hitch"),
        _(
            "With the engine off it may leave the vehicle unable to start. Feed it over a contact that opens with the "
            "engine, or from the auxiliary battery."
        ),
    ),
    "hitch_opens_engine_off": (
        _("Charging over the hitch must stop with the engine"),
        _(
            "Connect {name} so that a signal of the running engine starts and stops it; the test sheet asks whether it "
            "does. Its stop at low voltage alone comes too late: the starter battery would be drained through the "
            "hitch. A bare relay in its place would not do."
        ),
    ),
    # kept parts
    "kept_counts_once": (
        _("One of {quantity} {name} is counted on"),
        _("Several side by side are not designed. Say which one serves, or choose one that is large enough."),
    ),
    "picked_not_used": (
        _("{name} was picked, but nothing asks for it"),
        _("No load, source or wish of this job needs it. It is in neither circuits nor bill."),
    ),
    "picked_retired": (
        _("{name} has been retired from the catalogue"),
        _("The job is held to it. See whether it can still be had, or work the offers out again without it."),
    ),
    "kept_not_used": (
        _("{name} is kept, but nothing asks for it"),
        _("No load, source or wish of this job needs it. It is in neither circuits nor bill; take it out or say why."),
    ),
}
