"""What each person had open last."""

from __future__ import annotations

import logging
from collections.abc import Callable
from typing import Any

from django.db import OperationalError
from django.http import HttpRequest, HttpResponse
from django.utils import timezone

from catalog import finding
from catalog.models import RecentItem

KEPT = 40
SHOWN = 12
logger = logging.getLogger(__name__)


def recent_keys(user: Any) -> dict[tuple[str, int], int]:
    """Place of each recent record, the latest 0; one query."""
    rows = RecentItem.objects.filter(owner_id=user.pk).values_list("about", "row_id")[:KEPT]
    return {key: place for place, key in enumerate(rows)}


def note(user: Any, about: str, row_id: int) -> None:
    """Remember that this record was opened: one statement, and now and then one more that drops the oldest."""
    item = RecentItem(owner_id=user.pk, about=about, row_id=row_id, seen_at=timezone.now())
    unique, moved = ["owner_id", "about", "row_id"], ["seen_at"]
    RecentItem.objects.bulk_create([item], update_conflicts=True, unique_fields=unique, update_fields=moved)
    if item.pk % KEPT == 0:
        last = RecentItem.objects.filter(owner_id=user.pk).values_list("pk", flat=True)[: 2 * KEPT]
        RecentItem.objects.filter(owner_id=user.pk).exclude(pk__in=list(last)).delete()


class RecentItemsMiddleware:
    """Notes the page of a record that somebody opened; parts of pages, lists, deeds and looks ahead are no opening."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        match = request.resolver_match
        if request.method != "GET" or response.status_code != 200 or match is None or "pk" not in match.kwargs:
            return response
        if getattr(request, "htmx", False) or not getattr(getattr(request, "user", None), "is_authenticated", False):
            return response
        for one in finding.FINDABLE.values():
            if one.page == match.view_name:
                try:
                    note(request.user, one.about, match.kwargs["pk"])
                except OperationalError:  # a busy database: the page matters more
                    logger.warning("A page that was opened could not be noted among the recent ones.")
        return response
