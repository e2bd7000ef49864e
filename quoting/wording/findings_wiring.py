"""Findings of conductors, protection, circuits and choice: a title and a sentence."""

from typing import Any

from django.utils.translation import gettext_lazy as _

FINDING_WIRING: dict[str, Any] = {
    "alternator_limits_charging": (
        _("The alternator limits charging"),
        _(
            "{asked_a} would restore a day; the alternator's headroom feeds {most_a}, so the charger is set to "
            "{output_a}. The starter battery would pay for more."
        ),
    ),
    "charger_under_asked": (
        _("The charger gives less than a day takes"),
        _(
            "{asked_a} would restore a day; the largest setting within the {most_a} that the alternator's headroom "
            "feeds gives {output_a} in the heat. Drive longer, or count on the other sources."
        ),
    ),
    "battery_resistance_unknown": (
        _("The battery's resistance is not stated"),
        _(
            "The prospective fault of {name} is not known, so only devices that break {breaking_a} are chosen on the "
            "house bus. Ask the maker for the internal resistance."
        ),
    ),
    "starter_resistance_unknown": (
        _("The starter battery's resistance is not measured"),
        _(
            "Its prospective fault is not known, so only devices that break {breaking_a} are chosen on the engine "
            "feed. Measure it at the survey."
        ),
    ),
    "leads_unequal": (
        _("The battery leads are not alike"),
        _(
            "One has {most_ohm}, another {least_ohm}: the battery on the better lead gives and takes more than its "
            "share and wears out first. Lay them all of one size and length."
        ),
    ),
    "rest_of_bank_too_small": (
        _("One battery less does not carry the loads"),
        _("When one battery's protection opens, the rest give {left_a}; the loads take up to {discharge_a} at once."),
    ),
    "inverter_over_battery": (
        _("The inverter can ask more than the batteries give"),
        _(
            "At its rating, with the battery low and the other loads on, {inverter_a} is asked; the batteries give "
            "{battery_a} and their protection may open. Tell the owner, or fit more batteries."
        ),
    ),
    "load_without_position": (
        _("{name} has no place in the vehicle"),
        _("Its conductors cannot be designed. Say where it sits."),
    ),
    "no_battery_no_circuits": (
        _("No circuits are designed"),
        _("There is no battery to design them from."),
    ),
    "change_refused": (
        _("A change to {name} is not taken"),
        _("{why} The circuit stands as worked out."),
    ),
    "device_under_margin": (
        _("The device of {name} has little margin"),
        _("{rating_a} was settled by hand; the policy asks {margin_a}. It may open in the heat at full load."),
    ),
    "existing_replaced": (
        _("{name}: what lies there is replaced"),
        _("{why} The circuit is designed new."),
    ),
    "existing_unused": (
        _("{name} lies in the vehicle, and nothing uses it"),
        _("No circuit of this design is on it. Take it out, or part and insulate it at both ends."),
    ),
    "not_selective": (
        _("{name}: its device may open first"),
        _(
            "Its {rating_a} is under {least} × the {behind_a} behind it, so a fault there may take everything with it: "
            "{names}. No danger, but more goes dark than must."
        ),
    ),
}
