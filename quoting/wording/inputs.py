"""Inputs of the trip, as a tornado names them."""

from typing import Any

from django.utils.translation import gettext_lazy as _

INPUT: dict[str, Any] = {
    "trip_sun": _("Every day's sun, times"),
    "trip_loads": _("Every load, times"),
    "trip_air": _("Air, warmer by"),
    "trip_driving": _("Driving a day, longer by"),
    "trip_mains": _("Mains a day, longer by"),
    "trip_shade": _("Shade, more of the panels by"),
    "trip_worn": _("Battery at its end of life"),
    "trip_drift": _("Battery monitor drifting"),
}
