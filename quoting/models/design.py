"""A design: a Brief and the Appraisal it led to, kept together under a key."""

from __future__ import annotations

from django.conf import settings
from django.db import models

from fitouts.models import Fitout


class Design(models.Model):
    """What was worked out for a job at one moment. Never edited; changed inputs make the next one."""

    fitout = models.ForeignKey(Fitout, on_delete=models.PROTECT, related_name="designs")
    number = models.PositiveIntegerField()
    brief = models.JSONField()
    appraisal = models.JSONField()
    key = models.CharField(max_length=64, db_index=True)
    """sha256 of canonical Brief (its policy is in it) and METHOD_VERSION."""
    method_version = models.CharField(max_length=20)
    took_ms = models.PositiveIntegerField(default=0)
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")
    made_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["-number"]
        constraints = [models.UniqueConstraint(fields=["fitout", "number"], name="design_numbered_once")]

    def __str__(self) -> str:
        return f"design {self.number} of {self.fitout_id}"
