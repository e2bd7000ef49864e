"""Papers: made by a worker from a snapshot, their bytes and checksum kept."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _

from fitouts.models import Fitout
from quoting.models.background import BackgroundJob
from quoting.models.snapshot import Snapshot


class Document(models.Model):
    """One paper. Same snapshot and same renderer version give the same bytes."""

    class Kind(models.TextChoices):
        QUOTE = "quote", _("Quote")
        DIAGRAM = "diagram", _("Single-line diagram and circuit schedule")
        WIRING = "wiring", _("Wiring lists: schedule, cable, terminals, conduit")
        PLAN = "plan", _("Vehicle plan with cable runs")
        LABELS = "labels", _("Circuit labels")
        FUSE_MAP = "fuse_map", _("Fuse map")
        TEST_SHEET = "test_sheet", _("Test and settings sheet")
        HANDOVER = "handover", _("Handover sheet")

    fitout = models.ForeignKey(Fitout, on_delete=models.PROTECT, related_name="documents")
    kind = models.CharField(max_length=12, choices=Kind.choices)
    snapshot = models.ForeignKey(Snapshot, on_delete=models.PROTECT, related_name="documents")
    form = models.CharField(max_length=20, blank=True)
    """Paper or label sheet it is made for (``quoting.documents.forms``); empty: the kind's usual one."""
    title = models.CharField(max_length=120)
    job = models.ForeignKey(BackgroundJob, null=True, on_delete=models.SET_NULL, related_name="documents")
    renderer_version = models.CharField(max_length=20, blank=True)
    file = models.FileField(upload_to="papers/", blank=True)
    sha256 = models.CharField(max_length=64, blank=True)
    size = models.PositiveIntegerField(default=0)
    pages = models.PositiveSmallIntegerField(default=0)
    asked_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")
    asked_at = models.DateTimeField(auto_now_add=True)
    made_at = models.DateTimeField(null=True)

    class Meta:
        ordering = ["-pk"]
        indexes = [models.Index(fields=["fitout", "kind", "-id"])]

    def __str__(self) -> str:
        return self.title
