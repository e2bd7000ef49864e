"""Converters, monitors, switched outputs and inputs that read: what a part does twice is bought once."""

from __future__ import annotations

import math
from collections.abc import Iterable

from catalog.kinds.capabilities import Converting, Monitoring, Sensing, Switching
from quoting.sizing.battery_volts import highest_charging_v
from quoting.sizing.choice import inverter_dc_a
from quoting.sizing.choice_sensing import MORE_THAN_READS
from quoting.sizing.choice_sensing import wanted as wanted_inputs
from quoting.sizing.choice_switching import MOST_MODULES, behind_devices, modules_wanted, wanted
from quoting.sizing.converters import LOAD_V, MOST_UNITS, Shares, shared_out, takes_bus
from quoting.sizing.outputs_fit import Want
from quoting.sizing.parts import Catalogue
from quoting.sizing.selecting.options_ask import MOST_PIECES, Ask, part_of
from quoting.sizing.selecting.options_bank import Bank
from quoting.sizing.selecting.options_mains import Inverter
from quoting.sizing.selecting.problem import Option, Row
from quoting.sizing.sharing import Shared, circuits_shared

Split = tuple[tuple[str, ...], ...]
"""Keys of the circuits by converter."""


def converters_of(ask: Ask) -> tuple[list[Option], dict[str, Shares]]:
    """Converters that carry every 12 V circuit, with how each shares them out, by the option's key."""
    need = ask.needs.converter
    found: list[Option] = []
    shares: dict[str, Shares] = {}
    if need is None:
        return found, shares
    for able, kept in ask.of_role("converter", Converting):
        split = shared_out(able.can, need, kept or MOST_UNITS)
        if not takes_bus(able.can, need) or sum(map(len, split)) < len(need.circuits):
            continue
        pick = ask.pick("converter", able.part.key, kept or len(split))
        option = ask.option(("converter",), (pick,), {}, kept=kept is not None)
        found.append(option)
        shares[option.key] = split
    return found, shares


def monitors_of(ask: Ask) -> list[Option]:
    """Monitors for the bus; currents and the bank's voltage are held by rows."""
    found = []
    for able, kept in ask.of_role("monitor", Monitoring):
        pick = ask.pick("monitor", able.part.key)
        found.append(ask.option(("monitor",), (pick,), monitor_gives(able.can), kept=kept is not None))
    return found


def monitor_gives(can: Monitoring) -> dict[str, float]:
    return {"shunt_a": can.shunt_a, "shunt_inverter_a": can.shunt_a, "monitor_v": can.max_v}


def monitor_rows(ask: Ask, banks: list[Bank], inverters: list[Inverter]) -> list[Row]:
    """The shunt carries the battery's current and an inverter at its rating; the monitor stands the bus."""
    asked_a = ask.needs.battery.discharge_a
    rows = [
        Row("shunt_a", "need", asked_a, unit="A", scale=max(asked_a, 1.0)),
        Row("monitor_v", "fit", least=0.0, unit="V", scale=10.0),
    ]
    planned_v = ask.brief.policy.charging_v_per_12 * ask.system_v / 12
    for bank in banks:
        bank.gives["monitor_v"] = -max(planned_v, highest_charging_v(bank.can, bank.series))
    for inverter in inverters:
        inverter.gives["shunt_inverter_a"] = -inverter_dc_a(inverter.can)
    if inverters:
        rows.append(Row("shunt_inverter_a", "fit", least=0.0, unit="A", scale=10.0))
    return rows


class Outputs:
    """Switched outputs that the circuits ask for, as they hang on the bus or on converters."""

    def __init__(self, ask: Ask, shares: Shares) -> None:
        self.ask = ask
        homes = {c.key: i for i, mine in enumerate(shares) for c in mine}
        self.circuits: list[Shared] = [c for c in circuits_shared(ask.brief, homes) if c.on_output]
        self.sheds = any(c.shed_below_ratio is not None for c in self.circuits)
        self.volts = {LOAD_V if c.home is not None else float(ask.system_v) for c in self.circuits}
        self.models = [able for able, _ in ask.of_role("switching", Switching) if self.suits(able.can)]
        largest_a = max((max(a.can.channel_limits_a) for a in self.models), default=0.0)
        wants = [wanted(ask.brief, c) for c in self.circuits]
        self.carried: list[Want] = [w for w in wants if w.current_a <= largest_a]
        self._least: dict[tuple[object, ...], int | None] = {}

    def suits(self, can: Switching) -> bool:
        return self.volts <= set(can.nominal_v) and (can.sheds or not self.sheds)

    def least(self, can: Switching) -> int | None:
        """Fewest modules of a model that carry the circuits, none spare; ``None``: they are over its outputs."""
        if not self.suits(can) or not self.carried:
            return None
        kind = (can.channel_limits_a, can.total_a, can.protects)
        if kind not in self._least:
            wants = behind_devices(self.ask.brief, Catalogue.of(self.ask.brief), self.carried, can)
            self._least[kind] = modules_wanted(wants, can, 0)
        return self._least[kind]

    def counts(self, can: Switching, kept: int | None) -> Iterable[int]:
        """Modules, from as few as carry the circuits to as many as leave the spare outputs that are asked."""
        least = self.least(can)
        if least is None:
            return ()
        if kept is not None:
            return (kept,) if kept >= least else ()
        asked = math.ceil((len(self.carried) + self.ask.brief.spare_outputs) / len(can.channel_limits_a))
        return range(least, min(max(least, asked), MOST_MODULES) + 1)

    def spare(self, can: Switching, count: int) -> float:
        return float(count * len(can.channel_limits_a) - len(self.carried))


