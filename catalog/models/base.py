"""What every record of the catalogue shares: it is retired, never deleted."""

from __future__ import annotations

from typing import Any, Self

from django.db import models
from django.utils.translation import gettext_lazy as _


class CatalogueQuerySet(models.QuerySet[Any]):
    def visible_to(self, user: Any) -> Self:
        """Everybody of the workshop reads the catalogue; nobody else does."""
        return self if getattr(user, "is_authenticated", False) and user.is_active else self.none()

    def in_use(self) -> Self:
        return self.filter(retired_at=None)


class Retirable(models.Model):
    """A record that old jobs may point at for ever."""

    notes = models.TextField(_("notes"), blank=True, max_length=2000)
    retired_at = models.DateTimeField(_("retired"), null=True, blank=True, editable=False)

    objects = CatalogueQuerySet.as_manager()

    class Meta:
        abstract = True

    @property
    def is_retired(self) -> bool:
        return self.retired_at is not None
