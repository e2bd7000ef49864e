"""Labour of a design: which operation fits what, how often, and what stands in for one that a workshop has no time for.

Operations are the codes of the workshop's own list. Hours and rates are none of this.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from typing import TypeVar

from catalog.kinds.capabilities import Coupling, Panel, TankSensing, TemperatureSensing
from quoting.sizing.appraisal import BillLine, Chosen
from quoting.sizing.one_piece import pieces
from quoting.sizing.parts import Catalogue

Each = TypeVar("Each")

FITTING: Mapping[str, str] = {
    "battery": "fit_battery",
    "panel": "fit_panel",
    "inverter": "fit_inverter",
    "engine_charger": "fit_charger",
    "mains_charger": "fit_charger",
    "multi_charger": "fit_multi_charger",
    "solar_controller": "fit_solar_controller",
    "converter": "fit_converter",
    "monitor": "fit_monitor",
    "switching": "fit_switched_module",
    "sensing": "fit_device",
    "sensor": "fit_device",
    "coupling": "fit_high_current_coupling",
}
"""Role of a part -> operation that fits one. The inlet and residual devices are within ``licensed_ac``."""

INSTEAD: Mapping[str, str] = {
    "fit_multi_charger": "fit_charger",
    "fit_solar_controller": "fit_charger",
    "fit_converter": "fit_charger",
    "fit_monitor": "fit_device",
    "fit_switched_module": "fit_device",
    "fit_busbar": "fit_device",
    "fit_tank_sender": "fit_device",
    "fit_temperature_sender": "fit_device",
    "fit_trailer_plug": "fit_device",
    "fit_high_current_coupling": "fit_device",
    "fit_panel_flexible": "fit_panel",
    "crimp_lug": "terminate",
    "pass_bulkhead": "fit_device",
    "fit_vent": "fit_device",
}
"""Operation -> a broader one that a workshop without a time for the first books in its place, as often."""

WITHIN: Mapping[str, str] = {"label_circuit": "test_and_handover", "test_circuit": "test_and_handover"}
"""Operation -> one that is on the bill anyway, and has its time where a workshop has none for the first."""

LUG_FROM_MM2 = 25.0
"""Conductor from which an end is a lug, pressed with the large tool and sealed. [mm²] C"""


@dataclass(frozen=True, slots=True)
class Work:
    """What there is to do beside fitting the chosen parts: counts, and metres."""

    run_m: float = 0.0
    """Conductor to lay. [m]"""
    ends: int = 0
    lugs: int = 0
    """Ends of :data:`LUG_FROM_MM2` and more."""
    devices: int = 0
    bars: int = 0
    boards: int = 0
    walls: int = 0
    """Passes through sheet metal, but for the array's, which go with its panels."""
    vents: int = 0
    circuits: int = 0
    """That are new and labelled."""
    tested: int = 0
    """Circuits whose drop and load are read: every one, those that stay too."""


def fitting_of(parts: Catalogue, role: str, part: str) -> str:
    """The operation that fits one piece of a part in its role; empty where it is within another's time.

    Parameters
    ----------
    parts : Catalogue
        Where the part's capabilities are.
    role : str
        Of ``Chosen.role``.
    part : str
        Its key.

    Returns
    -------
    str
        Code of an operation, or nothing: the AC side's parts are within ``licensed_ac``.
    """
    if role == "panel" and parts.can(part, Panel).flexible:
        return "fit_panel_flexible"
    if role == "sensor" and parts.has(part, TankSensing):
        return "fit_tank_sender"
    if role == "sensor" and parts.has(part, TemperatureSensing):
        return "fit_temperature_sender"
    if role == "coupling" and parts.can(part, Coupling).form == "plug":
        return "fit_trailer_plug"
    return FITTING.get(role, "")


def labour_lines(parts: Catalogue, chosen: Iterable[Chosen], work: Work) -> list[BillLine]:
    """Every operation of a design with how often it is done.

    Parameters
    ----------
    parts : Catalogue
        For what the parts can do.
    chosen : iterable of Chosen
        What is kept is looked over; a part that is there for another role as well is fitted once.
    work : Work
        What the wiring takes.

    Returns
    -------
    list of BillLine
        Those of which there is any, in the order of the work.
    """
    chosen = tuple(chosen)
    once = pieces(chosen)
    fitted: dict[str, int] = defaultdict(int)
    for one in once:
        if not one.kept:
            fitted[fitting_of(parts, one.role, one.part)] += one.quantity
    fitted["fit_device"] += work.devices
    fitted["fit_busbar"] += work.bars
    fitted.pop("", None)
    licensed = any(c.role in ("inlet", "residual", "inverter") or "mains_charging" in c.serves for c in chosen)
    rows: list[tuple[str, float, str]] = [
        ("survey", 1, "job"),
        ("check_kept_part", sum(one.quantity for one in once if one.kept), "each"),
        *((code, fitted[code], "each") for code in sorted(fitted)),
        ("fit_board", work.boards, "each"),
        ("fit_vent", work.vents, "each"),
        ("run_cable_m", round(work.run_m, 1), "m"),
        ("pass_bulkhead", work.walls, "each"),
        ("terminate", work.ends - work.lugs, "each"),
        ("crimp_lug", work.lugs, "each"),
        ("label_circuit", work.circuits, "each"),
        ("program_settings", sum(bool(one.setting) for one in chosen), "each"),
        ("licensed_ac", 1 if licensed else 0, "job"),
        ("test_circuit", work.tested, "each"),
        ("test_and_handover", 1, "job"),
    ]
    return [
        BillLine(group="labour", labour=code, name=code, quantity=quantity, unit=unit, rule=f"labour_{code}")
        for code, quantity, unit in rows
        if quantity
    ]


def booked(bill: Iterable[BillLine], known: Collection[str]) -> list[BillLine]:
    """A bill by the operations that a workshop has a time for.

    Parameters
    ----------
    bill : iterable of BillLine
        As designed.
    known : collection of str
        Codes of the workshop's operations.

    Returns
    -------
    list of BillLine
        An operation without a time is booked as the broader one (:data:`INSTEAD`), both in one line, or is within
        another (:data:`WITHIN`). One that neither stands in for is left as it is, for whoever prices it to refuse.
    """
    lines: list[BillLine] = []
    at: dict[str, int] = {}
    for line in bill:
        code = line.labour
        if code and code not in known:
            if WITHIN.get(code) in known:
                continue
            code = INSTEAD[code] if INSTEAD.get(code) in known else code
        if code and code in at:
            same = lines[at[code]]
            lines[at[code]] = same.model_copy(update={"quantity": round(same.quantity + line.quantity, 3)})
            continue
        if code:
            at[code] = len(lines)
        lines.append(line if code == line.labour else _as(line, code))
    return lines


def _as(line: BillLine, code: str) -> BillLine:
    return line.model_copy(update={"labour": code, "name": code, "rule": f"labour_{code}"})


def with_stand_ins(operations: Mapping[str, Each]) -> dict[str, Each]:
    """What a workshop keeps of its operations, by code, and of those that stand in under the codes they stand in for.

    Parameters
    ----------
    operations : mapping of str to anything
        Price, or time, by code.

    Returns
    -------
    dict
        Also with each code of :data:`INSTEAD` that is lacking.
    """
    lent = {code: operations[other] for code, other in INSTEAD.items() if other in operations}
    return {**lent, **operations}
