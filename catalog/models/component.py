"""Components that the workshop can get, and how their cost moved."""

from __future__ import annotations

from decimal import Decimal

from django.db import models
from django.utils.translation import gettext_lazy as _

from catalog import kinds
from catalog.history import history
from catalog.models.base import Retirable
from catalog.models.supplier import Supplier
from catalog.money_field import MoneyField

IN_USE = models.Q(retired_at=None)


class Component(Retirable):
    """A part. ``specification`` is described and checked by its kind; only ``catalog.services`` writes it."""

    kind = models.CharField(_("kind"), max_length=40, db_index=True, editable=False)
    kind_version = models.PositiveSmallIntegerField(editable=False)
    name = models.CharField(_("name"), max_length=120)
    maker = models.CharField(_("maker"), max_length=80, blank=True)
    part_number = models.CharField(_("part number"), max_length=80, blank=True)
    specification = models.JSONField(_("specification"), default=dict)
    rating = models.CharField(_("rating"), max_length=240, blank=True, editable=False)
    """The one-line rating as plain text, kept so that it can be searched."""
    sort_key = models.CharField(max_length=200, blank=True, db_index=True, editable=False)
    """The name with its numbers padded, so that 2 A stands before 10 A."""
    cost = MoneyField(_("cost"), help_text=_("What the workshop pays, without tax; by the metre for cable."))
    sell_price = MoneyField(
        _("own selling price"), null=True, blank=True, help_text=_("Without tax. Empty: cost and markup make it.")
    )
    mass_kg = models.FloatField(_("mass"), default=0.0)
    supplier = models.ForeignKey(
        Supplier, null=True, blank=True, on_delete=models.PROTECT, related_name="components", verbose_name=_("supplier")
    )
    stock = models.PositiveIntegerField(_("on the shelf"), default=0)
    lead_days = models.PositiveSmallIntegerField(_("lead time"), default=0)
    history = history()

    class Meta:
        ordering = ["sort_key", "name", "pk"]
        indexes = [
            # what lists are ordered and narrowed by, retired rows left out; see tests/bench/test_lists.py
            models.Index(fields=["sort_key", "id"], condition=IN_USE, name="component_by_name"),
            models.Index(fields=["kind", "sort_key", "id"], condition=IN_USE, name="component_of_kind"),
            models.Index(fields=["supplier", "sort_key", "id"], condition=IN_USE, name="component_from_supplier"),
            models.Index(fields=["cost", "id"], condition=IN_USE, name="component_by_cost"),
            models.Index(fields=["mass_kg", "id"], condition=IN_USE, name="component_by_mass"),
            models.Index(fields=["stock", "id"], condition=IN_USE, name="component_by_stock"),
            models.Index(fields=["lead_days", "id"], condition=IN_USE, name="component_by_lead"),
            models.Index(
                fields=["sort_key", "id"], condition=IN_USE & models.Q(stock__gt=0), name="component_on_shelf"
            ),
        ]
        constraints = [
            models.CheckConstraint(condition=~models.Q(name=""), name="component_has_name"),
            models.CheckConstraint(condition=~models.Q(kind=""), name="component_has_kind"),
            models.CheckConstraint(condition=models.Q(cost__gte=Decimal(0)), name="component_cost_not_negative"),
            models.CheckConstraint(
                condition=models.Q(sell_price=None) | models.Q(sell_price__gte=Decimal(0)),
                name="component_sell_price_not_negative",
            ),
            models.CheckConstraint(
                condition=models.Q(mass_kg__gte=0, mass_kg__lte=2000), name="component_mass_0_to_2000_kg"
            ),
            models.CheckConstraint(condition=models.Q(lead_days__lte=720), name="component_lead_at_most_720_days"),
            models.UniqueConstraint(
                fields=["maker", "part_number"],
                condition=~models.Q(part_number=""),
                name="component_part_number_once",
                violation_error_message=_("This maker's part number is in the catalogue already."),
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def declaration(self) -> kinds.Kind:
        return kinds.get(self.kind)


class PriceChange(models.Model):
    """One step in the cost of a component; added, never changed."""

    component = models.ForeignKey(Component, on_delete=models.CASCADE, related_name="price_changes")
    cost = MoneyField(_("cost"))
    supplier_name = models.CharField(_("supplier"), max_length=120, blank=True)
    changed_at = models.DateTimeField(_("from"), auto_now_add=True)
    changed_by_id = models.IntegerField(null=True, editable=False)
    """Number of the person; the catalogue knows no people."""

    class Meta:
        ordering = ["-changed_at", "-pk"]
        constraints = [
            models.CheckConstraint(condition=models.Q(cost__gte=Decimal(0)), name="price_change_not_negative")
        ]

    def __str__(self) -> str:
        return f"{self.component_id}: {self.cost}"
