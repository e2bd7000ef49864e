"""Entries of a quote: terms of a draft, a line by hand, acceptance."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from fitouts.forms.fields import AmountField, RatioField


class TermsForm(forms.Form):
    """What the estimator decides about a draft."""

    discount_ratio = RatioField(
        label=_("Discount"), exact=True, decimals=2, maximum=0.5, help_text=_("Of all lines, before tax.")
    )
    days_off_road = forms.IntegerField(label=_("Days off the road"), min_value=1, max_value=90)
    note = forms.CharField(
        label=_("Note to the customer"), required=False, max_length=2000, widget=forms.Textarea(attrs={"rows": 3})
    )


class HandLineForm(forms.Form):
    """A line that no rule put there."""

    name = forms.CharField(label=_("What it is"), max_length=200)
    quantity = forms.DecimalField(
        label=_("Quantity"), min_value=Decimal("0.001"), max_value=Decimal(9999), decimal_places=3, initial=1
    )
    unit_price = AmountField(label=_("Price each"), minimum=Decimal(0))
    unit_cost = AmountField(label=_("Costs us, each"), minimum=Decimal(0))


class AcceptForm(forms.Form):
    """Who took the quote, which of its offers, and how they said so."""

    offer_name = forms.ChoiceField(label=_("Offer"), widget=forms.RadioSelect)
    accepted_by = forms.CharField(label=_("Accepted by"), max_length=120)
    note = forms.CharField(
        label=_("How"), max_length=300, required=False, help_text=_("Signed copy, e-mail of a day, by phone to whom.")
    )

    def __init__(self, *args: Any, offers: Sequence[tuple[str, str]] = (), **kwargs: Any) -> None:
        """``offers``: names and words of the revision's offers; with fewer than two there is nothing to choose."""
        super().__init__(*args, **kwargs)
        if len(offers) < 2:
            del self.fields["offer_name"]
        else:
            self.fields["offer_name"].choices = list(offers)  # type: ignore[attr-defined]
