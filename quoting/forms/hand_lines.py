"""Lines of a draft chosen from the catalogue, as people type them."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from catalog.models import LabourOperation
from fitouts.forms.towing import ComponentField


def _quantity(help_text: Any) -> forms.DecimalField:
    return forms.DecimalField(
        label=_("Quantity"),
        min_value=Decimal("0.001"),
        max_value=Decimal(9999),
        decimal_places=3,
        initial=1,
        help_text=help_text,
    )


class PartLineForm(forms.Form):
    """So many of a component, or metres of it."""

    component = ComponentField(label=_("Part"))
    quantity = _quantity(_("Pieces, or metres of what is sold by the metre."))

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        component: Any = self.fields["component"]
        component.offering("part")


class OperationChoice(forms.ModelChoiceField):  # type: ignore[type-arg]
    """Operations with the minutes that one of each takes."""

    def label_from_instance(self, operation: Any) -> str:
        return str(_("{name}, {minutes:g} min each")).format(name=operation.name, minutes=operation.minutes_per_unit)


class WorkLineForm(forms.Form):
    """So many of an operation of labour."""

    operation = OperationChoice(LabourOperation.objects.none(), label=_("Operation"), empty_label=_("choose"))
    quantity = _quantity(_("How many times; hours follow from the minutes of one."))

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        operation: Any = self.fields["operation"]
        operation.queryset = LabourOperation.objects.in_use()
