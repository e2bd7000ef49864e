"""The vehicle and what the survey found in it."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _

from catalog.history import history
from fitouts.models.customer import Customer


class Vehicle(models.Model):
    """A customer's vehicle. Empty survey fields mean "not measured", never zero."""

    class Alternator(models.TextChoices):
        FIXED = "fixed", _("fixed voltage")
        SMART = "smart", _("controlled by the engine computer")
        NONE = "none", _("no alternator")

    class BodyMaterial(models.TextChoices):
        UNKNOWN = "unknown", _("not said")
        STEEL = "steel", _("steel")
        ALUMINIUM = "aluminium", _("aluminium")
        COMPOSITE = "composite", _("composite")

    customer = models.ForeignKey(Customer, on_delete=models.PROTECT, related_name="vehicles")
    make = models.CharField(_("make"), max_length=60)
    model = models.CharField(_("model"), max_length=60)
    body = models.CharField(_("body"), max_length=60, blank=True, help_text=_("Wagon, van, camper trailer, truck."))
    year = models.PositiveSmallIntegerField(_("year"), null=True, blank=True)
    registration = models.CharField(_("registration"), max_length=16, blank=True)
    vin = models.CharField(_("VIN"), max_length=17, blank=True)
    odometer_km = models.PositiveIntegerField(_("odometer"), null=True, blank=True)
    nominal_v = models.PositiveSmallIntegerField(_("system voltage"), choices=[(12, "12 V"), (24, "24 V")], default=12)
    alternator_a = models.FloatField(_("alternator rating"), null=True, blank=True)
    alternator_control = models.CharField(
        _("alternator control"), max_length=5, choices=Alternator.choices, default=Alternator.FIXED
    )
    is_trailer = models.BooleanField(_("a trailer, towed"), default=False)
    idle_stop = models.BooleanField(_("stops at idle"), default=False)
    hybrid = models.BooleanField(_("hybrid or electric"), default=False)
    starter_ah = models.FloatField(_("starter battery"), null=True, blank=True)
    starter_ohm = models.FloatField(_("its internal resistance"), null=True, blank=True)
    roof_length_m = models.FloatField(_("roof length free for panels"), null=True, blank=True)
    roof_width_m = models.FloatField(_("roof width free for panels"), null=True, blank=True)
    payload_left_kg = models.FloatField(_("payload left"), null=True, blank=True)

    length_m = models.FloatField(_("length over all"), null=True, blank=True)
    width_m = models.FloatField(_("width over all"), null=True, blank=True)
    body_material = models.CharField(
        _("floor and frame"), max_length=9, choices=BodyMaterial.choices, default=BodyMaterial.UNKNOWN
    )

    surveyed_on = models.DateField(_("surveyed on"), null=True, blank=True)
    hot_idle_v = models.FloatField(_("voltage at hot idle"), null=True, blank=True)
    hot_idle_a = models.FloatField(_("alternator output at hot idle"), null=True, blank=True)
    own_draw_a = models.FloatField(_("own draw under way"), null=True, blank=True)
    standing_draw_a = models.FloatField(_("standing draw"), null=True, blank=True)
    cranking_v = models.FloatField(_("lowest cranking voltage"), null=True, blank=True)
    survey_notes = models.TextField(_("survey notes"), blank=True, max_length=4000)
    retired_at = models.DateTimeField(null=True, blank=True)
    created_at = models.DateTimeField(auto_now_add=True)
    history = history()

    class Meta:
        ordering = ["registration", "pk"]
        indexes = [
            models.Index(fields=["registration"]),
            models.Index(fields=["vin"]),
            # what the list is ordered and narrowed by, retired rows left out; see tests/bench/test_lists.py
            models.Index(fields=["registration", "id"], condition=models.Q(retired_at=None), name="vehicle_by_plate"),
            models.Index(
                fields=["nominal_v", "registration", "id"],
                condition=models.Q(retired_at=None),
                name="vehicle_of_voltage",
            ),
            models.Index(fields=["make", "model", "id"], condition=models.Q(retired_at=None), name="vehicle_by_make"),
            models.Index(fields=["surveyed_on", "id"], condition=models.Q(retired_at=None), name="vehicle_by_survey"),
        ]
        constraints = [
            models.CheckConstraint(condition=models.Q(nominal_v__in=[12, 24]), name="vehicle_12_or_24_v"),
            models.CheckConstraint(
                condition=models.Q(alternator_a__isnull=True) | models.Q(alternator_a__gt=0), name="alternator_above_0"
            ),
            models.CheckConstraint(
                condition=models.Q(payload_left_kg__isnull=True) | models.Q(payload_left_kg__gte=0),
                name="payload_not_negative",
            ),
            models.CheckConstraint(
                condition=models.Q(length_m__isnull=True) | models.Q(length_m__gte=1, length_m__lte=25),
                name="vehicle_1_to_25_m_long",
            ),
            models.CheckConstraint(
                condition=models.Q(width_m__isnull=True) | models.Q(width_m__gte=0.5, width_m__lte=3),
                name="vehicle_0_5_to_3_m_wide",
            ),
        ]

    def __str__(self) -> str:
        words = [self.make, self.model, self.body]
        return " ".join(w for w in words if w)


