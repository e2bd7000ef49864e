"""The bill of materials: every part and operation with the rule that put it there. Sundries and prices come later."""

from __future__ import annotations

from quoting.sizing.appraisal import BillLine
from quoting.sizing.bill_parts import take_off
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
    labour = _labour(choice, wiring, taken.run_m, taken.ends, taken.devices)
    return tuple(sorted([*taken.lines, *covers, *labour], key=lambda line: GROUPS.index(line.group)))


def _labour(choice: Choice, wiring: Wiring, run_m: float, ends: int, devices: int) -> list[BillLine]:
    count: dict[str, int] = {}
    for c in choice.chosen:
        if not c.kept:
            count[c.role] = count.get(c.role, 0) + c.quantity
    boards = sum(n.what == "board" for n in wiring.nodes)
    bars = sum(n.what == "busbar" for n in wiring.nodes)
    electronics = sum(count.get(role, 0) for role in ("monitor", "switching", "coupling", "sensing", "sensor"))
    kept = sum(c.quantity for c in choice.chosen if c.kept)
    set_up = sum(bool(c.setting) for c in choice.chosen)
    licensed = any(c.role in ("inlet", "residual", "inverter") or "mains_charging" in c.serves for c in choice.chosen)
    rows: list[tuple[str, float, str]] = [
        ("survey", 1, "job"),
        ("fit_battery", count.get("battery", 0), "each"),
        ("check_kept_part", kept, "each"),
        ("fit_charger", sum(count.get(role, 0) for role in CHARGERS), "each"),
        ("fit_panel", count.get("panel", 0), "each"),
        ("fit_inverter", count.get("inverter", 0), "each"),
        ("fit_device", devices + electronics + bars, "each"),
        ("fit_board", boards, "each"),
        ("run_cable_m", round(run_m, 1), "m"),
        ("terminate", ends, "each"),
        ("program_settings", set_up, "each"),
        ("licensed_ac", 1 if licensed else 0, "job"),
        ("test_and_handover", 1, "job"),
    ]
    return [
        BillLine(group="labour", labour=code, name=code, quantity=quantity, unit=unit, rule=f"labour_{code}")
        for code, quantity, unit in rows
        if quantity
    ]
