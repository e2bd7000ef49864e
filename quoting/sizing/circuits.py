"""Circuits from node to node, designed: conductors, devices, drops, faults."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from quoting.sizing.appraisal import Circuit, LoadResult, Node, Shortfall
from quoting.sizing.brief import Brief
from quoting.sizing.choice import Choice
from quoting.sizing.needs import Needs
from quoting.sizing.trace import Finding


@dataclass(frozen=True, slots=True)
class Wiring:
    """Every node and circuit of the system, and what could not be decided."""

    nodes: tuple[Node, ...] = ()
    circuits: tuple[Circuit, ...] = ()
    channels: tuple[dict[str, Any], ...] = ()
    shortfalls: tuple[Shortfall, ...] = ()
    findings: tuple[Finding, ...] = ()
    questions: tuple[str, ...] = ()


def design_circuits(brief: Brief, choice: Choice, loads: tuple[LoadResult, ...], needs: Needs) -> Wiring:
    raise NotImplementedError
