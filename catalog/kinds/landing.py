"""Where conductors land on a part: the size of its studs, for any kind that has some. Pure.

A kind adds ``STUD`` to its fields and wraps its capabilities in ``landed``; nothing else has to know of it.
"""

from __future__ import annotations

from collections.abc import Callable

from catalog.kinds.base import Spec
from catalog.kinds.capabilities import Capability, Landing
from catalog.kinds.common import number

STUD = number(
    "stud_mm",
    "Stud for conductors",
    "mm",
    3,
    20,
    "M8 is 8 mm. Left empty where conductors are clamped or pushed on, or when it is not stated.",
    required=False,
)

Capabilities = Callable[[Spec], tuple[Capability, ...]]


def landed(capabilities: Capabilities) -> Capabilities:
    """The same capabilities, and the stud that conductors land on where it is stated."""

    def with_stud(spec: Spec) -> tuple[Capability, ...]:
        stud_mm = spec["stud_mm"]
        return (*capabilities(spec), *(() if stud_mm is None else (Landing(stud_mm),)))

    return with_stud
