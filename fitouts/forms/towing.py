"""How a trailer is joined to what tows it, as people type it."""

from __future__ import annotations

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from catalog.models import Component
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


class ComponentField(forms.CharField):
    """A component by its name; a part of it will do when only one fits. ``fits`` says what may be chosen."""

    def __init__(self, *, fits: Any = None, **kwargs: Any) -> None:
        self.fits = fits
        super().__init__(max_length=160, **kwargs)

    def clean(self, value: Any) -> Any:
        text = super().clean(value)
        if not text:
            return None
        rows = Component.objects.in_use()
        found = [c for c in rows.filter(name__iexact=text)[:6] if self._may(c)]
        found = found or [c for c in rows.filter(name__icontains=text)[:40] if self._may(c)]
        if len(found) == 1:
            return found[0]
        if not found:
            raise ValidationError(_("There is no such part “%(text)s” in the catalogue.") % {"text": text[:60]})
        names = ", ".join(f"“{c.name}”" for c in found[:5])
        raise ValidationError(
            _("“%(text)s” can be %(names)s. Write one of these.") % {"text": text[:60], "names": names}
        )

    def prepare_value(self, value: Any) -> Any:
        return value.name if isinstance(value, Component) else value

    def _may(self, component: Component) -> bool:
        return self.fits is None or bool(self.fits(component))


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
        widget=forms.TextInput(attrs={"list": "couplings", "autocomplete": "off"}),
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
