"""Converters for the 12 V loads of a 24 V system: what is asked of them, which model serves, what it takes.

A 24 V bank is never tapped in the middle. Outputs of several converters are not joined: each has loads of its own,
shared out by first fit, the largest circuit first.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from catalog.kinds.capabilities import Converting, at
from quoting.sizing.appraisal import Chosen, Shortfall
from quoting.sizing.brief import Brief, Load
from quoting.sizing.errors import require
from quoting.sizing.load_circuit import circuit_keys
from quoting.sizing.needs import Behind, ConverterNeed
from quoting.sizing.parts import Able, Catalogue, rating_of, short
from quoting.sizing.trace import Figure, Step, step

LOAD_V = 12.0
"""Voltage that the current of 12 V loads is reckoned at. [V]"""
OUTPUT_LEAST_V, OUTPUT_MOST_V = 11.5, 14.8
"""Outputs that appliances for a 12 V vehicle are made for. [V] C"""
MOST_UNITS = 6
"""Converters of one system. C"""

Shares = tuple[tuple[Behind, ...], ...]
"""Circuits by converter."""


def is_behind(brief: Brief, load: Load) -> bool:
    """Say whether a load hangs on a converter: 12 V from a 24 V house bus."""
    return brief.wishes.system_v == 24 and load.bus == "house12"


def circuits_behind(brief: Brief) -> tuple[Behind, ...]:
    """Circuits of the loads on converters, in the order of the audit; loads of the same name share one."""
    keys = circuit_keys(brief)
    together: dict[str, list[Load]] = {}
    for load in brief.loads:
        if is_behind(brief, load):
            together.setdefault(keys[load.key], []).append(load)
    return tuple(_behind(key, members) for key, members in together.items())


def _behind(key: str, members: list[Load]) -> Behind:
    amps = [(x, load_a(x)) for x in members]
    at_once = math.fsum(a for x, a in amps if x.at_once)
    running = max(at_once, *(a for x, a in amps if not x.at_once), 0.0)
    start, start_s = max(
        (((x.start_multiple - 1) * a / x.quantity, x.start_s) for x, a in amps), key=lambda e: e[0], default=(0.0, 0.0)
    )
    name = members[0].name if len(members) == 1 else (members[0].circuit or members[0].name)
    return Behind(key, name, running, at_once, start, start_s if start > 0 else 0.0)


def load_a(load: Load) -> float:
    """Current of a load at the converter's output, all of its quantity. [A]"""
    return load.use.power_w * load.quantity / LOAD_V


def continuous_a(circuits: Sequence[Behind]) -> float:
    """Coincident current: what runs at once, or the largest circuit when that is more. [A]"""
    return max(math.fsum(c.at_once_a for c in circuits), *(c.running_a for c in circuits), 0.0)


def peak_of(circuits: Sequence[Behind]) -> tuple[float, float]:
    """Coincident current with the largest start of one load, and how long it lasts. [A, s]"""
    worst = max(circuits, key=lambda c: (c.start_a, c.start_s), default=None)
    if worst is None:
        return 0.0, 0.0
    return continuous_a(circuits) + worst.start_a, worst.start_s


def ask_converter(brief: Brief, compartment_c: float, charging_v: float = 0.0) -> ConverterNeed | None:
    """What the 12 V loads of a 24 V system ask of converters; ``None`` when there are none.

    ``charging_v``: of the bank that is chosen, where that is more than the policy's highest voltage. [V]
    """
    circuits = circuits_behind(brief)
    if not circuits:
        return None
    peak_a, peak_s = peak_of(circuits)
    volts, policy = brief.wishes.system_v, brief.policy
    return ConverterNeed(
        circuits=circuits,
        continuous_a=continuous_a(circuits),
        peak_a=peak_a,
        peak_s=peak_s,
        low_v=policy.low_voltage_v_per_12 * volts / 12,
        high_v=max(policy.charging_v_per_12 * volts / 12, charging_v),
        compartment_c=compartment_c,
    )


