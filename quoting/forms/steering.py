"""Wishes of the choice of components as people type them."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy

from catalog.form_fields import AmountField, QuantityField
from fitouts.models import Fitout, User, Workshop
from fitouts.services import steering


class SteeringForm(forms.Form):
    """What may be spent and carried, and how soon it must be there. For those who see money: the budget is in it."""

    budget = AmountField(
        label=gettext_lazy("Budget, tax included"),
        minimum=Decimal("0.01"),
        required=False,
        help_text=gettext_lazy("Everything on the quote. Empty: no limit."),
    )
    most_mass_kg = QuantityField(
        label=gettext_lazy("May weigh at most"),
        unit="kg",
        minimum=0,
        maximum=20000,
        required=False,
        help_text=gettext_lazy("Empty: the payload that the vehicle has left."),
    )
    most_lead_days = QuantityField(
        label=gettext_lazy("Longest lead time"),
        unit="d",
        minimum=0,
        maximum=720,
        whole=True,
        required=False,
        help_text=gettext_lazy("Of what is not on the shelf. Empty: no limit."),
    )
    prefer_stock = forms.BooleanField(label=gettext_lazy("Prefer what is on the shelf"), required=False)

    def __init__(self, data: Any = None, *, fitout: Fitout) -> None:
        self.fitout = fitout
        super().__init__(data, initial={n: getattr(fitout, n) for n in self.base_fields}, auto_id="id_steer_%s")
        budget: Any = self.fields["budget"]
        budget.unit = Workshop.objects.values_list("currency", flat=True).first() or ""

    def save(self, *, by: User) -> bool:
        """Save the wishes; ``False`` when they were refused, with the reasons in ``errors``."""
        try:
            steering.set_steering(self.fitout, self.cleaned_data, by=by)
        except ValidationError as refused:
            for name, errors in refused.error_dict.items():
                self.add_error(name if name in self.fields else None, [*errors])
            return False
        return True
