"""Customers and the people to talk to."""

from __future__ import annotations

from typing import Any

from django.db import transaction
from django.utils import timezone

from fitouts.models import Contact, Customer, User


def _keep(record: Any, values: dict[str, Any], by: User | None) -> Any:
    for name, value in values.items():
        setattr(record, name, value)
    record.full_clean()
    record._history_user = by
    record.save()
    return record


@transaction.atomic
def add_customer(*, by: User | None, **values: Any) -> Customer:
    """Keep a new customer. Raises ``ValidationError`` naming each wrong field."""
    return _keep(Customer(), values, by)


@transaction.atomic
def change_customer(customer: Customer, *, by: User | None, **values: Any) -> Customer:
    """Change a customer; papers already issued keep what they said."""
    return _keep(customer, values, by)


@transaction.atomic
def retire_customer(customer: Customer, *, by: User | None) -> Customer:
    """Take a customer out of lists to choose from. Nothing is deleted; doing it twice changes nothing."""
    if customer.retired_at:
        return customer
    return _keep(customer, {"retired_at": timezone.now()}, by)


@transaction.atomic
def restore_customer(customer: Customer, *, by: User | None) -> Customer:
    """Bring a retired customer back."""
    if not customer.retired_at:
        return customer
    return _keep(customer, {"retired_at": None}, by)


@transaction.atomic
def add_contact(customer: Customer, *, by: User | None, **values: Any) -> Contact:
    """Keep somebody to talk to about this customer's vehicles."""
    return _keep(Contact(customer=customer), values, by)


@transaction.atomic
def change_contact(contact: Contact, *, by: User | None, **values: Any) -> Contact:
    return _keep(contact, values, by)


@transaction.atomic
def remove_contact(contact: Contact, *, by: User | None) -> None:
    """Forget a contact. The history keeps who removed them."""
    contact._history_user = by
    contact.delete()
