"""Control wiring that a chosen part asks for: the wire that tells an engine charger that the engine runs.

The supply of monitor and modules is a circuit of the Always live board (``load:control``).
"""

from __future__ import annotations

from dataclasses import replace

from catalog.kinds.capabilities import EngineCharging
from quoting.sizing.circuits_feeds import charger_sources
from quoting.sizing.circuits_system import System, starter_supply
from quoting.sizing.runs import Designed
from quoting.sizing.runs_ask import Ask
from quoting.sizing.topology import Way, way

RUNNING_SIGNAL_A = 0.1
"""Most that a signal input takes. [A] C"""


def control_circuits(system: System) -> None:
    """The engine-running signal of a charger that takes one, where the alternator's voltage does not tell."""
    charger = system.choice.role("multi_charger", "engine_charger")
    if charger is None or "engine_charging" not in charger.serves:
        return
    if system.brief.vehicle.alternator_control != "smart":
        return
    if not system.parts.can(charger.part, EngineCharging).running_signal:
        return
    tag = next(s.tag for s in charger_sources(system) if s.role == "charger_output")
    strong, weak = starter_supply(system)
    vehicle = system.brief.vehicle
    route = way(vehicle, system.at("starter"), system.at("charger"))
    found = system.design(
        Ask(
            key=f"running_signal_{tag}", name="Engine-running signal", role="control", source="G1", target=tag,
            way=replace(route, crossings=0), current_a=RUNNING_SIGNAL_A, nominal_v=vehicle.nominal_v,
            low_v=weak.emf_v, high_v=strong.emf_v, limit_ratio=system.brief.policy.drop_other_ratio, strong=strong,
            weak=weak, lugged=False,
        )
    )  # fmt: skip
    as_lead(system, found, route)


def as_lead(system: System, found: Designed | None, route: Way) -> None:
    """The run designed last as a lead of one conductor: it is told against the negative that its part has anyway.

    A return of its own would lie beside the feeders' negatives, and past the shunt, for a current that it cannot carry.
    """
    if found is None:
        return
    alone = found.circuit.model_copy(update={"negative": "", "negative_colour": ""})
    system.runs[-1] = replace(found, circuit=alone)
    over_hitch(system, system.runs[-1], route, 1)


def over_hitch(system: System, found: Designed, route: Way, conductors: int) -> None:
    """Mark the run designed last as one over the hitch, and say so.

    A signal takes contacts of the coupling that carry no charge; how many of those are free its maker does not state.
    """
    if not route.crossings:
        return
    system.runs[-1] = replace(found, circuit=found.circuit.model_copy(update={"crosses_hitch": True}))
    contacts = conductors * route.crossings
    system.warn("signal_over_hitch", found.circuit.key, name=found.circuit.name, contacts=contacts)
