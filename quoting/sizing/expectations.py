"""Readings the technician takes, each with what it should be."""

from __future__ import annotations

from quoting.sizing.appraisal import Expectation
from quoting.sizing.brief import Brief
from quoting.sizing.choice import Choice
from quoting.sizing.circuits import Wiring
from quoting.sizing.trace import Figure


def expect(brief: Brief, choice: Choice, wiring: Wiring, figures: dict[str, Figure]) -> tuple[Expectation, ...]:
    raise NotImplementedError
