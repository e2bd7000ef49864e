"""Forms of vehicles: identity, electrics, what the survey measured, positions, runs, photos."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.forms.boundfield import BoundField
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from catalog.quantities import format_number
from fitouts.forms.fields import DayField, QuantityField
from fitouts.models import Vehicle, VehiclePosition, VehicleRun
from fitouts.services import vehicles
from fitouts.vin import VinError, read_vin


def _optional(label: Any, unit: str, low: float, high: float, **kwargs: Any) -> QuantityField:
    return QuantityField(label=label, unit=unit, minimum=low, maximum=high, required=False, **kwargs)


class _Sectioned:
    """A form in parts. ``SECTIONS`` is a list of (title, names)."""

    SECTIONS: tuple[tuple[Any, tuple[str, ...]], ...] = ()

    @property
    def sections(self) -> Iterator[tuple[Any, list[BoundField]]]:
        for title, names in self.SECTIONS:
            fields = [self[name] for name in names if name in self.fields]  # type: ignore[index,attr-defined]
            if fields:
                yield title, fields


ENGINE_FIELDS = ("alternator_control", "alternator_a", "starter_ah", "starter_ohm", "idle_stop", "hybrid")
NO_ENGINE: dict[str, Any] = {
    "alternator_control": Vehicle.Alternator.NONE,
    "alternator_a": None,
    "starter_ah": None,
    "starter_ohm": None,
    "idle_stop": False,
    "hybrid": False,
}
"""What a trailer is, said for it."""


class VehicleForm(_Sectioned, forms.ModelForm):
    """What the vehicle is, and its own electrics."""

    year = _optional(gettext_lazy("year"), "", 1900, 2100, whole=True)
    odometer_km = _optional(gettext_lazy("odometer"), "km", 0, 5_000_000, whole=True)
    alternator_a = _optional(gettext_lazy("alternator rating"), "A", 20, 600)
    starter_ah = _optional(gettext_lazy("starter battery"), "Ah", 10, 600)
    starter_ohm = _optional(
        gettext_lazy("its internal resistance"),
        "mΩ",
        0.0005,
        0.1,
        factor=1000,
        help_text=gettext_lazy("From its data sheet or a tester."),
    )
    roof_length_m = _optional(gettext_lazy("roof length free for panels"), "m", 0, 20)
    roof_width_m = _optional(gettext_lazy("roof width free for panels"), "m", 0, 5)
    payload_left_kg = _optional(
        gettext_lazy("payload left"),
        "kg",
        0,
        20000,
        help_text=gettext_lazy("Gross mass less what it weighs ready to go."),
    )

    length_m = _optional(
        gettext_lazy("length over all"),
        "m",
        1,
        25,
        help_text=gettext_lazy("For the plan; of a trailer with its drawbar."),
    )
    width_m = _optional(gettext_lazy("width over all"), "m", 0.5, 3, help_text=gettext_lazy("Without mirrors."))

    SECTIONS = (
        (
            gettext_lazy("Identity"),
            ("make", "model", "body", "is_trailer", "year", "registration", "vin", "odometer_km"),
        ),
        (
            gettext_lazy("Electrics"),
            (
                "nominal_v",
                "alternator_control",
                "alternator_a",
                "starter_ah",
                "starter_ohm",
                "idle_stop",
                "hybrid",
            ),
        ),
        (gettext_lazy("Body"), ("length_m", "width_m", "body_material")),
        (gettext_lazy("Room and mass"), ("roof_length_m", "roof_width_m", "payload_left_kg")),
    )

    class Meta:
        model = Vehicle
        fields = [
            *("make", "model", "body", "is_trailer", "year", "registration", "vin", "odometer_km"),
            *("nominal_v", "alternator_control", "alternator_a", "starter_ah", "starter_ohm", "idle_stop", "hybrid"),
            *("length_m", "width_m", "body_material"),
            *("roof_length_m", "roof_width_m", "payload_left_kg"),
        ]

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        towed = "is_trailer" in self.data if self.is_bound else self.instance.is_trailer
        if towed:
            for name in ENGINE_FIELDS:
                del self.fields[name]
        self.fields["body_material"].required = False
        self.fields["body_material"].help_text = _("Only steel may be a return, and only where the policy allows one.")
        self.fields["is_trailer"].help_text = _("It has no engine: nothing is asked about alternator and starter.")
        vin = self.fields["vin"]
        vin.max_length = 40  # type: ignore[attr-defined]
        vin.validators = []
        vin.widget.attrs.update({"maxlength": 40, "autocapitalize": "characters", "spellcheck": "false"})
        vin.help_text = _("17 characters, never I, O or Q.")
        self.fields["registration"].widget.attrs.update({"autocapitalize": "characters", "spellcheck": "false"})

    def _post_clean(self) -> None:
        super()._post_clean()  # type: ignore[misc]
        if self.cleaned_data.get("is_trailer"):
            self.cleaned_data |= NO_ENGINE

    def clean_body_material(self) -> str:
        return self.cleaned_data["body_material"] or Vehicle.BodyMaterial.UNKNOWN

    def clean_registration(self) -> str:
        return " ".join(self.cleaned_data["registration"].upper().split())

    def clean_vin(self) -> str:
        text = self.cleaned_data["vin"]
        if not text.strip():
            return ""
        try:
            return read_vin(text)[0]
        except VinError as error:
            raise ValidationError(vin_sentence(error), code=f"vin_{error.code}") from None


_VIN_WORDS = {
    "length": gettext_lazy("A VIN has 17 characters; this has {length}."),
    "letters": gettext_lazy("A VIN never has {letters}. I and O are mostly 1 and 0."),
    "check": gettext_lazy(
        "The check digit does not fit: character 9 is {found} and would have to be {due}. Read the plate again."
    ),
}


def vin_sentence(error: VinError) -> str:
    """What is wrong with a VIN, in words."""
    return str(_VIN_WORDS[error.code]).format(**error.params)


class SurveyForm(_Sectioned, forms.ModelForm):
    """What was measured. An empty entry means "not measured", never zero."""

    surveyed_on = DayField(label=gettext_lazy("surveyed on"), required=False)
    odometer_km = _optional(gettext_lazy("odometer"), "km", 0, 5_000_000, whole=True)
    hot_idle_v = _optional(
        gettext_lazy("voltage at hot idle"),
        "V",
        10,
        32,
        help_text=gettext_lazy("At the starter battery, engine hot, everything on."),
    )
    hot_idle_a = _optional(
        gettext_lazy("alternator output at hot idle"),
        "A",
        0,
        600,
        help_text=gettext_lazy("With a clamp on the alternator's output cable."),
    )
    own_draw_a = _optional(
        gettext_lazy("own draw under way"),
        "A",
        0,
        300,
        help_text=gettext_lazy("Lights, fans, demister: what the vehicle itself takes."),
    )
    standing_draw_a = _optional(
        gettext_lazy("standing draw"),
        "mA",
        0,
        5,
        factor=1000,
        help_text=gettext_lazy("Locked, after everything has gone to sleep."),
    )
    cranking_v = _optional(gettext_lazy("lowest cranking voltage"), "V", 5, 30)

    SECTIONS = (
        (gettext_lazy("The day"), ("surveyed_on", "odometer_km")),
        (gettext_lazy("Engine running"), ("hot_idle_v", "hot_idle_a", "own_draw_a")),
        (gettext_lazy("Engine off"), ("standing_draw_a", "cranking_v")),
        (gettext_lazy("Notes"), ("survey_notes",)),
    )

    class Meta:
        model = Vehicle
        fields = [
            *("surveyed_on", "odometer_km", "hot_idle_v", "hot_idle_a", "own_draw_a"),
            *("standing_draw_a", "cranking_v", "survey_notes"),
        ]
        widgets = {"survey_notes": forms.Textarea(attrs={"rows": 5})}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if self.instance.is_trailer:
            for name in ("odometer_km", "hot_idle_v", "hot_idle_a", "own_draw_a", "standing_draw_a", "cranking_v"):
                del self.fields[name]
        if self.instance.surveyed_on is None:
            self.initial["surveyed_on"] = timezone.localdate()

    def clean_surveyed_on(self) -> Any:
        day = self.cleaned_data["surveyed_on"]
        if day and day > timezone.localdate():
            raise ValidationError(_("This day is still to come."), code="in_future")
        return day

    def clean(self) -> dict[str, Any]:
        values = super().clean() or {}
        highest = self.instance.nominal_v * 4 / 3
        for name in ("hot_idle_v", "cranking_v"):
            volts = values.get(name)
            if volts is not None and volts > highest:
                self.add_error(
                    name,
                    _("{volts:g} V is too much for a {nominal} V vehicle: at most {highest:g} V.").format(
                        volts=volts, nominal=self.instance.nominal_v, highest=highest
                    ),
                )
        return values


def check_place(form: forms.BaseForm, values: dict[str, Any], vehicle: Vehicle, start: str = "") -> None:
    """Hold a place on the plan to be whole and inside the vehicle, as far as its size is known."""
    x_m, y_m = values.get(f"{start}x_m"), values.get(f"{start}y_m")
    given = [name for name in ("x_m", "y_m") if f"{start}{name}" not in form.errors]
    if len(given) == 2 and (x_m is None) != (y_m is None):
        lacking = "x_m" if x_m is None else "y_m"
        form.add_error(f"{start}{lacking}", _("Give both measures of a place, or neither."))
    if x_m is not None and vehicle.length_m is not None and x_m > vehicle.length_m:
        words = _("{x} m is behind the vehicle, which is {length} m long.")
        form.add_error(f"{start}x_m", words.format(x=_metres(x_m), length=_metres(vehicle.length_m)))
    if y_m is not None and vehicle.width_m is not None and abs(y_m) > vehicle.width_m / 2:
        words = _("{y} m is outside the vehicle: from its middle it is {half} m to each side.")
        form.add_error(f"{start}y_m", words.format(y=_metres(y_m), half=_metres(vehicle.width_m / 2)))


def _metres(value: float) -> str:
    return format_number(round(value, 3))


class PositionForm(forms.ModelForm):
    ambient_c = QuantityField(
        label=gettext_lazy("hottest air there"), unit="°C", minimum=-20, maximum=110, initial=50.0
    )

    x_m = _optional(
        gettext_lazy("behind the front"),
        "m",
        0,
        25,
        help_text=gettext_lazy("Of a trailer: behind its coupling. For the plan."),
    )
    y_m = _optional(
        gettext_lazy("right of the middle"),
        "m",
        -2,
        2,
        help_text=gettext_lazy("Looking forwards; left is negative, 0 is the middle."),
    )

    class Meta:
        model = VehiclePosition
        fields = ["name", "ambient_c", "engine_space", "aired", "x_m", "y_m", "is_measured"]

    def clean(self) -> dict[str, Any]:
        values = super().clean() or {}
        check_place(self, values, self.instance.vehicle)
        return values

    def clean_name(self) -> str:
        name = " ".join(self.cleaned_data["name"].split())
        twins = VehiclePosition.objects.filter(vehicle=self.instance.vehicle_id, name__iexact=name)
        if twins.exclude(pk=self.instance.pk).exists():
            raise ValidationError(_("This vehicle has a position of that name already."), code="twice")
        return name


class RunForm(forms.ModelForm):
    length_m = QuantityField(label=gettext_lazy("length one way"), unit="m", minimum=0.05, maximum=60)
    bundled = QuantityField(
        label=gettext_lazy("loaded conductors together"), unit="", minimum=1, maximum=60, whole=True, initial=1
    )

    class Meta:
        model = VehicleRun
        fields = ["start", "end", "length_m", "bundled", "is_measured"]
        labels = {"start": gettext_lazy("from"), "end": gettext_lazy("to"), "is_measured": gettext_lazy("measured")}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name in ("start", "end"):
            choice = self.fields[name]
            choice.queryset = VehiclePosition.objects.filter(vehicle=self.instance.vehicle_id)  # type: ignore[attr-defined]
            choice.empty_label = _("choose")  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        values = super().clean() or {}
        start, end = values.get("start"), values.get("end")
        if start and end:
            vehicles.check_run(
                VehicleRun(pk=self.instance.pk, vehicle_id=self.instance.vehicle_id, start=start, end=end)
            )
        return values


class PhotoForm(forms.Form):
    photo = forms.FileField(
        label=gettext_lazy("photo"),
        widget=forms.ClearableFileInput(attrs={"accept": "image/jpeg,image/png,image/webp"}),
        help_text=gettext_lazy("JPEG, PNG or WebP, at most 10 MB. Place and time in the file are dropped."),
    )
    caption = forms.CharField(label=gettext_lazy("caption"), max_length=120, required=False)
