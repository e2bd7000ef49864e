"""Money in the database: whole 1/10000 of the currency unit, Decimal in Python. Floats are refused."""

from __future__ import annotations

from decimal import Decimal, InvalidOperation
from typing import Any

from django.core.exceptions import ValidationError
from django.db import models
from django.utils.translation import gettext_lazy as _

STEP = Decimal("0.0001")
LIMIT = Decimal("99999999.9999")


def exact(value: Any) -> Decimal:
    """Return ``value`` as a Decimal of four places; a float or a finer amount is refused, never rounded."""
    if isinstance(value, float | bool):
        raise ValidationError(_("Money is never a binary fraction: %(value)r."), params={"value": value})
    try:
        amount = Decimal(value)
    except (InvalidOperation, TypeError, ValueError):
        raise ValidationError(_("“%(value)s” is not an amount."), params={"value": value}) from None
    if not amount.is_finite() or abs(amount) > LIMIT:
        raise ValidationError(
            _("%(value)s is outside −%(limit)s to %(limit)s."), params={"value": value, "limit": LIMIT}
        )
    if amount != amount.quantize(STEP):
        raise ValidationError(_("%(value)s has more than four decimal places."), params={"value": value})
    return amount.quantize(STEP)


class MoneyField(models.BigIntegerField):
    """An amount of the workshop's currency, without tax unless the name says otherwise."""

    description = _("Amount of money")
    _pyi_private_set_type: Decimal | int | str  # type: ignore[assignment]
    _pyi_private_get_type: Decimal  # type: ignore[assignment]

    def from_db_value(self, value: int | None, expression: Any, connection: Any) -> Decimal | None:
        return None if value is None else Decimal(value).scaleb(-4)

    def to_python(self, value: Any) -> Decimal | None:
        return None if value is None or value == "" else exact(value)

    def get_prep_value(self, value: Any) -> int | None:
        return None if value is None else int(exact(value).scaleb(4))

    def formfield(self, **kwargs: Any) -> Any:
        from django import forms

        return models.Field.formfield(
            self, **{"form_class": forms.DecimalField, "max_digits": 12, "decimal_places": 4, **kwargs}
        )

    @property
    def validators(self) -> list[Any]:
        """The integer limits of the column are not limits of the amount; ``exact`` has them."""
        return list(self._validators)  # type: ignore[attr-defined]
