"""What is wished of the choice of components: what may be spent and carried, who it comes from, how soon."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any, Literal

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext as _

from catalog.models import Supplier
from fitouts.models import Fitout, User
from fitouts.services.fitouts import STEERING_FIELDS
from fitouts.services.keeping import signed

MOST_SUPPLIERS = 30
SupplierWish = Literal["wanted", "banned", "free"]


@transaction.atomic
def set_steering(fitout: Fitout, values: Mapping[str, Any], *, by: User | None) -> Fitout:
    """Save wishes of the choice. Raises ``ValidationError`` naming each wrong field; then nothing is kept."""
    unknown = set(values) - set(STEERING_FIELDS)
    if unknown:
        raise TypeError(f"a job has no wish {sorted(unknown)[0]!r} of the choice")
    row = Fitout.objects.select_for_update().get(pk=fitout.pk)
    for name, value in values.items():
        setattr(row, name, value)
    _check(row)
    signed(row, by).save(update_fields=[*values, "changed_at"])
    for name in values:
        setattr(fitout, name, getattr(row, name))
    return fitout


@transaction.atomic
def set_supplier(fitout: Fitout, supplier: Supplier, how: SupplierWish, *, by: User | None) -> Fitout:
    """Prefer a supplier, rule one out, or take either back. Raises ``ValidationError`` beyond so many of them."""
    row = Fitout.objects.select_for_update().get(pk=fitout.pk)
    lists = {
        name: [key for key in getattr(row, name) if key != supplier.pk]
        for name in ("suppliers_wanted", "suppliers_banned")
    }
    if how != "free":
        lists[f"suppliers_{how}"].append(supplier.pk)
    return set_steering(fitout, lists, by=by)


def _check(row: Fitout) -> None:
    """Refuse what cannot be, each with its range."""
    wrong: dict[str, str] = {}
    if row.budget is not None and row.budget <= Decimal(0):
        wrong["budget"] = _("It must be above 0. Leave it empty where there is no limit.")
    if row.most_lead_days is not None and not 0 <= row.most_lead_days <= 720:
        wrong["most_lead_days"] = _("It is %(n)d days; it must be from 0 to 720 d.") % {"n": row.most_lead_days}
    if row.most_mass_kg is not None and not 0 <= row.most_mass_kg <= 20000:
        wrong["most_mass_kg"] = _("It is %(n)g kg; it must be from 0 to 20 000 kg.") % {"n": row.most_mass_kg}
    for name in ("suppliers_wanted", "suppliers_banned"):
        keys = getattr(row, name)
        if len(keys) > MOST_SUPPLIERS:
            wrong[name] = _("At most %(most)d suppliers.") % {"most": MOST_SUPPLIERS}
        elif Supplier.objects.filter(pk__in=keys).count() != len(set(keys)):
            wrong[name] = _("One of the suppliers is no longer in the catalogue.")
    both = set(row.suppliers_wanted) & set(row.suppliers_banned)
    if both:
        name = Supplier.objects.filter(pk__in=both).values_list("name", flat=True).first() or ""
        wrong["suppliers_banned"] = _("“%(name)s” is preferred and ruled out at once.") % {"name": name}
    if wrong:
        raise ValidationError(wrong)