def carries(can: Converting, compartment_c: float, circuits: Sequence[Behind]) -> bool:
    """Say whether one converter carries these circuits in this air, running and starting."""
    left = at(can.derating, compartment_c)
    peak_a, peak_s = peak_of(circuits)
    top_a = can.peak_a if can.peak_s >= peak_s else can.continuous_a
    return continuous_a(circuits) <= can.continuous_a * left + 1e-9 and peak_a <= top_a * left + 1e-9


def shared_out(can: Converting, need: ConverterNeed, most: int = MOST_UNITS) -> Shares:
    """Give each circuit to the first converter that still carries it, the largest first.

    A circuit that no converter carries, or none of ``most``, is in no share.
    """
    units: list[list[Behind]] = []
    for circuit in sorted(need.circuits, key=lambda c: (-c.running_a - c.start_a, c.key)):
        home = next((u for u in units if carries(can, need.compartment_c, [*u, circuit])), None)
        if home is not None:
            home.append(circuit)
        elif len(units) < most and carries(can, need.compartment_c, [circuit]):
            units.append([circuit])
    return tuple(tuple(u) for u in units)


def takes_bus(can: Converting, need: ConverterNeed) -> bool:
    """Say whether the input range holds the whole range of the house bus, and the output suits 12 V loads."""
    bus = can.input_min_v <= need.low_v + 1e-9 and need.high_v <= can.input_max_v + 1e-9
    return bus and OUTPUT_LEAST_V <= can.output_v <= OUTPUT_MOST_V


def choose_converter(parts: Catalogue, need: ConverterNeed | None) -> Chosen | Shortfall | None:
    """The model whose converters carry every 12 V load at least cost, or what the catalogue lacks."""
    if need is None:
        return None
    models = parts.having(Converting)
    right = [a for a in models if takes_bus(a.can, need)]
    if not right:
        code, near = ("wrong_voltage", models[0]) if models else ("none_of_kind", None)
        return short(code, "converting", "converter", best=near, asked=need.continuous_a, unit="A")
    offers = [(a, shared_out(a.can, need)) for a in right]
    good = [(a, len(shares)) for a, shares in offers if sum(map(len, shares)) == len(need.circuits)]
    if not good:
        return _too_small(right, need)
    good.sort(key=lambda o: (o[0].cost * o[1], o[0].part.mass_kg * o[1], o[0].part.key))
    (a, count), rest = good[0], good[1:]
    return Chosen(
        role="converter",
        serves=("converting",),
        part=a.part.key,
        name=a.part.name,
        part_number=a.part.part_number,
        quantity=count,
        rating=rating_of(a.part),
        mass_kg=round(a.part.mass_kg * count, 3),
        runner_up=rest[0][0].part.name if rest else "",
    )


def _too_small(right: list[Able[Converting]], need: ConverterNeed) -> Shortfall:
    """By how much the largest model misses the circuit that asks most."""
    near = max(right, key=lambda a: (a.can.continuous_a, a.part.key))
    left = at(near.can.derating, need.compartment_c)
    largest = max(need.circuits, key=lambda c: c.running_a + c.start_a)
    alone_a, top_a = largest.running_a + largest.start_a, near.can.peak_a
    if largest.start_s > near.can.peak_s:
        top_a = near.can.continuous_a
    rows = [
        (near.can.continuous_a * left, largest.running_a),
        (top_a * left, alone_a),
        (near.can.continuous_a * left * MOST_UNITS, need.continuous_a),
    ]
    value, asked = min(rows, key=lambda r: r[0] / r[1] if r[1] > 0 else math.inf)
    return short("too_small", "converting", "converter", best=near, best_value=value, asked=asked, unit="A")


