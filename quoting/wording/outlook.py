"""Names of what moves when something is tried on a design."""

from django.utils.translation import gettext_lazy as _

MOVED = {
    "lowest_low": _("Lowest, bad weather"),
    "lowest_median": _("Lowest, middle weather"),
    "end_median": _("At the trip's end"),
    "dark_chance": _("Essential load goes dark"),
    "flat_days": _("Flat with no charging"),
    "shed_hours": _("Shed, all groups together"),
    "load_wh_day": _("Used"),
    "sun_wh_day": _("Sun taken"),
    "spilled_wh_day": _("Offered, not taken"),
    "starter_lowest": _("Starter battery, lowest"),
}
IN_RATIO = frozenset({"lowest_low", "lowest_median", "end_median", "dark_chance", "starter_lowest"})
"""Results that are shares, shown in per cent."""
