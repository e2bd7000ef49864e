"""The one conductor from the system's negative to the body."""

from __future__ import annotations

from quoting.sizing import conductors
from quoting.sizing.appraisal import Circuit
from quoting.sizing.circuits_system import System
from quoting.sizing.parts import short
from quoting.sizing.protection import Supply
from quoting.sizing.runs import Designed, cables
from quoting.sizing.runs_ask import Ask
from quoting.sizing.runs_colours import negative_of_policy
from quoting.sizing.topology import way
from quoting.sizing.trace import step


def bond_area_mm2(main_mm2: float) -> float:
    """Least area of the bond by the main positive's.

    >>> bond_area_mm2(10), bond_area_mm2(25), bond_area_mm2(70)
    (10, 16.0, 35.0)

    IEC 60364-5-54 table 54.2: the same up to 16 mm², 16 mm² up to 35 mm², half above.
    """
    return main_mm2 if main_mm2 <= 16 else 16.0 if main_mm2 <= 35 else main_mm2 / 2


def bond(system: System) -> None:
    """Add body node and bond; it carries a fault to the body until the main device opens, and no load current.

    On the negative bar land the returns of everything on the main positive, and the bond.
    """
    at = system.at("battery")
    connections = 1 + sum("W1" in (r.ask.source, r.ask.target) for r in system.runs)
    main_a = max((r.circuit.current_a for r in system.runs if r.circuit.role == "battery_main"), default=1.0)
    system.node("W0", "body", "Body", at)
    system.busbar("N1", "System negative", at, main_a, connections)
    main = next((r.circuit for r in system.runs if r.circuit.role == "battery_main" and r.circuit.target == "W1"), None)
    if main is None:
        return
    route = way(system.brief.vehicle, at, at)
    asked = bond_area_mm2(main.area_mm2)
    colours = negative_of_policy(system.brief.policy)
    fits = [a for a in cables(system.parts, route, colours) if a.can.area_mm2 >= asked - 1e-9]
    if not fits:
        system.shortfalls.append(short("too_small", "conducting", "negative_bond", asked=asked, unit="mm²"))
        return
    cable = fits[0].can
    ampacity = conductors.ampacity_a(
        cable.area_mm2, cable.insulation_c, route.ambient_c, route.bundled, route.engine_space
    )
    supply = Supply(system.high_v, None)
    ask = Ask(
        key="negative_bond", name="Negative to body", role="negative_bond", source="N1", target="W0", way=route,
        current_a=0.0, nominal_v=system.volts, low_v=system.low_v, high_v=system.high_v, limit_ratio=1.0,
        strong=supply, weak=supply,
    )  # fmt: skip
    circuit = Circuit(
        tag="negative_bond", name=ask.name, role="negative_bond", source="N1", target="W0", from_position=at,
        to_position=at, current_a=0.0, run_m=route.run_m, area_mm2=cable.area_mm2, conductor=fits[0].part.key,
        insulation_c=cable.insulation_c, ambient_c=route.ambient_c, bundled=route.bundled,
        ampacity_a=round(ampacity, 2), drop_v=0.0, drop_total_v=0.0, drop_ratio=0.0, drop_limit_ratio=1.0,
        voltage_v=system.low_v, drop_iso_v=0.0, colour=cable.colour, decided_by="bond",
        key="negative_bond", passes=route.positions, surveyed_bundled=route.bundled,
        steps=(
            step("main_area", main.area_mm2, "mm2"),
            step("bond_area", asked, "mm2", "=", "table"),
            step("area", cable.area_mm2, "mm2", "≤", "catalogue"),
        ),
    )  # fmt: skip
    system.runs.append(Designed(ask, circuit, 0.0, 0.0))
