"""Quote, its lettered revisions, their offers and lines."""

from __future__ import annotations

from decimal import Decimal

from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _

from catalog.models import Component
from catalog.money_field import MoneyField
from fitouts.models import Fitout
from quoting.models.design import Design
from quoting.models.selection import OfferName, Proposal
from quoting.models.snapshot import Snapshot


class Quote(models.Model):
    """One quote per job; what changes is its revision."""

    fitout = models.OneToOneField(Fitout, on_delete=models.PROTECT, related_name="quote")
    number = models.CharField(max_length=12, unique=True)
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["-pk"]

    def __str__(self) -> str:
        return self.number


class Revision(models.Model):
    """A draft until it is issued; then only its state moves, and its snapshot never."""

    class State(models.TextChoices):
        DRAFT = "draft", _("draft")
        ISSUED = "issued", _("issued")
        ACCEPTED = "accepted", _("accepted")
        REPLACED = "replaced", _("replaced")
        WITHDRAWN = "withdrawn", _("withdrawn")

    quote = models.ForeignKey(Quote, on_delete=models.PROTECT, related_name="revisions")
    letter = models.CharField(max_length=2)
    state = models.CharField(max_length=10, choices=State.choices, default=State.DRAFT)
    design = models.ForeignKey(Design, null=True, on_delete=models.PROTECT, related_name="revisions")
    """Empty for a fault job, which is mended and not designed."""
    snapshot = models.ForeignKey(Snapshot, null=True, on_delete=models.PROTECT, related_name="revisions")
    discount_ratio = models.DecimalField(_("discount"), max_digits=5, decimal_places=4, default=Decimal(0))
    note = models.TextField(_("note to the customer"), blank=True, max_length=2000)
    valid_until = models.DateField(_("good until"), null=True)
    days_off_road = models.PositiveSmallIntegerField(_("days off the road"), default=2)
    assemblies = models.JSONField(default=list, editable=False)
    """As it was priced: pairs of an assembly version's key and how many the job takes."""
    issued_at = models.DateTimeField(null=True)
    issued_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")
    accepted_at = models.DateTimeField(null=True)
    accepted_offer = models.ForeignKey("Offer", null=True, blank=True, on_delete=models.SET_NULL, related_name="+")
    """Which of its offers was taken; empty where there is only one."""
    accepted_design = models.ForeignKey(Design, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    """The design of the offer that was taken, where it is not the one that led; what was issued stays as it is."""
    accepted_by = models.CharField(_("accepted by"), max_length=120, blank=True)
    acceptance_note = models.CharField(_("how"), max_length=300, blank=True)
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["quote", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["quote", "letter"], name="revision_lettered_once"),
            models.UniqueConstraint(fields=["quote"], condition=models.Q(state="draft"), name="one_draft_revision"),
            models.CheckConstraint(
                condition=models.Q(state="draft") | models.Q(snapshot__isnull=False), name="issued_has_snapshot"
            ),
            models.CheckConstraint(
                condition=models.Q(discount_ratio__gte=0, discount_ratio__lte=1), name="discount_0_to_1"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.quote} revision {self.letter}"

    @property
    def built_design(self) -> Design | None:
        """What is built: the design of the offer that was taken."""
        return self.accepted_design or self.design


class Offer(models.Model):
    """A priced way of doing the job, with its totals."""

    Name = OfferName

    revision = models.ForeignKey(Revision, on_delete=models.CASCADE, related_name="offers")
    name = models.CharField(max_length=6, choices=OfferName.choices, default=OfferName.STEADY)
    proposal = models.ForeignKey(Proposal, null=True, blank=True, on_delete=models.PROTECT, related_name="offers")
    """The system it prices; empty: the revision's own design."""
    parts = MoneyField(default=Decimal(0))
    labour = MoneyField(default=Decimal(0))
    sundries = MoneyField(default=Decimal(0))
    discount = MoneyField(default=Decimal(0))
    net = MoneyField(default=Decimal(0))
    tax = MoneyField(default=Decimal(0))
    tax_name = models.CharField(max_length=40, blank=True)
    tax_ratio = models.DecimalField(max_digits=6, decimal_places=5, default=Decimal(0))
    rounding = MoneyField(default=Decimal(0))
    total = MoneyField(default=Decimal(0))
    deposit = MoneyField(default=Decimal(0))
    cost = MoneyField(default=Decimal(0))

    class Meta:
        ordering = ["pk"]
        constraints = [models.UniqueConstraint(fields=["revision", "name"], name="offer_once")]

    def __str__(self) -> str:
        return f"{self.revision} {self.name}"


class Line(models.Model):
    """One line of an offer."""

    offer = models.ForeignKey(Offer, on_delete=models.CASCADE, related_name="lines")
    place = models.PositiveIntegerField()
    group = models.CharField(max_length=20)
    component = models.ForeignKey(Component, null=True, on_delete=models.PROTECT, related_name="+")
    labour_code = models.CharField(max_length=40, blank=True)
    name = models.CharField(max_length=200)
    quantity = models.DecimalField(max_digits=10, decimal_places=3)
    unit = models.CharField(max_length=8)
    unit_price = MoneyField()
    amount = MoneyField()
    unit_cost = MoneyField(default=Decimal(0))
    mass_kg = models.FloatField(default=0)
    rule = models.CharField(max_length=40, blank=True)
    by_hand = models.BooleanField(default=False)

    class Meta:
        ordering = ["place", "pk"]

    def __str__(self) -> str:
        return self.name
