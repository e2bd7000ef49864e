"""How fast the trip simulation is, as ratios to floors measured beside it in one run; no seconds are asserted.

Floors: a bare numpy loop over steps that reads one row and writes one row for each state and each array that is written
down, of the same shape and dtype, and works nothing out; and the same battery as a plain Python loop, one member after
another. Processor time, the best of some rounds: the machine does other things too.

What the bare loop lacks: a step of the plainest battery is five dependent passes over a row (its room, what of the room
it takes, the lesser of that and the wish, the greater of that and what it holds, the charge after), and seven more by
blocks of rows, at a third of the price each, for net power, efficiency, limits and what is written. Where the memory
written hides them the ratio is near one, where only the charge is written it is over three. Two wells are six passes
more, a shed group six to eight, a voltage eleven; in steps in which nobody is near a threshold, three stand for all of
the last two.

Run with ``pytest -s tests/bench -p no:cacheprovider``; CI does not.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Any

import numpy as np

from quoting.sizing.battery import OPEN_CIRCUIT
from quoting.sizing.simulation.ledger import POWERS
from quoting.sizing.simulation.plant import Course, Plant, ShedGroup
from quoting.sizing.simulation.run import simulate
from tests.quoting.sizing.simulation.plain import simulate_one

SHEDS = (ShedGroup(0.5, 0.55), ShedGroup(0.3, 0.35))
LIFEPO4 = tuple((s, v * 4) for s, v in OPEN_CIRCUIT["lifepo4"])


def best_s(work: Callable[[], Any], rounds: int) -> float:
    """Least processor time of some rounds, after one to warm up. [s]"""
    work()
    taken = []
    for _ in range(rounds):
        began = time.process_time()
        work()
        taken.append(time.process_time() - began)
    return min(taken)


def bare(steps: int, members: int, states: int, rounds: int) -> float:
    """The floor: one row read and one row written for each state and step. [s]"""
    read = np.random.default_rng(0).random((steps, members))

    def loop() -> Any:
        add, written, state = np.add, np.empty((states, steps, members)), np.zeros(members)
        for t in range(steps):
            for k in range(states):
                add(state, read[t], written[k, t])
        return written

    return best_s(loop, rounds)


def plain(plant: Plant, course: Course, members: int) -> float:
    """The other floor: plain Python, from a few members to all. [s]"""
    few = 3
    return best_s(lambda: [simulate_one(plant, course, m) for m in range(few)], 1) / few * members


def battery(width: int, wells: bool = False, volts: bool = False, drift: bool = False, sheds: bool = False) -> Plant:
    """Alike for all members, or as many candidates side by side."""
    rng = np.random.default_rng(1)

    def some(low: float, high: float) -> Any:
        return rng.uniform(low, high, width)

    return Plant(
        energy_wh=some(1300, 2600),
        charge_limit_w=some(400, 800),
        discharge_limit_w=some(1000, 1500),
        charge_efficiency_ratio=some(0.9, 0.99),
        tail_h=some(0.05, 0.1),
        nominal_v=12.8,
        available_ratio=some(0.4, 0.6) if wells else np.ones(1),
        well_rate_per_h=some(0.5, 1.0),
        open_circuit=LIFEPO4 if volts else (),
        resistance_ohm=some(0.005, 0.01) if volts else None,
        cutoff_v=10.0 if volts else 0.0,
        backstop_v=11.8 if volts else 0.0,
        backstop_restore_v=12.6 if volts else 0.0,
        backstop_delay_h=2 / 60,
        monitor_drift_per_day=0.015 if drift else 0.0,
        sheds=SHEDS if sheds else (),
    )


def trip(steps: int, members: int, sheds: bool = False, sun_w: float = 350.0) -> Course:
    """Days whose sun is each weather's own, with enough load that shed groups go off now and then."""
    rng = np.random.default_rng(2)
    hour = np.arange(steps) % 24
    by_day = np.maximum(0.0, np.sin((hour - 6) / 12 * np.pi))[:, None]
    clear = np.repeat(rng.uniform(0.1, 1.4, (-(-steps // 24), members)), 24, axis=0)[:steps]
    load = (40 + 30 * (hour > 17))[:, None] * rng.uniform(0.8, 1.2, (steps, 1))
    all_day, none = np.ones((steps, 1)), np.zeros((steps, 1))
    engine = 300.0 * ((np.arange(steps) % 72) == 9)[:, None]
    shed = (load * 0.3, load * 0.2) if sheds else ()
    return Course(1.0, load, load * 0.3, shed, engine, none, by_day * clear * sun_w, all_day, all_day, load * 2)


def show(name: str, took: float, floor: float, states: int, slow: float) -> None:
    print(f"  {name:44} {took * 1000:8.1f} ms  {took / floor:5.1f} x bare ({states} rows)  plain / {slow / took:7.0f}")


def test_two_weeks_in_500_weathers() -> None:
    steps, members = 14 * 24, 500
    print(f"\n{steps} steps x {members} weathers, every array written down")
    # rows: nine powers and charge; an available well; a flag and a load of each group; voltage, drop of a watt, clock,
    # two flags of protection and backstop; the monitor's error. Flags count as much as numbers.
    for name, on, states in (
        ("charge, flows, losses", {}, 9),
        ("and two wells", {"wells": True}, 10),
        ("and two shed groups", {"sheds": True}, 13),
        ("and voltage, protection, backstop", {"sheds": True, "volts": True}, 18),
        ("and wells and a drifting monitor", {"sheds": True, "volts": True, "wells": True, "drift": True}, 20),
    ):
        plant, course = battery(1, **on), trip(steps, members, sheds="sheds" in on)
        took, floor = best_s(lambda p=plant, c=course: simulate(p, c), 20), bare(steps, members, states, 20)
        slow = plain(plant, course, members)

        show(name, took, floor, states, slow)
        assert 0 < took < slow, "slower than plain Python"
        out = simulate(plant, course)
        assert all(getattr(out, power).shape == (steps, members) for power in POWERS)


def test_a_year_of_hours_of_1000_candidates() -> None:
    steps, members = 8760, 1000
    print(f"\n{steps} steps x {members} candidates")
    course, small = trip(steps, members), battery(members)
    floors = {states: bare(steps, members, states, 3) for states in (1, 3)}
    slow = plain(small, course, members)
    for name, plant, record in (
        ("charge alone written down", small, ("charge_ratio",)),
        ("charge, unserved, taken", small, ("charge_ratio", "unserved_w", "taken_w")),
        ("charge alone, two wells", battery(members, wells=True), ("charge_ratio",)),
    ):
        took = best_s(lambda p=plant, r=record: simulate(p, course, record=r, record_volts=False), 3)

        show(name, took, floors[len(record)], len(record), slow)
        assert 0 < took < slow, "slower than plain Python"
    assert np.all(simulate(small, course, record=("charge_ratio",)).charge_ratio <= 1)
