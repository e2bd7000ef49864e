"""The frame around every page: its stylesheets and the way about."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django import template
from django.templatetags.static import static
from django.urls import NoReverseMatch, reverse
from django.utils.html import format_html_join
from django.utils.safestring import SafeString
from django.utils.translation import gettext_lazy as _

register = template.Library()

SHEETS = (
    "tokens",
    "base",
    "layout",
    "head",
    "tables",
    "forms",
    "folds",
    "figures",
    "charts",
    "outlook",
    "bench",
    "owner",
    "pages",
    "job",
    "outputs",
    "offers",
    "assemblies",
    "build",
    "drawing",
    "plan",
    "desk",
    "sheets",
    "print",
)
PLACES = (
    ("bench", _("Bench"), None),
    ("job_list", _("Jobs"), None),
    ("customer_list", _("Customers"), None),
    ("vehicle_list", _("Vehicles"), None),
    ("catalog:component_list", _("Catalogue"), None),
    ("workshop", _("Workshop"), "manager"),
)


@dataclass(frozen=True, slots=True)
class Place:
    """One way in the main navigation."""

    words: Any
    url: str
    here: bool


@register.filter
def milli(value: float | None) -> float | None:
    """``{{ ohm|milli|quantity:"mΩ" }}``: a small stored value in the unit people say it in."""
    return None if value is None else round(value * 1000, 6)


@register.simple_tag
def stylesheets() -> SafeString:
    """Links to the stylesheet, one file per kind of thing, tokens first."""
    return format_html_join(
        "\n  ", '<link rel="stylesheet" href="{}">', ((static(f"loomwright/css/{name}.css"),) for name in SHEETS)
    )


@register.simple_tag(takes_context=True)
def places(context: dict[str, Any]) -> list[Place]:
    """Where this person can go. A page that is not there yet has no way to it."""
    request = context["request"]
    found = []
    for name, words, role in PLACES:
        if role and request.user.role != role:
            continue
        try:
            url = reverse(name)
        except NoReverseMatch:
            continue
        here = request.path == url if name == "bench" else request.path.startswith(url)
        found.append(Place(words, url, here))
    return found
