"""What the vehicle plan says in figures: every cable run with what lies in it, every position with what sits there."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Protocol

from quoting.drawings.plan_places import Placed, Spot
from quoting.sizing.appraisal import Circuit, Node, PanelPlace
from quoting.sizing.brief import Vehicle
from quoting.sizing.plan_check import WITHIN_M, straight_m


class Designed(Protocol):
    """Nodes, circuits and panels of a design; an ``Appraisal`` is one."""

    @property
    def nodes(self) -> tuple[Node, ...]: ...

    @property
    def circuits(self) -> tuple[Circuit, ...]: ...

    @property
    def panels(self) -> tuple[PanelPlace, ...]: ...


@dataclass(frozen=True, slots=True)
class Nothing:
    """A vehicle for which nothing is designed yet."""

    nodes: tuple[Node, ...] = ()
    circuits: tuple[Circuit, ...] = ()
    panels: tuple[PanelPlace, ...] = ()


@dataclass(frozen=True, slots=True)
class Lane:
    """A cable way, numbered as on the plan."""

    number: int
    a: Spot
    b: Spot
    length_m: float
    straight_m: float | None
    """On the plan, between two places of one vehicle; ``None`` across the drawbar and where lengths placed an end."""
    circuits: tuple[Circuit, ...]
    is_hitch: bool = False

    @property
    def is_too_short(self) -> bool:
        """Shorter than the straight line between two measured places."""
        known = self.a.how == self.b.how == "measured"
        return known and self.straight_m is not None and self.length_m + WITHIN_M < self.straight_m


def lanes(vehicle: Vehicle, placed: Placed, designed: Designed) -> tuple[Lane, ...]:
    """Every run in the survey's order, the one across the drawbar last; circuits by their tags."""
    spots = {s.position.key: s for s in placed.spots}
    laid: dict[frozenset[str], list[Circuit]] = {}
    for circuit in designed.circuits:
        for pair in pairwise(circuit.passes):
            laid.setdefault(frozenset(pair), []).append(circuit)
    ways = [(run.a, run.b, run.length_m, False) for run in vehicle.runs]
    if vehicle.hitch is not None:
        ways.append((vehicle.hitch.tow, vehicle.hitch.trailer, vehicle.hitch.length_m, True))
    return tuple(
        Lane(
            number,
            spots[a],
            spots[b],
            length_m,
            None if is_hitch else _straight(spots[a], spots[b]),
            tuple(sorted(laid.get(frozenset((a, b)), ()), key=lambda c: tag_order(c.tag))),
            is_hitch,
        )
        for number, (a, b, length_m, is_hitch) in enumerate(ways, 1)
    )


def _straight(a: Spot, b: Spot) -> float | None:
    return None if "lengths" in (a.how, b.how) else straight_m(a.position, b.position)


def sitting(designed: Designed, key: str) -> tuple[str, ...]:
    """Tags of what sits at a position, consecutive ones as a range."""
    return in_ranges(node.tag for node in designed.nodes if node.position == key)


_TAG = re.compile(r"([A-Z]+)(\d+)")


def tag_order(tag: str) -> tuple[str, int]:
    """Sorts feeds before loads and 2 before 10: ``L1``, ``L10``, then ``C2``, ``C10``."""
    found = _TAG.fullmatch(tag)
    return ("" if tag.startswith("L") else tag[:1], int(found[2]) if found else 0)


def in_ranges(tags: Iterable[str]) -> tuple[str, ...]:
    """Tags with three or more in a row drawn together; letters in the order in which they come.

    >>> in_ranges(["C3", "C1", "C2", "S1", "C7", "C8", "W0"])
    ('C1–C3', 'C7', 'C8', 'S1', 'W0')
    """
    by_letters: dict[str, list[int]] = {}
    odd: list[str] = []
    for tag in dict.fromkeys(tags):
        found = _TAG.fullmatch(tag)
        if found:
            by_letters.setdefault(found[1], []).append(int(found[2]))
        else:
            odd.append(tag)
    said: list[str] = []
    for letters, numbers in by_letters.items():
        for first, last in _stretches(sorted(numbers)):
            many = last - first >= 2
            said += [f"{letters}{first}–{letters}{last}"] if many else [f"{letters}{n}" for n in range(first, last + 1)]
    return (*said, *odd)


def _stretches(numbers: Sequence[int]) -> list[tuple[int, int]]:
    found: list[tuple[int, int]] = []
    for n in numbers:
        if found and n == found[-1][1] + 1:
            found[-1] = (found[-1][0], n)
        else:
            found.append((n, n))
    return found
