"""A job's audit, trip and wishes, kept for the next vehicle of the same model."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _

from catalog.history import history


class JobPackage(models.Model):
    """What fits a vehicle model, without the vehicle: lines, stops, wishes, and places by the positions' names."""

    name = models.CharField(_("name"), max_length=80, unique=True)
    make = models.CharField(_("make"), max_length=60)
    model = models.CharField(_("model"), max_length=60)
    body = models.CharField(_("body"), max_length=60, blank=True)
    content = models.JSONField()
    """As ``fitouts.services.fitouts.contents`` makes it; never edited, kept anew instead."""
    kept_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")
    kept_at = models.DateTimeField(auto_now_add=True)
    retired_at = models.DateTimeField(null=True, blank=True)
    history = history()

    class Meta:
        ordering = ["name"]
        constraints = [models.CheckConstraint(condition=~models.Q(name=""), name="package_named")]

    def __str__(self) -> str:
        return self.name
