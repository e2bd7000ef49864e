"""No chosen system has parts that do not go together, whatever the brief: judged by rules of its own.

Chemistry of every charger's profile, voltages of every part, a controller's limits on the coldest morning and at its
hottest, batteries in series and side by side, what a bank takes of each charger, the engine bay, a converter's input,
switched outputs: :mod:`judged` has the formulas, and knows nothing of the programme.
"""

from __future__ import annotations

import json
from functools import lru_cache
from typing import Any

import pytest
from hypothesis import HealthCheck, assume, event, given, settings
from hypothesis import strategies as st

from quoting.sizing.appraisal import Chosen
from quoting.sizing.brief import Brief, read
from quoting.sizing.parts import Catalogue
from quoting.sizing.selecting.options import Rest
from quoting.sizing.selecting.records import Steer
from quoting.sizing.selecting.searching import began
from quoting.sizing.selecting.select import select
from quoting.sizing.selecting.settling import Found, Options, asked_of, settled_answer
from quoting.sizing.system import assemble
from tests.quoting.sizing.library_case import brief as library_brief
from tests.quoting.sizing.library_case import catalogue
from tests.quoting.sizing.many_circuits import many
from tests.quoting.sizing.selecting.every_system import faults_of
from tests.quoting.sizing.selecting.judged import Judge, Placed
from tests.quoting.sizing.selecting.many_parts import market_of, with_many
from tests.quoting.sizing.selecting.small_catalogues import Case

CHARGES = {"engine_charging": "engine", "mains_charging": "mains", "solar_control": "solar"}


def wrong_with(brief: Brief, chosen: tuple[Chosen, ...]) -> list[str]:
    """Everything that does not go together in a system, by the needs that it has itself."""
    needs, _use = asked_of(brief, assemble(brief, chosen, Catalogue.of(brief)))
    judge = Judge(Case(brief, needs, market_of(brief)))
    system = {one.role: Placed(one.part, one.quantity, one.series, _sources(one), one.kept) for one in chosen}
    return [*faults_of(judge, system), *_converter(judge, system), *_switching(judge, system)]


def _sources(one: Chosen) -> tuple[str, ...]:
    return tuple(CHARGES[need] for need in one.serves) if one.role == "multi_charger" else ()


def _converter(judge: Judge, system: dict[str, Placed]) -> list[str]:
    """The whole range of the house bus lies in its input's; its output suits 12 V appliances."""
    one = system.get("converter")
    if one is None:
        return []
    spec, policy = judge.specs[one.part], judge.brief.policy
    low_v, high_v = policy.low_voltage_v_per_12 * judge.per_12, judge.top_v
    battery = judge.specs[system["battery"].part]
    high_v = max(high_v, battery["absorption_v"] * system["battery"].series)
    faults = {"converter input": spec["input_min_v"] > low_v or spec["input_max_v"] < high_v,
              "converter output": not 11.5 <= spec["output_v"] <= 14.8,
              "converter small": spec["continuous_a"] * one.count * 1.0001 < judge.needs.converter.continuous_a
              * 0.5}  # fmt: skip
    return [name for name, wrong in faults.items() if wrong]


def _switching(judge: Judge, system: dict[str, Placed]) -> list[str]:
    one = system.get("switching")
    if one is None:
        return []
    spec = judge.specs[one.part]
    volts = {float(v) for v in spec["channels_v" if "channels_v" in spec else "nominal_v"]}
    switched = [x for x in judge.brief.loads if x.channel and not x.always_live and x.bus in ("house", "house12")]
    behind = {12.0 if judge.volts == 24 and x.bus == "house12" else judge.volts for x in switched}
    return [] if behind <= volts else ["switching voltage"]


def chosen_for(brief: Brief, objective: Any = "price") -> Found:
    market = market_of(brief)
    return settled_answer(Options(market, Steer()), brief, objective, Rest(), (), began(brief))


@pytest.mark.parametrize("objective", ["price", "cost_per_year", "mass"])
@pytest.mark.parametrize(("volts", "chemistry", "demand"), [
    (12, "lifepo4", "small"), (12, "agm", "medium"), (12, "gel", "small"), (12, "flooded", "large"),
    (24, "lifepo4", "kitchen"), (24, "agm", "medium"), (24, "flooded", "small"), (12, "lifepo4", "large"),
])  # fmt: skip
def test_systems_of_the_library_go_together(volts, chemistry, demand, objective):
    brief = library_brief(volts, chemistry, demand)

    found = chosen_for(brief, objective)

    assert found.answer is not None
    assert wrong_with(brief, found.system.chosen) == []


