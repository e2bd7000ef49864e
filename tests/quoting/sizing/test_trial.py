"""Trying things out: nothing moves by itself, everything moves the right way, what cannot be is refused by its name."""

import json
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import ValidationError

from quoting import words
from quoting.sizing.appraise import appraise
from quoting.sizing.brief import Load
from quoting.sizing.errors import SizingError
from quoting.sizing.outlook import Trial, TrialResult
from quoting.sizing.trial import tried, try_out
from tests.quoting.sizing.wagon import wagon

CODES = [
    "lowest_low", "lowest_median", "end_median", "dark_chance", "flat_days", "shed_hours", "load_wh_day",
    "sun_wh_day", "spilled_wh_day", "starter_lowest",
]  # fmt: skip


@pytest.fixture(scope="module")
def brief():
    return wagon()


@pytest.fixture(scope="module")
def example(brief):
    return appraise(brief)


@pytest.fixture(scope="module")
def attempt(brief, example):
    def made(**changes) -> TrialResult:
        return try_out(brief, example, Trial(**changes))

    return made


def load(**changes) -> Load:
    """A lamp of 20 W for five hours, or something else."""
    raw = {"key": "lamp", "name": "Work lamp", "use": {"way": "steady", "power_w": 20.0, "hours_per_day": 5.0}}
    return Load.model_validate_json(json.dumps({**raw, **changes}))


def row(result: TrialResult, code: str):
    return next(m for m in result.moved if m.code == code)


def test_an_empty_trial_moves_nothing(attempt, example):
    found = attempt()

    assert [m.code for m in found.moved] == CODES
    assert all(m.before == m.after and m.better is None for m in found.moved)
    without = {"year": (), "first_failing_month": None, "weakest_month": None}
    assert found.after == example.outlook.model_copy(update=without)
    assert found.findings == ()


def test_the_year_at_home_comes_along_when_it_is_asked_for(brief, example):
    assert try_out(brief, example, Trial(), with_year=True).after == example.outlook

    shaded = try_out(brief, example, Trial(shade_ratio=0.8), with_year=True).after

    assert all(a.sun_wh_day < b.sun_wh_day for a, b in zip(shaded.year, example.outlook.year, strict=True))
    assert shaded.weakest_month is not None


def test_the_trip_as_it_is_spelt_out_moves_nothing(attempt, brief):
    stop = brief.trip[1]

    found = attempt(stop=1, days=stop.days, month=stop.month, shade_ratio=stop.shade_ratio, sun_ratio=1.0, warmer_k=0.0)

    assert all(m.before == m.after for m in found.moved)


@pytest.mark.parametrize(
    ("changes", "code", "direction"),
    [
        ({"sun_ratio": 0.5}, "lowest_low", -1),
        ({"sun_ratio": 0.0}, "sun_wh_day", -1),
        ({"shade_ratio": 0.6}, "lowest_median", -1),
        ({"mains_h_per_day": 12.0}, "lowest_low", 1),
        ({"driving_h_per_day": 0.0}, "lowest_low", -1),
        ({"days": 14.0}, "shed_hours", 1),
        ({"warmer_k": 8.0}, "load_wh_day", 1),
        ({"warmer_k": -8.0}, "flat_days", 1),
        ({"worn": True}, "flat_days", -1),
        ({"worn": True}, "lowest_low", -1),
        ({"stop": 0, "month": 1}, "load_wh_day", 1),
        ({"stop": 0, "days": 1.0}, "load_wh_day", 1),
    ],
)
def test_one_change_moves_what_it_must(attempt, changes, code, direction):
    found = row(attempt(**changes), code)

    assert direction * (found.after - found.before) > 0


def test_less_of_every_resource_is_never_better(attempt):
    # up to the sun there is: beyond it this array's strings get too hot for their controller to start
    steps = [attempt(sun_ratio=x).after.lowest_low_ratio for x in (1.0, 0.7, 0.4, 0.0)]
    hours = [attempt(mains_h_per_day=x).after.lowest_low_ratio for x in (12.0, 6.0, 2.0, 0.0)]

    assert steps == sorted(steps, reverse=True)
    assert hours == sorted(hours, reverse=True)


def test_better_and_worse_are_told_apart_and_flows_are_neither(attempt):
    worse, better = attempt(sun_ratio=0.3), attempt(mains_h_per_day=12.0)

    assert row(worse, "lowest_low").better is False
    assert row(better, "lowest_low").better is True
    assert row(worse, "sun_wh_day").better is row(better, "sun_wh_day").better is None
    assert row(worse, "shed_hours").better is False


def test_an_added_load_takes_its_energy_and_nothing_is_chosen_again(attempt):
    found = attempt(added=(load(),))

    assert row(found, "load_wh_day").after - row(found, "load_wh_day").before == pytest.approx(100, abs=0.2)
    assert row(found, "load_wh_day").better is False
    assert row(found, "flat_days").better is False


def test_an_added_load_may_be_shed(attempt):
    found = attempt(added=(load(shed_below_ratio=0.4),), sun_ratio=0.2)

    assert [s.below_ratio for s in found.after.sheds] == [0.2, 0.4]
    assert found.after.sheds[-1].names == ("Work lamp",)


def test_an_added_load_on_the_starter_bus_takes_from_the_starter_battery(attempt):
    found = attempt(added=(load(bus="starter", use={"way": "steady", "power_w": 20.0, "hours_per_day": 20.0}),))

    assert row(found, "starter_lowest").after < row(found, "starter_lowest").before
    assert row(found, "load_wh_day").after == row(found, "load_wh_day").before


