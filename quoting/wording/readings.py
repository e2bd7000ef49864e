"""Readings the technician takes."""

from typing import Any

from django.utils.translation import gettext_lazy as _

READING: dict[str, Any] = {
    "fault_codes": _("Fault codes stored, before and after: none new"),
    "cranking_v": _("Cranking voltage, lowest"),
    "cranking_before_v": _("Cranking voltage, lowest, as it came"),
    "cranking_after_v": _("Cranking voltage, lowest, as it leaves"),
    "battery_at_rest_v": _("Voltage at the battery, everything off"),
    "polarity_seen": _("Polarity right at every joint that was opened"),
    "source_protected": _("Every cable worked on is protected where it is fed, by a rating it can bear"),
    "joints_seen": _("Every joint that was opened seen: clean, tight, supported, covered"),
    "sleeping_vehicle_a": _("Sleeping draw, vehicle alone, after 40 minutes"),
    "sleeping_added_a": _("Sleeping draw, auxiliary system added"),
    "drop_positive": _("{tag} {name}, positive, at {current_a}"),
    "drop_negative": _("{tag} {name}, negative, at {current_a}"),
    "coupling_polarity": _("Polarity right in both halves of the coupling, measured before they are joined"),
    "coupling_drop": _("{tag} {name}, over the hitch: coupling's pins, both ways, at {current_a}"),
    "circuit_positive": _("{tag} {name}, positive, at {current_a}"),
    "circuit_negative": _("{tag} {name}, negative, at {current_a}"),
    "devices_seen": _("Every fuse, breaker and isolator seen: type, rating, place"),
    "engine_output_a": _("Engine running at idle: output of {name}"),
    "engine_charger_stops": _("Engine off for ten minutes: {name} takes nothing from the starter battery"),
    "starter_charging_v": _("Starter battery while charging, hot idle"),
    "solar_w": _("Solar input at {irradiance}, clear"),
    "mains_output_a": _("Mains input: output of {name}"),
    "converter_output_v": _("Output of {name}, its loads on"),
    "hot_spot_k": _("Load run, {current_a} for {minutes} minutes: hottest joint over the air"),
    "shedding": _("Shedding seen at {levels} %"),
    "protection_wakes": _("Battery protection opens, and wakes on the charger"),
    "isolator_opens": _("Isolator opened: the house bus is dead"),
    "neutral_earth_link": _("Neutral-earth link: one, at the inverter, on its own"),
    "earth_continuity_ohm": _("Earth continuity, inlet and outlets to body"),
    "insulation_mohm": _("Insulation at 500 V, live parts to earth"),
    "polarity": _("Polarity of inlet and outlets right"),
    "rcd_trip_ms": _("Residual-current device {device}, {times} × rated residual current, {degrees}°: trip time"),
    "rcd_holds_half": _("Residual-current device {device} holds at half its rated residual current"),
}