def test_systems_of_a_thousand_components_go_together():
    """Sizes are spread so that no two models are alike, and limits lie close to what is asked."""
    brief = with_many(library_brief(12, "lifepo4", "medium"), 1000)

    found = chosen_for(brief)

    assert found.answer is not None
    assert wrong_with(brief, found.system.chosen) == []


@lru_cache(maxsize=1)
def shelf() -> str:
    return json.dumps(catalogue())


class Job:
    """A drawn Brief, told by what was drawn and not by its catalogue."""

    def __init__(self, brief: Brief) -> None:
        self.brief = brief

    def __repr__(self) -> str:
        vehicle = self.brief.vehicle
        said = self.brief.title, vehicle.places, vehicle.roof_length_m, vehicle.alternator_control, vehicle.hot_idle_a
        site = self.brief.trip[0].site
        return f"{said} {site.tmin_c[0]}..{site.tmax_c[0]} °C, {self.brief.trip[0].shade_ratio}, {self.brief.wishes}"


@st.composite
def jobs(draw: st.DrawFn) -> Job:
    """Vehicles and loads of any size; the library's whole shelf and parts made to measure; some of it is banned."""
    volts = draw(st.sampled_from((12, 24)))
    raw = many(
        draw(st.integers(2, 14)), volts=volts, batteries=draw(st.integers(1, 3)), strings=draw(st.integers(1, 2)),
        series=volts == 24 and draw(st.booleans()), ac=draw(st.booleans()),
        converters=draw(st.integers(0, 2)) if volts == 24 else 0,
    )  # fmt: skip
    there = {part["key"] for part in raw["catalogue"]}
    raw["catalogue"] += [part for part in json.loads(shelf()) if part["key"] not in there]
    vehicle = raw["vehicle"]
    vehicle["alternator_control"] = draw(st.sampled_from(("fixed", "smart", "none")))
    vehicle["hot_idle_a"] = draw(st.sampled_from((45, 75, 110)))
    vehicle["roof_length_m"] = draw(st.sampled_from((None, 2.0, 4.0)))
    vehicle["places"]["battery"] = draw(st.sampled_from(("bench", "bench", "engine")))
    vehicle["places"]["charger"] = draw(st.sampled_from(("bench", "engine")))
    month = raw["trip"][0]["site"]
    month["tmin_c"] = [draw(st.sampled_from((-18.0, 2.0, 12.0)))] * 12
    month["tmax_c"] = [draw(st.sampled_from((22.0, 38.0)))] * 12
    raw["trip"][0]["shade_ratio"] = draw(st.sampled_from((0.0, 0.0, 0.25)))
    chosen = [p["key"] for p in raw["catalogue"] if p["kind"] in ("battery", "solar_controller", "dcdc_charger")]
    raw["wishes"] |= {
        "chemistries": draw(st.sampled_from((["lifepo4"], ["agm", "lifepo4"], ["gel"], ["flooded", "agm"]))),
        "autonomy_days": draw(st.sampled_from((0.5, 1.0, 2.0))),
        "banned": draw(st.lists(st.sampled_from(chosen), max_size=12, unique=True)),
    }
    return Job(read(raw))


@settings(max_examples=15, deadline=None, suppress_health_check=list(HealthCheck))
@given(jobs())
def test_systems_of_any_brief_go_together(job):
    found = chosen_for(job.brief)
    event("met" if found.answer else "not met")
    assume(found.answer is not None)

    assert wrong_with(job.brief, found.system.chosen) == []


def test_what_is_offered_is_never_refused_by_circuits_or_simulation():
    """Every offer is an appraisal without shortfall or danger, and its parts go together."""
    brief = library_brief(12, "lifepo4", "small")

    made = select(brief, market_of(brief), Steer())

    assert [one.offer for one in made.record.offers] == ["lean", "steady", "roomy"]
    for one in made.record.candidates:
        if one.holds:
            appraisal = made.appraisals[one.key]
            assert appraisal.shortfalls == ()
            assert [f.code for f in appraisal.findings if f.level == "danger"] == []
            assert wrong_with(made.briefs[one.key], appraisal.chosen) == []
