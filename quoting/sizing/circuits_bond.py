"""The one conductor from the system's negative to the body."""

from __future__ import annotations

from catalog.kinds.capabilities import Conducting
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


def returned(system: System) -> tuple[float, float]:
    """What returns to the bond through the body: design currents, and ratings of the devices before them. [A]"""
    own = [r for r in system.runs if r.circuit.return_by == "chassis" and r.ask.bonded_at == system.at("battery")]
    ratings = (max(d.rating_a for d in r.circuit.devices if d.what != "channel") for r in own)
    return sum(r.circuit.current_a for r in own), sum(ratings)


def bond(system: System) -> None:
    """Add body node and bond; it carries a fault to the body until the main device opens, and what returns by the body.

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
    load_a, ratings_a = returned(system)

    def carries_a(can: Conducting) -> float:
        return conductors.ampacity_a(
            can.area_mm2, can.insulation_c, route.ambient_c, route.bundled, route.engine_space
        )  # fmt: skip

    thick = [a for a in cables(system.parts, route, colours) if a.can.area_mm2 >= asked - 1e-9]
    fits = [a for a in thick if carries_a(a.can) >= ratings_a - 1e-9]
    if not fits:
        lack = (asked, "mm²") if not thick else (ratings_a, "A")
        system.shortfalls.append(short("too_small", "conducting", "negative_bond", asked=lack[0], unit=lack[1]))
        return
    cable = fits[0].can
    ampacity = carries_a(cable)
    supply = Supply(system.high_v, None)
    ask = Ask(
        key="negative_bond", name="Negative to body", role="negative_bond", source="N1", target="W0", way=route,
        current_a=load_a, nominal_v=system.volts, low_v=system.low_v, high_v=system.high_v, limit_ratio=1.0,
        strong=supply, weak=supply,
    )  # fmt: skip
    circuit = Circuit(
        tag="negative_bond", name=ask.name, role="negative_bond", source="N1", target="W0", from_position=at,
        to_position=at, current_a=round(load_a, 3), peak_a=round(load_a, 3), run_m=route.run_m,
        area_mm2=cable.area_mm2, conductor=fits[0].part.key,
        insulation_c=cable.insulation_c, ambient_c=route.ambient_c, bundled=route.bundled,
        ampacity_a=round(ampacity, 2), drop_v=0.0, drop_total_v=0.0, drop_ratio=0.0, drop_limit_ratio=1.0,
        voltage_v=system.low_v, drop_iso_v=0.0, colour=cable.colour, decided_by="bond",
        key="negative_bond", passes=route.positions, surveyed_bundled=route.bundled,
        steps=(
            step("main_area", main.area_mm2, "mm2"),
            step("bond_area", asked, "mm2", "=", "table"),
            *([step("returned_ratings", ratings_a, "A"), step("ampacity", ampacity, "A", "≤")] if ratings_a else []),
            step("area", cable.area_mm2, "mm2", "≤", "catalogue"),
        ),
    )  # fmt: skip
    system.runs.append(Designed(ask, circuit, 0.0, 0.0))
