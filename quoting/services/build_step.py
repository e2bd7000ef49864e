"""One step of a build."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class BuildStep:
    """One thing to do and tick; a hold point stops everything after it."""

    key: str
    words: str
    hold_point: bool = False
    licensed: bool = False
