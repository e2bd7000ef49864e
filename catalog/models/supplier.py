"""Who sells parts to the workshop."""

from __future__ import annotations

from django.db import models
from django.utils.translation import gettext_lazy as _

from catalog.history import history
from catalog.models.base import Retirable


class Supplier(Retirable):
    name = models.CharField(_("name"), max_length=120, unique=True)
    contact = models.CharField(_("contact"), max_length=120, blank=True)
    email = models.EmailField(_("e-mail"), blank=True)
    phone = models.CharField(_("phone"), max_length=40, blank=True)
    account_no = models.CharField(_("our account number"), max_length=60, blank=True)
    closes_at = models.TimeField(_("takes orders until"), null=True, blank=True)
    history = history()

    class Meta:
        ordering = ["name"]
        constraints = [models.CheckConstraint(condition=~models.Q(name=""), name="supplier_has_name")]

    def __str__(self) -> str:
        return self.name
