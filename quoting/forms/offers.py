"""Another part for one role of a proved system, as people choose it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fitouts.forms.towing import ComponentField
from quoting.services.proposals import SwapOption

LISTED = 24
"""Parts that a page lists; the rest are typed."""


class SwapForm(forms.Form):
    """One of the listed parts, or any of the catalogue by its name; how many, if not as many as it takes."""

    part = forms.CharField(label=gettext_lazy("part"), required=False, max_length=60, widget=forms.HiddenInput)
    typed = ComponentField(
        label=gettext_lazy("another part of the catalogue"),
        required=False,
        help_text=gettext_lazy("By name or number, in place of one of the list."),
    )
    quantity = forms.IntegerField(
        label=gettext_lazy("how many"),
        required=False,
        min_value=1,
        max_value=200,
        help_text=gettext_lazy("Empty: as many as it takes."),
    )

    def __init__(self, *args: Any, options: Sequence[SwapOption], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.options = tuple(options)
        typed: Any = self.fields["typed"]
        typed.offering("component")
        self.fields["quantity"].widget.attrs |= {"class": "num", "inputmode": "numeric"}

    @property
    def listed(self) -> tuple[SwapOption, ...]:
        return self.options[:LISTED]

    @property
    def more(self) -> int:
        """Parts that the list leaves out."""
        return max(0, len(self.options) - LISTED)

    def clean(self) -> dict[str, Any]:
        values = super().clean() or {}
        part, typed = values.get("part", ""), values.get("typed")
        if part and typed is not None and str(typed.pk) != part:
            self.add_error("typed", _("Choose one of the list or type a part, not both."))
        elif not part and typed is None and "typed" not in self.errors:
            self.add_error("typed", _("Choose a part of the list, or type one."))
        values["key"] = part or (str(typed.pk) if typed is not None else "")
        return values
