"""What was in the vehicle before us: parts as found, and what is wrong with them."""

from __future__ import annotations

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.utils.translation import gettext_lazy as _

from catalog.history import history
from catalog.models import Component
from fitouts.models.fitout import Fitout
from fitouts.models.installed import InstalledComponent
from fitouts.models.vehicle import Vehicle, VehiclePhoto, VehiclePosition


class FoundPart(models.Model):
    """A part of an installation that somebody else built. What nobody could read off it stays empty."""

    class Plan(models.TextChoices):
        UNDECIDED = "undecided", _("not decided")
        KEEP = "keep", _("keep")
        REPLACE = "replace", _("replace")
        REMOVE = "remove", _("take out")

    fitout = models.ForeignKey(Fitout, on_delete=models.CASCADE, related_name="found_parts")
    vehicle = models.ForeignKey(Vehicle, on_delete=models.CASCADE, related_name="found_parts")
    position = models.ForeignKey(
        VehiclePosition, null=True, blank=True, on_delete=models.SET_NULL, related_name="+", verbose_name=_("where")
    )
    component = models.ForeignKey(
        Component, null=True, blank=True, on_delete=models.PROTECT, related_name="+", verbose_name=_("in the catalogue")
    )
    """The same or an equal part of the catalogue, whose figures a design may count on; needed to keep it."""
    name = models.CharField(_("what it is"), max_length=120)
    quantity = models.PositiveSmallIntegerField(
        _("how many"), default=1, validators=[MinValueValidator(1), MaxValueValidator(100)]
    )
    role = models.CharField(_("what it is there for"), max_length=20, blank=True)
    """One of ``quoting.sizing.brief_choosing.KeptRole``; asked for only where its component could be several."""
    installed = models.ForeignKey(
        InstalledComponent, null=True, blank=True, editable=False, on_delete=models.SET_NULL, related_name="found_again"
    )
    """The same part in our own installed system, when it was taken over from there."""
    label_words = models.CharField(_("what its label says"), max_length=300, blank=True)
    serial = models.CharField(_("serial number"), max_length=80, blank=True, db_index=True)
    plan = models.CharField(_("what becomes of it"), max_length=9, choices=Plan.choices, default=Plan.UNDECIDED)
    notes = models.CharField(_("notes"), max_length=500, blank=True)
    history = history()

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(condition=~models.Q(name=""), name="found_part_named"),
            models.CheckConstraint(condition=models.Q(quantity__gte=1, quantity__lte=100), name="found_part_1_to_100"),
        ]

    def __str__(self) -> str:
        return self.name


class Defect(models.Model):
    """Something wrong in a vehicle as it came, found for one job, and what was done about it."""

    class Level(models.TextChoices):
        DANGER = "danger", _("danger")
        WARNING = "warning", _("warning")
        INFO = "info", _("note")

    fitout = models.ForeignKey(Fitout, on_delete=models.CASCADE, related_name="defects")
    part = models.ForeignKey(
        FoundPart, null=True, blank=True, on_delete=models.SET_NULL, related_name="defects", verbose_name=_("part")
    )
    position = models.ForeignKey(
        VehiclePosition, null=True, blank=True, on_delete=models.SET_NULL, related_name="+", verbose_name=_("where")
    )
    photo = models.ForeignKey(
        VehiclePhoto, null=True, blank=True, on_delete=models.SET_NULL, related_name="+", verbose_name=_("photo")
    )
    level = models.CharField(_("how bad"), max_length=8, choices=Level.choices, default=Level.WARNING)
    words = models.CharField(_("what is wrong"), max_length=300)
    measured = models.CharField(_("measured"), max_length=120, blank=True)
    remedy = models.CharField(_("what to do"), max_length=300, blank=True)
    found_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")
    found_at = models.DateTimeField(auto_now_add=True)
    mended_at = models.DateTimeField(null=True, editable=False)
    mended_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, editable=False, on_delete=models.SET_NULL, related_name="+"
    )
    mended_words = models.CharField(_("what was done"), max_length=300, blank=True)
    left_because = models.CharField(_("left as it is, because"), max_length=300, blank=True)
    """Why a defect was not mended; a danger that is left is on every paper."""
    history = history()

    class Meta:
        ordering = ["pk"]
        constraints = [models.CheckConstraint(condition=~models.Q(words=""), name="defect_has_words")]

    def __str__(self) -> str:
        return self.words