def test_panels_too_hot_for_their_controller_are_said():
    # without shade the array is of single panels side by side; with it two in series, which always start
    asked = wagon(**{f"trip.{i}.shade_ratio": 0.0 for i in (0, 1)}, policy={"weather_draws": 50})

    found = try_out(asked, appraise(asked), Trial(sun_ratio=1.4))

    assert {f.code for f in found.findings} == {"strings_too_hot"}
    lost = [f.params["lost_wh"] for f in found.findings]
    assert all(x > 0 for x in lost)
    for said in found.findings:
        title, sentence = words.finding_words(said)
        assert "{" not in title + sentence
        assert "(" not in title


def test_an_inverter_that_is_too_small_for_what_is_added_is_said(attempt):
    kettle = load(bus="ac", use={"way": "event", "power_w": 5000.0, "minutes": 5.0, "times_per_day": 1.0})

    assert [f.code for f in attempt(added=(kettle,)).findings] == ["trial_inverter_over"]
    assert attempt(added=(load(bus="ac"),)).findings == ()


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"stop": 2}, "trial.stop"),
        ({"warmer_k": 30.0}, "trial.warmer_k"),
        ({"added": ({"key": "fridge"},)}, "trial.added[0].key"),
        ({"added": ({}, {})}, "trial.added[1].key"),
        ({"added": ({"position": "moon"},)}, "trial.added[0].position"),
        ({"added": ({"window_start_h": 8.0, "window_end_h": 9.0},)}, "trial.added[0].use.hours_per_day"),
        ({"added": ({"use": {"way": "cooling", "power_w": 40.0, "rated_duty_ratio": 0.3, "rated_ambient_c": 10.0,
                             "inside_c": 10.0}},)}, "trial.added[0].use.rated_ambient_c"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused_by_its_name(attempt, changes, field):
    if "added" in changes:
        changes = {"added": tuple(load(**x) for x in changes["added"])}

    with pytest.raises(SizingError) as refused:
        attempt(**changes)

    assert refused.value.field == field


def test_what_no_chosen_part_feeds_is_refused():
    brief = wagon(loads=[x for x in json.loads(wagon().model_dump_json())["loads"] if x["bus"] != "ac"])

    with pytest.raises(SizingError, match=r"trial\.added\[0\]\.bus: no inverter was chosen"):
        try_out(brief, appraise(brief), Trial(added=(load(bus="ac"),)))


def test_a_12_v_load_on_24_v_wants_a_converter():
    brief = wagon(**{"wishes.system_v": 24})

    with pytest.raises(SizingError, match=r"trial\.added\[0\]\.bus: no converter was chosen"):
        try_out(brief, appraise(brief), Trial(added=(load(bus="house12"),)))


@pytest.mark.parametrize(
    "changes",
    [{"days": 0.1}, {"days": 61.0}, {"month": 13}, {"shade_ratio": 1.1}, {"sun_ratio": 2.0}, {"warmer_k": 31.0},
     {"driving_h_per_day": 25.0}, {"mains_h_per_day": math.nan}, {"stop": -1}, {"added": (load(),) * 6}],
)  # fmt: skip
def test_values_out_of_range_make_no_trial(changes):
    with pytest.raises(ValidationError):
        Trial(**changes)


def test_a_trial_without_a_battery_is_refused(brief):
    bare = wagon(catalogue=[])

    with pytest.raises(SizingError, match="no battery was chosen"):
        try_out(bare, appraise(bare), Trial())


def test_an_appraisal_of_other_parts_is_refused(example):
    bare = wagon(catalogue=[])

    with pytest.raises(SizingError, match="has no such part"):
        try_out(bare, example, Trial())


def test_an_appraisal_from_before_is_simulated_as_it_was(brief, example, attempt):
    old = example.model_copy(update={"outlook": None})

    assert try_out(brief, old, Trial(sun_ratio=0.5)).moved == attempt(sun_ratio=0.5).moved


def test_a_trial_changes_nothing_of_the_brief(brief):
    before = brief.model_dump_json()

    changed = tried(brief, Trial(month=3, warmer_k=2.0, added=(load(),)))

    assert brief.model_dump_json() == before
    assert [s.month for s in changed.trip] == [3, 3]
    assert changed.trip[0].site.tmax_c[2] == pytest.approx(brief.trip[0].site.tmax_c[2] + 2)
    assert changed.loads[-1].key == "lamp"


def test_it_goes_through_json(attempt):
    found = attempt(sun_ratio=0.5, added=(load(),))

    assert TrialResult.model_validate_json(found.model_dump_json()) == found


@given(
    st.fixed_dictionaries(
        {},
        optional={
            "stop": st.integers(0, 3),
            "days": st.floats(0.5, 10),
            "month": st.integers(1, 12),
            "shade_ratio": st.floats(0, 1),
            "driving_h_per_day": st.floats(0, 24),
            "mains_h_per_day": st.floats(0, 24),
            "sun_ratio": st.floats(0, 1.5),
            "warmer_k": st.floats(-30, 30),
            "worn": st.booleans(),
            "drift": st.booleans(),
        },
    )
)
@settings(max_examples=25)
def test_any_trial_gives_an_outlook_or_names_its_field(brief, example, changes):
    found, field = None, "trial."
    try:
        found = try_out(brief, example, Trial(**changes))
    except SizingError as refused:
        field = refused.field
    assert field.startswith("trial.")
    if found is None:
        return
    assert 0 <= found.after.lowest_low_ratio <= found.after.lowest_median_ratio <= 1
    assert json.loads(found.model_dump_json())["trial"] == json.loads(Trial(**changes).model_dump_json())
