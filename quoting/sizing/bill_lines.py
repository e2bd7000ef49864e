"""The bill as it is counted: parts by rule with their uses, labour by operation, and what the catalogue lacks."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

import catalog.kinds as kinds
from quoting.sizing.appraisal import BillLine, Circuit, Node
from quoting.sizing.bill_uses import Uses
from quoting.sizing.brief import Brief
from quoting.sizing.choice import Choice
from quoting.sizing.circuits import Wiring
from quoting.sizing.parts import Catalogue
from quoting.sizing.trace import Finding, Scalar

METRE, EACH, PACK = "m", "each", "pack"

SMALL = frozenset(
    {
        "heat_shrink", "support", "sealant", "adhesive", "label_conductor", "label_device", "label_list",
        "label_shut_off", "label_battery", "label_daylight", "label_hydrogen", "label_mains", "label_two_sources",
    }
)  # fmt: skip
"""Rules of lines that a workshop without them has among its sundries, a share of all parts."""


@dataclass(slots=True)
class _Counted:
    uses: Uses = field(default_factory=Uses)
    circuits: dict[str, None] = field(default_factory=dict)
    params: dict[str, Scalar] = field(default_factory=dict)
    spare_ratio: float = 0.0
    in_pack: float = 1.0


class Count:
    """What one design takes, counted rule by rule."""

    def __init__(self, brief: Brief, choice: Choice, wiring: Wiring) -> None:
        self.brief, self.choice, self.wiring = brief, choice, wiring
        self.parts = Catalogue.of(brief)
        self.spare_ratio = brief.policy.cable_spare_ratio
        self.circuits: Mapping[str, Circuit] = {c.tag: c for c in wiring.circuits}
        self.nodes: Mapping[str, Node] = {n.tag: n for n in wiring.nodes}
        self.work: dict[str, Uses] = {}
        self.small: list[str] = []
        self.unsafe: list[str] = []
        self._counted: dict[tuple[str, str, str, bool], _Counted] = {}
        self._others: list[BillLine] = []

    def add(
        self,
        part: str,
        rule: str,
        uses: Uses,
        circuits: Iterable[str] = (),
        *,
        unit: str = EACH,
        kept: bool = False,
        spare_ratio: float = 0.0,
        in_pack: float = 1.0,
        **params: Scalar,
    ) -> None:
        """Put so much of a part on the bill; under the same rule once. ``in_pack``: how many uses one bought part has.

        Metres get their spare and are rounded up to 0.1 m; shares of a pack to a thousandth of one.
        """
        counted = self._counted.setdefault((part, rule, unit, kept), _Counted())
        counted.uses.take(uses)
        counted.circuits.update(dict.fromkeys(circuits))
        counted.params.update(params)
        counted.spare_ratio, counted.in_pack = spare_ratio, in_pack

    def put(self, line: BillLine) -> None:
        """Put a line on the bill that is neither a part nor labour."""
        self._others.append(line)

    def do(self, operation: str, step: str, often: float, position: str = "") -> None:
        """Book an operation so often at a step."""
        if often:
            self.work.setdefault(operation, Uses()).add(step, position, often)

    def lacks(self, rule: str, *, unsafe: bool = False) -> None:
        """Note that the catalogue has nothing for a rule; ``unsafe``: it must be got all the same."""
        noted = self.unsafe if unsafe else self.small
        if rule not in noted:
            noted.append(rule)

    def lines(self) -> list[BillLine]:
        """What was counted, each part once under each rule."""
        return [self._line(*key, counted) for key, counted in self._counted.items()] + self._others

    def _line(self, key: str, rule: str, unit: str, kept: bool, counted: _Counted) -> BillLine:
        part, number = self.parts.part(key), counted.uses.quantity
        quantity = number
        if unit == METRE:
            quantity = to_buy_m(number, counted.spare_ratio)
        elif unit == PACK:
            quantity = math.ceil(round(number / counted.in_pack * 1000, 6)) / 1000
            counted.params["used"] = round(number, 1)
        uses = counted.uses.of(quantity)
        return BillLine(
            group=kinds.get(part.kind).group, part=key, name=part.name, quantity=quantity, unit=unit, rule=rule,
            mass_kg=0.0 if kept else round(part.mass_kg * quantity, 3), circuits=tuple(counted.circuits), kept=kept,
            step=uses[0].step if uses else "", uses=uses, params=counted.params,
        )  # fmt: skip

    def findings(self) -> tuple[Finding, ...]:
        """What of the rules' parts the catalogue lacks: told, never a reason not to quote."""
        found = []
        if self.unsafe:
            params: dict[str, Scalar] = {"lacks": ",".join(self.unsafe)}
            found.append(Finding(level="warning", code="bill_lacks_fixing", params=params))
        if self.small:
            found.append(Finding(level="info", code="bill_lacks_small", params={"lacks": ",".join(self.small)}))
        return tuple(found)


def to_buy_m(run_m: float, spare_ratio: float) -> float:
    """Metres to buy for metres to lay, rounded up to a decimetre. [m]

    >>> to_buy_m(7.23, 0.1)
    8.0
    """
    return math.ceil(round(run_m * (1 + spare_ratio) * 10, 6)) / 10
