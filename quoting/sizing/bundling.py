"""Loaded conductors that a design lays together along each cable way, and designing again until that settles.

Counts only grow from one design to the next, and no circuit lies among more conductors than there are: it ends.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from itertools import pairwise
from typing import Protocol, TypeVar

from quoting.sizing import conductors
from quoting.sizing.appraisal import Circuit
from quoting.sizing.policy import Policy

Edge = tuple[str, str]

LIGHT_RATIO = 0.3
"""Share of its grouped ampacity up to which a conductor does not count for the others. IEC 60364-5-52, 523.5 (M)."""

UNLOADED = ("sense", "negative_bond")
"""Circuits that carry no current worth counting."""

PAIR = 2
"""Feed and return, which every circuit is first designed for."""

MOST_PASSES = 6
"""Designs that follow one another by what is loaded; then everything is counted, which no further design changes."""


class Laid(Protocol):
    """A design with its circuits."""

    @property
    def circuits(self) -> tuple[Circuit, ...]: ...


D = TypeVar("D", bound=Laid)


def settle_bundles(design: Callable[[Mapping[str, int]], D], policy: Policy) -> D:
    """Design until no circuit lies among more loaded conductors than it was designed for.

    Parameters
    ----------
    design : callable
        Takes loaded conductors by ``Circuit.key``, gives the design with its circuits.
    policy : Policy
        For the area from which conductors are laid apart.

    Returns
    -------
    D
        The last design.
    """
    together: dict[str, int] = {}
    for number in range(MOST_PASSES + 1):
        made = design(together)
        found = counted(made.circuits, policy, everyone=number >= MOST_PASSES - 1)
        grown = {key: n for key, n in found.items() if n > together.get(key, PAIR)}
        if not grown:
            break
        together = {**together, **grown}
    return made


def counted(circuits: Iterable[Circuit], policy: Policy, *, everyone: bool = False) -> dict[str, int]:
    """Count the loaded conductors along the way of each circuit, by ``Circuit.key``; its own are among them.

    On each way conductors of large area lie apart, but for the hitch's own cable. Conductors that carry little of what
    they could among all of the others are not counted for them, unless ``everyone`` is.
    """
    ways: dict[Edge, list[Circuit]] = {}
    for circuit in circuits:
        if circuit.role not in UNLOADED:
            for edge in edges_of(circuit):
                ways.setdefault(edge, []).append(circuit)
    found: dict[str, int] = {}
    for there in ways.values():
        loaded = [c for c in there if not is_apart(c, policy)]
        full = sum(own_conductors(c) for c in loaded)
        counts = {c.key: everyone or not is_light(c, full) for c in loaded}
        heavy = sum(own_conductors(c) for c in loaded if counts[c.key])
        for c in there:
            among = heavy if c in loaded else 0
            own = 0 if c in loaded and counts[c.key] else own_conductors(c)
            found[c.key] = max(found.get(c.key, 0), among + own)
    return found


def edges_of(circuit: Circuit) -> tuple[Edge, ...]:
    """Ways between neighbouring positions that a circuit passes; none where both ends are at one place."""
    return tuple((min(pair), max(pair)) for pair in pairwise(circuit.passes))


def own_conductors(circuit: Circuit) -> int:
    """Feed and return, or the feed alone where the body is the return."""
    return 1 if circuit.return_by == "chassis" else 2


def is_apart(circuit: Circuit, policy: Policy) -> bool:
    """Say whether a circuit is laid apart from the others all its way; one that crosses the hitch is not."""
    return circuit.area_mm2 >= policy.laid_apart_mm2 and not circuit.crosses_hitch


def is_light(circuit: Circuit, together: int) -> bool:
    """Say whether a circuit carries no more than 30 % of what it could among so many conductors."""
    alone_a = circuit.ampacity_a / conductors.bundling_factor(circuit.bundled)
    return circuit.current_a <= LIGHT_RATIO * alone_a * conductors.bundling_factor(max(together, 1))
