"""What the circuits of a system cost, as ratios measured in one run; no seconds are asserted.

Floor: the bare sums of the same circuits in plain Python: for each of them every conductor of the catalogue tried once,
its ampacity from the tables, its drop, its fault, and the first device that lies between current and ampacity. The
floor keeps nothing: no steps, no records, no way through the vehicle, no bundling counted again, no outputs, no bill.

Run with ``pytest -s tests/bench -p no:cacheprovider``; CI does not.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Any

from catalog.kinds.capabilities import Conducting, Protecting
from quoting.sizing.appraise import _settle, appraise
from quoting.sizing.bill import make_bill
from quoting.sizing.brief import Brief
from quoting.sizing.circuits import design_circuits
from quoting.sizing.conductor_tables import CFR_TABLE_5, ISO_10133_A1
from quoting.sizing.conductors import awg_mm2
from quoting.sizing.parts import Catalogue
from quoting.sizing.pieces import cut
from tests.quoting.sizing.many_circuits import many_brief

OF: dict[str, Any] = {"volts": 24, "batteries": 3, "strings": 3, "senses": 8, "starter_loads": 4, "converters": 2}


def best_s(work: Callable[[], Any], rounds: int = 5) -> float:
    """Least processor time of some rounds, after one to warm up. [s]"""
    work()
    taken = []
    for _ in range(rounds):
        began = time.process_time()
        work()
        taken.append(time.process_time() - began)
    return min(taken)


def plain_sums(circuits: tuple[Any, ...], cables: list[Conducting], devices: list[Protecting]) -> float:
    """The floor."""
    total = 0.0
    sizes, gauges = sorted(ISO_10133_A1), sorted(CFR_TABLE_5, reverse=True)
    for c in circuits:
        for cable in cables:
            iso = max((s for s in sizes if s <= cable.area_mm2), default=0.75)
            awg = min((n for n in gauges if awg_mm2(n) <= cable.area_mm2), default=18)
            air = min(1.0, max(0.0, (cable.insulation_c - c.ambient_c) / (cable.insulation_c - 30)) ** 0.5)
            carries = min(ISO_10133_A1[iso][3], CFR_TABLE_5[awg][4]) * air * (0.6 if c.bundled > 3 else 1.0)
            ohm = 2 * c.run_m * cable.ohm_per_km_20c / 1000
            warm = c.ambient_c + (cable.insulation_c - c.ambient_c) * min(1.0, c.current_a / max(carries, 1e-9)) ** 2
            drop = c.current_a * ohm * (1 + 0.00393 * (warm - 20))
            fault = 28.8 / (0.003 + ohm)
            for device in devices:
                if c.current_a * 1.25 <= device.rating_a <= carries and (device.breaking_a or 0) >= fault:
                    total += drop + device.resistance_ohm
                    break
    return total


def asked(brief: Brief) -> tuple[Any, ...]:
    """What the circuits are designed from."""
    _, system, choice, days, needs = _settle(brief, Catalogue.of(brief))
    day = max(days, key=lambda d: d.energy_wh)
    return choice, tuple(line.result(system.bank_v) for line in day.lines), needs


def test_circuits_of_5_20_and_60() -> None:
    print()
    for count in (5, 20, 60):
        brief = many_brief(count, **OF)
        parts = Catalogue.of(brief)
        choice, results, needs = asked(brief)
        wiring = design_circuits(brief, choice, results, needs)
        cables = sorted({a.can.area_mm2: a.can for a in parts.having(Conducting)}.values(), key=lambda c: c.area_mm2)
        devices = sorted((a.can for a in parts.having(Protecting)), key=lambda d: d.rating_a)

        floor = best_s(lambda w=wiring, c=cables, d=devices: plain_sums(w.circuits, c, d))
        design = best_s(lambda b=brief, c=choice, r=results, n=needs: design_circuits(b, c, r, n))
        cutting = best_s(lambda p=parts, c=choice, w=wiring: cut(p, c, w.nodes, w.circuits, w.holders))
        bill = best_s(lambda b=brief, c=choice, w=wiring: make_bill(b, c, w))
        whole = best_s(lambda b=brief: appraise(b), rounds=3)

        print(
            f"{len(wiring.circuits)} circuits, {len(cables)} sizes, {len(devices)} devices: {design * 1000:.0f} ms here"
        )
        print(f"  {design / floor:8.1f} x the bare sums of as many circuits, {floor * 1000:.0f} ms")
        print(f"  {cutting / design:8.2f} of itself: cutting {len(wiring.pieces)} pieces")
        print(f"  {bill / design:8.2f} of itself: the bill")
        print(f"  {whole / design:8.2f} x itself: the whole appraisal")
        assert 0 < floor < whole
        assert 0 < design < whole
