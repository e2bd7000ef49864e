"""What is in which vehicle, and the proof that it works."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _

from catalog.history import history
from catalog.models import Component
from fitouts.models.fitout import Fitout
from fitouts.models.vehicle import Vehicle


class BuildTick(models.Model):
    """One step of the build, done by somebody."""

    fitout = models.ForeignKey(Fitout, on_delete=models.CASCADE, related_name="ticks")
    place = models.PositiveSmallIntegerField(default=0)
    key = models.CharField(max_length=80)
    words = models.CharField(max_length=300)
    hold_point = models.BooleanField(default=False)
    licensed = models.BooleanField(default=False)
    done_at = models.DateTimeField(null=True, blank=True)
    done_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")
    note = models.CharField(_("note"), max_length=300, blank=True)

    class Meta:
        ordering = ["place", "pk"]
        constraints = [models.UniqueConstraint(fields=["fitout", "key"], name="tick_once")]

    def __str__(self) -> str:
        return self.words


class FittedPart(models.Model):
    """A part of the accepted bill as it goes into the vehicle: serial, batch, settings."""

    fitout = models.ForeignKey(Fitout, on_delete=models.CASCADE, related_name="fitted")
    place = models.PositiveSmallIntegerField(default=0)
    key = models.CharField(max_length=80)
    component = models.ForeignKey(Component, null=True, on_delete=models.PROTECT, related_name="+")
    role = models.CharField(max_length=20)
    name = models.CharField(_("what"), max_length=120)
    part_number = models.CharField(_("part number"), max_length=120, blank=True)
    serial = models.CharField(_("serial number"), max_length=80, blank=True)
    batch = models.CharField(_("batch"), max_length=80, blank=True)
    settings_asked = models.JSONField(default=dict, blank=True)
    settings_entered = models.JSONField(default=dict, blank=True)
    history = history()

    class Meta:
        ordering = ["place", "pk"]
        constraints = [models.UniqueConstraint(fields=["fitout", "key"], name="fitted_once")]

    def __str__(self) -> str:
        return self.name


class Instrument(models.Model):
    """A measuring instrument with its calibration."""

    name = models.CharField(_("instrument"), max_length=80)
    serial = models.CharField(_("serial number"), max_length=60)
    calibrated_until = models.DateField(_("calibration good until"), null=True, blank=True)
    retired_at = models.DateTimeField(null=True, blank=True)
    history = history()

    class Meta:
        ordering = ["name", "serial"]

    def __str__(self) -> str:
        return f"{self.name} {self.serial}"


class Reading(models.Model):
    """A reading taken at test against what was computed. A new reading never overwrites an old one."""

    fitout = models.ForeignKey(Fitout, on_delete=models.CASCADE, related_name="readings")
    key = models.CharField(max_length=80)
    value = models.FloatField(_("measured"), null=True, blank=True)
    answer = models.BooleanField(_("yes"), null=True, blank=True)
    minimum = models.FloatField(null=True, blank=True)
    maximum = models.FloatField(null=True, blank=True)
    unit = models.CharField(max_length=12, blank=True)
    safety = models.BooleanField(default=False)
    licensed = models.BooleanField(default=False)
    passed = models.BooleanField()
    licence_no = models.CharField(_("licence no."), max_length=40, blank=True)
    instrument = models.ForeignKey(Instrument, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    note = models.CharField(_("note"), max_length=300, blank=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")
    at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["pk"]
        indexes = [models.Index(fields=["fitout", "key", "-id"])]

    def __str__(self) -> str:
        return f"{self.key}: {self.value if self.answer is None else self.answer}"


class Commissioning(models.Model):
    """The conditions a system was tested under, and what came with its delivery."""

    fitout = models.OneToOneField(Fitout, on_delete=models.CASCADE, related_name="commissioning")
    air_c = models.FloatField(_("air"), null=True, blank=True)
    battery_c = models.FloatField(_("battery"), null=True, blank=True)
    charge_ratio = models.FloatField(_("state of charge at start"), null=True, blank=True)
    rested_h = models.FloatField(_("rested"), null=True, blank=True)
    odometer_km = models.PositiveIntegerField(_("odometer"), null=True, blank=True)
    certificate_no = models.CharField(_("certificate of the 230 V work"), max_length=60, blank=True)
    found = models.TextField(_("found and put right"), max_length=2000, blank=True)
    instruments = models.ManyToManyField(Instrument, blank=True, related_name="+")
    history = history()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(charge_ratio__isnull=True) | models.Q(charge_ratio__gte=0, charge_ratio__lte=1),
                name="charge_at_test_0_to_1",
            )
        ]

    def __str__(self) -> str:
        return f"commissioning of {self.fitout_id}"


class InstalledSystem(models.Model):
    """What a job left in a vehicle, frozen at delivery."""

    vehicle = models.ForeignKey(Vehicle, on_delete=models.PROTECT, related_name="systems")
    fitout = models.OneToOneField(Fitout, on_delete=models.PROTECT, related_name="installed")
    snapshot_sha256 = models.CharField(max_length=64)
    """The frozen as-built record in ``quoting``."""
    title = models.CharField(max_length=120)
    delivered_on = models.DateField()
    retorque_due_on = models.DateField(null=True, blank=True)
    removed_on = models.DateField(null=True, blank=True)
    history = history()

    class Meta:
        ordering = ["-delivered_on", "-pk"]

    def __str__(self) -> str:
        return self.title


class InstalledComponent(models.Model):
    """One part in a vehicle, findable by serial and batch."""

    system = models.ForeignKey(InstalledSystem, on_delete=models.PROTECT, related_name="components")
    component = models.ForeignKey(Component, null=True, on_delete=models.PROTECT, related_name="installed")
    role = models.CharField(max_length=20)
    name = models.CharField(max_length=120)
    part_number = models.CharField(max_length=120, blank=True, db_index=True)
    serial = models.CharField(max_length=80, blank=True, db_index=True)
    batch = models.CharField(max_length=80, blank=True, db_index=True)
    settings_entered = models.JSONField(default=dict, blank=True)
    removed_on = models.DateField(null=True, blank=True)

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return f"{self.name} {self.serial}".strip()
