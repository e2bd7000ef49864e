"""The job and its stages."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, ClassVar

from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _

from catalog.history import history
from catalog.models import Supplier
from catalog.money_field import MoneyField
from fitouts.models.customer import Customer
from fitouts.models.vehicle import Vehicle, VehiclePosition


class Stage(models.TextChoices):
    """Where a job stands."""

    ENQUIRY = "enquiry", _("Enquiry")
    SURVEYED = "surveyed", _("Surveyed")
    QUOTED = "quoted", _("Quoted")
    ACCEPTED = "accepted", _("Accepted")
    BOOKED = "booked", _("Booked")
    IN_BUILD = "in_build", _("In build")
    TESTED = "tested", _("Tested")
    DELIVERED = "delivered", _("Delivered")
    CLOSED = "closed", _("Closed")
    ON_HOLD = "on_hold", _("On hold")
    CANCELLED = "cancelled", _("Cancelled")
    LOST = "lost", _("Lost")


COURSE = (
    Stage.ENQUIRY,
    Stage.SURVEYED,
    Stage.QUOTED,
    Stage.ACCEPTED,
    Stage.BOOKED,
    Stage.IN_BUILD,
    Stage.TESTED,
    Stage.DELIVERED,
    Stage.CLOSED,
)


def _suppliers(keys: Any) -> str:
    """Names of suppliers in the order of their keys."""
    names = dict(Supplier.objects.filter(pk__in=keys or []).values_list("pk", "name"))
    return ", ".join(names.get(key, f"#{key}") for key in keys or []) or str(_("nothing"))


class Fitout(models.Model):
    """A job: auxiliary power for one vehicle, from enquiry to years after delivery."""

    class Kind(models.TextChoices):
        NEW = "new", _("New system")
        UPGRADE = "upgrade", _("Upgrade")
        FAULT = "fault", _("Fault")

    number = models.CharField(_("number"), max_length=12, unique=True)
    title = models.CharField(_("title"), max_length=120)
    kind = models.CharField(_("kind"), max_length=8, choices=Kind.choices, default=Kind.NEW)
    customer = models.ForeignKey(Customer, on_delete=models.PROTECT, related_name="fitouts")
    vehicle = models.ForeignKey(Vehicle, on_delete=models.PROTECT, related_name="fitouts")
    trailer = models.ForeignKey(
        Vehicle,
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="towed_fitouts",
        verbose_name=_("trailer"),
    )
    """A trailer that makes one system with ``vehicle``; the two have a ``Hitch``."""
    stage = models.CharField(_("stage"), max_length=10, choices=Stage.choices, default=Stage.ENQUIRY)
    held_from = models.CharField(max_length=10, blank=True)
    """The stage to go back to from On hold."""
    enquiry = models.TextField(_("what they asked for"), blank=True, max_length=4000)
    assigned_to = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL, related_name="fitouts"
    )
    booked_from = models.DateField(_("in the bay from"), null=True, blank=True)
    booked_to = models.DateField(_("in the bay to"), null=True, blank=True)

    system_v = models.PositiveSmallIntegerField(_("house bus"), choices=[(12, "12 V"), (24, "24 V")], default=12)
    autonomy_days = models.FloatField(_("days of autonomy"), default=1.5)
    chemistries = models.JSONField(_("battery chemistries"), default=list)
    engine_charging = models.BooleanField(_("charges while driving"), default=True)
    mains_charging = models.BooleanField(_("charges from mains"), default=True)
    solar_charging = models.BooleanField(_("charges from the sun"), default=True)
    solar_share_ratio = models.FloatField(_("share of the day from the sun"), default=0.5)
    panel_tilt_deg = models.FloatField(_("tilt of the panels"), default=0.0)
    panel_azimuth_deg = models.FloatField(_("panels face, clockwise from north"), null=True, blank=True)
    """Towards the equator when empty."""
    shore_inlet = models.BooleanField(_("shore inlet"), default=True)
    pinned = models.JSONField(default=list, blank=True)
    banned = models.JSONField(default=list, blank=True)
    budget = MoneyField(_("budget, tax included"), null=True, blank=True)
    prefer_stock = models.BooleanField(_("prefer what is on the shelf"), default=False)
    most_lead_days = models.PositiveSmallIntegerField(_("longest lead time, in days"), null=True, blank=True)
    most_mass_kg = models.FloatField(_("most that it may weigh, in kg"), null=True, blank=True)
    """Empty: the payload that the vehicle has left."""
    suppliers_wanted = models.JSONField(_("suppliers preferred"), default=list, blank=True)
    suppliers_banned = models.JSONField(_("suppliers ruled out"), default=list, blank=True)
    """Keys of suppliers."""
    travellers = models.CharField(_("who travels"), max_length=80, blank=True)
    reused = models.TextField(_("parts reused or supplied by the customer"), blank=True, max_length=1000)

    created_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")
    created_at = models.DateTimeField(auto_now_add=True)
    changed_at = models.DateTimeField(auto_now=True)
    history = history()
    says: ClassVar[dict[str, Callable[[Any], str]]] = {
        "suppliers_wanted": _suppliers,
        "suppliers_banned": _suppliers,
    }
    """How a history tells values that mean nothing as they are stored."""

    class Meta:
        ordering = ["-pk"]
        indexes = [
            models.Index(fields=["stage", "-id"]),
            models.Index(fields=["title", "id"], name="fitout_by_title"),
        ]
        constraints = [
            models.CheckConstraint(condition=models.Q(stage__in=Stage.values), name="fitout_stage_known"),
            models.CheckConstraint(
                condition=models.Q(autonomy_days__gte=0.1, autonomy_days__lte=30), name="autonomy_0_1_to_30_days"
            ),
            models.CheckConstraint(condition=models.Q(budget=None) | models.Q(budget__gt=0), name="budget_above_0"),
            models.CheckConstraint(
                condition=models.Q(most_lead_days=None) | models.Q(most_lead_days__lte=720),
                name="lead_at_most_720_days",
            ),
            models.CheckConstraint(
                condition=models.Q(most_mass_kg=None) | models.Q(most_mass_kg__gte=0, most_mass_kg__lte=20000),
                name="most_mass_0_to_20000_kg",
            ),
            models.CheckConstraint(
                condition=models.Q(panel_tilt_deg__gte=0, panel_tilt_deg__lte=60), name="panel_tilt_0_to_60_deg"
            ),
            models.CheckConstraint(
                condition=models.Q(panel_azimuth_deg=None)
                | models.Q(panel_azimuth_deg__gte=0, panel_azimuth_deg__lte=360),
                name="panel_azimuth_0_to_360_deg",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.number} {self.title}"


class Placement(models.Model):
    """What sits where, for one job."""

    fitout = models.ForeignKey(Fitout, on_delete=models.CASCADE, related_name="placements")
    role = models.CharField(_("what"), max_length=10)
    """One of ``quoting.sizing.brief.ROLES``."""
    position = models.ForeignKey(VehiclePosition, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["pk"]
        constraints = [models.UniqueConstraint(fields=["fitout", "role"], name="role_placed_once")]

    def __str__(self) -> str:
        return f"{self.role}: {self.position}"


class StageEvent(models.Model):
    """A step of a job from stage to stage: who, when, why. Never changed."""

    fitout = models.ForeignKey(Fitout, on_delete=models.CASCADE, related_name="events")
    from_stage = models.CharField(max_length=10, blank=True)
    to_stage = models.CharField(max_length=10, choices=Stage.choices)
    reason = models.CharField(_("reason"), max_length=300, blank=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")
    at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return f"{self.from_stage} → {self.to_stage}"
