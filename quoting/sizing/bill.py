"""The bill of materials: every part and operation with the rule that put it there. Sundries and prices come later."""

from __future__ import annotations

from quoting.sizing.appraisal import BillLine
from quoting.sizing.bill_labour import Work, labour_lines
from quoting.sizing.bill_parts import TakeOff, take_off
from quoting.sizing.brief import Brief
from quoting.sizing.choice import Choice
from quoting.sizing.circuits import Wiring
from quoting.sizing.parts import Catalogue
from quoting.sizing.sleeves import sleeve_lines

GROUPS = ("storage", "charging", "ac", "distribution", "conductors", "fittings", "labour")
"""Order of the groups on a bill."""

CHARGERS = ("engine_charger", "multi_charger", "mains_charger", "solar_controller", "converter")


def make_bill(brief: Brief, choice: Choice, wiring: Wiring) -> tuple[BillLine, ...]:
    """List parts and labour of a design.

    Parameters
    ----------
    brief : Brief
        For the catalogue and the policy's spare cable.
    choice : Choice
        The chosen components.
    wiring : Wiring
        Its circuits and nodes; what the catalogue lacks is among its shortfalls.

    Returns
    -------
    tuple of BillLine
        By group; quantities in ``each``, ``m`` or ``job``; labour by its operation's code, hours left to the workshop.
    """
    parts, spare_ratio = Catalogue.of(brief), brief.policy.cable_spare_ratio
    taken = take_off(parts, choice, wiring.nodes, wiring.circuits, spare_ratio)
    covers = sleeve_lines(parts, wiring.sleeves, spare_ratio)
    labour = labour_lines(parts, choice.chosen, _work(wiring, taken))
    return tuple(sorted([*taken.lines, *covers, *labour], key=lambda line: GROUPS.index(line.group)))


def _work(wiring: Wiring, taken: TakeOff) -> Work:
    return Work(
        run_m=taken.run_m,
        ends=taken.ends,
        lugs=taken.lugs,
        devices=taken.devices,
        bars=sum(n.what == "busbar" for n in wiring.nodes),
        boards=sum(n.what == "board" for n in wiring.nodes),
        walls=sum(use.count for use in wiring.sleeves if use.grommet),
        circuits=sum(not c.stays for c in wiring.circuits),
        tested=len(wiring.circuits),
    )
