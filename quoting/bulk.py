"""What of quotes uses records of the catalogue."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from catalog.bulk import used_by
from catalog.bulk_types import phrase
from catalog.models import LabourOperation
from quoting.models import Quote, Revision

OPEN = (Revision.State.DRAFT, Revision.State.ISSUED)


def _quotes(keys: Sequence[int]) -> Any:
    return Quote.objects.filter(revisions__state__in=OPEN, revisions__offers__lines__component__in=keys)


def _quotes_of_labour(keys: Sequence[int]) -> Any:
    codes = LabourOperation.objects.filter(pk__in=keys).values("code")
    return Quote.objects.filter(revisions__state__in=OPEN, revisions__offers__lines__labour_code__in=codes)


def declare_all() -> None:
    """Called once, when the app is ready."""
    open_quotes = ("%(n)d open quote", "%(n)d open quotes")
    used_by("component", phrase(*open_quotes, _quotes))
    used_by("labour", phrase(*open_quotes, _quotes_of_labour))
