"""Assemblies for lists, pages and choices."""

from __future__ import annotations

from collections import Counter
from typing import Any

from django.db.models import Count, Max, Prefetch, QuerySet
from django.utils.translation import gettext as _

from catalog.models import Assembly, AssemblyLine, AssemblyVersion, Component, LabourOperation

Thing = Component | LabourOperation
MOST_NAMED = 4
LEAST_TYPED = 3
"""Letters from which a part of a name may stand for the whole."""


def whole_lines() -> QuerySet[AssemblyLine]:
    """Lines with what they are of."""
    return AssemblyLine.objects.select_related("component", "labour")


def assemblies_for(user: Any) -> QuerySet[Assembly]:
    """Assemblies with the number of their newest version and of the jobs that take them, for lists and pages."""
    return (
        Assembly.objects.visible_to(user)
        .annotate(newest=Max("versions__number"), job_count=Count("versions__uses__fitout", distinct=True))
        .order_by("name")
    )


def newest_of(assemblies: list[Assembly]) -> dict[int, AssemblyVersion]:
    """The newest version of each with its whole lines, by the assembly's key; two queries."""
    rows = (
        AssemblyVersion.objects.filter(assembly__in=assemblies)
        .annotate(last=Max("assembly__versions__number"))
        .prefetch_related(Prefetch("lines", whole_lines()))
    )
    return {row.assembly_id: row for row in rows.order_by("number") if row.number == row.last}


class Things:
    """Everything that a line may be of, found by what a person types; two queries, however many lines are read."""

    def __init__(self) -> None:
        parts = Component.objects.defer("specification", "notes").order_by("sort_key", "pk")
        self.all: list[Thing] = [*parts, *LabourOperation.objects.order_by("name")]
        names = Counter(thing.name.casefold() for thing in self.all if not thing.is_retired)
        self._shared = {name for name, times in names.items() if times > 1}

    def typed(self, thing: Thing) -> str:
        """What to type so that it means this one: its name, or its part number or code where others share the name."""
        if thing.name.casefold() not in self._shared:
            return thing.name
        return _code(thing) or f"#{thing.pk}"

    def suggestions(self) -> list[str]:
        return [self.typed(thing) for thing in self.all if not thing.is_retired]

    def find(self, text: str) -> tuple[Thing | None, str]:
        """What a person means, or a sentence why that is not clear.

        The whole name, part number or code counts first; a part of a name will do when it fits one thing only.
        """
        wanted = text.strip().casefold()
        if not wanted:
            return None, _("Type the name or part number of a component, or the name of labour.")
        found = [t for t in self.all if wanted in (t.name.casefold(), _code(t).casefold(), f"#{t.pk}")]
        if not found and len(wanted) >= LEAST_TYPED:
            found = [t for t in self.all if wanted in t.name.casefold() or wanted in _code(t).casefold()]
        found = [t for t in found if not t.is_retired] or found
        if not found:
            return None, _("There is no component and no labour called “%(text)s”.") % {"text": text.strip()[:60]}
        return (found[0], "") if len(found) == 1 else (None, self._several(text.strip(), found))

    def _several(self, text: str, found: list[Thing]) -> str:
        names = ", ".join(f"“{self.typed(t)}”" for t in found[:MOST_NAMED])
        more = _(" and more") if len(found) > MOST_NAMED else ""
        words = _("“%(text)s” may mean several things: %(names)s%(more)s. Type which one.")
        return words % {"text": text[:60], "names": names, "more": more}


def _code(thing: Thing) -> str:
    return thing.code if isinstance(thing, LabourOperation) else thing.part_number
