"""Customers and the people to talk to."""

from __future__ import annotations

from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from fitouts.models import Contact, Customer, User
from fitouts.services.keeping import keep, signed


@transaction.atomic
def add_customer(*, by: User | None, **values: Any) -> Customer:
    """Keep a new customer. Raises ``ValidationError`` naming each wrong field."""
    return keep(Customer(), values, by)


@transaction.atomic
def change_customer(customer: Customer, *, by: User | None, **values: Any) -> Customer:
    """Change a customer; papers already issued keep what they said. Nobody who was erased comes back."""
    _must_not_be_erased(customer)
    return keep(customer, values, by)


@transaction.atomic
def retire_customer(customer: Customer, *, by: User | None) -> Customer:
    """Take a customer out of lists to choose from. Nothing is deleted; doing it twice changes nothing."""
    if customer.retired_at:
        return customer
    return keep(customer, {"retired_at": timezone.now()}, by)


@transaction.atomic
def restore_customer(customer: Customer, *, by: User | None) -> Customer:
    """Bring a retired customer back."""
    if not customer.retired_at:
        return customer
    _must_not_be_erased(customer)
    return keep(customer, {"retired_at": None}, by)


@transaction.atomic
def add_contact(customer: Customer, *, by: User | None, **values: Any) -> Contact:
    """Keep somebody to talk to about this customer's vehicles."""
    _must_not_be_erased(customer)
    return keep(Contact(customer=customer), values, by)


@transaction.atomic
def change_contact(contact: Contact, *, by: User | None, **values: Any) -> Contact:
    return keep(contact, values, by)


@transaction.atomic
def remove_contact(contact: Contact, *, by: User | None) -> None:
    """Forget a contact. The history keeps who removed them."""
    signed(contact, by).delete()


def _must_not_be_erased(customer: Customer) -> None:
    """What is typed over an erased customer could never be erased again."""
    if customer.erased_at:
        raise ValidationError(
            _("This customer was erased; nothing is written to them any more. Add a new customer instead.")
        )
