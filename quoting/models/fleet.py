"""One brief for many vehicles: a design and a quote for each, made in the background."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _

from fitouts.models import Fitout, JobPackage, Vehicle
from quoting.models.background import BackgroundJob
from quoting.models.design import Design
from quoting.models.quote import Revision
from quoting.models.selection import OfferName


class FleetRun(models.Model):
    """Vehicles to be sized alike: by the brief of a job, or by a package."""

    class Parts(models.TextChoices):
        """Where the components of each vehicle come from."""

        SAME = "same", _("The parts of the job it begins from")
        CHOSEN = "chosen", _("Chosen anew for each vehicle")
        FREE = "free", _("As “Work out” takes them, need by need")

    name = models.CharField(_("name"), max_length=120)
    source = models.ForeignKey(Fitout, null=True, blank=True, on_delete=models.PROTECT, related_name="fleet_runs")
    package = models.ForeignKey(JobPackage, null=True, blank=True, on_delete=models.PROTECT, related_name="fleet_runs")
    parts = models.CharField(_("parts"), max_length=6, choices=Parts.choices, default=Parts.FREE)
    offer = models.CharField(_("offer"), max_length=6, choices=OfferName.choices, default=OfferName.STEADY)
    """What is asked over the bare need, where the parts are chosen."""
    content = models.JSONField(default=dict)
    """What every vehicle gets, as it was when the run began: ``fitouts.services.fitouts.contents``, and under ``held``
    the offer, room and picks of the parts that are the same in all."""
    job = models.ForeignKey(BackgroundJob, null=True, on_delete=models.SET_NULL, related_name="+")
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")
    made_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["-pk"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(source=None, package__isnull=False) | models.Q(source__isnull=False, package=None),
                name="fleet_run_has_one_brief",
            ),
            models.CheckConstraint(condition=~models.Q(name=""), name="fleet_run_named"),
        ]

    def __str__(self) -> str:
        return self.name


class FleetItem(models.Model):
    """One vehicle of a fleet run and what became of it. A run that was stopped goes on with what still waits."""

    class State(models.TextChoices):
        WAITING = "waiting", _("Waiting")
        DONE = "done", _("Done")
        FAILED = "failed", _("Failed")

    run = models.ForeignKey(FleetRun, on_delete=models.CASCADE, related_name="items")
    vehicle = models.ForeignKey(Vehicle, on_delete=models.PROTECT, related_name="+")
    place = models.PositiveIntegerField(default=0)
    state = models.CharField(max_length=7, choices=State.choices, default=State.WAITING)
    reason = models.TextField(blank=True)
    """Why it failed, in a sentence a person can act on."""
    fitout = models.ForeignKey(Fitout, null=True, on_delete=models.SET_NULL, related_name="+")
    design = models.ForeignKey(Design, null=True, on_delete=models.SET_NULL, related_name="+")
    revision = models.ForeignKey(Revision, null=True, on_delete=models.SET_NULL, related_name="+")
    tries = models.PositiveSmallIntegerField(default=0)
    """How often the work on it was begun and not ended: a vehicle that ends its worker must not end every one."""
    facts = models.JSONField(default=dict)
    """What its design came to, without money (``quoting.services.fleet_facts``)."""
    ended_at = models.DateTimeField(null=True)

    class Meta:
        ordering = ["run", "place", "pk"]
        constraints = [models.UniqueConstraint(fields=["run", "vehicle"], name="fleet_vehicle_once")]

    def __str__(self) -> str:
        return f"{self.vehicle} in {self.run_id}"
