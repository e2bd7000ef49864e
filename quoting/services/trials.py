"""Trying something on a kept design. Nothing is saved."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from threading import Lock

from quoting.models import Design
from quoting.services import designs
from quoting.sizing.appraisal import Appraisal
from quoting.sizing.brief import Brief
from quoting.sizing.outlook import Trial, TrialResult, TripOutlook
from quoting.sizing.trial import tried, try_out

KEPT_READ = 4
"""Designs whose records stay read, so that a slider's next step need not read them again."""


@dataclass(frozen=True, slots=True)
class Tried:
    """A trial and what it stands beside: the design as it is, and the trip as it was tried."""

    before: TripOutlook
    result: TrialResult
    brief: Brief
    """With the trip as tried, for its charging times and names."""


def records_of(design: Design) -> tuple[Brief, Appraisal]:
    """A design's Brief and Appraisal, read once: of a row only its title is ever changed, when a person is erased."""
    key = (design.pk, design.key, design.made_at, str(design.brief["title"]))
    with _LOCK:
        kept = _READ.get(key)
    if kept is None:
        kept = designs.brief_of(design), designs.appraisal_of(design)
        with _LOCK:
            _READ[key] = kept
            while len(_READ) > KEPT_READ:
                del _READ[next(iter(_READ))]
    return kept


_READ: dict[tuple[int, str, datetime, str], tuple[Brief, Appraisal]] = {}
_LOCK = Lock()
"""Pages are answered by several threads."""


def try_on(design: Design, trial: Trial) -> Tried | None:
    """Try something on a design; ``None`` when it has no outlook. Raises SizingError for what cannot be tried."""
    brief, appraisal = records_of(design)
    if appraisal.outlook is None:
        return None
    result = try_out(brief, appraisal, trial)
    return Tried(appraisal.outlook, result, tried(brief, trial))
