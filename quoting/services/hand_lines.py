"""Lines of a draft chosen by hand from the catalogue: a part, or an operation of labour, at the workshop's prices."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from catalog.models import Component, LabourOperation
from catalog.money_field import LIMIT
from fitouts.models import Workshop
from quoting.models import Line, Revision
from quoting.services import hand_prices, quotes


@transaction.atomic
def add_part(revision: Revision, component: Component, quantity: Decimal) -> Line:
    """Put a part of the catalogue into a draft, priced as a bill is: by its own price, or cost and markup."""
    return _add(revision, hand_prices.of_part(component, quantity, Workshop.objects.get()))


@transaction.atomic
def add_labour(revision: Revision, operation: LabourOperation, quantity: Decimal) -> Line:
    """Put so many of an operation into a draft, priced by the hour at the rate of who does it."""
    return _add(revision, hand_prices.of_labour(operation, quantity, Workshop.objects.get()))


def _add(revision: Revision, values: dict[str, Any]) -> Line:
    if values["amount"] > LIMIT:
        raise quotes.QuoteNotReady(
            _("%(name)s comes to more than %(limit)s, the most that one line can hold.")
            % {"name": values["name"], "limit": f"{LIMIT:f}"}
        )
    quotes.locked_draft(revision)
    return quotes.put_in(revision, values)
