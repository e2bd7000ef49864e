"""What choosing says of itself: why an offer is what it is, what others lack, why a system was not granted."""

from __future__ import annotations

from typing import Any

from django.utils.translation import gettext_lazy as _

SAID: dict[str, Any] = {
    # why
    "why_price": _(
        "The cheapest system that stores {battery_ratio} of the need, gathers {array_ratio} of it from the sun and "
        "goes dark in at most {allowed_ratio} of weathers."
    ),
    "why_price_raised": _(
        "The cheapest system that goes dark in at most {allowed_ratio} of weathers: the cheapest by need alone did in "
        "{first_dark_ratio}, so more was asked until {dark_ratio} was left."
    ),
    "why_price_proved": _(
        "The cheapest system that passes every rule: the cheapest by need alone was refused when it was worked through."
    ),
    "why_cost_per_year": _(
        "The least to pay for each year of its life, of the systems that store {battery_ratio} of the need, gather "
        "{array_ratio} of it from the sun and go dark in at most {allowed_ratio} of weathers."
    ),
    "why_cost_per_year_raised": _(
        "The least to pay for each year of its life, of the systems that go dark in at most {allowed_ratio} of "
        "weathers: the first that was found did in {first_dark_ratio}, so more was asked until {dark_ratio} was left."
    ),
    "why_cost_per_year_proved": _(
        "The least to pay for each year of its life, of the systems that pass every rule: the first that was found was "
        "refused when it was worked through."
    ),
    "why_mass": _(
        "The lightest system that stores {battery_ratio} of the need, gathers {array_ratio} of it from the sun and "
        "goes dark in at most {allowed_ratio} of weathers."
    ),
    "why_mass_raised": _(
        "The lightest system that goes dark in at most {allowed_ratio} of weathers: the lightest by need alone did in "
        "{first_dark_ratio}, so more was asked until {dark_ratio} was left."
    ),
    "why_mass_proved": _(
        "The lightest system that passes every rule: the lightest by need alone was refused when it was worked through."
    ),
    # what the next cheaper lacks
    "lacks_saves": _("{offer} saves {saves}."),
    "lacks_light": _("{offer} goes dark in {there_ratio} of weathers instead of {here_ratio}."),
    "lacks_days": _("{offer} lasts {there_days} without charging instead of {here_days}."),
    "lacks_years": _("{offer} has a battery for {there} years instead of {here}."),
    "lacks_outputs": _("{offer} leaves {there} outputs spare instead of {here}."),
    "lacks_capacity": _("{offer} stores {there_ah} instead of {here_ah}."),
    "lacks_array": _("{offer} has panels of {there_w} instead of {here_w}."),
    "lacks_nothing": _("{offer} saves {saves}, and is no worse in anything compared here."),
    "lacks_same": _("The very same system as {offer}: nothing cheaper does what is asked."),
    "lacks_tried": _("The next cheaper system that was tried saves {saves}; it is refused."),
    "lacks_no_cheaper": _("No cheaper system was found that meets what is asked."),
    # why a system was not granted
    "fails_shortfall": _("Nothing in the catalogue serves it as {need} ({subject})."),
    "fails_danger": _("It is dangerous: {finding}."),
    "fails_dark": _("It goes dark in {chance_ratio} of weathers, where {allowed_ratio} is allowed."),
    "fails_budget": _("Its whole bill comes to {price} without tax, {over} over the {budget} there is."),
    "fails_mass": _("It weighs {mass_kg}, where {most_kg} may be carried."),
    "fails_spares": _("It leaves {free} outputs spare, where {spare} are asked."),
}
"""By code. Amounts are without tax, in the workshop's currency."""

_BEATEN = _("{offer} costs no more and is at least as good in everything that is compared. Offer it in its place.")

FINDING_SELECTING: dict[str, tuple[Any, Any]] = {
    "offer_not_proved": (
        _("{offer}: no system was borne out"),
        _(
            "{proofs} systems were worked through, the cheapest first, and each failed in something. There may be one "
            "that does; loosen a limit, or ask less."
        ),
    ),
    "offer_not_reached": (
        _("{offer}: nothing in the catalogue does it"),
        _(
            "Systems worked through: {proofs}. The nearest still fails, and nothing is left in the catalogue that "
            "would do more within the wishes."
        ),
    ),
    "offer_out_of_time": (
        _("{offer}: the time was over"),
        _("The solver found no answer within its time. Ban or pin parts to make the choice smaller, and try again."),
    ),
    "lean_beaten": (_("Lean is beaten by {offer}"), _BEATEN),
    "steady_beaten": (_("Steady is beaten by {offer}"), _BEATEN),
    "roomy_beaten": (_("Roomy is beaten by {offer}"), _BEATEN),
}
"""What is to be known of a whole selection."""
