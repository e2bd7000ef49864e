"""Who may do what with people, customers, vehicles and the workshop. Each rule is a question about a person."""

from __future__ import annotations

from typing import Any

OFFICE = frozenset({"manager", "estimator"})


def _role(user: Any) -> str:
    return str(user.role) if getattr(user, "is_active", False) and hasattr(user, "role") else ""


def is_staff_member(user: Any) -> bool:
    """Anybody of the workshop."""
    return bool(_role(user))


def can_edit_customers(user: Any) -> bool:
    """Customers, contacts and whose a vehicle is: estimators and managers."""
    return _role(user) in OFFICE


def can_edit_vehicles(user: Any) -> bool:
    """Identity and electrics of a vehicle: estimators and managers."""
    return _role(user) in OFFICE


def can_survey(user: Any) -> bool:
    """Measured values, positions, cable runs and photos: everybody who works on vehicles."""
    return is_staff_member(user)


def can_see_money(user: Any) -> bool:
    """Cost, price, margin: never a technician."""
    return _role(user) in OFFICE


def can_run_workshop(user: Any) -> bool:
    """Identity, money rules, policy, instruments and numbers."""
    return _role(user) == "manager"


def can_manage_people(user: Any) -> bool:
    """Accounts and roles."""
    return _role(user) == "manager"
