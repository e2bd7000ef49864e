"""A vehicle as it came, as people type it: a part that is in it, what is wrong, what was done."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from catalog.form_fields import QuantityField
from fitouts.forms.towing import ComponentField
from fitouts.models import Defect, Fitout, FoundPart, VehiclePhoto, VehiclePosition
from quoting.forms.lines import PositionChoice
from quoting.services import kept
from quoting.sizing.kept import CAN


class FoundPartForm(forms.ModelForm):  # type: ignore[type-arg]
    """One part that somebody else, or we, put in."""

    quantity = QuantityField(label=gettext_lazy("how many"), minimum=1, maximum=100, whole=True, initial=1)
    position = PositionChoice(
        VehiclePosition.objects.none(),
        label=gettext_lazy("where"),
        required=False,
        empty_label=gettext_lazy("not said yet"),
    )
    component = ComponentField(
        label=gettext_lazy("in the catalogue"),
        required=False,
        help_text=gettext_lazy("The same or an equal part. Without it no design can count on the part."),
    )
    role = forms.ChoiceField(
        label=gettext_lazy("what it is there for"),
        required=False,
        choices=lambda: [("", _("as the catalogue says")), *((code, kept.ROLE_NAMES[code]) for code in CAN)],
        help_text=gettext_lazy("Asked only where the part could be several things."),
    )

    class Meta:
        model = FoundPart
        fields = [
            *("name", "quantity", "position", "label_words", "serial"),
            *("plan", "component", "role", "notes"),
        ]

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        position: Any = self.fields["position"]
        position.of(self.instance.fitout)
        component: Any = self.fields["component"]
        component.offering("component")
        if self.instance.component_id:
            self.initial["component"] = self.instance.component

    def _post_clean(self) -> None:
        """The service checks the part as a whole; here only the entries are read."""

    def clean(self) -> dict[str, Any]:
        values = super().clean() or {}
        role, component = values.get("role"), values.get("component")
        if role and component is not None and role not in kept.roles_of(component):
            self.add_error(
                "role",
                _("“%(name)s” cannot be that: %(role)s.")
                % {"name": component.name, "role": str(kept.ROLE_NAMES[role])},
            )
        return values


class DefectForm(forms.ModelForm):  # type: ignore[type-arg]
    """Something wrong, what was measured, and what to do about it."""

    position = PositionChoice(
        VehiclePosition.objects.none(),
        label=gettext_lazy("where"),
        required=False,
        empty_label=gettext_lazy("not said yet"),
    )

    class Meta:
        model = Defect
        fields = ["level", "words", "position", "part", "measured", "remedy", "photo"]
        widgets = {
            "level": forms.RadioSelect,
            "words": forms.Textarea(attrs={"rows": 2}),
            "remedy": forms.Textarea(attrs={"rows": 2}),
        }
        help_texts = {
            "level": gettext_lazy("Danger: somebody can be hurt or the vehicle burn."),
            "measured": gettext_lazy("As “8.9 V while cranking”, with its unit."),
            "remedy": gettext_lazy("A step of the build is made of it. A danger always has one."),
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        fitout: Fitout = self.instance.fitout
        fields: Any = self.fields
        fields["position"].of(fitout)
        fields["part"].queryset = FoundPart.objects.filter(fitout=fitout)
        fields["part"].empty_label = _("none")
        photos = VehiclePhoto.objects.filter(vehicle__in=[pk for pk in (fitout.vehicle_id, fitout.trailer_id) if pk])
        fields["photo"].queryset = photos
        fields["photo"].empty_label = _("none")

    def _post_clean(self) -> None:
        """The service checks the defect as a whole; here only the entries are read."""


class SettleForm(forms.Form):
    """What was done about a defect, or why nothing was."""

    what = forms.ChoiceField(
        label=gettext_lazy("What became of it"),
        choices=[
            ("mended", gettext_lazy("mended")),
            ("left", gettext_lazy("left as it is")),
            ("open", gettext_lazy("still to be done")),
        ],
        widget=forms.RadioSelect,
    )
    words = forms.CharField(
        label=gettext_lazy("How it was mended, or why it is left"),
        max_length=300,
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text=gettext_lazy(
            "A danger that is left stands on the quote and on the handover sheet, with this reason."
        ),
    )

    def clean(self) -> dict[str, Any]:
        values = super().clean() or {}
        if values.get("what") in ("mended", "left") and not (values.get("words") or "").strip():
            words = _("Say what was done.") if values["what"] == "mended" else _("Say why it is left as it is.")
            self.add_error("words", words)
        return values
