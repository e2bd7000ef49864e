"""A circuit that lies in the vehicle already, as people write it down."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from catalog.form_fields import QuantityField
from quoting.models import ExistingCircuit
from quoting.services.brief_circuits import EXISTING_VALUES
from quoting.sizing.appraisal import Circuit

UNKNOWN = gettext_lazy("Empty when nobody knows; then it is never taken as enough.")


class ExistingForm(forms.Form):
    """What was found, and which circuit of the design it is."""

    circuit = forms.ChoiceField(label=gettext_lazy("Circuit of the design"))
    area_mm2 = QuantityField(
        label=gettext_lazy("Conductor"),
        unit="mm²",
        minimum=0.35,
        maximum=300,
        help_text=gettext_lazy("Feed and return, the thinner. A circuit that returns by the body is designed new."),
    )
    insulation_c = QuantityField(
        label=gettext_lazy("Insulation class"),
        unit="°C",
        minimum=60,
        maximum=200,
        initial=70.0,
        help_text=gettext_lazy("70 °C where it is not printed on the cable."),
    )
    run_m = QuantityField(
        label=gettext_lazy("Length one way"),
        unit="m",
        minimum=0.1,
        maximum=100,
        required=False,
        help_text=gettext_lazy("Measured; the survey's when empty."),
    )
    form = forms.ChoiceField(label=gettext_lazy("Protected by"), choices=ExistingCircuit.Form.choices)
    rating_a = QuantityField(label=gettext_lazy("Rating"), unit="A", minimum=0.5, maximum=1000)
    series = forms.CharField(
        label=gettext_lazy("Series"), max_length=40, required=False, help_text=gettext_lazy("As its holder takes it.")
    )
    breaking_a = QuantityField(
        label=gettext_lazy("Breaking capacity"), unit="A", minimum=10, maximum=200000, required=False, help_text=UNKNOWN
    )
    max_v = QuantityField(
        label=gettext_lazy("Highest voltage"), unit="V", minimum=6, maximum=1500, required=False, help_text=UNKNOWN
    )
    distance_m = QuantityField(
        label=gettext_lazy("From what feeds it to the device"),
        unit="m",
        minimum=0,
        maximum=10,
        required=False,
        help_text=UNKNOWN,
    )
    both_ends = forms.BooleanField(
        label=gettext_lazy("A device like it at the far end too"),
        required=False,
        help_text=gettext_lazy("Wanted where there is a source at each end."),
    )
    source = forms.CharField(
        label=gettext_lazy("Known from"),
        max_length=200,
        required=False,
        help_text=gettext_lazy("As “read off, 12 November”. Leave customers' names out."),
    )

    def __init__(
        self, *args: Any, circuits: Iterable[Circuit], taken: Iterable[str] = (), row: ExistingCircuit, **kwargs: Any
    ) -> None:
        if row.pk is not None:
            kwargs["initial"] = {name: getattr(row, name) for name in EXISTING_VALUES} | kwargs.get("initial", {})
        super().__init__(*args, **kwargs)
        others = set(taken) - {row.circuit}
        self.named = {c.key: c.name for c in circuits if c.key and c.key not in others}
        known = [(c.key, f"{c.tag} {c.name}") for c in circuits if c.key in self.named]
        if row.pk is not None and row.circuit not in self.named:
            self.named[row.circuit] = row.name
            known.append((row.circuit, _("%(name)s, not in this design") % {"name": row.name}))
        choice: Any = self.fields["circuit"]
        choice.choices = [("", _("choose")), *known]

    def values(self) -> dict[str, Any]:
        """What was written down, and what the circuit is called."""
        return {**self.cleaned_data, "name": self.named[self.cleaned_data["circuit"]][:120]}
