"""What makes the everyday quick: words to find records by, kept filters, what was open last, bulk actions to undo.

Records are named by ``about`` (``component``, ``vehicle``, ``job`` …) and their number, because the catalogue knows
nothing of the apps above it; people by their number, for the same reason.
"""

from __future__ import annotations

from django.db import models
from django.utils.translation import gettext_lazy as _


class SearchWord(models.Model):
    """One word of one record, in small letters without accents. Only ``catalog.finding`` writes it."""

    word = models.CharField(max_length=40)
    about = models.CharField(max_length=20)
    row_id = models.BigIntegerField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["about", "row_id", "word"], name="search_word_once")]
        indexes = [
            models.Index(
                fields=["about", "word", "row_id"],
                name="search_word_in_kind",
                # PostgreSQL looks up beginnings of words only in an index that ignores the language's order.
                opclasses=["varchar_pattern_ops", "varchar_pattern_ops", "int8_ops"],
            )
        ]

    def __str__(self) -> str:
        return f"{self.word}: {self.about} {self.row_id}"


class SavedFilter(models.Model):
    """A list with its filter and order, kept by one person under a name."""

    owner_id = models.IntegerField(editable=False)
    page = models.CharField(max_length=60)
    """Name of the list's address."""
    name = models.CharField(_("name"), max_length=60)
    query = models.CharField(max_length=1000)
    """Query string as it stands behind the address, without the page number."""

    class Meta:
        ordering = ["name"]
        constraints = [
            models.UniqueConstraint(fields=["owner_id", "page", "name"], name="saved_filter_named_once"),
            models.CheckConstraint(condition=~models.Q(name=""), name="saved_filter_has_name"),
        ]

    def __str__(self) -> str:
        return self.name


class RecentItem(models.Model):
    """A record that somebody had open."""

    owner_id = models.IntegerField(editable=False)
    about = models.CharField(max_length=20)
    row_id = models.BigIntegerField()
    seen_at = models.DateTimeField()

    class Meta:
        ordering = ["-seen_at", "-pk"]
        constraints = [models.UniqueConstraint(fields=["owner_id", "about", "row_id"], name="recent_item_once")]
        indexes = [models.Index(fields=["owner_id", "-seen_at"], name="recent_item_of_owner")]

    def __str__(self) -> str:
        return f"{self.about} {self.row_id}"


class BulkAction(models.Model):
    """One deed done to many records at once, with what is needed to undo it."""

    class Deed(models.TextChoices):
        EDIT = "edit", _("changed")
        REPRICE = "reprice", _("re-priced")
        RETIRE = "retire", _("retired")
        RESTORE = "restore", _("taken back into use")
        IMPORT = "import", _("imported")

    about = models.CharField(max_length=20)
    deed = models.CharField(max_length=8, choices=Deed.choices)
    words = models.CharField(max_length=200)
    """What was done, in a sentence: "Cost of 14 components raised by 4 %"."""
    by_id = models.IntegerField(null=True, editable=False)
    at = models.DateTimeField(auto_now_add=True)
    undone_at = models.DateTimeField(null=True, editable=False)
    undone_by_id = models.IntegerField(null=True, editable=False)

    class Meta:
        ordering = ["-pk"]

    def __str__(self) -> str:
        return self.words


class BulkChange(models.Model):
    """One record of a bulk action: the fields it moved, before and after. ``before`` is null for a record it added."""

    action = models.ForeignKey(BulkAction, on_delete=models.CASCADE, related_name="changes")
    row_id = models.BigIntegerField()
    before = models.JSONField(null=True)
    after = models.JSONField()

    class Meta:
        ordering = ["pk"]
        constraints = [models.UniqueConstraint(fields=["action", "row_id"], name="bulk_change_once")]

    def __str__(self) -> str:
        return f"{self.action_id}: {self.row_id}"
