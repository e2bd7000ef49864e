"""What the numbers are in the sums of a trip over many weathers and of hours to full."""

from typing import Any

from django.utils.translation import gettext_lazy as _

STEP_TRIP: dict[str, Any] = {
    "dark_draws": _("Weathers in which an essential load goes dark"),
    "weather_draws": _("Weathers that the trip is tried in"),
    "dark_chance": _("Chance of going dark"),
    "spread_low": _("Share of them that is worse than the bad one"),
    "draws_worse": _("Weathers that are worse"),
    "lowest_at_rank": _("Lowest charge of the weather at that place in their order"),
    "usable_energy": _("Usable energy"),
    "given_until_short": _("Taken when a load was no longer served"),
    "day_while_it_lasts": _("Energy of a day while it lasts, with what is shed left out"),
    "flat_days": _("Days to flat"),
    "sun_mean_day": _("Sun of a mean day at the battery, {name}, {month}"),
    "sun_grey_day": _("Sun of a grey day, {low_ratio} are worse"),
    "grey_day_costs": _("Missing on a grey day"),
    "grey_day_charge": _("What a grey day costs"),
    "sun_left": _("Left over from the sun"),
    "sun_not_taken": _("More than the battery takes at once, or by its temperature"),
    "lost_charging": _("Lost in charging, of which {stored_ratio} is stored"),
    "battery_limit_cells": _("Battery's charging limit, at its cells' temperature {share_ratio} of it"),
    "energy_to_put_back": _("Energy to put back, from {reserve_ratio}"),
    "engine_gives": _("From the engine"),
    "mains_gives": _("From mains"),
    "sun_gives": _("From the sun, mean of its day"),
    "one_output": _("One output for all of them"),
}
METHOD_TRIP: dict[str, Any] = {
    "weathers_counted": _(
        "Trip worked out hour by hour in every weather, from full; those that go dark are counted. Only the sun "
        "differs among weathers: the air is each month's mean."
    ),
    "weathers_ordered": _(
        "Trip worked out hour by hour in every weather, from full; their lowest charges in order. Only the sun differs "
        "among weathers: the air is each month's mean."
    ),
    "flat": _("Hour by hour from full, nothing charging, loads shed as they go, until the usable depth is gone."),
    "grey_day": _("Days' sun in every weather in order: mean less the policy's percentile, ÷ nominal voltage."),
    "sun_fills": _("Energy to put back ÷ what a mean day's sun leaves over the loads, charging losses taken off."),
}
SOURCE_TRIP: dict[str, Any] = {
    "weathers": _("Bendt, Collares-Pereira and Rabl (1981), day to day by Graham, Hollands and Unny (1988)"),
    "clearness": _("Bendt, Collares-Pereira and Rabl (1981)"),
}
FIGURE_TRIP: dict[str, Any] = {
    "trip.dark_chance_ratio": _("Chance that an essential load goes dark"),
    "trip.lowest_low_ratio": _("Lowest charge in a bad weather"),
    "trip.flat_days": _("Days to flat with no charging"),
    "sun.grey_day_ah": _("What a grey day costs"),
    "engine.hours_to_full": _("Hours to full from the engine"),
    "sun.hours_to_full": _("Hours to full from the sun"),
    "together.hours_to_full": _("Hours to full from all of them"),
}
