"""One row of the reference table: a value from outside the project, where it is from, and how we come to it.

Marks: P seen in a published page, L from a call of a general library, M from memory of the named standard or book,
D arithmetic on marked values, C common practice.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from importlib import import_module
from pathlib import Path


@dataclass(frozen=True)
class Check:
    topic: str
    what: str
    value: float
    source: str
    mark: str
    ours: Callable[[], float]
    within: float = 0.005
    """Allowed relative difference."""

    def __str__(self) -> str:
        return f"{self.topic}: {self.what} [{self.mark}]"


def collect() -> list[Check]:
    """Every row of every module of this package that has ``CHECKS``."""
    rows: list[Check] = []
    for path in sorted(Path(__file__).parent.glob("*.py")):
        if path.stem in ("__init__", "table", "test_table"):
            continue
        rows += getattr(import_module(f"tests.reference.{path.stem}"), "CHECKS", [])
    return rows
