"""The bill of materials: every part and operation with the rule that put it there. Sundries and prices come later."""

from __future__ import annotations

from dataclasses import dataclass

from quoting.sizing.appraisal import BillLine, BillUse
from quoting.sizing.bill_covers import live_metal, ways
from quoting.sizing.bill_ends import heat_shrink
from quoting.sizing.bill_labels import labels
from quoting.sizing.bill_labour import labour_lines
from quoting.sizing.bill_lines import EACH, Count
from quoting.sizing.bill_mounts import mountings
from quoting.sizing.bill_parts import wiring_parts
from quoting.sizing.bill_vents import vents
from quoting.sizing.brief import Brief
from quoting.sizing.choice import Choice
from quoting.sizing.circuits import Wiring
from quoting.sizing.trace import Finding

__all__ = ["CHARGERS", "GROUPS", "Bill", "bill_of", "make_bill"]

GROUPS = ("storage", "charging", "ac", "distribution", "conductors", "fittings", "labour")
"""Order of the groups on a bill."""

CHARGERS = ("engine_charger", "multi_charger", "mains_charger", "solar_controller", "converter")

RULES = (wiring_parts, ways, heat_shrink, live_metal, mountings, vents, labels)
"""What puts parts on a bill, one after another."""


@dataclass(frozen=True, slots=True)
class Bill:
    """What a design takes, and what of it the catalogue lacks."""

    lines: tuple[BillLine, ...]
    findings: tuple[Finding, ...] = ()


def make_bill(brief: Brief, choice: Choice, wiring: Wiring) -> tuple[BillLine, ...]:
    """List parts and labour of a design: the lines of :func:`bill_of`."""
    return bill_of(brief, choice, wiring).lines


def bill_of(brief: Brief, choice: Choice, wiring: Wiring) -> Bill:
    """List parts and labour of a design.

    Parameters
    ----------
    brief : Brief
        For the catalogue and the policy's spares.
    choice : Choice
        The chosen components.
    wiring : Wiring
        Its circuits, nodes and pieces; what the catalogue lacks for them is among its shortfalls.

    Returns
    -------
    Bill
        Lines by group; quantities in ``each``, ``m``, ``pack`` or ``job``; labour by its operation's code, hours left
        to the workshop. What a rule finds nothing for is a finding.
    """
    count = Count(brief, choice, wiring)
    for rule in RULES:
        rule(count)
    _licensed_way(count)
    lines = [*count.lines(), *labour_lines(count)]
    return Bill(tuple(sorted(lines, key=lambda line: GROUPS.index(line.group))), count.findings())


def _licensed_way(count: Count) -> None:
    """Cable of the AC side: so many ways, of no size. It is for the licensed person to say, and to bring."""
    number = len(count.wiring.ac)
    if number:
        uses = (BillUse(step="ac", quantity=number),)
        tags = tuple(link.tag for link in count.wiring.ac)
        line = BillLine(group="ac", name="ac_cable", quantity=number, unit=EACH, rule="ac_cable", step="ac", uses=uses)
        count.put(line.model_copy(update={"circuits": tags}))
