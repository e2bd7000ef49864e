"""The battery monitor's shunt: everything that feeds or draws lies on the system side of it.

The shunt is in the battery's negative. What lands on a battery's own posts past it is not counted, so only the bank's
own leads and links do, and leads that read a voltage, which carry milliamperes and return through the monitor.
"""

from __future__ import annotations

from collections.abc import Iterable

from quoting.sizing.appraisal import Chosen, Circuit, Node
from quoting.sizing.trace import Finding

BANK_ROLES = ("battery_main", "sense")
"""Roles of circuits that may land on a battery's post."""

SYSTEM_NEGATIVE = "N1"


def posts(nodes: Iterable[Node], circuits: Iterable[Circuit]) -> set[str]:
    """Tags of the bank's posts: each auxiliary battery, and the link that joins parallel ones before the main bus."""
    batteries = {node.tag for node in nodes if node.what == "battery"}
    links = {c.target for c in circuits if c.role == "battery_main" and c.source in batteries}
    return batteries | {c.source for c in circuits if c.role == "battery_main" and c.source in links}


def past_the_shunt(circuits: tuple[Circuit, ...], nodes: tuple[Node, ...]) -> tuple[Finding, ...]:
    """Say which circuits the monitor would not count, or would count twice through the body.

    Parameters
    ----------
    circuits : tuple of Circuit
        As designed, with those that lie in the vehicle already.
    nodes : tuple of Node
        Of the diagram.

    Returns
    -------
    tuple of Finding
        One for each circuit on the wrong side; none without a monitor.
    """
    monitor = next((node for node in nodes if node.what == "monitor"), None)
    if monitor is None:
        return ()
    bank = posts(nodes, circuits)
    wrong = [
        c
        for c in circuits
        if ({c.source, c.target} & bank and c.role not in BANK_ROLES)
        or (c.role == "negative_bond" and c.source != SYSTEM_NEGATIVE)
    ]
    return tuple(
        Finding(level="warning", code="past_the_shunt", subject=c.tag, params={"tag": c.tag, "name": c.name})
        for c in wrong
    )


AT_THE_BATTERY = (
    "engine_charger",
    "multi_charger",
    "mains_charger",
    "solar_controller",
    "inverter",
    "converter",
    "switching",
)
"""Roles of parts that people like to put on a battery's posts."""


def to_be_moved(chosen: Iterable[Chosen]) -> tuple[Finding, ...]:
    """Say which kept parts may lie on the battery's own posts, where a monitor comes new."""
    every = tuple(chosen)
    monitor = next((c for c in every if c.role == "monitor"), None)
    names = ", ".join(dict.fromkeys(c.name for c in every if c.kept and c.role in AT_THE_BATTERY))
    if monitor is None or monitor.kept or not names:
        return ()
    return (Finding(level="info", code="kept_to_system_side", subject="monitor", params={"names": names}),)
