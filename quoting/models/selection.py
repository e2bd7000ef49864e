"""Three offers worked out for a job, each system in them that was proved, and the parts a job is held to."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from typing import Any, ClassVar

from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _

from catalog.history import history
from catalog.models import Component
from catalog.money_field import MoneyField
from fitouts.models import Fitout
from quoting.models.background import BackgroundJob


class OfferName(models.TextChoices):
    """The three offers of a quote."""

    LEAN = "lean", _("Lean")
    STEADY = "steady", _("Steady")
    ROOMY = "roomy", _("Roomy")


class Selection(models.Model):
    """What choosing the components came to at one moment. Made in the background; never edited once it is made."""

    fitout = models.ForeignKey(Fitout, on_delete=models.CASCADE, related_name="selections")
    number = models.PositiveIntegerField()
    job = models.ForeignKey(BackgroundJob, null=True, on_delete=models.SET_NULL, related_name="+")
    key = models.CharField(max_length=64)
    """sha256 of Brief without picks and room, method, wishes of the choice and prices."""
    method_version = models.CharField(max_length=20)
    steer = models.JSONField(default=dict)
    market = models.JSONField(default=dict)
    """Prices, stock and labour that it went by."""
    brief = models.JSONField(null=True)
    """The Brief without picks and room; ``None`` until it is made."""
    result = models.JSONField(null=True)
    """``quoting.sizing.selecting.records.Selection``; ``None`` until it is made."""
    took_ms = models.PositiveIntegerField(default=0)
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")
    asked_at = models.DateTimeField(auto_now_add=True)
    made_at = models.DateTimeField(null=True)

    class Meta:
        ordering = ["-number"]
        constraints = [models.UniqueConstraint(fields=["fitout", "number"], name="selection_numbered_once")]

    def __str__(self) -> str:
        return f"selection {self.number} of {self.fitout_id}"


class Proposal(models.Model):
    """One system of a selection, worked through circuits and simulation. Added, never edited."""

    selection = models.ForeignKey(Selection, on_delete=models.CASCADE, related_name="proposals")
    offer = models.CharField(max_length=6, choices=OfferName.choices)
    number = models.PositiveIntegerField(default=0)
    """0 for what the programme chose; each swap by hand adds the next."""
    room = models.JSONField()
    picks = models.JSONField()
    facts = models.JSONField()
    appraisal = models.JSONField()
    key = models.CharField(max_length=64, db_index=True)
    """sha256 of its Brief, picks and room in it: the key of the Design it may become."""
    swapped = models.CharField(max_length=300, blank=True)
    """What a person changed, in words; empty for the programme's own."""
    swapped_from = models.ForeignKey("self", null=True, on_delete=models.SET_NULL, related_name="+")
    net = MoneyField(default=Decimal(0))
    total = MoneyField(default=Decimal(0))
    """What the customer would pay, without and with tax, by the prices of that moment."""
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")
    made_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["selection", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["selection", "offer", "number"], name="proposal_numbered_once"),
        ]

    def __str__(self) -> str:
        return f"{self.get_offer_display()} of {self.selection}"


def _picked(picks: Any) -> str:
    """Parts by name with their number, in the order of their roles."""
    keys = [pick["part"] for pick in picks or []]
    names = {str(pk): name for pk, name in Component.objects.filter(pk__in=keys).values_list("pk", "name")}
    return "; ".join(f"{pick.get('quantity', 1)} × {names.get(pick['part'], pick['part'])}" for pick in picks or [])


class JobPicks(models.Model):
    """The parts that a job is held to, and the room of the offer they came from. Without a row it chooses freely."""

    fitout = models.OneToOneField(Fitout, on_delete=models.CASCADE, related_name="held_to")
    offer = models.CharField(max_length=6, choices=OfferName.choices)
    room = models.JSONField()
    picks = models.JSONField()
    proposal = models.ForeignKey(Proposal, null=True, on_delete=models.SET_NULL, related_name="+")
    taken_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")
    taken_at = models.DateTimeField(auto_now=True)
    history = history()
    says: ClassVar[dict[str, Callable[[Any], str]]] = {"picks": _picked}
    """How a history tells values that mean nothing as they are stored."""

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return f"{self.get_offer_display()} of {self.fitout_id}"
