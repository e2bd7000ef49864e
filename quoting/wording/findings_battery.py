"""Findings of a battery's voltage and of the starter battery: a title and a sentence."""

from typing import Any

from django.utils.translation import gettext_lazy as _

FINDING_BATTERY: dict[str, Any] = {
    # cut-outs
    "cuts_out_early": (
        _("{name} cuts out at {stops_ratio} of charge"),
        _(
            "The battery counts as usable down to {limit_ratio}, but under the current of everything that runs at once "
            "its voltage, less {drop_v} on the way, falls under the {cutout_v} that this appliance needs. Use thicker "
            "conductors, a larger bank, or run less at once."
        ),
    ),
    "cuts_out_before_shedding": (
        _("{name} cuts out at {stops_ratio}, before anything is shed"),
        _(
            "The first loads are let go at {limit_ratio}. Until then everything runs, and the battery's voltage, less "
            "{drop_v} on the way, falls under the {cutout_v} that this appliance needs. Shed earlier, or use thicker "
            "conductors or a larger bank."
        ),
    ),
    "cuts_out_starting": (
        _("{name} may not start under {stops_ratio} of charge"),
        _(
            "It runs on down to {limit_ratio}, where the usable charge ends; but its own starting current pulls the "
            "voltage under the {cutout_v} that it needs. Its conductors lose {drop_v} while it runs."
        ),
    ),
    # charging
    "charging_v_cold": (
        _("In the cold, charging brings {voltage_v} to the bus"),
        _(
            "The charger raises the battery's voltage as its cells cool; at {cell_c} it comes to {voltage_v}, where "
            "the policy plans {planned_v}. Every part here is chosen for it. Check that the appliances stand it, too."
        ),
    ),
    # heaters
    "heater_slow": (
        _("At {name} the battery's heater needs {hours_h} before the cells may be charged"),
        _(
            "In {month} they are at {cell_c} where something charges, and {heater_w} warms them to {limit_c} no "
            "sooner. What is worked out counts them as warm at once: take that time off each drive and each time on "
            "mains."
        ),
    ),
    "heater_too_small": (
        _("At {name} the battery's heater does not get the cells warm enough to be charged"),
        _(
            "In {month} they are at {cell_c} where something charges, and {heater_w} does not hold them at {limit_c} "
            "against the air round them. What is worked out counts them as warm: insulate the battery, or place it "
            "where it is warmer."
        ),
    ),
    # starter battery
    "starter_no_crank": (
        _("On this trip the starter battery may not crank"),
        _(
            "At its worst it falls to {lowest_ratio} of charge; under {crank_ratio} it may not crank. A day's drive "
            "takes {deficit_ah} from it at idle. Set the charger lower, drive more in one go, or find what draws while "
            "parked."
        ),
    ),
    "starter_kept_partial": (
        _("The vehicle keeps its starter battery at about {full_ratio}"),
        _(
            "An ECU-controlled alternator leaves room for the charge of braking. Parked from there it may not crank "
            "after {days} days, sooner than a full battery would."
        ),
    ),
    "starter_restarts": (
        _("Idle-stop draws on the starter battery"),
        _(
            "While the engine stands at lights, the vehicle's own draw comes from the starter battery, and every "
            "restart takes a little more. Both are counted over the trip; the auxiliary system takes nothing then."
        ),
    ),
}
