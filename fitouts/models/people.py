"""Who works here."""

from __future__ import annotations

from django.contrib.auth.models import AbstractUser
from django.db import models
from django.utils.translation import gettext_lazy as _


class User(AbstractUser):
    """Somebody of the workshop. What they may do follows from the role alone."""

    class Role(models.TextChoices):
        MANAGER = "manager", _("manager")
        ESTIMATOR = "estimator", _("estimator")
        TECHNICIAN = "technician", _("technician")

    role = models.CharField(_("role"), max_length=12, choices=Role.choices, default=Role.TECHNICIAN)
    display_name = models.CharField(_("name"), max_length=80, blank=True)
    licence_no = models.CharField(_("electrical licence no."), max_length=40, blank=True)

    class Meta:
        ordering = ["display_name", "username"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(role__in=["manager", "estimator", "technician"]), name="user_role_known"
            )
        ]

    def __str__(self) -> str:
        return self.display_name or self.username

    @property
    def sees_money(self) -> bool:
        return self.role in {self.Role.MANAGER, self.Role.ESTIMATOR}
