"""What the catalogue cannot meet."""

from django.utils.translation import gettext_lazy as _

NEED = {
    "storage": _("an auxiliary battery"),
    "engine_charging": _("a charger for the engine"),
    "mains_charging": _("a mains charger"),
    "solar_control": _("a solar controller"),
    "panel": _("a solar panel"),
    "inverting": _("an inverter"),
    "switching": _("a switched-output module"),
    "monitoring": _("a battery monitor"),
    "isolating": _("an isolator"),
    "conducting": _("a conductor"),
    "protecting": _("a fuse or circuit breaker"),
    "holding": _("a fuse holder"),
    "residual": _("a residual-current device"),
    "inlet": _("a shore inlet"),
    "distributing": _("a busbar"),
    "terminating": _("a crimp terminal"),
}
SHORTFALL = {
    "none_of_kind": _("The catalogue has nothing that serves as {need} ({subject})."),
    "too_small": _(
        "The catalogue has {need}, but none large enough for {subject}: {asked} is asked, the nearest is {best} "
        "with {best_value}, short by {short_by}."
    ),
    "too_large": _(
        "The catalogue has {need}, but none small enough for {subject}: at most {asked} is allowed, the nearest is "
        "{best} with {best_value}, over by {short_by}."
    ),
    "wrong_voltage": _("The catalogue has {need}, but none for this voltage ({subject})."),
    "wrong_chemistry": _("The catalogue has {need}, but none with a profile for this battery ({subject})."),
    "no_match": _("Nothing in the catalogue meets every need of {subject} as {need}; the nearest is {best}."),
}
