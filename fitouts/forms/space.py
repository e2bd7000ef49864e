"""Forms of roof areas, with what stands in them, and of battery spaces."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.forms.boundfield import BoundField
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from catalog.quantities import format_number
from fitouts.forms.fields import QuantityField
from fitouts.models import BatterySpace, RoofArea
from fitouts.services.space import MOST_TAKEN, SIDES, outside

SPARE_ROWS = 2
"""Empty rows for what stands in an area, beside those that are filled."""
LIMITS_M = {"x_m": (0.0, 20.0), "y_m": (0.0, 5.0), "length_m": (0.01, 20.0), "width_m": (0.01, 5.0)}
LABELS = {
    "x_m": gettext_lazy("from the area's front edge"),
    "y_m": gettext_lazy("from its left edge"),
    "length_m": gettext_lazy("length along the vehicle"),
    "width_m": gettext_lazy("width across it"),
}


def _name_once(form: forms.ModelForm, model: type[Any], words: str) -> str:
    name = " ".join(form.cleaned_data["name"].split())
    twins = model.objects.filter(vehicle=form.instance.vehicle_id, name__iexact=name)
    if twins.exclude(pk=form.instance.pk).exists():
        raise ValidationError(words, code="twice")
    return name


class RoofAreaForm(forms.ModelForm):
    """A rectangle of the roof, where it is, and rows for what stands in it."""

    length_m = QuantityField(label=gettext_lazy("length, along the vehicle"), unit="m", minimum=0.1, maximum=20)
    width_m = QuantityField(label=gettext_lazy("width, across it"), unit="m", minimum=0.1, maximum=5)
    x_m = QuantityField(
        label=gettext_lazy("front edge behind the vehicle's front"),
        unit="m",
        minimum=0,
        maximum=25,
        required=False,
        help_text=gettext_lazy("Of a trailer: behind its coupling. For the plan."),
    )
    y_m = QuantityField(
        label=gettext_lazy("its middle right of the vehicle's middle"),
        unit="m",
        minimum=-2,
        maximum=2,
        required=False,
        help_text=gettext_lazy("Looking forwards; left is negative, 0 is the middle."),
    )

    class Meta:
        model = RoofArea
        fields = ["name", "length_m", "width_m", "x_m", "y_m"]

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        held = list(self.instance.taken or [])
        typed = [n for n in range(MOST_TAKEN) if f"t{n}-x_m" in self.data]
        self.count = min(MOST_TAKEN, max(len(held) + SPARE_ROWS, len(typed)))
        for n in range(self.count):
            for name, (low, high) in LIMITS_M.items():
                self.fields[f"t{n}-{name}"] = QuantityField(
                    label=LABELS[name],
                    unit="m",
                    minimum=low,
                    maximum=high,
                    required=False,
                    initial=held[n][name] if n < len(held) else None,
                )

    @property
    def own(self) -> list[BoundField]:
        """Entries of the area itself."""
        return [self[name] for name in self.Meta.fields]

    @property
    def rows(self) -> Iterator[tuple[int, list[BoundField]]]:
        """Entries of each thing that stands in it."""
        for n in range(self.count):
            yield n + 1, [self[f"t{n}-{name}"] for name in SIDES]

    def clean_name(self) -> str:
        return _name_once(self, RoofArea, _("This vehicle has a roof area of that name already."))

    def clean(self) -> dict[str, Any]:
        values = super().clean() or {}
        self._check_place(values)
        taken = []
        for n in range(self.count):
            names = {name: f"t{n}-{name}" for name in SIDES}
            given = {name: values.get(key) for name, key in names.items()}
            for key in names.values():
                values.pop(key, None)
            if any(key in self.errors for key in names.values()):
                continue
            if all(value is None for value in given.values()):
                continue
            if self._whole(n, given) and self._inside(n, given, values):
                taken.append(given)
        return {**values, "taken": taken}

    def _whole(self, n: int, given: dict[str, Any]) -> bool:
        lacking = [name for name, value in given.items() if value is None]
        for name in lacking:
            self.add_error(f"t{n}-{name}", _("Give all four measures of a thing, or none."))
        return not lacking

    def _inside(self, n: int, given: dict[str, Any], values: dict[str, Any]) -> bool:
        if values.get("length_m") is None or values.get("width_m") is None:
            return True
        found = outside(given, values["length_m"], values["width_m"])
        for name, said in found.items():
            self.add_error(f"t{n}-{name}", said)
        return not found

    def _check_place(self, values: dict[str, Any]) -> None:
        """A place is whole and inside the vehicle, as far as its size is known."""
        given = [name for name in ("x_m", "y_m") if name not in self.errors]
        x_m, y_m, vehicle = values.get("x_m"), values.get("y_m"), self.instance.vehicle
        if len(given) == 2 and (x_m is None) != (y_m is None):
            self.add_error("x_m" if x_m is None else "y_m", _("Give both measures of a place, or neither."))
            return
        length_m, width_m = values.get("length_m"), values.get("width_m")
        if x_m is not None and length_m is not None and vehicle.length_m is not None:
            end_m = x_m + length_m
            if end_m > vehicle.length_m + 1e-9:
                words = _("It ends {end} m behind the front; the vehicle is {side} m long.")
                self.add_error("x_m", words.format(end=_m(end_m), side=_m(vehicle.length_m)))
        if y_m is not None and width_m is not None and vehicle.width_m is not None:
            reach_m = abs(y_m) + width_m / 2
            if reach_m > vehicle.width_m / 2 + 1e-9:
                words = _("It reaches {reach} m from the middle; the vehicle reaches {half} m to each side.")
                self.add_error("y_m", words.format(reach=_m(reach_m), half=_m(vehicle.width_m / 2)))


def _m(value: float) -> str:
    return format_number(round(value, 3))


class BatterySpaceForm(forms.ModelForm):
    """A box inside the vehicle, upright."""

    length_mm = QuantityField(label=gettext_lazy("length"), unit="mm", minimum=50, maximum=6000)
    width_mm = QuantityField(label=gettext_lazy("width"), unit="mm", minimum=50, maximum=3000)
    height_mm = QuantityField(
        label=gettext_lazy("height"),
        unit="mm",
        minimum=50,
        maximum=2500,
        help_text=gettext_lazy("Free height, the lid on."),
    )

    class Meta:
        model = BatterySpace
        fields = ["name", "length_mm", "width_mm", "height_mm"]

    def clean_name(self) -> str:
        return _name_once(self, BatterySpace, _("This vehicle has a battery space of that name already."))
