"""Wishes of the choice of components, in words."""

from __future__ import annotations

from collections.abc import Callable

from django.utils.translation import gettext as _

STEERING_WORDS: dict[str, Callable[[], str]] = {
    "budget": lambda: _("budget, tax included"),
    "prefer_stock": lambda: _("prefer what is on the shelf"),
    "most_lead_days": lambda: _("longest lead time"),
    "most_mass_kg": lambda: _("most that it may weigh"),
    "suppliers_wanted": lambda: _("suppliers preferred"),
    "suppliers_banned": lambda: _("suppliers ruled out"),
    "swaps": lambda: _("parts settled by hand"),
}
"""By column of the job, and of ``Steer``."""
