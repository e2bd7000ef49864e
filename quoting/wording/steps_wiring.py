"""What each number in the sum of a circuit is."""

from typing import Any

from django.utils.translation import gettext_lazy as _

STEP_WIRING: dict[str, Any] = {
    "solar_design_current": _("1.56 × short-circuit current of the string"),
    "design_current": _("Design current"),
    "continuous_ratio": _("Rating over continuous current"),
    "least_rating": _("Least rating of the device"),
    "device_rating": _("Rating of {name}"),
    "iso_table": _("ISO 10133 table A.1, {area_mm2}, {insulation_c}"),
    "cfr_table": _("33 CFR 183.425 table 5, {awg}: the lower of both"),
    "ambient_factor": _("Air of {ambient_c}; engine space: {engine_space}"),
    "bundling_factor": _("{bundled} loaded conductors together"),
    "ampacity": _("Allowed"),
    "loop_length": _("There and back"),
    "ohm_per_m_warm": _("Conductor at {conductor_c}, by the metre"),
    "conductor_drop": _("Lost in the conductors"),
    "joints_drop": _("Lost in devices and joints"),
    "feeders_drop": _("Lost in shared feeders"),
    "feeders_reserve": _("Kept for the shared feeder, by length"),
    "total_drop": _("Lost from the battery post"),
    "drop_limit": _("Limit, {limit_ratio}"),
    "cutout_with_margin": _("Lowest working voltage and {margin_v}"),
    "voltage_at_load": _("Left at the load, battery low, running and starting"),
    "charging_voltage": _("Charging voltage"),
    "source_resistance": _("Batteries, conductors and devices before it, cold"),
    "other_sources": _("Chargers and alternator beside"),
    "breaking_capacity": _("Device breaks"),
    "fault_far_end": _("Fault at the far end, hot, battery low"),
    "clears": _("Device opens within"),
    "disconnection_limit": _("Longest allowed"),
    "main_area": _("Main positive"),
    "bond_area": _("Least bond, IEC 60364-5-54 table 54.2"),
}
