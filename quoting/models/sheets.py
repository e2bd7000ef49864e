"""A table of records that somebody brought in: its file, how its columns are read, and what came of it."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _

from quoting.models.background import BackgroundJob


class SheetImport(models.Model):
    """One uploaded table on its way in: mapped, checked, shown, and saved whole or not at all."""

    class State(models.TextChoices):
        MAPPING = "mapping", _("columns to be matched")
        CHECKING = "checking", _("being checked")
        CHECKED = "checked", _("checked")
        SAVING = "saving", _("being saved")
        SAVED = "saved", _("saved")
        DROPPED = "dropped", _("dropped")

    sheet = models.CharField(max_length=60)
    """Code of the sheet type in ``catalog.sheets``."""
    state = models.CharField(max_length=8, choices=State.choices, default=State.MAPPING)
    file = models.FileField(upload_to="imports/")
    file_name = models.CharField(max_length=200)
    sha256 = models.CharField(max_length=64)
    size = models.PositiveBigIntegerField(default=0)
    reading = models.JSONField(default=dict)
    """How the file is read: format, encoding, delimiter, decimal sign, name of the sheet."""
    columns = models.JSONField(default=list)
    """Heads of the file's columns, as they stand in it."""
    mapping = models.JSONField(default=dict)
    """Number of a column of the file, as text, to the name of a column of the sheet type."""
    counts = models.JSONField(default=dict)
    """``added``, ``changed``, ``same``, ``wrong``: rows."""
    plan = models.FileField(upload_to="imports/", blank=True)
    """What was found in the check, row by row."""
    job = models.ForeignKey(BackgroundJob, null=True, on_delete=models.SET_NULL, related_name="sheet_imports")
    action_id = models.BigIntegerField(null=True, editable=False)
    """The bulk action by which it can be undone."""
    asked_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")
    asked_at = models.DateTimeField(auto_now_add=True)
    saved_at = models.DateTimeField(null=True)

    class Meta:
        ordering = ["-pk"]

    def __str__(self) -> str:
        return self.file_name


class SheetMapping(models.Model):
    """How the columns of a table with these heads were matched the last time."""

    sheet = models.CharField(max_length=60)
    heads_sha256 = models.CharField(max_length=64)
    mapping = models.JSONField()
    reading = models.JSONField(default=dict)
    used_at = models.DateTimeField(auto_now=True)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["sheet", "heads_sha256"], name="sheet_mapping_once")]

    def __str__(self) -> str:
        return f"{self.sheet} {self.heads_sha256[:8]}"
