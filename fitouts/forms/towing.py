"""How a trailer is joined to what tows it, as people type it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from catalog.models import Component
from catalog.typed import TypedRecordField
from fitouts.forms.fields import QuantityField
from fitouts.models import Hitch, Vehicle, VehiclePosition
from fitouts.services import towing


class TrailerChoice(forms.ModelChoiceField):  # type: ignore[type-arg]
    """Trailers by what they are and their plate."""

    def label_from_instance(self, vehicle: Any) -> str:
        return " · ".join(w for w in (str(vehicle), vehicle.registration) if w)


class TowedPositionChoice(forms.ModelChoiceField):  # type: ignore[type-arg]
    """Positions of several trailers, each with its trailer's name."""

    def label_from_instance(self, position: Any) -> str:
        return f"{position.vehicle}: {position.name}"


class ComponentField(TypedRecordField):
    """A component, typed. ``fits`` says which of the catalogue may be chosen."""

    def __init__(self, *, fits: Callable[[Component], bool] | None = None, **kwargs: Any) -> None:
        self.fits = fits
        super().__init__(Component.objects.in_use(), about="component", address="component_names", **kwargs)

    def to_python(self, value: Any) -> Any:
        component = super().to_python(value)
        if component is not None and self.fits is not None and not self.fits(component):
            raise ValidationError(_("“%(name)s” does not do that.") % {"name": component.name}, code="does_not_fit")
        return component


class HitchForm(forms.ModelForm):  # type: ignore[type-arg]
    """The joint of a tow vehicle with one of its customer's trailers."""

    trailer = TrailerChoice(Vehicle.objects.none(), label=gettext_lazy("trailer"), empty_label=gettext_lazy("choose"))
    trailer_position = TowedPositionChoice(
        VehiclePosition.objects.none(),
        label=gettext_lazy("trailer’s cable begins at"),
        empty_label=gettext_lazy("choose"),
    )
    length_m = QuantityField(
        label=gettext_lazy("cable across the drawbar"),
        unit="m",
        minimum=0.05,
        maximum=15,
        initial=1.5,
        help_text=gettext_lazy("From the socket to where the trailer’s cable begins, with the slack for turning."),
    )
    coupling = ComponentField(
        label=gettext_lazy("coupling"),
        required=False,
        fits=towing.couples,
        help_text=gettext_lazy("A plug and socket of the catalogue; empty: the design chooses one."),
    )

    class Meta:
        model = Hitch
        fields = ["trailer", "tow_position", "trailer_position", "length_m", "coupling"]

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        tow = self.instance.tow
        trailers = Vehicle.objects.filter(customer=tow.customer_id, is_trailer=True, retired_at=None)
        trailers = trailers.exclude(pk=tow.pk)
        fields: Any = self.fields
        fields["trailer"].queryset = trailers
        fields["tow_position"].queryset = VehiclePosition.objects.filter(vehicle=tow)
        fields["tow_position"].empty_label = _("choose")
        rows = VehiclePosition.objects.filter(vehicle__in=trailers).select_related("vehicle")
        fields["trailer_position"].queryset = rows.order_by("vehicle", "pk")
        fields["coupling"].widget.attrs["list"] = "couplings"
        if self.instance.coupling_id:
            self.initial["coupling"] = self.instance.coupling

    def _post_clean(self) -> None:
        """The service checks the joint as a whole; here only the entries are read."""

    def clean(self) -> dict[str, Any]:
        values = super().clean() or {}
        if "trailer" in values and "trailer_position" in values:
            trailer, position = values["trailer"], values["trailer_position"]
            if position.vehicle_id != trailer.pk:
                self.add_error(
                    "trailer_position",
                    _("“%(name)s” is not a position of %(vehicle)s.") % {"name": position.name, "vehicle": trailer},
                )
        return values
