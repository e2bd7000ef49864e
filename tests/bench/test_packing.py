"""Panels of 100 sizes on roofs with nothing, one, two and four things in them, as ratios to the programme alone.

Run with ``pytest -s tests/bench/test_packing.py -p no:cacheprovider``; CI does not. No seconds are asserted.
"""

from __future__ import annotations

import random
from time import perf_counter

import pytest

from quoting.sizing import packing, packing_programme
from quoting.sizing.brief_choosing import RoofArea, Taken
from quoting.sizing.packing_board import Board
from quoting.sizing.packing_bound import Box

SIZES, SEED = 100, 7
LEAST_M, MOST_M = (1.2, 0.8), (6.0, 2.4)


@pytest.mark.parametrize("things", [0, 1, 2, 4])
def test_packing_against_the_programme_alone(things, monkeypatch):
    asked: list[tuple[int, int, tuple[int, int], tuple[Box, ...]]] = []
    real = packing._packed.__wrapped__

    def noted(length: int, width: int, piece: tuple[int, int], taken: tuple[Box, ...], wanted: int | None):
        asked.append((length, width, piece, taken))
        return real(length, width, piece, taken, wanted)

    monkeypatch.setattr(packing, "_packed", noted)
    packing._named.cache_clear()
    made, proved, spent = [], 0, 0.0
    for roof, (long_m, short_m) in _cases(things):
        begun = perf_counter()
        packed = packing.most_on([roof], long_m, short_m, 0.02, 0.03)
        spent += perf_counter() - begun
        made.append(packed.count)
        proved += packed.proved
    monkeypatch.setattr(packing_programme, "MOST_COVERED", 30_000)

    begun = perf_counter()
    for length, width, piece, taken in asked:
        inside = [box for box in (packing._inside(t, length, width) for t in taken) if box]
        packing_programme.by_programme(Board(length, width, piece, inside), [], 999)
    alone = perf_counter() - begun

    print(
        f"\n{things} things: {sum(made) / SIZES:.1f} panels a roof, {proved} of {SIZES} proved; "
        f"{spent / alone:.2f} of the programme alone, {1000 * spent / SIZES:.1f} ms each here"
    )
    assert len(made) == SIZES


def _cases(things: int) -> list[tuple[RoofArea, tuple[float, float]]]:
    rnd = random.Random(SEED)
    cases = []
    for _ in range(SIZES):
        length_m, width_m = (round(rnd.uniform(low, high), 2) for low, high in zip(LEAST_M, MOST_M, strict=True))
        taken = tuple(
            Taken(
                x_m=round(rnd.uniform(0, length_m - 0.5), 2),
                y_m=round(rnd.uniform(0, width_m - 0.5), 2),
                length_m=round(rnd.uniform(0.1, 0.5), 2),
                width_m=round(rnd.uniform(0.1, 0.5), 2),
            )
            for _ in range(things)
        )
        roof = RoofArea(key="roof", name="Roof", length_m=length_m, width_m=width_m, taken=taken)
        cases.append((roof, (round(rnd.uniform(0.9, 1.8), 3), round(rnd.uniform(0.4, 1.1), 3))))
    return cases
