"""Lists whose rows can be picked, to do something to many of them at once."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.http import HttpRequest
from django.urls import reverse

from catalog import bulk
from catalog.saved_filters import present_query


@dataclass(frozen=True, slots=True)
class Picks:
    """What a table needs to let rows be picked."""

    on: bool
    """Whether there are boxes to tick now."""
    url: str
    query: str
    """The filter as it is, for “all of them”."""


class PickRows:
    """For a list view, before the mixins that make its table. ``pick_about`` names a declared kind."""

    request: HttpRequest
    pick_about = ""

    def get_table(self, **kwargs: Any) -> Any:
        table = super().get_table(**kwargs)  # type: ignore[misc]
        one = bulk.TYPES.get(self.pick_about or getattr(self, "section", ""))
        if one is not None and one.may(self.request.user):
            url = reverse("catalog:bulk", args=[one.about])
            table.picks = Picks("pick" in self.request.GET, url, present_query(self.request.GET))
        return table
