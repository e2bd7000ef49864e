"""What of quotes uses records of the catalogue, and what quoting does with records picked in lists."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django.utils.translation import gettext_lazy as _

from catalog.bulk import Onward, leads_on, used_by
from catalog.bulk_types import phrase
from catalog.models import LabourOperation
from quoting.models import Quote, Revision
from quoting.rules import can_open_job

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
    leads_on(
        "vehicle",
        Onward(
            code="fleet",
            title=_("Size them alike"),
            words=_("One brief for all: a job, a design and a draft quote for each, made in the background."),
            press=_("Choose the brief"),
            address="fleet_new",
            may=can_open_job,
        ),
    )
