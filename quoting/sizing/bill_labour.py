"""Labour of a design: which operation fits what, how often, and what stands in for one that a workshop has no time for.

Operations are the codes of the workshop's own list. Hours and rates are none of this.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from typing import TypeVar

from catalog.kinds.capabilities import Coupling, Panel, TankSensing, TemperatureSensing
from quoting.sizing.appraisal import BillLine, BillUse
from quoting.sizing.bill_lines import Count
from quoting.sizing.bill_uses import OF_ROLE, Uses, place_of
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


ORDER: tuple[tuple[str, str], ...] = (
    ("survey", "job"),
    ("check_kept_part", "each"),
    ("fit_battery", "each"),
    ("fit_charger", "each"),
    ("fit_multi_charger", "each"),
    ("fit_solar_controller", "each"),
    ("fit_converter", "each"),
    ("fit_panel", "each"),
    ("fit_panel_flexible", "each"),
    ("fit_inverter", "each"),
    ("fit_monitor", "each"),
    ("fit_switched_module", "each"),
    ("fit_tank_sender", "each"),
    ("fit_temperature_sender", "each"),
    ("fit_trailer_plug", "each"),
    ("fit_high_current_coupling", "each"),
    ("fit_device", "each"),
    ("fit_busbar", "each"),
    ("fit_board", "each"),
    ("fit_vent", "each"),
    ("run_cable_m", "m"),
    ("pass_bulkhead", "each"),
    ("terminate", "each"),
    ("crimp_lug", "each"),
    ("label_circuit", "each"),
    ("program_settings", "each"),
    ("licensed_ac", "job"),
    ("test_circuit", "each"),
    ("test_and_handover", "job"),
)
"""Operations in the order of the work, with what each is counted by."""


def labour_lines(count: Count) -> list[BillLine]:
    """Every operation of a design with how often it is done, and in which step.

    Parameters
    ----------
    count : Count
        With what the rules of parts found to do; what is chosen is added here. What is kept is looked over; a part
        that is there for another role as well is fitted once.

    Returns
    -------
    list of BillLine
        Those of which there is any, in :data:`ORDER`.
    """
    chosen = count.choice.chosen
    for one in pieces(chosen):
        place = place_of(count.brief.vehicle, one)
        if one.kept:
            count.do("check_kept_part", "before", one.quantity, place)
        elif operation := fitting_of(count.parts, one.role, one.part):
            count.do(operation, OF_ROLE[one.role], one.quantity, place)
    for circuit in count.wiring.circuits:
        count.do("test_circuit", "finish", 1)
        count.do("label_circuit", "finish", 0 if circuit.stays else 1)
    count.do("survey", "before", 1)
    count.do("program_settings", "finish", sum(bool(one.setting) for one in chosen))
    licensed = any(c.role in ("inlet", "residual", "inverter") or "mains_charging" in c.serves for c in chosen)
    count.do("licensed_ac", "ac", 1 if licensed else 0)
    count.do("test_and_handover", "finish", 1)
    return [_line(code, unit, count.work[code]) for code, unit in ORDER if code in count.work]


def _line(code: str, unit: str, done: Uses) -> BillLine:
    quantity = round(done.quantity, 1)
    uses = done.of(quantity)
    return BillLine(
        group="labour", labour=code, name=code, quantity=quantity, unit=unit, rule=f"labour_{code}",
        step=uses[0].step if uses else "", uses=uses,
    )  # fmt: skip


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
            lines[at[code]] = _more(lines[at[code]], line)
            continue
        if code:
            at[code] = len(lines)
        lines.append(line if code == line.labour else _as(line, code))
    return lines


def _more(line: BillLine, other: BillLine) -> BillLine:
    """As much again of an operation, with its uses."""
    sums: dict[tuple[str, str], float] = {}
    for use in (*line.uses, *other.uses):
        sums[use.step, use.position] = sums.get((use.step, use.position), 0.0) + use.quantity
    uses = tuple(BillUse(step=s, position=p, quantity=round(q, 3)) for (s, p), q in sums.items())
    return line.model_copy(update={"quantity": round(line.quantity + other.quantity, 3), "uses": uses})


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
