"""What the numbers are that an offer adds to the sums of what is asked."""

from __future__ import annotations

from typing import Any

from django.utils.translation import gettext_lazy as _

OFFER: dict[str, Any] = {"lean": _("Lean"), "steady": _("Steady"), "roomy": _("Roomy")}
"""The three offers by name."""

STEP_CHOOSING: dict[str, Any] = {
    "room_of_offer": _("Room of the offer {offer}"),
    "battery_with_room": _("Battery asked, with the offer's room"),
    "array_with_room": _("Array asked, with the offer's room"),
    "charging_with_room": _("Charging asked, with the offer's room"),
}
