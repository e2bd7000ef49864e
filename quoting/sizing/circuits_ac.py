"""The AC side as nodes, ways between them and questions. Nothing of it is sized or decided here.

Ratings are those that the maker of a chosen part states. Everything else is for the licensed person, and local rules.
"""

from __future__ import annotations

from dataclasses import dataclass

from catalog.kinds.capabilities import Inlet, Inverting, ResidualProtection
from quoting.sizing.appraisal import Chosen
from quoting.sizing.circuits_system import System
from quoting.sizing.trace import Scalar
from quoting.sizing.wiring_records import AcLink

AC_QUESTIONS = (
    "neutral_earth_link",
    "changeover_shore_inverter",
    "earth_and_bonding",
    "residual_device_per_source",
    "residual_type_and_sensitivity",
    "double_pole_switching",
    "ac_conductors_and_breakers",
    "certificate_who",
)
"""Asked of the licensed person wherever there is an AC side. Nothing of it is decided here."""

OF_EVERY_WAY = ("ac_conductors_and_breakers", "earth_and_bonding")
OF_A_SOURCE = ("double_pole_switching", "residual_device_per_source", "residual_type_and_sensitivity")

INLET, SHORE_RESIDUAL, INVERTER_RESIDUAL, CHANGEOVER, OUTLETS = "X0", "X1", "X2", "X3", "AC1"


@dataclass(frozen=True, slots=True)
class AcSide:
    """Ways and questions of the AC side; none without one."""

    links: tuple[AcLink, ...] = ()
    questions: tuple[str, ...] = ()


def ac_side(system: System, inverter_tag: str, mains_tag: str) -> AcSide:
    """Add the nodes of the AC side; say its ways and what they ask.

    ``mains_tag``: of the charger that mains feeds, empty without one.
    """
    inlet, inverter = system.choice.role("inlet"), system.choice.role("inverter")
    mains = any("mains_charging" in c.serves for c in system.choice.chosen)
    if inlet is not None:
        _inlet(system, inlet, mains_tag)
    if inverter is not None:
        _inverter(system, inverter, inverter_tag)
    links = _links(inlet is not None, inverter is not None, inverter_tag, mains_tag)
    _between(system, {tag for link in links for tag in (link.source, link.target)})
    asked = AC_QUESTIONS if inlet is not None or inverter is not None or mains else ()
    return AcSide(links, asked)


def _inlet(system: System, inlet: Chosen, mains_tag: str) -> None:
    can = system.parts.can(inlet.part, Inlet)
    system.node(
        INLET, "inlet", inlet.name, system.at("inlet"), rated_a=can.rated_a, rated_v=can.rated_v, part=inlet.part,
        feeds=mains_tag, licensed=True,
    )  # fmt: skip


def _inverter(system: System, inverter: Chosen, tag: str) -> None:
    can, at = system.parts.can(inverter.part, Inverting), system.at("inverter")
    system.node(
        tag, "inverter", inverter.name, at, continuous_w=can.continuous_w, output_v=can.output_v, part=inverter.part
    )
    names = [x.name for x in system.brief.loads if x.bus == "ac"]
    system.node(
        OUTLETS, "outlet", ", ".join(names) or "Outlets", at, output_v=can.output_v, feeds=tag,
        rated_a=round(can.continuous_w / can.output_v, 1), licensed=True,
    )  # fmt: skip


def _links(inlet: bool, inverter: bool, inverter_tag: str, mains_tag: str) -> tuple[AcLink, ...]:
    """Shore through its residual device to charger and changeover; inverter through its own; outlets behind both."""
    rows: list[tuple[str, str, str, tuple[str, ...]]] = []
    if inlet:
        rows.append((INLET, SHORE_RESIDUAL, "Shore inlet to protection", OF_A_SOURCE))
        if mains_tag:
            rows.append((SHORE_RESIDUAL, mains_tag, "Shore power to charger", ()))
    if inverter:
        rows.append((inverter_tag, INVERTER_RESIDUAL, "Inverter to protection", (*OF_A_SOURCE, "neutral_earth_link")))
    if inlet and inverter:
        rows.append((SHORE_RESIDUAL, CHANGEOVER, "Shore power to changeover", ("changeover_shore_inverter",)))
        rows.append((INVERTER_RESIDUAL, CHANGEOVER, "Inverter to changeover", ("changeover_shore_inverter",)))
        rows.append((CHANGEOVER, OUTLETS, "Changeover to outlets", ()))
    elif inverter:
        rows.append((INVERTER_RESIDUAL, OUTLETS, "Inverter to outlets", ()))
    return tuple(
        AcLink(tag=f"A{i}", source=a, target=b, name=name, questions=(*asked, *OF_EVERY_WAY))
        for i, (a, b, name, asked) in enumerate(rows, start=1)
    )


def _between(system: System, joined: set[str]) -> None:
    """Residual devices and changeover that the ways pass."""
    chosen = system.choice.role("residual")
    stated: dict[str, Scalar] = {}
    if chosen is not None:
        can = system.parts.can(chosen.part, ResidualProtection)
        stated = {
            "rated_a": can.rated_a, "sensitivity_ma": can.sensitivity_ma, "type": can.type, "poles": can.poles,
            "part": chosen.part, "part_name": chosen.name,
        }  # fmt: skip
    for tag, name, place in (
        (SHORE_RESIDUAL, "Residual-current device, shore", "inlet"),
        (INVERTER_RESIDUAL, "Residual-current device, inverter", "inverter"),
    ):
        if tag in joined:
            system.node(tag, "residual", name, system.at(place), licensed=True, **stated)
    if CHANGEOVER in joined:
        system.node(CHANGEOVER, "changeover", "Changeover, shore or inverter", system.at("inverter"), licensed=True)
