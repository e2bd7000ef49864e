"""Entries for shares and days, beside the catalogue's for quantities and amounts."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from catalog.form_fields import AmountField, QuantityField

__all__ = ["AmountField", "DayField", "QuantityField", "RatioField"]


class RatioField(QuantityField):
    """A share, typed in percent and kept as 0 to 1; ``exact`` keeps a Decimal of ``decimals`` of percent, no more."""

    def __init__(
        self, *, exact: bool = False, decimals: int = 3, minimum: float = 0.0, maximum: float = 1.0, **kwargs: Any
    ) -> None:
        self.exact, self.decimals = exact, decimals
        super().__init__(unit="%", factor=100.0, minimum=minimum, maximum=maximum, **kwargs)

    def clean(self, value: Any) -> Any:
        ratio = super().clean(value)
        if ratio is None or not self.exact:
            return ratio
        exact = Decimal(repr(ratio))
        if exact != round(exact, self.decimals + 2):
            words = _("It has more than two decimals of a percent.")
            if self.decimals == 3:
                words = _("It has more than three decimals of a percent.")
            raise ValidationError(words, code="too_many_decimals")
        return exact


class DayField(forms.DateField):
    """A day, with the browser's own calendar."""

    default_error_messages = {"invalid": gettext_lazy("This is not a day. Write it as 2026-11-24.")}

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("widget", forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"))
        super().__init__(input_formats=["%Y-%m-%d"], **kwargs)
