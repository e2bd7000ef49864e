"""Places and their monthly climate."""

from __future__ import annotations

from typing import Any

from django.core.exceptions import ValidationError
from django.db import models
from django.utils.translation import gettext_lazy as _

from catalog.history import history
from catalog.models.base import Retirable

MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
SERIES_LIMITS = {"ghi_kwh_m2_day": (0.0, 12.0), "tmin_c": (-60.0, 45.0), "tmax_c": (-50.0, 55.0)}
"""Allowed monthly values: daily irradiation [kWh/m²/day], mean daily minimum and maximum [°C]."""
SERIES_UNITS = {"ghi_kwh_m2_day": "kWh/m²/day", "tmin_c": "°C", "tmax_c": "°C"}


class MadeFrom(models.TextChoices):
    """What the figures of a row come from when they are neither published nor typed."""

    ESTIMATE = "estimate", _("an estimate from other places")
    FILE = "file", _("a file of hourly weather")


class Site(Retirable):
    """Monthly means, January first. Rows that came with the program name their programme; the workshop adds its own."""

    name = models.CharField(_("name"), max_length=120, unique=True)
    country = models.CharField(_("country"), max_length=3, help_text=_("ISO 3166, three letters."))
    latitude_deg = models.FloatField(_("latitude"))
    longitude_deg = models.FloatField(_("longitude"))
    elevation_m = models.FloatField(_("elevation"), default=0.0)
    ghi_kwh_m2_day = models.JSONField(_("sun on the flat"))
    tmin_c = models.JSONField(_("mean daily minimum"))
    tmax_c = models.JSONField(_("mean daily maximum"))
    record_low_c = models.FloatField(_("record low"), null=True, blank=True)
    source = models.CharField(_("source"), max_length=200)
    made_from = models.CharField(
        _("figures come from"), max_length=20, choices=MadeFrom.choices, blank=True, default="", editable=False
    )
    likely_error_ratio = models.FloatField(_("likely error of a month's sun"), null=True, blank=True, editable=False)
    is_own = models.BooleanField(_("typed in by the workshop"), default=False, editable=False)
    history = history()

    class Meta:
        ordering = ["country", "name"]
        constraints = [
            models.CheckConstraint(condition=~models.Q(name=""), name="site_has_name"),
            models.CheckConstraint(
                condition=models.Q(latitude_deg__gte=-66.5, latitude_deg__lte=66.5), name="site_latitude_in_range"
            ),
            models.CheckConstraint(
                condition=models.Q(longitude_deg__gte=-180, longitude_deg__lte=180), name="site_longitude_in_range"
            ),
            models.CheckConstraint(
                condition=models.Q(elevation_m__gte=-450, elevation_m__lte=6000), name="site_elevation_in_range"
            ),
            models.CheckConstraint(condition=models.Q(made_from="") | models.Q(is_own=True), name="site_made_is_own"),
            models.CheckConstraint(
                condition=(
                    models.Q(
                        made_from="estimate",
                        likely_error_ratio__isnull=False,
                        likely_error_ratio__gt=0,
                        likely_error_ratio__lte=1,
                    )
                    | (~models.Q(made_from="estimate") & models.Q(likely_error_ratio=None))
                ),
                name="site_estimate_has_error",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def is_estimate(self) -> bool:
        return self.made_from == MadeFrom.ESTIMATE

    @property
    def origin(self) -> str:
        """``library``, ``typed``, ``estimate`` or ``file``."""
        return self.made_from or ("typed" if self.is_own else "library")

    def clean(self) -> None:
        for name, (low, high) in SERIES_LIMITS.items():
            values = getattr(self, name)
            if not isinstance(values, list) or len(values) != 12:
                raise ValidationError({name: _("It needs twelve monthly values.")})
            for month, value in zip(MONTHS, values, strict=True):
                if isinstance(value, bool) or not isinstance(value, int | float) or not low <= value <= high:
                    params = {"month": month, "value": value, "low": low, "high": high, "unit": SERIES_UNITS[name]}
                    message = _("%(month)s: %(value)s must be at least %(low)g and at most %(high)g %(unit)s.")
                    raise ValidationError({name: ValidationError(message, params=params)})
        if self.is_estimate != (self.likely_error_ratio is not None):
            message = _("An estimate has a likely error, over 0 and at most 100 %; nothing else has one.")
            raise ValidationError({"likely_error_ratio": message})
        for month, low, high in zip(MONTHS, self.tmin_c, self.tmax_c, strict=True):
            if low > high:
                message = _("%(month)s: the mean minimum %(low)s °C is above the mean maximum %(high)s °C.")
                raise ValidationError(
                    {"tmin_c": ValidationError(message, params={"month": month, "low": low, "high": high})}
                )

    def as_brief(self) -> dict[str, Any]:
        """The values that a design is worked out from."""
        names = ("name", "source", "latitude_deg", "longitude_deg", "elevation_m", *SERIES_LIMITS)
        names = (*names, "record_low_c", "likely_error_ratio")
        values = {name: getattr(self, name) for name in names}
        return {name: tuple(value) if isinstance(value, list) else value for name, value in values.items()}
