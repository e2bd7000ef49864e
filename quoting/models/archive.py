"""Archives of the whole workshop, made on request."""

from __future__ import annotations

from django.conf import settings
from django.db import models

from quoting.models.background import BackgroundJob


class Archive(models.Model):
    """A backup: every row and file of the workshop in one file with checksums. Not itself part of a backup."""

    name = models.CharField(max_length=120, unique=True)
    """Name of the file in the archive folder of the workshop's private folder."""
    size = models.PositiveBigIntegerField(default=0)
    sha256 = models.CharField(max_length=64, blank=True)
    content_sha256 = models.CharField(max_length=64, blank=True)
    """Over all rows and files, whatever the database and the day: equal for equal workshops."""
    workshop_name = models.CharField(max_length=80, blank=True)
    is_brought = models.BooleanField(default=False)
    """Brought in from elsewhere, not made here."""
    problem = models.TextField(blank=True)
    """Why it is refused, or what it lacks."""
    restored_at = models.DateTimeField(null=True)
    restored_by_name = models.CharField(max_length=120, blank=True)
    """By name: the person's row may be another after the restoring."""
    rows = models.PositiveIntegerField(default=0)
    files = models.PositiveIntegerField(default=0)
    job = models.ForeignKey(BackgroundJob, null=True, on_delete=models.SET_NULL, related_name="archives")
    asked_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")
    asked_at = models.DateTimeField(auto_now_add=True)
    made_at = models.DateTimeField(null=True)

    class Meta:
        ordering = ["-pk"]

    def __str__(self) -> str:
        return self.name
