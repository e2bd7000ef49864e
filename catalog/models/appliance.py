"""Typical power requirements, from which a power audit is started."""

from __future__ import annotations

from typing import Any

from django.db import models
from django.utils.translation import gettext_lazy as _

from catalog.history import history
from catalog.kinds.uses import WAYS
from catalog.models.base import Retirable


class Appliance(Retirable):
    """What owners plug in: one way of use and how it starts, as a Requirement line begins."""

    class Group(models.TextChoices):
        COOLING = "cooling", _("Cooling")
        WATER = "water", _("Water")
        LIGHT = "light", _("Light")
        COOKING = "cooking", _("Cooking and hot drinks")
        AIR = "air", _("Air and heating")
        OFFICE = "office", _("Office and media")
        RADIO = "radio", _("Radio and network")
        TOOLS = "tools", _("Tools and site work")
        FIELD = "field", _("Field work")
        CARE = "care", _("Care and health")
        OTHER = "other", _("Other")

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

    name = models.CharField(_("name"), max_length=120, unique=True)
    group = models.CharField(_("group"), max_length=12, choices=Group.choices, default=Group.OTHER)
    bus = models.CharField(_("bus"), max_length=8, choices=Bus.choices, default=Bus.HOUSE)
    way = models.CharField(_("way of use"), max_length=8, choices=Way.choices, default=Way.STEADY)
    use = models.JSONField(default=dict)
    window_start_h = models.FloatField(_("from"), default=0.0)
    window_end_h = models.FloatField(_("to"), default=24.0)
    power_factor = models.FloatField(_("power factor"), default=1.0)
    start_multiple = models.FloatField(_("starts at, times running"), default=1.0)
    start_s = models.FloatField(_("for"), default=0.0)
    min_voltage_v = models.FloatField(_("works down to"), null=True, blank=True)
    restart_voltage_v = models.FloatField(_("starts again at"), null=True, blank=True)
    essential = models.BooleanField(_("essential"), default=False)
    shed_below_ratio = models.FloatField(_("sheds below"), null=True, blank=True)
    always_live = models.BooleanField(_("always live"), default=False)
    critical = models.BooleanField(_("critical circuit"), default=False)
    at_once = models.BooleanField(_("counts in the peak"), default=True)
    source = models.CharField(_("source of the figures"), max_length=200, default="common practice")
    history = history()

    class Meta:
        ordering = ["name"]
        constraints = [
            models.CheckConstraint(condition=~models.Q(name=""), name="appliance_has_name"),
            models.CheckConstraint(condition=models.Q(way__in=list(WAYS)), name="appliance_way_known"),
            models.CheckConstraint(
                condition=models.Q(power_factor__gte=0.1, power_factor__lte=1), name="appliance_power_factor"
            ),
            models.CheckConstraint(
                condition=models.Q(start_multiple__gte=1, start_multiple__lte=12), name="appliance_start_multiple"
            ),
        ]

    def __str__(self) -> str:
        return self.name

    def line(self) -> dict[str, Any]:
        """Values with which a line of a power audit begins: every field the two have in common."""
        return {name: getattr(self, name) for name in ("name", "way", *LINE_VALUES)} | {"use": dict(self.use)}


LINE_VALUES = (
    "bus",
    "window_start_h",
    "window_end_h",
    "power_factor",
    "start_multiple",
    "start_s",
    "min_voltage_v",
    "restart_voltage_v",
    "essential",
    "shed_below_ratio",
    "always_live",
    "critical",
    "at_once",
)
"""What an appliance, a line of a power audit and a load of the Brief have in common, besides name and use."""
