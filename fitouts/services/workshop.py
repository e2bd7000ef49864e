"""The workshop's identity, money rules and instruments. What is issued keeps the rules it was made by."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from catalog.kinds.base import GROUPS
from fitouts.models import Instrument, Markup, TaxRate, User, Workshop
from fitouts.services.keeping import keep, signed


class TaxInForce(Exception):
    """A tax rate that has begun is part of what was issued."""


@transaction.atomic
def change_workshop(workshop: Workshop, *, by: User | None, **values: Any) -> Workshop:
    """Change identity or rules; new work follows them at once."""
    return keep(workshop, values, by)


@transaction.atomic
def add_tax_rate(*, by: User | None, **values: Any) -> TaxRate:
    """Keep a tax from a day on. One day begins one rate."""
    if TaxRate.objects.filter(valid_from=values["valid_from"]).exists():
        raise ValidationError({"valid_from": _("A rate begins on this day already. Choose another day.")})
    return keep(TaxRate(), values, by)


@transaction.atomic
def remove_tax_rate(rate: TaxRate, *, by: User | None) -> None:
    """Remove a rate that has not begun yet. Raises :class:`TaxInForce` otherwise."""
    if rate.valid_from <= timezone.localdate():
        raise TaxInForce(_("{rate} has begun. Add a new rate from a later day instead.").format(rate=rate.name))
    signed(rate, by).delete()


MARKED_LIKE = {"fittings": "distribution"}
"""Groups that came later than some workshops: until they have a markup of their own, that of another is put on."""


def markups() -> dict[str, Decimal]:
    """The markup on cost of every group that has one, its own or that of the group it is marked like."""
    ratios = dict(Markup.objects.values_list("group", "ratio"))
    for group, like in MARKED_LIKE.items():
        if group not in ratios and like in ratios:
            ratios[group] = ratios[like]
    return ratios


@transaction.atomic
def set_markups(ratios: dict[str, Decimal], *, by: User | None) -> None:
    """Set the markup on cost for groups of the bill; a group that is not one of the bill's is refused."""
    known = {group for group, _words in GROUPS}
    strangers = set(ratios) - known
    if strangers:
        raise ValidationError(_("No group of the bill: {groups}.").format(groups=", ".join(sorted(strangers))))
    rows = {row.group: row for row in Markup.objects.all()}
    for group, ratio in ratios.items():
        row = rows.get(group) or Markup(group=group)
        if row.pk is None or row.ratio != ratio:
            keep(row, {"ratio": ratio}, by)


@transaction.atomic
def add_instrument(*, by: User | None, **values: Any) -> Instrument:
    """Keep a measuring instrument with the day until which its calibration holds."""
    return keep(Instrument(), values, by)


@transaction.atomic
def change_instrument(instrument: Instrument, *, by: User | None, **values: Any) -> Instrument:
    return keep(instrument, values, by)
