"""A tow vehicle and a trailer that make one system."""

from __future__ import annotations

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.utils.translation import gettext_lazy as _

from catalog.history import history
from catalog.models import Component
from fitouts.models.vehicle import Vehicle, VehiclePosition


class Hitch(models.Model):
    """The electrical way across a drawbar: from a position of the tow vehicle, through a coupling, to the trailer's."""

    tow = models.ForeignKey(Vehicle, on_delete=models.CASCADE, related_name="hitches", verbose_name=_("tow vehicle"))
    trailer = models.ForeignKey(Vehicle, on_delete=models.CASCADE, related_name="towed_by", verbose_name=_("trailer"))
    tow_position = models.ForeignKey(
        VehiclePosition, on_delete=models.CASCADE, related_name="+", verbose_name=_("socket sits at")
    )
    trailer_position = models.ForeignKey(
        VehiclePosition, on_delete=models.CASCADE, related_name="+", verbose_name=_("trailer's cable begins at")
    )
    length_m = models.FloatField(
        _("cable across the drawbar"), default=1.5, validators=[MinValueValidator(0.05), MaxValueValidator(15)]
    )
    coupling = models.ForeignKey(
        Component, null=True, blank=True, on_delete=models.PROTECT, related_name="+", verbose_name=_("coupling")
    )
    """A part of the catalogue that couples; empty: one is chosen."""
    history = history()

    class Meta:
        ordering = ["pk"]
        verbose_name_plural = "hitches"
        constraints = [
            models.UniqueConstraint(fields=["tow", "trailer"], name="hitch_once"),
            models.CheckConstraint(condition=~models.Q(tow=models.F("trailer")), name="hitch_of_two"),
            models.CheckConstraint(condition=models.Q(length_m__gte=0.05, length_m__lte=15), name="hitch_0_05_to_15_m"),
        ]

    def __str__(self) -> str:
        return f"{self.tow} + {self.trailer}"
