"""The first run of an empty workshop: a code from the console, then the workshop and its first account."""

from __future__ import annotations

import hmac
import secrets
from collections.abc import Mapping
from decimal import Decimal
from pathlib import Path
from typing import Any

from django.conf import settings
from django.db import IntegrityError, transaction
from django.utils import timezone

from catalog.kinds.base import GROUPS
from fitouts.config.env import kept_secret
from fitouts.models import Markup, TaxRate, User, Workshop

ALPHABET = "23456789abcdefghjkmnpqrstuvwxyz"
"""Without characters that look alike."""
STARTING_MARKUP = Decimal("0.30")
"""On every group of parts until the workshop sets its own. Workshop practice."""


class WorkshopExists(Exception):
    """The first run is over."""


def code_path() -> Path:
    return Path(settings.HOME) / "first_run_code"


def code() -> str:
    """The code that the console prints; made on first asking, readable by the owner of the server alone."""
    return kept_secret(
        code_path(), lambda: "-".join("".join(secrets.choice(ALPHABET) for _ in range(4)) for _ in range(3))
    )


def is_code(text: str) -> bool:
    """Whether this is the code, in constant time, spaces and capitals aside."""

    def plain(words: str) -> bytes:
        return "".join(words.lower().replace("-", "").split()).encode()

    return hmac.compare_digest(plain(text), plain(code()))


@transaction.atomic
def open_workshop(
    *,
    workshop: Mapping[str, Any],
    tax_name: str,
    tax_ratio: Decimal,
    username: str,
    password: str,
    display_name: str = "",
) -> tuple[Workshop, User]:
    """Make the workshop, its tax, its starting markups and its first manager, all or nothing.

    Raises :class:`WorkshopExists` when there is one already.
    """
    if Workshop.objects.exists():
        raise WorkshopExists
    try:
        with transaction.atomic():
            made = Workshop.objects.create(**workshop)
    except IntegrityError:  # somebody else opened it in this very moment
        raise WorkshopExists from None
    TaxRate.objects.create(name=tax_name, ratio=tax_ratio, valid_from=timezone.localdate().replace(month=1, day=1))
    for group, _words in GROUPS:
        Markup.objects.create(group=group, ratio=STARTING_MARKUP)
    manager = User.objects.create_user(
        username=username, password=password, display_name=display_name, role=User.Role.MANAGER
    )
    transaction.on_commit(lambda: code_path().unlink(missing_ok=True))
    return made, manager
