"""Inputs of the trip, as a tornado names them, and what one says about how it was made."""

from typing import Any

from django.utils.translation import gettext_lazy as _

INPUT: dict[str, Any] = {
    "trip_sun": _("Sun of every day, over what it is likely to be"),
    "trip_air": _("Air, over what it is likely to be"),
    "trip_driving": _("Driving a day, at every stop, more or less"),
    "trip_mains": _("Mains a day, at every stop, more or less"),
    "trip_loads": _("Every load, over what was asked"),
    "trip_shade": _("Shade, at every stop"),
    "trip_worn": _("The battery, from new to worn"),
    "trip_drift": _("The monitor’s drift, from none to the policy’s"),
}
