"""Needs and limits of the choice, by the name of their row: what is asked, and whether so much at least or at most."""

from __future__ import annotations

from typing import Any

from django.utils.translation import gettext_lazy as _

AT_LEAST, AT_MOST = _("at least {value}"), _("at most {value}")

ROW: dict[str, tuple[Any, Any]] = {
    "capacity_ah": (_("Capacity of the battery"), AT_LEAST),
    "discharge_a": (_("Current that the battery gives for long"), AT_LEAST),
    "peak_a": (_("Current that the battery gives in the worst start"), AT_LEAST),
    "engine_a": (_("Charging current from the engine"), AT_LEAST),
    "mains_a": (_("Charging current from mains"), AT_LEAST),
    "array_w": (_("Power of the solar array"), AT_LEAST),
    "inverter_w": (_("Power that the inverter gives for long"), AT_LEAST),
    "inverter_va": (_("Apparent power that the inverter gives for long"), AT_LEAST),
    "inverter_surge_w": (_("Power that the inverter gives in the worst start"), AT_LEAST),
    "shunt_a": (_("Current through the monitor’s shunt"), AT_LEAST),
    "spare_outputs": (_("Switched outputs kept free"), AT_LEAST),
    "outputs": (_("Switched outputs kept free"), AT_LEAST),
    "inputs": (_("Sensing inputs"), AT_LEAST),
    "budget": (_("Price of the whole bill, without tax"), AT_MOST),
    "mass_kg": (_("Mass of what is fitted"), AT_MOST),
    "roof_m2": (_("Roof that the panels take"), AT_MOST),
    "battery_space_m2": (_("Floor that the batteries take"), AT_MOST),
    "dark_chance": (_("Chance of going dark"), AT_MOST),
}
"""By the row's name up to its colon: label, and how the bound reads."""

OF_ROW: dict[str, Any] = {
    "lifepo4": _("with a lithium iron phosphate bank"),
    "agm": _("with an AGM bank"),
    "gel": _("with a gel bank"),
    "flooded": _("with a flooded lead-acid bank"),
    "voltage": _("for voltages"),
    "resistance": _("for tanks"),
    "temperature": _("for temperatures"),
    "current": _("for currents"),
    "digital": _("for contacts"),
}
"""What tells rows of the same name apart, after the colon."""

GROUP: dict[str, Any] = {
    "battery": _("A battery"),
    "engine": _("A charger for the engine"),
    "mains": _("A mains charger"),
    "solar": _("A solar controller"),
    "array": _("Solar panels"),
    "inverter": _("An inverter"),
    "converter": _("A 12 V converter"),
    "monitor": _("A battery monitor"),
    "switching": _("Switched outputs"),
    "inlet": _("A shore inlet"),
    "residual": _("Residual-current protection"),
    "sensing": _("Sensing inputs"),
}
"""What has to be there, where no part of the catalogue goes with the rest."""

WANTED, NONE_FITS = _("must be there"), _("none goes with the rest")
WISHED, GIVEN_UP = _("as wished"), _("given up")
