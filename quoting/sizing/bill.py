"""The bill of materials: every part and operation with the rule that put it there."""

from __future__ import annotations

from quoting.sizing.appraisal import BillLine
from quoting.sizing.brief import Brief
from quoting.sizing.choice import Choice
from quoting.sizing.circuits import Wiring


def make_bill(brief: Brief, choice: Choice, wiring: Wiring) -> tuple[BillLine, ...]:
    raise NotImplementedError
