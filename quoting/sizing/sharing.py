"""Which loads share a circuit, which circuits want a switched output, and under which charge each goes off.

A circuit is Always live or in the Away set, never both: where loads of both are named for one, it becomes two.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from catalog.kinds.capabilities import Switching
from quoting.sizing.brief import Brief, Load
from quoting.sizing.converters import is_behind, load_a
from quoting.sizing.load_circuit import LIVE, circuit_keys

DIRECT = ("house", "house12", "usb")
"""Buses whose loads hang on the house's direct-current boards; converters are at the load."""


@dataclass(frozen=True, slots=True)
class Shared:
    """Loads of one circuit, before it is designed."""

    key: str
    """As ``circuit_keys`` has it; ends in ``+live`` where the name stands for two circuits."""
    loads: tuple[Load, ...]
    home: int | None
    """Converter it hangs on, counted from 0."""
    mixed: bool = False
    """The other group's loads of the same name have a circuit of their own."""

    @property
    def name(self) -> str:
        if len(self.loads) == 1:
            return self.loads[0].name
        return ", ".join(x.name for x in self.loads)[:120] if self.mixed else self.loads[0].circuit or ""

    @property
    def always_live(self) -> bool:
        return self.loads[0].always_live

    @property
    def on_output(self) -> bool:
        return on_output(self.loads)

    @property
    def shed_below_ratio(self) -> float | None:
        return sheds_below(self.loads)


def circuits_shared(brief: Brief, homes: Mapping[str, int]) -> tuple[Shared, ...]:
    """Circuits of the direct-current loads, in the order of the audit.

    ``homes``: converter by circuit, of 12 V loads in a 24 V system.
    """
    keys = circuit_keys(brief)
    found: dict[tuple[str, int | None, bool], list[Load]] = {}
    for load in brief.loads:
        if load.bus in DIRECT:
            home = homes.get(keys[load.key]) if is_behind(brief, load) else None
            found.setdefault((keys[load.key], home, load.always_live), []).append(load)
    out = []
    for (key, home, live), members in found.items():
        mixed = (key, home, not live) in found
        out.append(Shared(key + (LIVE if mixed and live else ""), tuple(members), home, mixed))
    return tuple(out)


def switched(load: Load) -> bool:
    """Say whether a load wants a switched output: it belongs to the Away set, or is to be shed."""
    return load.bus in DIRECT and load.channel and (not load.always_live or load.shed_below_ratio is not None)


def on_output(members: Sequence[Load]) -> bool:
    """Say whether a circuit of these loads wants a switched output: one of them does, and all of them may."""
    return any(switched(x) for x in members) and all(x.channel for x in members)


def sheds_below(members: Iterable[Load]) -> float | None:
    """Charge under which a circuit on an output goes off: its loads go together, the first takes the others along."""
    levels = [x.shed_below_ratio for x in members if x.shed_below_ratio is not None]
    return max(levels) if levels else None


def current_a(brief: Brief, circuit: Shared) -> float:
    """Current of a circuit that is not designed yet: all of its loads at once. [A]"""
    return sum(load_a(x) if is_behind(brief, x) else _house_a(brief, x) for x in circuit.loads)


def _house_a(brief: Brief, load: Load) -> float:
    """Current at the house bus, the loss of a converter at the load included. [A]"""
    ratio = brief.policy.converter_efficiency_ratio if load.bus == "usb" else 1.0
    return load.use.power_w * load.quantity / brief.wishes.system_v / ratio


def goes_off(brief: Brief, can: Switching | None) -> dict[str, float]:
    """Charge under which each load goes off, by key, with the modules of this model.

    A threshold of a load that hangs on no switched output that sheds lets nothing go. Loads of one circuit go together.
    """
    if can is None or not can.sheds:
        return {}
    largest_a = max(can.channel_limits_a)
    found: dict[str, float] = {}
    for circuit in circuits_shared(brief, {}):
        level = circuit.shed_below_ratio
        if level is not None and circuit.on_output and current_a(brief, circuit) <= largest_a:
            found |= {x.key: level for x in circuit.loads}
    return found
