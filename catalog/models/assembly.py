"""Assemblies: components and labour that go together, with quantities that follow the job."""

from __future__ import annotations

from typing import Any

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.utils.translation import gettext_lazy as _

from catalog.history import history
from catalog.models.base import Retirable
from catalog.models.component import Component
from catalog.models.labour import LabourOperation


class Assembly(Retirable):
    """What goes together under one name. Its lines stand in versions; the newest is in force."""

    name = models.CharField(_("name"), max_length=120, unique=True)
    what_for = models.CharField(_("what it is for"), max_length=200, blank=True)
    history = history()

    class Meta:
        ordering = ["name"]
        verbose_name_plural = "assemblies"
        constraints = [models.CheckConstraint(condition=~models.Q(name=""), name="assembly_has_name")]

    def __str__(self) -> str:
        return self.name


class AssemblyVersion(models.Model):
    """The lines of an assembly at one moment. Never edited: a change makes the next version."""

    assembly = models.ForeignKey(Assembly, on_delete=models.PROTECT, related_name="versions")
    number = models.PositiveIntegerField()
    why = models.CharField(_("what changed"), max_length=200, blank=True)
    made_at = models.DateTimeField(auto_now_add=True)
    made_by_id = models.IntegerField(null=True, editable=False)

    class Meta:
        ordering = ["-number"]
        constraints = [models.UniqueConstraint(fields=["assembly", "number"], name="assembly_version_numbered_once")]

    def __str__(self) -> str:
        return f"{self.assembly} {self.number}"


class AssemblyLine(models.Model):
    """A component or a labour operation: ``fixed`` of it, and ``each`` for every one of ``per``.

    The quantity is (fixed + each × count of ``per`` in the job), rounded up to whole ones where ``round_up``.
    """

    class Per(models.TextChoices):
        ASSEMBLY = "assembly", _("assembly")
        CIRCUIT = "circuit", _("circuit")
        METRE = "metre", _("metre of cable")
        BATTERY = "battery", _("battery")
        PANEL = "panel", _("solar panel")
        CHARGER = "charger", _("charger")
        INVERTER = "inverter", _("inverter")
        LOAD = "load", _("appliance")
        CABLE_END = "cable_end", _("cable end")

    version = models.ForeignKey(AssemblyVersion, on_delete=models.CASCADE, related_name="lines")
    place = models.PositiveSmallIntegerField(default=0)
    component = models.ForeignKey(
        Component, null=True, blank=True, on_delete=models.PROTECT, related_name="+", verbose_name=_("component")
    )
    labour = models.ForeignKey(
        LabourOperation, null=True, blank=True, on_delete=models.PROTECT, related_name="+", verbose_name=_("labour")
    )
    fixed = models.FloatField(_("always"), default=0, validators=[MinValueValidator(0), MaxValueValidator(10000)])
    each = models.FloatField(_("for each"), default=1, validators=[MinValueValidator(0), MaxValueValidator(10000)])
    per = models.CharField(_("of these"), max_length=9, choices=Per.choices, default=Per.ASSEMBLY)
    round_up = models.BooleanField(_("whole ones only"), default=True)

    class Meta:
        ordering = ["place", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=(models.Q(component=None) & ~models.Q(labour=None))
                | (~models.Q(component=None) & models.Q(labour=None)),
                name="assembly_line_is_one_thing",
            ),
            models.CheckConstraint(
                condition=models.Q(fixed__gte=0, fixed__lte=10000, each__gte=0, each__lte=10000),
                name="assembly_line_quantity_in_range",
            ),
        ]

    def __str__(self) -> str:
        return str(self.what)

    @property
    def what(self) -> Any:
        return self.component or self.labour
