"""One step of a build, and those with which every build begins."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from django.utils.translation import gettext as _

from fitouts.models import Fitout


@dataclass(frozen=True, slots=True)
class BuildStep:
    """One thing to do and tick; a hold point stops everything after it."""

    key: str
    words: str
    hold_point: bool = False
    licensed: bool = False


def arrival(fitout: Fitout) -> Iterator[BuildStep]:
    """What comes first whatever the job: checked in, and made safe where high voltage drives it."""
    yield BuildStep("check_in", _("Check in: odometer, damage, keys, fault codes stored before work"))
    if fitout.vehicle.hybrid:
        yield BuildStep(
            "hybrid_isolation",
            _("High-voltage system isolated and locked out as the maker says, by a qualified person"),
            hold_point=True,
        )
