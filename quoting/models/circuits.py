"""What a person settled about a job's circuits: changes with their reasons, outputs, inputs, what is there already.

A circuit is named by ``Circuit.key`` of the sizing, which stays the same while loads come and go.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, ClassVar

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.utils.translation import gettext_lazy as _

from catalog.history import history
from fitouts.models import Fitout, SensePoint
from quoting.wording.settled import settled_words


def _settled(values: Any) -> str:
    return ", ".join(f"{name} {value}" for name, value in settled_words(values or {}))


class CircuitChange(models.Model):
    """Values of one circuit that a person settled, and why. Only what policy leaves open is ever kept."""

    fitout = models.ForeignKey(Fitout, on_delete=models.CASCADE, related_name="circuit_changes")
    circuit = models.CharField(max_length=80)
    name = models.CharField(max_length=120)
    """What the circuit was called when it was changed."""
    values = models.JSONField(default=dict)
    """By name of ``quoting.sizing.brief_wiring.CHANGEABLE``."""
    reason = models.CharField(_("reason"), max_length=300)
    changed_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")
    changed_at = models.DateTimeField(auto_now=True)
    history = history()
    says: ClassVar[dict[str, Callable[[Any], str]]] = {"values": _settled}
    """How a history tells values that mean nothing as they are stored."""

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["fitout", "circuit"], name="circuit_changed_once"),
            models.CheckConstraint(condition=~models.Q(reason=""), name="circuit_change_has_reason"),
        ]

    def __str__(self) -> str:
        return self.name


class OutputPlace(models.Model):
    """A circuit on the switched output that a person gave it; counted from 1."""

    fitout = models.ForeignKey(Fitout, on_delete=models.CASCADE, related_name="output_places")
    circuit = models.CharField(max_length=80)
    module = models.PositiveSmallIntegerField(validators=[MinValueValidator(1), MaxValueValidator(40)])
    channel = models.PositiveSmallIntegerField(validators=[MinValueValidator(1), MaxValueValidator(64)])
    history = history()

    class Meta:
        ordering = ["module", "channel"]
        constraints = [
            models.UniqueConstraint(fields=["fitout", "circuit"], name="circuit_on_one_output"),
            models.UniqueConstraint(fields=["fitout", "module", "channel"], name="output_given_once"),
        ]

    def __str__(self) -> str:
        return f"{self.module}.{self.channel} {self.circuit}"


class InputPlace(models.Model):
    """Something watched on the sensing input that a person gave it; counted from 1 among inputs of its kind."""

    sense_point = models.OneToOneField(SensePoint, on_delete=models.CASCADE, related_name="input_place")
    unit = models.PositiveSmallIntegerField(validators=[MinValueValidator(1), MaxValueValidator(40)])
    channel = models.PositiveSmallIntegerField(validators=[MinValueValidator(1), MaxValueValidator(64)])
    history = history()

    class Meta:
        ordering = ["unit", "channel"]

    def __str__(self) -> str:
        return f"{self.unit}.{self.channel} {self.sense_point}"


class ExistingCircuit(models.Model):
    """A circuit that lies in the vehicle already, as an earlier job left it or as it was found."""

    class Form(models.TextChoices):
        FUSE = "fuse", _("fuse")
        BREAKER = "breaker", _("circuit breaker")

    fitout = models.ForeignKey(Fitout, on_delete=models.CASCADE, related_name="existing_circuits")
    circuit = models.CharField(max_length=80)
    name = models.CharField(_("circuit"), max_length=120)
    area_mm2 = models.FloatField(_("conductor"))
    insulation_c = models.FloatField(_("insulation class"), default=70)
    run_m = models.FloatField(_("length one way"), null=True, blank=True)
    form = models.CharField(_("protected by"), max_length=7, choices=Form.choices, default=Form.FUSE)
    series = models.CharField(_("series"), max_length=40, blank=True)
    rating_a = models.FloatField(_("rating"))
    breaking_a = models.FloatField(_("breaking capacity"), null=True, blank=True)
    max_v = models.FloatField(_("highest voltage"), null=True, blank=True)
    distance_m = models.FloatField(_("from what feeds it to the device"), null=True, blank=True)
    both_ends = models.BooleanField(_("a device at the far end too"), default=False)
    device_ohm = models.FloatField(_("resistance of a device"), null=True, blank=True)
    melting_s_at_2x = models.FloatField(_("opens at twice its rating in at least"), null=True, blank=True)
    ohm_per_km_20c = models.FloatField(_("resistance of the conductor"), null=True, blank=True)
    """What only its maker's sheet says: taken over from a record of ours, never asked."""
    source = models.CharField(_("known from"), max_length=200, blank=True)
    history = history()

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["fitout", "circuit"], name="circuit_exists_once"),
            models.CheckConstraint(condition=models.Q(area_mm2__gte=0.35, area_mm2__lte=300), name="existing_area"),
            models.CheckConstraint(condition=models.Q(rating_a__gte=0.5, rating_a__lte=1000), name="existing_rating"),
        ]

    def __str__(self) -> str:
        return self.name
