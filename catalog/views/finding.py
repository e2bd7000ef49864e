"""Find anything: the page of what was found, and what is offered while somebody types."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.urls import path
from django.views.generic import TemplateView

from catalog.finding_search import FEW, Answer, find, opened
from catalog.recent import SHOWN
from catalog.views.base import Reader

LONGEST_TEXT = 120


class _Finding(Reader, TemplateView):
    """Everybody of the workshop finds everything; no line holds money."""

    shown = 0
    recent = 0

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        text = self.request.GET.get("q", "").replace("\0", "").strip()[:LONGEST_TEXT]
        answer = find(self.request.user, text, self.shown) if text else Answer(())
        lately = () if text else opened(self.request.user, self.recent)
        return super().get_context_data(text=text, answer=answer, lately=lately, **kwargs)


class FindPage(_Finding):
    template_name = "catalog/find.html"
    shown = 50
    recent = SHOWN


class FindSuggest(_Finding):
    """The first few, as a list to choose from with the arrow keys."""

    template_name = "catalog/_suggestions.html"
    shown = FEW
    recent = FEW

    def dispatch(self, request: HttpRequest, *args: Any, **kwargs: Any) -> Any:
        if getattr(request, "htmx", False) and not request.user.is_authenticated:
            return HttpResponse(headers={"HX-Refresh": "true"})  # a session that ended: the whole page goes to sign in
        return super().dispatch(request, *args, **kwargs)

    def get(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        response = super().get(request, *args, **kwargs)
        response["Cache-Control"] = "no-store"
        return response


urlpatterns = [
    path("find/", FindPage.as_view(), name="find"),
    path("find/suggest/", FindSuggest.as_view(), name="find_suggest"),
]
