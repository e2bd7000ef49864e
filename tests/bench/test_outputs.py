"""What laying 60 circuits on switched outputs costs, as ratios measured in one run; no seconds are asserted.

Floor: first fit in plain Python: the circuits sorted, each put on the first output left that carries it, module sums
kept, nothing searched. Tight: a whole so small that first fit fails and the search must find the only ways left.

Run with ``pytest -s tests/bench -p no:cacheprovider``; CI does not.
"""

from __future__ import annotations

import random

from quoting.sizing.outputs_fit import Modules, Want, place_all
from quoting.sizing.outputs_laid import lay_out
from tests.bench.test_circuits import best_s

LIMITS = (25.0, 25.0, 15.0, 15.0, 10.0, 10.0, 10.0, 10.0)
COUNT = 8


def plain(amps: list[float], total_a: float) -> bool:
    """The floor."""
    free = sorted((limit, m) for m in range(COUNT) for limit in LIMITS)
    left = [total_a] * COUNT
    for one in sorted(amps, reverse=True):
        at = next((i for i, (limit, m) in enumerate(free) if limit >= one and left[m] >= one), None)
        if at is None:
            return False
        left[free[at][1]] -= one
        del free[at]
    return True


def test_laying_sixty_circuits_out() -> None:
    draw = random.Random(7)
    amps = [round(draw.uniform(0.5, 14), 2) for _ in range(60)]
    wants = [Want(f"c{i:02}", "", a) for i, a in enumerate(amps)]
    roomy, tight = (Modules(LIMITS, sum(amps) / COUNT * ratio, COUNT) for ratio in (1.6, 1.02))
    kept = lay_out(wants, roomy)

    floor = best_s(lambda: plain(amps, roomy.total_a), 20)
    rows = {
        "roomy": best_s(lambda: place_all(wants, roomy), 20),
        "tight": best_s(lambda: place_all(wants, tight)),
        "tried with every place given": best_s(lambda: place_all(wants, roomy, kept.places), 20),
    }

    assert plain(amps, roomy.total_a)
    assert not plain(amps, tight.total_a)
    assert place_all(wants, tight) is not None
    for name, took in rows.items():
        print(f"{name}: {took / floor:.1f} times first fit in plain Python")
