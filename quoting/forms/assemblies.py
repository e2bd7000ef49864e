"""Taking an assembly into a job, and how many of it."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from catalog.form_fields import QuantityField
from catalog.models import Assembly
from fitouts.models import Fitout, FitoutAssembly, User
from fitouts.services import assemblies
from fitouts.services.assemblies import MOST_OF_ONE


class UseForm(forms.Form):
    """How many of an assembly that the job has already."""

    quantity = QuantityField(label=_("How many"), minimum=1, maximum=MOST_OF_ONE, whole=True)

    def __init__(self, data: Any = None, *, use: FitoutAssembly) -> None:
        self.use = use
        super().__init__(data, prefix=f"use{use.pk}", initial={"quantity": use.quantity})

    def save(self, *, by: User) -> bool:
        try:
            assemblies.change(self.use, self.cleaned_data["quantity"], by=by)
        except assemblies.AssemblyRefused as error:
            self.add_error("quantity", str(error))
            return False
        return True


class TakeForm(forms.Form):
    """One more assembly for the job."""

    assembly = forms.ModelChoiceField(Assembly.objects.none(), label=_("Assembly"), empty_label=_("choose an assembly"))
    quantity = QuantityField(
        label=_("How many"),
        minimum=1,
        maximum=MOST_OF_ONE,
        whole=True,
        initial=1,
        help_text=_("Counts for what goes by the assembly; the rest follows the design."),
    )

    def __init__(self, data: Any = None, *, fitout: Fitout) -> None:
        self.fitout = fitout
        super().__init__(data, prefix="take")
        choice: Any = self.fields["assembly"]
        # Those taken already stay in the list while entries are judged: the refusal then says why.
        rows = Assembly.objects.in_use()
        choice.queryset = rows if data is not None else rows.exclude(versions__uses__fitout=fitout)

    def save(self, *, by: User) -> FitoutAssembly | None:
        values = self.cleaned_data
        try:
            return assemblies.add(self.fitout, values["assembly"], values["quantity"], by=by)
        except assemblies.AssemblyRefused as error:
            self.add_error("assembly", str(error))
            return None
