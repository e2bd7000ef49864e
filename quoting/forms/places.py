"""A place by its coordinates, or from a file of hourly weather, as people give it."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy

from catalog.form_fields import QuantityField
from catalog.forms import KeptForm, SiteForm
from catalog.models import Site
from quoting import words
from quoting.services import places
from quoting.sizing.climate_files import ClimateFile, ClimateFileError
from quoting.sizing.errors import SizingError
from quoting.sizing.places import Estimate
from quoting.wording.places import FILE_KIND, REFUSED


class WhereForm(forms.Form):
    """Coordinates; the elevation too, for temperatures fall with it."""

    latitude_deg = SiteForm.base_fields["latitude_deg"]
    longitude_deg = SiteForm.base_fields["longitude_deg"]
    elevation_m = QuantityField(
        label=gettext_lazy("Elevation"),
        unit="m",
        minimum=-450,
        maximum=6000,
        help_text=gettext_lazy("Over the sea, from a map: 100 m too few are 0.6 °C too warm."),
    )

    def __init__(self, data: Any = None) -> None:
        super().__init__(data, auto_id="id_where_%s")
        self.fields["latitude_deg"].help_text = gettext_lazy("South is negative; 66.5° at most.")

    @classmethod
    def asked(cls, data: Any) -> WhereForm:
        """The form as a request fills it; empty when it says nothing."""
        return cls(data if any(name in data for name in cls.base_fields) else None)


class _NameForm(KeptForm):
    """What a place is called, before it is saved."""

    name = forms.CharField(label=gettext_lazy("Place"), max_length=120)
    country = SiteForm.base_fields["country"]
    notes = forms.CharField(
        label=gettext_lazy("Notes"), max_length=1200, required=False, widget=forms.Textarea(attrs={"rows": 2})
    )


class EstimateForm(_NameForm):
    """Save an estimate under a name."""

    def __init__(self, *args: Any, found: Estimate, **kwargs: Any) -> None:
        self.found = found
        super().__init__(*args, **kwargs)

    def call(self, by: Any) -> Site:
        return places.save_estimate(self.found, self.cleaned_data, by=by)


class FileSaveForm(_NameForm):
    """Save what a file said under a name."""

    source = forms.CharField(label=gettext_lazy("Source"), max_length=200)
    sealed = forms.CharField(widget=forms.HiddenInput, required=False)

    field_order = ("name", "country", "source", "notes")

    def __init__(self, *args: Any, found: ClimateFile, **kwargs: Any) -> None:
        self.found = found
        kept = {"name": found.name, "country": found.country, "source": found.source, "sealed": places.sealed(found)}
        super().__init__(*args, **{**kwargs, "initial": kept})

    def call(self, by: Any) -> Site:
        return places.save_file(self.found, self.cleaned_data, by=by)


class FileForm(forms.Form):
    """A file of hourly weather."""

    weather = forms.FileField(
        label=gettext_lazy("File"),
        help_text=gettext_lazy(
            "PVGIS (hourly or typical year, CSV or JSON; flat, slope 0°), EPW or TMY3. At most 20 MB."
        ),
        widget=forms.FileInput(attrs={"accept": ".csv,.json,.epw,.txt"}),
        error_messages={
            "required": gettext_lazy("Choose a file first."),
            "missing": gettext_lazy("Choose a file first."),
        },
        allow_empty_file=True,
        max_length=None,
    )

    def read(self) -> ClimateFile | None:
        """What the file says; ``None`` when it was refused, with the reason in ``errors``."""
        try:
            return places.read_file(self.cleaned_data["weather"])
        except ClimateFileError as error:
            self.refuse(refused_words(error))
        except SizingError as error:
            self.add_error("weather", str(error))
        return None

    def refuse(self, words: str) -> None:
        """Say why nothing came of the file, and only that."""
        self.errors.pop("weather", None)
        self.add_error("weather", words)


_UNITS = {"size_mb": "MB", "limit_mb": "MB", "slope_deg": "°", "noon_h": "h", "sun_noon_h": "h", "limit_h": "h"}


def refused_words(error: ClimateFileError) -> str:
    """Why a file was refused, in a sentence."""
    params: dict[str, Any] = dict(error.params)
    for name, unit in _UNITS.items():
        if isinstance(params.get(name), int | float):
            params[name] = words.number_words(float(params[name]), unit)
    if "kind" in params:
        params["kind"] = str(FILE_KIND[params["kind"]])
    if "hours" in params:
        params["hours"], params["needed"] = str(params["hours"]), str(params["needed"])
    if "day" in params:
        params["day"] = str(params["day"])
    return words.fill(REFUSED[error.reason], params)
