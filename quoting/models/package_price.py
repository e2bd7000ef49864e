"""What a package came to when it was last priced."""

from __future__ import annotations

from django.conf import settings
from django.db import models

from fitouts.models import JobPackage


class PackagePrice(models.Model):
    """The price of a package on a stand-in vehicle, kept under what it was made from."""

    package = models.OneToOneField(JobPackage, on_delete=models.CASCADE, related_name="price")
    key = models.CharField(max_length=64)
    """sha256 of Brief, method, assemblies, prices and rates; another key now means it is no longer right."""
    result = models.JSONField()
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return f"price of {self.package}"
