"""What parts are there for, by role, as a row of a table names it."""

from __future__ import annotations

from django.utils.translation import gettext_lazy as _

ROLES = {
    "battery": _("Battery"),
    "engine_charger": _("Charging from the engine"),
    "mains_charger": _("Charging from mains"),
    "multi_charger": _("Charging, several sources in one"),
    "solar_controller": _("Solar controller"),
    "panel": _("Solar panels"),
    "inverter": _("Inverter"),
    "converter": _("12 V converter"),
    "monitor": _("Battery monitor"),
    "switching": _("Switched outputs"),
    "inlet": _("Shore inlet"),
    "residual": _("Residual-current protection"),
    "coupling": _("Coupling to the trailer"),
    "sensing": _("Sensing inputs"),
    "sensor": _("Sensors"),
}
"""Every role a chosen part may have."""


def role_words(role: str) -> str:
    """A role in words; a role that is not known is shown as it is."""
    return str(ROLES.get(role, role))
