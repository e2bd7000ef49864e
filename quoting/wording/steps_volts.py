"""Words of a battery's charging voltage in the cold: its figure, method and steps."""

from typing import Any

from django.utils.translation import gettext_lazy as _

FIGURE_VOLTS: dict[str, Any] = {"battery.charging_cold_v": _("Highest charging voltage, in the cold")}
METHOD_VOLTS: dict[str, Any] = {
    "charging_cold": _("Absorption voltage and what compensation adds for cells at 0 °C, where it ends."),
}
STEP_VOLTS: dict[str, Any] = {
    "compensation_cold": _("Compensation for cells at {cell_c}"),
    "charging_cold": _("Highest charging voltage"),
}
