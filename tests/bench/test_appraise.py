"""How long one appraisal takes, as a ratio to floors measured beside it in one run; no seconds are asserted.

Run with ``pytest -s tests/bench -p no:cacheprovider``; CI does not.
"""

from __future__ import annotations

import json
import statistics
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from quoting.sizing.appraise import appraise
from quoting.sizing.brief import read
from quoting.sizing.outlook import Trial
from quoting.sizing.trial import try_out

RAW = (Path(__file__).parent.parent / "examples" / "field_wagon.json").read_text(encoding="utf-8")


def median_s(work: Callable[[], Any], rounds: int = 9) -> float:
    """Median time of some rounds, after one to warm up. [s]"""
    work()
    taken = []
    for _ in range(rounds):
        began = time.perf_counter()
        work()
        taken.append(time.perf_counter() - began)
    return statistics.median(taken)


def plain_year() -> float:
    """A floor: a year of hours of charge, clipped, in plain Python, one candidate."""
    charge, full = 3000.0, 3840.0
    for hour in range(8760):
        charge = min(full, max(0.0, charge + (220.0 if 9 <= hour % 24 <= 15 else -90.0)))
    return charge


def read_only() -> Any:
    """A floor: reading the same Brief, with nothing worked out."""
    return read(RAW)


def test_one_appraisal_against_its_floors() -> None:
    brief = read(RAW)
    whole = median_s(lambda: appraise(brief))
    made = appraise(brief)
    tried = median_s(lambda: try_out(brief, made, Trial(sun_ratio=0.8)))
    floors = {"a year of hours in plain Python": median_s(plain_year), "reading the Brief": median_s(read_only)}
    dumped = median_s(lambda: json.dumps(appraise(brief).model_dump(mode="json")))

    print(f"\none appraisal, {len(brief.loads)} loads, {len(brief.catalogue)} parts: {whole * 1000:.0f} ms here")
    for name, floor in floors.items():
        print(f"  {whole / floor:8.1f} x {name}")
    print(f"  {dumped / whole:8.2f} x itself, with its JSON written")
    print(f"  {tried / whole:8.2f} of itself: trying something out on what was chosen, {tried * 1000:.0f} ms here")
    assert whole > 0
    assert all(floor > 0 for floor in floors.values())
