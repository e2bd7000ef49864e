"""Stops, places and wishes as people type them."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from catalog.form_fields import QuantityField
from catalog.kinds.capabilities import CHEMISTRIES
from catalog.models import Site
from fitouts.models import Fitout, TripStop, User, VehiclePosition
from fitouts.services import towing, trip
from fitouts.services.audit import LineRefused
from fitouts.services.fitouts import STOP_VALUES
from quoting.forms.lines import refusal_words
from quoting.services.briefs import ROLE_WORDS, check_stop, check_wishes
from quoting.sizing.brief import ROLES
from quoting.sizing.errors import SizingError
from quoting.words import MONTHS


class SiteField(forms.CharField):
    """The name of a site in the list; a part of it will do when only one fits."""

    def clean(self, value: Any) -> Any:
        text = super().clean(value)
        if not text:
            return None
        rows = Site.objects.in_use()
        exact = rows.filter(name__iexact=text).first()
        if exact is not None:
            return exact
        close = list(rows.filter(name__icontains=text)[:6])
        if len(close) == 1:
            return close[0]
        if not close:
            raise forms.ValidationError(_("There is no site “%(text)s” in the list.") % {"text": text[:60]})
        names = ", ".join(f"“{site.name}”" for site in close[:5])
        raise forms.ValidationError(
            _("“%(text)s” can be %(names)s. Write one of these.") % {"text": text[:60], "names": names}
        )


class StopForm(forms.Form):
    """One stop of the trip."""

    site = SiteField(
        label=gettext_lazy("Site"),
        max_length=120,
        widget=forms.TextInput(attrs={"list": "sites", "autocomplete": "off"}),
    )
    month = forms.TypedChoiceField(
        label=gettext_lazy("Month"), coerce=int, choices=lambda: [(i, name) for i, name in enumerate(MONTHS, 1)]
    )
    days = QuantityField(label=gettext_lazy("Stays"), unit="d", minimum=0.5, maximum=366)
    driving_h_per_day = QuantityField(label=gettext_lazy("Driving a day"), unit="h", minimum=0, maximum=24)
    driving_start_h = QuantityField(label=gettext_lazy("driving from"), unit="h", minimum=0, maximum=24)
    mains_h_per_day = QuantityField(label=gettext_lazy("Mains a day"), unit="h", minimum=0, maximum=24)
    mains_start_h = QuantityField(label=gettext_lazy("mains from"), unit="h", minimum=0, maximum=24)
    shade_ratio = QuantityField(
        label=gettext_lazy("Shade"),
        unit="%",
        minimum=0,
        maximum=1,
        factor=100,
        help_text=gettext_lazy(
            "How much of the panels lies in shadow while the sun shines; it costs more than its area."
        ),
    )
    hitched = forms.BooleanField(
        label=gettext_lazy("Trailer stays hitched here"),
        required=False,
        help_text=gettext_lazy("Unticked: parked apart; what is fed across the drawbar has no power here."),
    )

    DEFAULTS: dict[str, Any] = {
        "month": 1,
        "days": "3",
        "driving_h_per_day": "1",
        "driving_start_h": "8",
        "mains_h_per_day": "0",
        "mains_start_h": "18",
        "shade_ratio": "0",
        "hitched": True,
    }

    def __init__(self, data: Any = None, *, fitout: Fitout, stop: TripStop | None = None, site: str = "") -> None:
        self.fitout, self.stop = fitout, stop
        initial = {**self.DEFAULTS, "site": site[:120]}
        if stop is not None:
            initial = {name: getattr(stop, name) for name in STOP_VALUES}
            initial |= {"site": stop.site.name}
        key = stop.pk if stop else "new"
        super().__init__(data, initial=initial, auto_id=f"id_stop_{key}_%s")
        if fitout.trailer_id is None:
            del self.fields["hitched"]

    def save(self, *, by: User) -> TripStop | None:
        """Add or change the stop; ``None`` when it was refused, with the reasons in ``errors``."""
        values = dict(self.cleaned_data)
        try:
            if self.stop is None:
                return trip.add_stop(self.fitout, values, by=by, check=check_stop)
            return trip.change_stop(self.stop, values, by=by, check=check_stop)
        except SizingError as error:
            name = error.field.rsplit(".", 1)[-1]
            self.add_error(name if name in self.fields else None, refusal_words(error))
        except LineRefused as error:
            self.add_error(None, str(error))
        return None


class PlacesForm(forms.Form):
    """Which position holds what."""

    def __init__(self, data: Any = None, *, fitout: Fitout, needed: list[str] | None = None) -> None:
        self.fitout, self.needed = fitout, needed or []
        self.positions = {str(p.pk): p for p in towing.positions_for(fitout)}
        placed = {p.role: str(p.position_id) for p in fitout.placements.all()}
        super().__init__(data, initial=placed, auto_id="id_place_%s")
        choices = [
            ("", _("not said yet")),
            *((key, towing.position_words(fitout, p)) for key, p in self.positions.items()),
        ]
        for role in ROLES:
            words = ROLE_WORDS[role]()
            self.fields[role] = forms.TypedChoiceField(
                choices=choices,
                coerce=self.positions.get,
                empty_value=None,
                label=words[0].upper() + words[1:],
                required=False,
                help_text="" if role in self.needed or role in placed else _("not needed for this job"),
            )

    def save(self) -> None:
        places: dict[str, VehiclePosition | None] = {role: self.cleaned_data[role] for role in ROLES}
        trip.set_places(self.fitout, places)


WISH_NUMBERS = ("system_v", "autonomy_days", "solar_share_ratio", "panel_tilt_deg", "panel_azimuth_deg")


class WishesForm(forms.Form):
    """What the owner wishes of the system."""

    system_v = forms.TypedChoiceField(label=gettext_lazy("House bus"), coerce=int, choices=[(12, "12 V"), (24, "24 V")])
    autonomy_days = QuantityField(label=gettext_lazy("Days of autonomy"), unit="d", minimum=0.1, maximum=30)
    solar_share_ratio = QuantityField(
        label=gettext_lazy("Share of the day from the sun"), unit="%", minimum=0, maximum=3, factor=100
    )
    panel_tilt_deg = QuantityField(
        label=gettext_lazy("Tilt of the panels"),
        unit="°",
        minimum=0,
        maximum=60,
        required=False,
        help_text=gettext_lazy("0 when they lie flat on the roof."),
    )
    panel_azimuth_deg = QuantityField(
        label=gettext_lazy("Panels face"),
        unit="°",
        minimum=0,
        maximum=360,
        required=False,
        help_text=gettext_lazy("Clockwise from north, once tilted; empty: towards the equator."),
    )
    chemistries = forms.MultipleChoiceField(
        label=gettext_lazy("Battery may be"),
        choices=lambda: [(code, _(words)) for code, words in CHEMISTRIES],
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": gettext_lazy("Tick at least one chemistry.")},
    )
    engine_charging = forms.BooleanField(label=gettext_lazy("Charges while driving"), required=False)
    mains_charging = forms.BooleanField(label=gettext_lazy("Charges from mains"), required=False)
    solar_charging = forms.BooleanField(label=gettext_lazy("Charges from the sun"), required=False)
    shore_inlet = forms.BooleanField(label=gettext_lazy("Has a shore inlet"), required=False)

    def __init__(self, data: Any = None, *, fitout: Fitout) -> None:
        self.fitout = fitout
        initial = {name: getattr(fitout, name) for name in self.base_fields}
        super().__init__(data, initial=initial, auto_id="id_wish_%s")

    def plain(self) -> list[forms.BoundField]:
        return [self[name] for name in WISH_NUMBERS]

    def sources(self) -> list[forms.BoundField]:
        return [self[name] for name in ("engine_charging", "mains_charging", "solar_charging", "shore_inlet")]

    def save(self, *, by: User) -> bool:
        """Save the wishes; ``False`` when they were refused, with the reasons in ``errors``."""
        try:
            values = {**self.cleaned_data, "panel_tilt_deg": self.cleaned_data["panel_tilt_deg"] or 0.0}
            trip.set_wishes(self.fitout, values, by=by, check=check_wishes)
        except SizingError as error:
            name = error.field.rsplit(".", 1)[-1]
            self.add_error(name if name in self.fields else None, refusal_words(error))
            return False
        return True
