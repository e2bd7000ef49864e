"""What the catalogue cannot meet."""

from django.utils.translation import gettext_lazy as _

from quoting.wording.shortfalls_picked import PICKED

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
    "converting": _("a voltage converter"),
    "coupling": _("a trailer coupling"),
    "sensing": _("a part with sensing inputs"),
    "sensor": _("a sensor"),
    "sleeving": _("a conduit"),
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
    "kept_too_small": _(
        "{best} is kept as {need}, but is too small for {subject}: {asked} is asked, it has {best_value}, short by "
        "{short_by}."
    ),
    "kept_too_large": _(
        "{best} is kept as {need}, but is too large for {subject}: at most {asked} is allowed, it has {best_value}, "
        "over by {short_by}."
    ),
    "kept_wrong_voltage": _("{best} is kept as {need}, but is not made for this voltage; it is left out ({subject})."),
    "kept_wrong_chemistry": _(
        "{best} is kept as {need}, but has no profile for this battery; it is left out ({subject})."
    ),
    "kept_no_match": _("{best} is kept as {need}, but does not meet every need of {subject}; it is left out."),
    "kept_none_of_kind": _("{best} is kept as {need}, but does not serve as one; it is left out ({subject})."),
    "kept_odd_bank": _(
        "{quantity} of {best} are kept, but the house bus wants them in strings of {series}; they make no bank."
    ),
    "kept_too_many": _(
        "{best_value} of {best} are kept, but its maker allows at most {asked} in one bank; they are left out."
    ),
    **PICKED,
}
INSTEAD = _("{instead} would do in its place.")
"""After a kept part's shortfall, when the catalogue has something that would do."""
NOTHING_INSTEAD = _("Nothing in the catalogue would do either.")
BY_RULE = {
    ("coupling", "pins"): _(
        "{subject} leads over the hitch: {asked} is asked of the coupling, and {best} has {best_value} free, short by "
        "{short_by}. Choose a coupling with larger or more pins."
    ),
    ("sensing", "inputs"): _(
        "{subject}: {asked} are asked, spare ones included, and the chosen parts have {best_value}, short by "
        "{short_by}. Put a part with such inputs into the catalogue, or watch less."
    ),
    ("conducting", "cutout"): _(
        "No conductor leaves {subject} the voltage it needs: {asked} with its margin, running and starting; the "
        "thickest, {best}, leaves {best_value} of a low battery. Shorten the way, or ask the maker how low it works."
    ),
    ("conducting", "drop"): _(
        "No conductor keeps {subject} within its voltage drop: the thickest, {best}, would lose {asked} where "
        "{best_value} is allowed. Shorten the way or part the load."
    ),
    ("conducting", "disconnection"): _(
        "A fault at the far end of {subject} would last {asked} with {best}; {best_value} is allowed. Shorten the way "
        "or take a faster device."
    ),
    ("storage", "space"): _(
        "No bank that meets the need stands in the battery spaces: {best_value} of {best} would have to, and {asked} "
        "can. Measure another space, or let the battery be smaller."
    ),
}
"""What is short where a rule, not a size, refused the thickest conductor: by need and rule."""
SUBJECT = {
    "battery": _("the house battery"),
    "engine_charger": _("charging from the engine"),
    "mains_charger": _("charging from mains"),
    "solar_controller": _("charging from the sun"),
    "panel": _("the array on the roof there is"),
    "inverter": _("the mains-voltage loads"),
    "monitor": _("the battery's current"),
    "switching": _("the circuits to be switched"),
    "inlet": _("shore power"),
    "residual": _("the mains-voltage side"),
    "converter": _("the 12 V loads"),
    "coupling": _("the circuits over the hitch"),
    "negative_bond": _("the negative's bond to the body"),
    "sensing": _("what is to be watched"),
    "inputs_voltage": _("Inputs for voltages"),
    "inputs_resistance": _("Inputs for tanks"),
    "inputs_temperature": _("Inputs for temperatures"),
    "inputs_current": _("Inputs for currents"),
    "inputs_digital": _("Inputs for contacts"),
    "watched_tank": _("the level of tanks"),
    "watched_temperature": _("temperatures"),
    "watched_current": _("currents"),
}
"""What something was wanted for, in words; circuits are named already."""
