"""Steps of a build, as the bill is grouped for whoever builds."""

from typing import Any

from django.utils.translation import gettext_lazy as _

STEP_OF_BUILD: dict[str, Any] = {
    "before": _("Before the work"),
    "battery": _("Battery and main protection"),
    "charging": _("Charging"),
    "solar": _("Solar"),
    "inverter": _("Inverter, its direct-current side"),
    "boards": _("Boards and outputs"),
    "circuits": _("Appliance circuits"),
    "signals": _("Signals and sensors"),
    "ac": _("AC side, by the licensed person"),
    "finish": _("Finishing and test"),
}