class VehiclePosition(models.Model):
    """A named place in the vehicle where something can sit."""

    vehicle = models.ForeignKey(Vehicle, on_delete=models.CASCADE, related_name="positions")
    name = models.CharField(_("name"), max_length=60)
    ambient_c = models.FloatField(_("hottest air there"), default=50)
    engine_space = models.BooleanField(_("engine space"), default=False)
    aired = models.BooleanField(
        _("air passes through"), default=False, help_text=_("Parked in the sun it is no hotter than outside.")
    )
    x_m = models.FloatField(
        _("behind the front"), null=True, blank=True, help_text=_("Of a trailer: behind its coupling. For the plan.")
    )
    y_m = models.FloatField(
        _("right of the middle"),
        null=True,
        blank=True,
        help_text=_("Looking forwards; left is negative."),
    )
    is_measured = models.BooleanField(_("place measured in this vehicle"), default=True)
    """False for a usual place of a starter set, until somebody has measured it."""
    history = history()

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["vehicle", "name"], name="position_named_once"),
            models.CheckConstraint(
                condition=models.Q(ambient_c__gte=-20, ambient_c__lte=110), name="position_air_believable"
            ),
            models.CheckConstraint(
                condition=models.Q(x_m__isnull=True) | models.Q(x_m__gte=0, x_m__lte=25), name="position_0_to_25_m_back"
            ),
            models.CheckConstraint(
                condition=models.Q(y_m__isnull=True) | models.Q(y_m__gte=-2, y_m__lte=2), name="position_2_m_aside"
            ),
        ]

    def __str__(self) -> str:
        return self.name


class VehicleRun(models.Model):
    """A cable way between two positions, one way."""

    vehicle = models.ForeignKey(Vehicle, on_delete=models.CASCADE, related_name="runs")
    start = models.ForeignKey(VehiclePosition, on_delete=models.CASCADE, related_name="+")
    end = models.ForeignKey(VehiclePosition, on_delete=models.CASCADE, related_name="+")
    length_m = models.FloatField(_("length one way"))
    bundled = models.PositiveSmallIntegerField(_("loaded conductors together"), default=1)
    is_measured = models.BooleanField(_("measured in this vehicle"), default=True)
    """False for a typical length of a starter set, until somebody has measured it."""
    history = history()

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["vehicle", "start", "end"], name="run_once"),
            models.CheckConstraint(condition=models.Q(length_m__gte=0.05, length_m__lte=60), name="run_0_05_to_60_m"),
            models.CheckConstraint(condition=~models.Q(start=models.F("end")), name="run_goes_somewhere"),
        ]

    def __str__(self) -> str:
        return f"{self.start} – {self.end} {self.length_m:g} m"


class VehiclePhoto(models.Model):
    """A photo, re-encoded on arrival; shown only through a permission check."""

    vehicle = models.ForeignKey(Vehicle, on_delete=models.CASCADE, related_name="photos")
    file = models.FileField(upload_to="photos/")
    caption = models.CharField(_("caption"), max_length=120, blank=True)
    width = models.PositiveIntegerField()
    height = models.PositiveIntegerField()
    added_at = models.DateTimeField(auto_now_add=True)
    added_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return self.caption or f"photo {self.pk}"
