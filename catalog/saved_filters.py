"""Lists kept under a name: a filter and an order, for the person who kept them."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.db.models import QuerySet
from django.http import QueryDict
from django.urls import NoReverseMatch, reverse
from django.utils.translation import gettext as _

from catalog.models import SavedFilter

MOST = 30
"""Kept filters of one person for one list."""
LONGEST = 1000
NOT_KEPT = frozenset({"page", "pick", "per_page", "csrfmiddlewaretoken"})
ORDER = "sort"


def present_query(entries: QueryDict) -> str:
    """What stands behind a list's address, without page number and empty entries, always in the same order."""
    kept = QueryDict(mutable=True)
    for name in sorted(entries):
        values = [value.replace("\0", "").strip() for value in entries.getlist(name)]
        if name not in NOT_KEPT and any(values):
            kept.setlist(name, [value for value in values if value])
    return kept.urlencode()


def kept_for(user: Any, page: str) -> QuerySet[SavedFilter]:
    return SavedFilter.objects.filter(owner_id=user.pk, page=page)


def of(user: Any) -> QuerySet[SavedFilter]:
    """All of this person's own; nobody sees another's."""
    return SavedFilter.objects.filter(owner_id=user.pk)


def unknown_names(saved: SavedFilter, known: Iterable[str]) -> list[str]:
    """Entries of a kept filter that its list no longer has."""
    there = {ORDER, *known}
    return [name for name in QueryDict(saved.query) if name not in there]


def address_of(page: str, query: str) -> str:
    """Where a list is with this filter. Raises ``ValidationError`` for a page that is no list."""
    try:
        return reverse(page) + (f"?{query}" if query else "")
    except NoReverseMatch:
        raise ValidationError(_("There is no such list any more.")) from None


def keep(*, user: Any, page: str, name: str, query: str) -> SavedFilter:
    """Keep a filter under a name. Raises ``ValidationError`` with the sentence why not."""
    address_of(page, "")
    query = present_query(QueryDict(query))
    if not query:
        raise ValidationError(_("Nothing is filtered or ordered here, so there is nothing to keep."))
    if len(query) > LONGEST:
        words = _("This filter has %(length)d characters; at most %(most)d can be kept.")
        raise ValidationError(words % {"length": len(query), "most": LONGEST})
    if kept_for(user, page).count() >= MOST:
        raise ValidationError(_("You keep %(most)d filters for this list. Remove one first.") % {"most": MOST})
    return _save(SavedFilter(owner_id=user.pk, page=page, query=query), name)


def rename(saved: SavedFilter, name: str) -> SavedFilter:
    """Give it another name. Raises ``ValidationError`` when that is taken, empty or too long."""
    return _save(saved, name)


def _save(saved: SavedFilter, name: str) -> SavedFilter:
    saved.name = name.strip()
    if not saved.name:
        raise ValidationError({"name": _("Give the filter a name, as “Batteries to order”.")})
    if len(saved.name) > 60:
        words = _("The name has %(length)d characters; at most 60.") % {"length": len(saved.name)}
        raise ValidationError({"name": words})
    try:
        with transaction.atomic():
            saved.save()
    except IntegrityError:
        words = _("You keep a filter called “%(name)s” for this list already. Choose another name.")
        raise ValidationError({"name": words % {"name": saved.name}}) from None
    return saved
