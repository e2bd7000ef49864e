"""Voltage lost on the way to each appliance: nodal analysis of the warm network, currents that go together."""

from __future__ import annotations

from collections.abc import Iterator

from catalog.kinds.capabilities import Isolating, Protecting
from quoting.sizing.appraisal import Appraisal, Circuit
from quoting.sizing.brief import Brief
from quoting.sizing.parts import Catalogue
from tests.quoting.sizing.wiring_props.network import Network, Wired, cold_network

JOINT_OHM, JOINT_TO_A = 0.015, 20.0
"""Devices and joints of an appliance circuit; over 20 A they lose no more volts than at 20 A. C, the policy's."""
LUG_OHM = 0.00002
"""One bolted joint. C"""


def warm_c(circuit: Circuit) -> float:
    """Conductor at its current: the rise over the air goes with the square (IEC 60287-1-1, 1.4)."""
    current_a = circuit.current_a if circuit.drop_a is None else circuit.drop_a
    share = min(current_a / circuit.ampacity_a, 1.0)
    return circuit.ambient_c + (circuit.insulation_c - circuit.ambient_c) * share**2


def joints_ohm(parts: Catalogue, circuit: Circuit) -> float:
    """What devices and joints of a circuit add to its conductors, contacts of a coupling left out. [Ω]"""
    stated = lugs = 0.0
    for d in circuit.devices:
        if d.what in ("fuse", "breaker", "isolator"):
            stated += parts.can(d.part, Isolating if d.what == "isolator" else Protecting).resistance_ohm
            lugs += 2 * LUG_OHM
    if circuit.role == "load":
        return max(JOINT_OHM * min(1.0, JOINT_TO_A / circuit.current_a), stated)
    return stated + lugs + 4 * LUG_OHM


def warm_network(brief: Brief, made: Appraisal) -> Wired:
    """Every length at its own circuit's temperature; joints of a circuit together, in its first device."""
    parts = Catalogue(brief)
    wired = cold_network(brief, made, warm={c.tag: warm_c(c) for c in made.circuits})
    joints: dict[str, float] = {}
    for c in made.circuits:
        for i, d in enumerate(d for d in c.devices if d.what in ("fuse", "breaker", "isolator", "channel")):
            joints[d.tag] = joints_ohm(parts, c) if i == 0 else 1e-7
    net = wired.network
    net.resistors = [
        (a, b, joints[a[0]] if a[0] in joints and b == (a[0], "out") else ohm) for a, b, ohm in net.resistors
    ]
    return wired


def drops(brief: Brief, made: Appraisal) -> Iterator[tuple[str, float, float]]:
    """For each appliance circuit on a board of the house: its tag, what the network loses, what is said. [V]

    It draws its design current; the rest of its board draws the rest of the feed's, the rest of the main bus the rest
    of the day's peak; both at the bars themselves.
    """
    wired, peak_a = warm_network(brief, made), made.value("day.peak_a")
    feeds = {c.target: c for c in made.circuits if c.role == "distribution"}
    posts = [(n.tag, "+") for n in made.nodes if n.what == "battery"]
    for c in made.circuits:
        feed = feeds.get(c.source)
        if c.role != "load" or feed is None:
            continue
        net = Network(wired.network.resistors)
        net.batteries = [(post, (post[0], "-"), 100.0, 1e-4) for post in posts]
        board_a, main_a = max(0.0, feed.current_a - c.current_a), max(0.0, peak_a - feed.current_a)
        net.currents = [
            ((c.tag, "-"), (c.tag, "+"), c.current_a),
            ((c.source, "-"), (c.source, "+"), board_a),
            (("N1", "-"), ("W1", "+"), main_a),
        ]
        solved = net.solve()
        at_posts = sum(solved.between_v(post, (post[0], "-")) for post in posts) / len(posts)
        yield c.tag, at_posts - solved.between_v((c.tag, "+"), (c.tag, "-")), c.drop_total_v
