"""A job's audit, trip and wishes, kept for the next vehicle of the same model."""

from __future__ import annotations

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.utils.translation import gettext_lazy as _

from catalog.history import history
from catalog.models import AssemblyVersion
from fitouts.models.fitout import Fitout


class JobPackage(models.Model):
    """What fits a vehicle model, without the vehicle: lines, stops, wishes, and places by the positions' names."""

    name = models.CharField(_("name"), max_length=80)
    version = models.PositiveIntegerField(default=1)
    make = models.CharField(_("make"), max_length=60)
    model = models.CharField(_("model"), max_length=60)
    body = models.CharField(_("body"), max_length=60, blank=True)
    content = models.JSONField()
    """As ``fitouts.services.fitouts.contents`` makes it; never edited: a change makes the next version."""
    kept_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")
    kept_at = models.DateTimeField(auto_now_add=True)
    retired_at = models.DateTimeField(null=True, blank=True)
    replaced_at = models.DateTimeField(null=True, editable=False)
    """Since when a later version of the same name is the one to use."""
    history = history()

    class Meta:
        ordering = ["name", "-version"]
        constraints = [
            models.CheckConstraint(condition=~models.Q(name=""), name="package_named"),
            models.UniqueConstraint(fields=["name", "version"], name="package_version_once"),
            models.UniqueConstraint(fields=["name"], condition=models.Q(replaced_at=None), name="package_named_once"),
        ]

    def __str__(self) -> str:
        return self.name


class FitoutAssembly(models.Model):
    """An assembly that a job takes, at the version it was taken in."""

    fitout = models.ForeignKey(Fitout, on_delete=models.CASCADE, related_name="assemblies")
    version = models.ForeignKey(AssemblyVersion, on_delete=models.PROTECT, related_name="uses")
    quantity = models.PositiveSmallIntegerField(
        _("how many"), default=1, validators=[MinValueValidator(1), MaxValueValidator(500)]
    )
    history = history()

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["fitout", "version"], name="assembly_version_used_once"),
            models.CheckConstraint(condition=models.Q(quantity__gte=1, quantity__lte=500), name="assembly_1_to_500"),
        ]

    def __str__(self) -> str:
        return f"{self.quantity} × {self.version}"
