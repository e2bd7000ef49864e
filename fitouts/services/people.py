"""Accounts of the workshop. Deactivated, never deleted: their names stay on what they did."""

from __future__ import annotations

import secrets
from typing import Any

from django.contrib.auth.password_validation import validate_password
from django.db import transaction
from django.utils.translation import gettext as _

from fitouts.models import User

WORD_LETTERS = "abcdefghjkmnpqrstuvwxyz23456789"


class LastManager(Exception):
    """A workshop always keeps one active manager."""


def random_password() -> str:
    """A password to hand over, five groups of four characters that do not look alike."""
    return "-".join("".join(secrets.choice(WORD_LETTERS) for _ in range(4)) for _ in range(5))


@transaction.atomic
def add_person(*, username: str, role: str, password: str | None = None, **values: Any) -> tuple[User, str]:
    """Make an account and return it with its password, made here when none was given.

    Raises ``ValidationError`` naming each wrong field.
    """
    password = password or random_password()
    person = User(username=username, role=role, **values)
    person.set_password(password)
    person.full_clean()
    validate_password(password, person)
    person.save()
    return person, password


def _check_managers(person: User) -> None:
    others = User.objects.filter(role=User.Role.MANAGER, is_active=True).exclude(pk=person.pk)
    if not others.exists():
        words = _("{name} is the last active manager. Make somebody else a manager first.")
        raise LastManager(words.format(name=person))


@transaction.atomic
def change_person(person: User, **values: Any) -> User:
    """Change name, role or licence of an account.

    Raises :class:`LastManager` when no manager would be left.
    """
    was_manager = User.objects.filter(pk=person.pk, role=User.Role.MANAGER, is_active=True).exists()
    for name, value in values.items():
        setattr(person, name, value)
    if was_manager and person.role != User.Role.MANAGER:
        _check_managers(person)
    person.full_clean()
    person.save()
    return person


@transaction.atomic
def deactivate(person: User) -> User:
    """Close an account at once; its open sessions end with the next page.

    Raises :class:`LastManager` when no manager would be left.
    """
    if person.is_active and person.role == User.Role.MANAGER:
        _check_managers(person)
    person.is_active = False
    person.save(update_fields=["is_active"])
    return person


@transaction.atomic
def reactivate(person: User) -> User:
    person.is_active = True
    person.save(update_fields=["is_active"])
    return person


@transaction.atomic
def reset_password(person: User) -> str:
    """Give an account a new random password and return it, to be handed over once."""
    password = random_password()
    person.set_password(password)
    person.save(update_fields=["password"])
    return password
