"""Findings of the starter bus, of what is watched, of the shunt and of batteries side by side."""

from typing import Any

from django.utils.translation import gettext_lazy as _

FINDING_CIRCUITS: dict[str, Any] = {
    "starter_loads_without_place": (
        _("Nobody said where the starter battery sits"),
        _("The circuits of {names} start there and cannot be designed. Give the starter battery's place."),
    ),
    "input_for_nothing": (
        _("An input is given to something that is not watched"),
        _("“{key}” is on input {channel} of part {unit}, but nothing of that name is to be watched any more."),
    ),
    "input_not_there": (
        _("{name} is not on the input it was given"),
        _("Part {unit} has no {kind} input {channel}. It is read by another input that is free, if there is one."),
    ),
    "input_taken": (
        _("{name} is not on the input it was given"),
        _("{kind} input {channel} of part {unit} was given to {other} before. It is read by another that is free."),
    ),
    "sensor_to_check_tank": (
        _("Check the sender for {name}"),
        _("{part} is the cheapest. Nobody said which fluid and how deep the tank is: name the sender that suits both."),
    ),
    "sensor_to_check_current": (
        _("Check the shunt for {name}"),
        _(
            "{part} is the cheapest that carries the battery's main current. Nobody said which circuit it sits in: "
            "name the shunt that suits it, and count what it loses."
        ),
    ),
    "sensor_other_signal": (
        _("{part} does not tell {name} by resistance"),
        _("Make sure that the input reads its signal; most inputs for temperatures read a resistance."),
    ),
    "sense_nothing_there": (
        _("Nothing sits where {name} is to be read"),
        _("No battery, board or appliance is at that position, so the main bus is read in its place."),
    ),
    "signal_over_hitch": (
        _("{name} leads over the hitch"),
        _(
            "It takes {contacts} contacts of the coupling that carry no charge. Check that so many are free; while the "
            "trailer stands alone it tells nothing."
        ),
    ),
    "past_the_shunt": (
        _("{tag} {name} passes the shunt by"),
        _("It lands on the battery's own post, so the monitor does not count it. Land it on the system's side."),
    ),
    "kept_to_system_side": (
        _("What stays must come to the system's side of the shunt"),
        _("The monitor is new: move the conductors of {names} off the battery's posts, or it does not count them."),
    ),
    "links_without_device": (
        _("Links between batteries in series have no device of their own"),
        _(
            "{links} links join the batteries of a string. Keep each as short as the terminals allow, of the lead's "
            "own conductor, and cover every terminal: the device of the string does not see a short across one battery."
        ),
    ),
    "leads_of_equal_length": (
        _("Make the leads of the parallel batteries equal"),
        _(
            "{strings} batteries share the current only as equally as their leads: the same length, conductor, device "
            "and joints for each, positive and negative, to the link."
        ),
    ),
    "unhitched_live": (
        _("Live on the trailer while it stands alone"),
        _("The battery goes on feeding {names}. Isolate before work, and cover the pins of both halves."),
    ),
    "unhitched_live_tow": (
        _("Live on the tow vehicle while the trailer is off"),
        _("A battery goes on feeding {names}. Cover the pins of both halves."),
    ),
    "unhitched_dead": (
        _("Dead while the trailer is unhitched"),
        _("No battery reaches {names} with the coupling apart."),
    ),
}
