"""Wishes of the choice, as a row of what each costs names them."""

from __future__ import annotations

from typing import Any

from django.utils.translation import gettext_lazy as _

WISH: dict[str, Any] = {
    "pinned": _("Pinned: {names}"),
    "banned": _("Ruled out: {name}"),
    "swapped": _("Settled by hand: {name} ({role})"),
    "kept": _("Kept: {name} ({role})"),
    "chemistries": _("No other battery than {chemistries}"),
    "suppliers_wanted": _("From {names} where they have it"),
    "supplier_banned": _("Nothing from {name}"),
    "prefer_stock": _("Rather from the shelf"),
    "most_lead_days": _("Nothing to wait for longer than {lead_days}"),
    "budget": _("Costs in all at most {amount}"),
    "mass": _("Weighs at most {mass_kg} in all"),
    "roof": _("Within the roof there is"),
    "battery_spaces": _("Within the battery spaces there are"),
}
"""By code of :class:`quoting.sizing.selecting.records.Said`."""

CHEMISTRY: dict[str, Any] = {
    "lifepo4": _("lithium iron phosphate"),
    "agm": _("AGM"),
    "gel": _("gel"),
    "flooded": _("flooded lead-acid"),
}
"""Chemistries of batteries as they are named in a row."""
