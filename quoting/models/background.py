"""One row for every piece of background work. The row is the truth; a message only says "look"."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _


class BackgroundJob(models.Model):
    """Work for a worker: claimed by a conditional UPDATE, held under a lease, swept when a worker dies."""

    class State(models.TextChoices):
        QUEUED = "queued", _("Queued")
        RUNNING = "running", _("Running")
        DONE = "done", _("Done")
        FAILED = "failed", _("Failed")

    class Queue(models.TextChoices):
        DOCUMENTS = "documents", "documents"
        HEAVY = "heavy", "heavy"

    kind = models.CharField(max_length=40)
    queue = models.CharField(max_length=10, choices=Queue.choices, default=Queue.DOCUMENTS)
    state = models.CharField(max_length=8, choices=State.choices, default=State.QUEUED)
    payload = models.JSONField(default=dict)
    """Ids only."""
    attempts = models.PositiveSmallIntegerField(default=0)
    lease_until = models.DateTimeField(null=True)
    claimed_by = models.CharField(max_length=80, blank=True)
    progress = models.PositiveIntegerField(default=0)
    progress_of = models.PositiveIntegerField(default=0)
    cancel_asked = models.BooleanField(default=False)
    reason = models.TextField(blank=True)
    """Why it failed, in a sentence a person can act on."""
    queued_at = models.DateTimeField(auto_now_add=True)
    sent_at = models.DateTimeField(null=True)
    started_at = models.DateTimeField(null=True)
    ended_at = models.DateTimeField(null=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")

    class Meta:
        ordering = ["pk"]
        indexes = [models.Index(fields=["state", "lease_until"])]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(state__in=["queued", "running", "done", "failed"]), name="job_state_known"
            )
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.pk} {self.state}"
