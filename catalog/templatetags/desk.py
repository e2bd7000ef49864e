"""What lists carry beside their rows: kept filters."""

from __future__ import annotations

from typing import Any

from django import template
from django.middleware.csrf import get_token
from django.urls import reverse

from catalog import saved_filters

register = template.Library()


@register.inclusion_tag("components/saved_filters.html", takes_context=True)
def kept_filters(context: Any, form: Any) -> dict[str, Any]:
    """The filters a person keeps for the list at hand; nothing where a page is no list of its own. One query."""
    request = getattr(context, "request", None)
    match = getattr(request, "resolver_match", None)
    if request is None or match is None or match.kwargs or not request.user.is_authenticated:
        return {"on": False}
    query = saved_filters.present_query(request.GET)
    rows = [
        {
            "saved": saved,
            "url": f"{reverse(saved.page)}?{saved.query}",
            "here": saved.query == query,
            "unknown": saved_filters.unknown_names(saved, form.fields),
        }
        for saved in saved_filters.kept_for(request.user, match.view_name)
    ]
    can_keep = bool(query) and not any(row["here"] for row in rows)
    return {
        "csrf_token": get_token(request),
        "on": True,
        "rows": rows,
        "query": query,
        "page": match.view_name,
        "can_keep": can_keep,
    }
