"""The maker of big systems makes what it is asked for, and the sizing lacks nothing for it."""

from __future__ import annotations

from typing import Any

import pytest

from tests.quoting.sizing.many_circuits import many_made


@pytest.mark.parametrize(
    ("circuits", "more"),
    [
        (5, {"ac": False}),
        (20, {"batteries": 3, "strings": 3}),
        (24, {"volts": 24, "series": True, "batteries": 2, "converters": 3}),
        (20, {"trailer": True}),
        (60, {"volts": 24, "batteries": 4, "strings": 4, "trailer": True, "senses": 6, "starter_loads": 4}),
    ],
)
def test_many_makes_what_is_asked_for(circuits: int, more: dict[str, Any]) -> None:
    brief, made = many_made(circuits, **more)

    chosen = {c.role: c for c in made.chosen}
    appliances = [c for c in made.circuits if c.role == "load" and c.key.startswith("load:load_")]
    assert made.shortfalls == ()
    assert [f.code for f in made.findings if f.level == "danger"] == []
    assert len(appliances) == circuits
    assert chosen["battery"].parallel == more.get("batteries", 1)
    assert chosen["battery"].series == (2 if more.get("series") else 1)
    assert chosen["panel"].parallel == more.get("strings", 1)
    assert ("inverter" in chosen) == more.get("ac", True)
    assert (chosen["converter"].quantity if "converter" in chosen else 0) == more.get("converters", 0)
    assert len(brief.senses) == more.get("senses", 0)
    assert any(c.crosses_hitch for c in made.circuits) == more.get("trailer", False)
