"""Entries of build and proof: a part's serial and settings, a reading, test conditions, delivery."""

from __future__ import annotations

from typing import Any

from django import forms
from django.db.models import QuerySet
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fitouts.forms.fields import DayField, QuantityField, RatioField
from fitouts.models import FittedPart, Instrument
from quoting.sizing.appraisal import Expectation
from quoting.words import setting_value, setting_words


class PartForm(forms.Form):
    """Serial, batch, and one entry for every setting the design asks for."""

    serial = forms.CharField(label=gettext_lazy("Serial number"), max_length=80, required=False)
    batch = forms.CharField(label=gettext_lazy("Batch"), max_length=80, required=False)

    def __init__(self, part: FittedPart, data: Any = None, *, prefix: str | None = None) -> None:
        initial = {"serial": part.serial, "batch": part.batch}
        initial |= {f"set_{name}": value for name, value in part.settings_entered.items()}
        super().__init__(data, initial=initial, prefix=prefix)
        self.part = part
        loads = dict(part.fitout.requirements.values_list("pk", "name"))
        for name, asked in part.settings_asked.items():
            label, unit = setting_words(name, {str(pk): words for pk, words in loads.items()})
            self.fields[f"set_{name}"] = _setting_entry(name, asked, label, unit)

    def entered(self) -> dict[str, Any]:
        found = {name: self.cleaned_data[f"set_{name}"] for name in self.part.settings_asked}
        return {name: value for name, value in found.items() if value not in (None, "")}


def _instruments() -> QuerySet[Instrument]:
    return Instrument.objects.filter(retired_at__isnull=True)


def _setting_entry(name: str, asked: Any, label: str, unit: str) -> forms.Field:
    help_text = _("Designed: %(value)s") % {"value": setting_value(name, asked)}
    if isinstance(asked, bool) or not isinstance(asked, int | float):
        return forms.CharField(label=label, max_length=60, required=False, help_text=help_text)
    if name.endswith("_ratio"):
        return RatioField(label=label, required=False, help_text=help_text)
    return QuantityField(label=label, unit=unit, required=False, help_text=help_text)


class ReadingForm(forms.Form):
    """One reading: a number or yes or no, with the instrument; licensed ones with the licence."""

    value = QuantityField(label=gettext_lazy("Measured"), required=False)
    answer = forms.TypedChoiceField(
        label=gettext_lazy("Seen"),
        choices=[("", "–"), ("yes", gettext_lazy("yes")), ("no", gettext_lazy("no"))],
        coerce=lambda text: text == "yes",
        empty_value=None,
        required=False,
    )
    instrument = forms.ModelChoiceField(
        label=gettext_lazy("Instrument"), queryset=Instrument.objects.none(), required=False, empty_label="–"
    )
    licence_no = forms.CharField(label=gettext_lazy("Licence no."), max_length=40, required=False)
    note = forms.CharField(label=gettext_lazy("Note"), max_length=300, required=False)

    def __init__(self, expected: Expectation, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if expected.answer == "yes":
            del self.fields["value"], self.fields["instrument"]
        else:
            del self.fields["answer"]
            self.fields["value"] = QuantityField(label=_("Measured"), unit=expected.unit, required=False)
            self.fields["instrument"].queryset = _instruments()  # type: ignore[attr-defined]
        if not expected.licensed:
            del self.fields["licence_no"]


class CommissioningForm(forms.Form):
    """What it was tested under, and what came with it."""

    air_c = QuantityField(label=gettext_lazy("Air"), unit="°C", minimum=-40, maximum=60, required=False)
    battery_c = QuantityField(label=gettext_lazy("Battery"), unit="°C", minimum=-40, maximum=80, required=False)
    charge_ratio = RatioField(label=gettext_lazy("State of charge at start"), required=False)
    rested_h = QuantityField(label=gettext_lazy("Rested"), unit="h", minimum=0, maximum=999, required=False)
    odometer_km = QuantityField(
        label=gettext_lazy("Odometer"), unit="km", minimum=0, maximum=9999999, whole=True, required=False
    )
    certificate_no = forms.CharField(label=gettext_lazy("Certificate of the 230 V work"), max_length=60, required=False)
    instruments = forms.ModelMultipleChoiceField(
        label=gettext_lazy("Instruments used"),
        queryset=Instrument.objects.none(),
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )
    found = forms.CharField(
        label=gettext_lazy("Found and put right"),
        max_length=2000,
        required=False,
        widget=forms.Textarea(attrs={"rows": 3}),
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["instruments"].queryset = _instruments()  # type: ignore[attr-defined]


class DeliverForm(forms.Form):
    """The day it is handed over."""

    delivered_on = DayField(label=gettext_lazy("Delivered on"))

    def clean_delivered_on(self) -> Any:
        day = self.cleaned_data["delivered_on"]
        if day > timezone.localdate():
            raise forms.ValidationError(_("The day of delivery is in the future."))
        return day
