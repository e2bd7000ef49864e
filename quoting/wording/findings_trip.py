"""Findings of a trip over many weathers and of the year at home: a title and a sentence."""

from typing import Any

from django.utils.translation import gettext_lazy as _

FINDING_TRIP: dict[str, Any] = {
    "dark_likely": (
        _("An essential load goes dark in {chance_ratio} of the weathers"),
        _(
            "That is {dark} of {draws}, and it may be up to {high_ratio}; the policy allows {allowed_ratio}. In "
            "{charge_ratio} the battery is empty, at its current limit or so low that an essential load is shed, in "
            "{voltage_ratio} its voltage is too low. Add battery or charging, shed other loads earlier, or use less."
        ),
    ),
    "dark_possible": (
        _("An essential load may go dark: in {chance_ratio} of the weathers it does"),
        _("That is {dark} of {draws}, and it may be up to {high_ratio}. The policy allows {allowed_ratio}."),
    ),
    "shed_likely": (
        _("{names} will probably be shed"),
        _(
            "In {chance_ratio} of the weathers the charge falls under {below_ratio}. Over the trip they are off for "
            "{off_h} on average."
        ),
    ),
    "month_fails": (
        _("{month} fails first at {name}"),
        _(
            "With 30 days of the trip's use, an essential load goes dark there in {chance_ratio} of the weathers; the "
            "policy allows {allowed_ratio}. Months that do not hold: {months}."
        ),
    ),
    "strings_too_hot": (
        _("On clear days the panels at {name} get too hot for their controller"),
        _(
            "In {month} their voltage falls so far that it does not start in hours that greyer days would have used: "
            "of a mean day at least {lost_wh} are lost, and {mean_wh} left. Put panels in series, or choose a "
            "controller that starts closer to the battery's voltage."
        ),
    ),
    "trip_cut": (
        _("{stepped_days} of the {asked_days} at {name} are worked out hour by hour"),
        _(
            "What follows is taken to go on alike: look at the charge at the stop's end before you rely on it. Chances "
            "and hours are those of the days worked out; over the whole stay they are greater."
        ),
    ),
    "trip_whole_days": (
        _("At {name} {stepped_days} are worked out, and {asked_days} asked"),
        _(
            "Part of a day counts as a whole one, with its night, its sun and its drive. Where two places share a day, "
            "look at both ways round."
        ),
    ),
    "nothing_essential": (
        _("No load is marked essential"),
        _(
            "What goes dark here is the parts' own draw, with everything else on the battery. Mark the loads that must "
            "not go dark, and the chance is theirs."
        ),
    ),
    "trial_inverter_over": (
        _("The inverter is too small for what was added"),
        _("{asked_w} at one time, and it gives {got_w}."),
    ),
}