def input_a(output_w: float, efficiency_ratio: float, bus_v: float) -> float:
    """Current that a converter takes at its input. [A]

    Parameters
    ----------
    output_w : float
        What its loads take. [W]
    efficiency_ratio : float
        Output over input power.
    bus_v : float
        Lowest voltage of the bus, where the current is largest. [V]

    Examples
    --------
    >>> round(input_a(240, 0.92, 23.0), 2)
    11.34

    Conservation of energy.
    """
    require("output_w", output_w, minimum=0, maximum=1e5, unit="W")
    require("efficiency_ratio", efficiency_ratio, minimum=0.3, maximum=1)
    require("bus_v", bus_v, minimum=1, maximum=1000, unit="V")
    return output_w / efficiency_ratio / bus_v


def not_carried(need: ConverterNeed | None, chosen: Chosen | None, can: Converting | None) -> tuple[Behind, ...]:
    """Circuits of 12 V loads that no chosen converter carries; all of them when none is chosen."""
    if need is None:
        return ()
    shares = shared_out(can, need, chosen.quantity) if chosen and can else ()
    carried = {c.key for mine in shares for c in mine}
    return tuple(c for c in need.circuits if c.key not in carried)


def input_steps(output_w: float, efficiency_ratio: float, bus_v: float) -> tuple[Step, ...]:
    """The sum of :func:`input_a`."""
    return (
        step("converter_output", output_w, "W"),
        step("converter", efficiency_ratio, "", "÷", "catalogue"),
        step("lowest_bus", bus_v, "V", "÷", "policy"),
        step("converter_input", input_a(output_w, efficiency_ratio, bus_v), "A", "="),
    )


def figures(need: ConverterNeed | None, chosen: Chosen | None, can: Converting | None) -> tuple[Figure, ...]:
    """What is asked of the converters, what they give in the heat, what they take at the lowest bus voltage."""
    if need is None:
        return ()
    together = [c for c in need.circuits if c.at_once_a > 0]
    if math.fsum(c.at_once_a for c in together) < need.continuous_a - 1e-9:
        together = [max(need.circuits, key=lambda c: c.running_a)]
        rows = [step("line", together[0].running_a, "A", name=together[0].name)]
    else:
        rows = [step("line", c.at_once_a, "A", "+" if i else "", name=c.name) for i, c in enumerate(together)]
    asked = (*rows, step("converter_asked", need.continuous_a, "A", "="))
    found = [_figure("converter.asked_a", need.continuous_a, asked, "coincident", "energy")]
    peak = [step("converter_asked", need.continuous_a, "A")]
    if need.peak_a > need.continuous_a:
        who = max(need.circuits, key=lambda c: c.start_a)
        peak.append(step("largest_start", need.peak_a - need.continuous_a, "A", "+", "input", name=who.name))
    peak.append(step("converter_peak", need.peak_a, "A", "="))
    found.append(_figure("converter.peak_a", need.peak_a, tuple(peak), "coincident", "energy"))
    if chosen is None or can is None:
        return tuple(found)
    left = at(can.derating, need.compartment_c)
    got_a = can.continuous_a * left * chosen.quantity
    got = [step("rating", can.continuous_a, "A", origin="catalogue")]
    if left < 1:
        got.append(step("at_temperature", left, "", "×", "catalogue", compartment_c=need.compartment_c))
    got += [step("converters", chosen.quantity, "", "×"), step("converter_got", got_a, "A", "=")]
    found.append(_figure("converter.got_a", got_a, tuple(got), "converter_got", "maker"))
    output_w = need.continuous_a * LOAD_V
    taken = input_a(output_w, can.efficiency_ratio, need.low_v)
    steps = input_steps(output_w, can.efficiency_ratio, need.low_v)
    found.append(_figure("converter.input_a", taken, steps, "converter_input", "energy"))
    return tuple(found)


def _figure(code: str, value: float, steps: tuple[Step, ...], method: str, source: str) -> Figure:
    return Figure(code=code, value=value, unit="A", steps=steps, method=method, source=source)
