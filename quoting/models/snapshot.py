"""Frozen records: inserted once, never changed, never deleted. Triggers in the database see to it."""

from __future__ import annotations

from django.db import models


class Snapshot(models.Model):
    """Canonical JSON with its checksum. Every issued paper points at one.

    Personal data is not in ``body``: it stands encrypted in :class:`PersonalBlock` with its own checksum,
    and is erased by destroying its key.
    """

    class Kind(models.TextChoices):
        QUOTE = "quote", "quote"
        DESIGN = "design", "design"
        AS_BUILT = "as_built", "as built"

    kind = models.CharField(max_length=12, choices=Kind.choices)
    schema_version = models.CharField(max_length=40)
    body = models.TextField()
    sha256 = models.CharField(max_length=64, db_index=True)
    """Of ``body`` followed by the personal block's checksum."""
    made_at = models.DateTimeField(auto_now_add=True)
    made_by_id = models.IntegerField(null=True, editable=False)

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return f"{self.kind} {self.sha256[:16]}"


class PersonalBlock(models.Model):
    """Who a snapshot is about, encrypted. Insert-only like the snapshot."""

    snapshot = models.OneToOneField(Snapshot, on_delete=models.PROTECT, related_name="personal")
    ciphertext = models.TextField()
    sha256 = models.CharField(max_length=64)
    """Of the canonical JSON before encryption."""

    def __str__(self) -> str:
        return f"personal block of {self.snapshot_id}"


class PersonalKey(models.Model):
    """The key of one personal block. Deleting this row is the erasure."""

    snapshot = models.OneToOneField(Snapshot, on_delete=models.PROTECT, related_name="key")
    customer_id = models.IntegerField(db_index=True)
    secret = models.CharField(max_length=64)

    def __str__(self) -> str:
        return f"key of {self.snapshot_id}"
