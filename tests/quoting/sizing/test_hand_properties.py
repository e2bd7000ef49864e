"""Whatever a person settles and whatever lies there, no circuit of the design breaks a rule that nothing overrides."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from quoting.sizing.appraise import wiring_of
from quoting.sizing.brief import Brief
from quoting.sizing.brief_wiring import CHANGEABLE, Existing, HandChange
from quoting.sizing.circuits import Wiring
from tests.quoting.sizing.many_circuits import many, read
from tests.quoting.sizing.rechecked import broken

SYSTEMS: tuple[dict[str, Any], ...] = (
    {"circuits": 6},
    {"circuits": 8, "batteries": 3, "strings": 2, "starter_loads": 2},
    {"circuits": 9, "volts": 24, "converters": 1, "senses": 3},
    {"circuits": 6, "trailer": True},
)
AREAS = (0.75, 1.5, 2.5, 3.0, 4.0, 6.0, 10.0, 16.0, 25.0, 35.0, 50.0, 70.0, 95.0, 120.0)
RATINGS = (3.0, 5.0, 7.5, 10.0, 15.0, 20.0, 30.0, 40.0, 60.0, 80.0, 100.0, 150.0, 200.0, 300.0)


@lru_cache(maxsize=len(SYSTEMS))
def base(index: int) -> tuple[Brief, Wiring]:
    raw = many(**SYSTEMS[index])
    raw["vehicle"] |= {"body": "steel", "trailer_body": "steel"}
    raw["policy"] = {"chassis_return_allowed": True, "fuse_continuous_ratio": 1.4}
    brief = read(raw)
    return brief, wiring_of(brief)


def maybe(values: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    return st.none() | values


VALUES = st.fixed_dictionaries(
    {
        "area_mm2": maybe(st.sampled_from(AREAS)),
        "insulation_c": maybe(st.sampled_from((60.0, 70.0, 105.0, 125.0))),
        "rating_a": maybe(st.sampled_from(RATINGS)),
        "form": maybe(st.sampled_from(("fuse", "breaker"))),
        "run_m": maybe(st.floats(0.1, 40)),
        "drop_limit_ratio": maybe(st.sampled_from((0.01, 0.05, 0.1, 0.15))),
        "return_by": maybe(st.sampled_from(("conductor", "chassis"))),
    }
).filter(lambda values: any(v is not None for v in values.values()))
FOUND = st.fixed_dictionaries(
    {
        "area_mm2": st.sampled_from(AREAS),
        "insulation_c": st.sampled_from((60.0, 70.0, 105.0)),
        "run_m": maybe(st.floats(0.1, 20)),
        "form": st.sampled_from(("fuse", "breaker")),
        "series": st.sampled_from(("", "blade_c", "bolt_b", "strip_51", "breaker")),
        "ohm_per_km_20c": maybe(st.sampled_from((0.01, 3.1, 100.0))),
        "rating_a": st.sampled_from(RATINGS),
        "breaking_a": maybe(st.sampled_from((1000.0, 6000.0, 50000.0))),
        "max_v": maybe(st.sampled_from((32.0, 80.0))),
        "distance_m": maybe(st.sampled_from((0.1, 0.15, 0.5))),
        "both_ends": st.booleans(),
    }
)


@settings(
    max_examples=30, deadline=None, phases=(Phase.explicit, Phase.generate),
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much],
)  # fmt: skip
@given(data=st.data())
def test_no_change_by_hand_and_nothing_that_lies_there_breaks_a_rule(data: st.DataObject) -> None:
    brief, plain = base(data.draw(st.integers(0, len(SYSTEMS) - 1)))
    keys = [c.key for c in plain.circuits]
    changed = data.draw(st.lists(st.sampled_from(keys), unique=True, max_size=5))
    lying = data.draw(st.lists(st.sampled_from(keys), unique=True, max_size=3))
    tried = brief.model_copy(
        update={
            "changes": tuple(HandChange(circuit=k, reason="tried", **data.draw(VALUES)) for k in changed),
            "existing": tuple(Existing(circuit=k, name=k, **data.draw(FOUND)) for k in lying),
        }
    )

    wiring = wiring_of(tried)

    assert broken(tried, wiring) == []
    refused = {r.circuit for r in wiring.refused}
    for change in tried.changes:
        now = next((c for c in wiring.circuits if c.key == change.circuit), None)
        taken = {c.field: c.after for c in now.changed} if now else {}
        asked = {name: value for name in CHANGEABLE if (value := getattr(change, name)) is not None}
        # all of a change or nothing, never silence: a circuit that cannot be designed at all is a shortfall
        assert taken == asked or (not taken and (change.circuit in refused or now is None))
        if taken:
            _is_as_settled(change, now)


def _is_as_settled(change: HandChange, now: Any) -> None:
    for name in ("area_mm2", "insulation_c", "run_m", "drop_limit_ratio", "return_by"):
        asked = getattr(change, name)
        assert asked is None or getattr(now, name) == asked
    devices = [d for d in now.devices if d.what in ("fuse", "breaker")]
    assert change.rating_a is None or {d.rating_a for d in devices} == {change.rating_a}
    assert change.form is None or {d.what for d in devices} == {change.form}
