"""Packages: retired, restored, and what differs between two of them. Jobs keep and fill them (``fitouts``)."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from fitouts.models import JobPackage, User
from fitouts.services.keeping import signed


@transaction.atomic
def retire(package: JobPackage, *, by: User | None) -> None:
    """Offer it for new jobs no longer; jobs that were opened from it stay as they are."""
    _set(package, timezone.now(), by)


@transaction.atomic
def restore(package: JobPackage, *, by: User | None) -> None:
    """Offer it for new jobs again."""
    _set(package, None, by)


def _set(package: JobPackage, at: Any, by: User | None) -> None:
    row = JobPackage.objects.select_for_update().get(pk=package.pk)
    if (row.retired_at is None) != (at is None):
        row.retired_at = at
        signed(row, by).save(update_fields=["retired_at"])
    package.retired_at = row.retired_at


Content = Mapping[str, Any]


def differences(before: Content, after: Content) -> list[str]:
    """What is different between two contents, each a sentence."""
    return [
        *_named(_("Audit"), _lines(before), _lines(after)),
        *_named(_("Trip"), _stops(before), _stops(after)),
        *_named(_("Places"), _places(before), _places(after)),
        *_named(_("Assemblies"), _assemblies(before), _assemblies(after)),
        *_wishes(before, after),
    ]


def _lines(content: Content) -> dict[str, Any]:
    ignored = ("place", "appliance_id")
    return _numbered((x["name"], {k: v for k, v in x.items() if k not in ignored}) for x in content["lines"])


def _stops(content: Content) -> dict[str, Any]:
    return _numbered((x["site"], {k: v for k, v in x.items() if k != "place"}) for x in content["stops"])


def _places(content: Content) -> dict[str, Any]:
    return {name: role for role, name in sorted(content["places"].items())}


def _assemblies(content: Content) -> dict[str, Any]:
    return {x["name"]: (x["version_id"], x["quantity"]) for x in content.get("assemblies", ())}


def _numbered(pairs: Iterator[tuple[str, Any]]) -> dict[str, Any]:
    """By name; the second of the same name gets a number."""
    found: dict[str, Any] = {}
    for name, value in pairs:
        key, n = name, 1
        while key in found:
            n += 1
            key = f"{name} ({n})"
        found[key] = value
    return found


def _named(part: str, old: Mapping[str, Any], new: Mapping[str, Any]) -> Iterator[str]:
    groups = (
        (_("%(part)s: %(names)s new."), [n for n in new if n not in old]),
        (_("%(part)s: %(names)s taken out."), [n for n in old if n not in new]),
        (_("%(part)s: %(names)s changed."), [n for n in new if n in old and new[n] != old[n]]),
    )
    for words, names in groups:
        if names:
            yield words % {"part": part, "names": ", ".join(f"“{n}”" for n in names)}


def _wishes(before: Content, after: Content) -> Iterator[str]:
    old, new = before["wishes"], after["wishes"]
    names = [n for n in new if old.get(n) != new[n]]
    if names:
        yield _("Wishes changed: %(names)s.") % {"names": ", ".join(n.replace("_", " ") for n in names)}
