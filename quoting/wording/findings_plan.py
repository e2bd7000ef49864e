"""Findings of the vehicle plan and of conduit: a title and a sentence."""

from typing import Any

from django.utils.translation import gettext_lazy as _

FINDING_PLAN: dict[str, Any] = {
    "run_under_straight": (
        _("A cable run is shorter than the straight line"),
        _(
            "{start} to {end}: {length_m} measured, {straight_m} straight on the plan. Check the length and both "
            "places; too short a length makes the cable too thin and too short."
        ),
    ),
    "no_conduit_listed": (
        _("The catalogue has no conduit"),
        _("No conduit is on the bill, and none is chosen for the cable runs in use ({ways}). Cover them all the same."),
    ),
    "no_grommet_fits": (
        _("A grommet for the engine space is not on the bill"),
        _("No grommet of the catalogue is known to take the conduit here: {ways}. No conductor passes a bare edge."),
    ),
    "no_gland_fits": (
        _("A gland behind the coupling is not on the bill"),
        _("No watertight gland of the catalogue is known to take the conduit here: {ways}. Seal it all the same."),
    ),
    "bill_lacks_fixing": (
        _("What holds or covers parts is not on the bill"),
        _(
            "The catalogue has none of this that fits: {lacking}. It must be in the vehicle all the same: put it into "
            "the quote by hand, or add it to the catalogue and work the design out again."
        ),
    ),
    "bill_lacks_small": (
        _("Small parts are not on the bill by themselves"),
        _("The catalogue has none of this that fits: {lacking}. A quote's sundries stand for it."),
    ),
}
