"""Whose vehicles they are."""

from __future__ import annotations

from django.db import models
from django.utils.translation import gettext_lazy as _

from catalog.history import history


class Customer(models.Model):
    """A person or an organisation. Retired, never deleted."""

    class Kind(models.TextChoices):
        PERSON = "person", _("person")
        ORGANISATION = "organisation", _("organisation")

    kind = models.CharField(_("kind"), max_length=12, choices=Kind.choices, default=Kind.PERSON)
    name = models.CharField(_("name"), max_length=120)
    address = models.TextField(_("address"), blank=True, max_length=300)
    phone = models.CharField(_("phone"), max_length=40, blank=True)
    email = models.EmailField(_("e-mail"), blank=True)
    business_no = models.CharField(_("business number"), max_length=40, blank=True)
    notes = models.TextField(_("notes"), blank=True, max_length=4000)
    retired_at = models.DateTimeField(null=True, blank=True)
    erased_at = models.DateTimeField(null=True, editable=False)
    """Since when nothing personal is kept of them any more."""
    created_at = models.DateTimeField(auto_now_add=True)
    history = history()

    class Meta:
        ordering = ["name", "pk"]
        indexes = [
            models.Index(fields=["name", "id"], name="customer_by_name"),
            models.Index(fields=["kind", "name", "id"], condition=models.Q(retired_at=None), name="customer_of_kind"),
        ]
        constraints = [models.CheckConstraint(condition=~models.Q(name=""), name="customer_named")]

    def __str__(self) -> str:
        return self.name


class Contact(models.Model):
    """Somebody to talk to at an organisation, or beside a person."""

    customer = models.ForeignKey(Customer, on_delete=models.CASCADE, related_name="contacts")
    name = models.CharField(_("name"), max_length=120)
    job_title = models.CharField(_("what they do"), max_length=80, blank=True)
    phone = models.CharField(_("phone"), max_length=40, blank=True)
    email = models.EmailField(_("e-mail"), blank=True)
    history = history()

    class Meta:
        ordering = ["name", "pk"]

    def __str__(self) -> str:
        return self.name
