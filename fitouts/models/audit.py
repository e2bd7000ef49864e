"""What the vehicle must power, and the trip it must do it on."""

from __future__ import annotations

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.utils.translation import gettext_lazy as _

from catalog.history import history
from catalog.models import Appliance, Site
from fitouts.models.fitout import Fitout
from fitouts.models.vehicle import VehiclePosition


class Requirement(models.Model):
    """One line of the power audit. ``use`` holds the values of its one way of use, as in the Brief."""

    class Bus(models.TextChoices):
        HOUSE = "house", _("house bus")
        HOUSE12 = "house12", _("12 V behind a converter")
        USB = "usb", _("USB-C")
        AC = "ac", _("AC through the inverter")
        STARTER = "starter", _("starter bus")

    class Way(models.TextChoices):
        STEADY = "steady", _("steady")
        COOLING = "cooling", _("cools")
        RECHARGE = "recharge", _("recharge")
        EVENT = "event", _("event")

    fitout = models.ForeignKey(Fitout, on_delete=models.CASCADE, related_name="requirements")
    place = models.PositiveSmallIntegerField(default=0)
    appliance = models.ForeignKey(Appliance, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    name = models.CharField(_("load"), max_length=120)
    quantity = models.PositiveSmallIntegerField(
        _("how many"), default=1, validators=[MinValueValidator(1), MaxValueValidator(500)]
    )
    bus = models.CharField(_("bus"), max_length=8, choices=Bus.choices, default=Bus.HOUSE)
    way = models.CharField(_("way of use"), max_length=8, choices=Way.choices, default=Way.STEADY)
    use = models.JSONField(default=dict)
    window_start_h = models.FloatField(_("from"), default=0)
    window_end_h = models.FloatField(_("to"), default=24)
    power_factor = models.FloatField(_("power factor"), default=1)
    start_multiple = models.FloatField(_("starts at, times running"), default=1)
    start_s = models.FloatField(_("for"), default=0)
    min_voltage_v = models.FloatField(_("works down to"), null=True, blank=True)
    restart_voltage_v = models.FloatField(_("starts again at"), null=True, blank=True)
    essential = models.BooleanField(_("essential"), default=False)
    shed_below_ratio = models.FloatField(_("sheds below"), null=True, blank=True)
    always_live = models.BooleanField(_("always live"), default=False)
    critical = models.BooleanField(_("critical circuit"), default=False)
    at_once = models.BooleanField(_("counts in the peak"), default=True)
    position = models.ForeignKey(VehiclePosition, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    circuit = models.CharField(_("shares circuit"), max_length=60, blank=True)
    history = history()

    class Meta:
        ordering = ["place", "pk"]
        constraints = [
            models.CheckConstraint(condition=models.Q(quantity__gte=1, quantity__lte=500), name="quantity_1_to_500"),
            models.CheckConstraint(
                condition=models.Q(way__in=["steady", "cooling", "recharge", "event"]), name="way_known"
            ),
        ]

    def __str__(self) -> str:
        return self.name


class TripStop(models.Model):
    """Days in one place."""

    fitout = models.ForeignKey(Fitout, on_delete=models.CASCADE, related_name="stops")
    place = models.PositiveSmallIntegerField(default=0)
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="+")
    month = models.PositiveSmallIntegerField(_("month"), validators=[MinValueValidator(1), MaxValueValidator(12)])
    days = models.FloatField(_("days"), default=3)
    driving_h_per_day = models.FloatField(_("driving a day"), default=1)
    driving_start_h = models.FloatField(_("from"), default=8)
    mains_h_per_day = models.FloatField(_("mains a day"), default=0)
    mains_start_h = models.FloatField(_("from"), default=18)
    shade_ratio = models.FloatField(_("shade"), default=0)
    hitched = models.BooleanField(_("hitched"), default=True)
    """Whether tow vehicle and trailer stay joined here; where nothing is towed it says nothing."""
    history = history()

    class Meta:
        ordering = ["place", "pk"]
        constraints = [
            models.CheckConstraint(condition=models.Q(month__gte=1, month__lte=12), name="month_1_to_12"),
            models.CheckConstraint(condition=models.Q(days__gt=0), name="stop_has_days"),
        ]

    def __str__(self) -> str:
        return f"{self.site}, {self.days:g} d"
