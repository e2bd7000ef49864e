"""What a job watches: tanks, temperatures, voltages, and where each is."""

from __future__ import annotations

from django.db import models
from django.utils.translation import gettext_lazy as _

from catalog.history import history
from catalog.models import Component
from fitouts.models.fitout import Fitout
from fitouts.models.vehicle import VehiclePosition


class SensePoint(models.Model):
    """Something that is to be watched. A design gives it a sensing input and its wiring."""

    class What(models.TextChoices):
        TANK = "tank", _("level of a tank")
        TEMPERATURE = "temperature", _("temperature")
        VOLTAGE = "voltage", _("voltage")
        CURRENT = "current", _("current")
        DIGITAL = "digital", _("on or off")

    fitout = models.ForeignKey(Fitout, on_delete=models.CASCADE, related_name="sense_points")
    place = models.PositiveSmallIntegerField(default=0)
    name = models.CharField(_("what is watched"), max_length=120)
    what = models.CharField(_("its kind"), max_length=11, choices=What.choices, default=What.TANK)
    position = models.ForeignKey(VehiclePosition, on_delete=models.PROTECT, related_name="+", verbose_name=_("where"))
    component = models.ForeignKey(
        Component, null=True, blank=True, on_delete=models.PROTECT, related_name="+", verbose_name=_("sensor")
    )
    """A sensor of the catalogue; empty: one is chosen."""
    history = history()

    class Meta:
        ordering = ["place", "pk"]
        constraints = [
            models.CheckConstraint(condition=~models.Q(name=""), name="sense_point_named"),
            models.CheckConstraint(
                condition=models.Q(what__in=["tank", "temperature", "voltage", "current", "digital"]),
                name="sense_point_known",
            ),
        ]

    def __str__(self) -> str:
        return self.name