def switching_of(ask: Ask, splits: list[Shares]) -> tuple[list[Option], list[Row], bool]:
    """Modules, by how converters share circuits out where that matters.

    The last says whether switched outputs are wanted at all.
    """
    asked = [Outputs(ask, split) for split in splits]
    if not asked[0].circuits:
        return [], [], False
    found: list[Option] = []
    rows = [
        Row("spare_outputs", "need", float(ask.brief.spare_outputs), scale=max(float(ask.brief.spare_outputs), 1.0))
    ]
    for able, kept in ask.of_role("switching", Switching):
        by_split = [set(outputs.counts(able.can, kept)) for outputs in asked]
        for count in sorted(set().union(*by_split)):
            suits = [count in counts for counts in by_split]
            gives = {"spare_outputs": asked[suits.index(True)].spare(able.can, count)}
            if len(asked) > 1:
                gives |= {f"split:{i}": 1.0 for i, fits in enumerate(suits) if not fits}
            pick = ask.pick("switching", able.part.key, count)
            found.append(ask.option(("switching",), (pick,), gives, kept=kept is not None))
    if len(asked) > 1:
        rows += [Row(f"split:{i}", "fit", most=1.0) for i in range(len(asked))]
    return found, rows, True


def with_outputs(ask: Ask, modules: Iterable[Option], others: Iterable[Option]) -> list[tuple[Option, Option]]:
    """Parts with switched outputs that are there for something else as well, each with the option it is made of.

    A monitor, charger or inverter with outputs is bought once for both. What rows join it to others is taken over,
    so they must be written before.
    """
    by_part: dict[str, list[Option]] = {}
    for option in modules:
        if not option.kept:
            by_part.setdefault(part_of(option), []).append(option)
    found = []
    for other in others:
        for module in by_part.get(part_of(other), ()) if not other.kept else ():
            gives = dict(other.gives)
            for row, value in module.gives.items():
                gives[row] = gives.get(row, 0.0) + value
            fills, picks = (*module.fills, *other.fills), (*module.picks, *other.picks)
            found.append((ask.option(fills, picks, gives, note="-".join(other.fills)), other))
    return found


def sensing_of(ask: Ask, others: Iterable[Option]) -> tuple[list[Option], list[Row], bool]:
    """Parts that only read, for inputs that what is chosen anyway lacks; none of them is an option, too.

    The last says whether anything is watched at all.
    """
    asked = wanted_inputs(ask.brief)
    if not asked:
        return [], [], False
    for option in others:
        _add_inputs(ask, option)
    found = [Option("sensing:none", ("sensing",), (), 0.0, 0.0, 0.0)]
    for able, kept in ask.of_role("sensing", Sensing):
        inputs = dict(able.can.inputs)
        if any(isinstance(can, MORE_THAN_READS) for can in ask.parts.all(able.part.key)):
            continue
        most = max((math.ceil(asked[kind] / inputs[kind]) for kind in asked if inputs.get(kind)), default=0)
        for pieces in (kept,) if kept is not None else range(1, min(most, MOST_PIECES) + 1):
            pick = ask.pick("sensing", able.part.key, pieces)
            option = ask.option(("sensing",), (pick,), {}, kept=kept is not None)
            _add_inputs(ask, option)
            found.append(option)
    rows = [Row(f"inputs:{kind}", "need", float(count), scale=float(count)) for kind, count in sorted(asked.items())]
    return found, rows, True


def _add_inputs(ask: Ask, option: Option) -> None:
    """Inputs of a part by kind, all pieces."""
    key = part_of(option)
    if not key or not ask.parts.has(key, Sensing):
        return
    pieces = max(pick.quantity for pick in (*option.picks, *option.kept))
    gives = option.gives
    assert isinstance(gives, dict)
    for kind, count in ask.parts.can(key, Sensing).inputs:
        gives[f"inputs:{kind}"] = float(count * pieces)
