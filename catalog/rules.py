"""Who may do what with the catalogue."""

from __future__ import annotations

from typing import Any

EDITORS = frozenset({"manager", "estimator"})


def can_edit_catalogue(user: Any) -> bool:
    """Estimators and managers keep the catalogue; technicians read it."""
    return bool(getattr(user, "is_active", False)) and getattr(user, "role", "") in EDITORS


def can_see_money(user: Any) -> bool:
    """Technicians see no cost, price or margin anywhere."""
    return can_edit_catalogue(user)


MONEY_FIELDS = frozenset({"cost", "sell_price", "budget"})
"""Fields of records that :func:`can_see_money` guards, in history too."""
