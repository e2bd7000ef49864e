"""Which input moves a figure most: the sum is followed again, and nothing but the sum."""

from __future__ import annotations

import math

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from quoting.sizing.appraise import appraise
from quoting.sizing.errors import SizingError
from quoting.sizing.sensitivity import MOST_BARS, of_figure, swing
from quoting.sizing.sensitivity_trip import of_trip
from quoting.sizing.trace import Figure, Step, step
from tests.quoting.sizing.sums import follow
from tests.quoting.sizing.wagon import wagon

QUICK = settings(max_examples=60, deadline=None)
AMOUNTS = st.floats(0.01, 1e4)


def figure(*lines: Step, code: str = "x.y", unit: str = "") -> Figure:
    """A figure that its lines lead to, with the result under them."""
    value = follow(Figure(code=code, value=0, unit=unit, steps=lines))
    return Figure(code=code, value=value, unit=unit, steps=(*lines, step("got", value, unit, "=")))


@pytest.fixture(scope="module")
def found():
    return appraise(wagon())


def test_every_figure_of_a_design_has_its_tornado(found):
    for one in found.figures.values():
        tornado = of_figure(one, found.figures)

        assert tornado.base == one.value
        assert (tornado.code, tornado.unit) == (one.code, one.unit)
        assert len(tornado.bars) <= MOST_BARS
        swings = [swing(bar, tornado.base) for bar in tornado.bars]
        assert swings == sorted(swings, reverse=True)
        assert all(size > 0 for size in swings)
        for bar in tornado.bars:
            assert bar.input_low <= bar.input_base <= bar.input_high
            assert (
                min(bar.value_low, bar.value_high) - 1e-9 <= tornado.base <= max(bar.value_low, bar.value_high) + 1e-9
            )
        assert tornado.bars or not one.steps or one.code.startswith("trip."), one.code


def test_the_battery_asked_opens_into_the_loads_that_ask_for_it(found):
    tornado = of_figure(found.figures["battery.asked_ah"], found.figures)

    bars = {str(bar.params.get("name") or bar.code): bar for bar in tornado.bars}
    fridge = next(load for load in found.loads if load.key == "fridge")
    # by hand: the fridge's tenth, over 12.8 V, times autonomy and margin, over depth and end of life
    more = 0.1 * fridge.energy_wh / 12.8 * 1.5 * 1.05 / (0.9 * 0.8)
    assert {"depth", "end_of_life", "margin", "autonomy", fridge.name} <= set(bars)
    assert bars[fridge.name].value_high - tornado.base == pytest.approx(more)
    assert bars["autonomy"].value_high == pytest.approx(1.1 * tornado.base)
    assert bars["depth"].value_low == pytest.approx(tornado.base / 0.9)


def test_the_appraisal_worked_out_again_agrees_with_the_sum_followed_again(found):
    """Autonomy moved in the Brief, nothing to choose from: battery.asked_ah follows as its tornado says."""
    bare = appraise(wagon(catalogue=[]))
    moved = appraise(wagon(catalogue=[], **{"wishes.autonomy_days": 1.65}))

    bar = next(b for b in of_figure(bare.figures["battery.asked_ah"], bare.figures).bars if b.code == "autonomy")

    assert bar.input_high == pytest.approx(1.65)
    assert bar.value_high == pytest.approx(moved.value("battery.asked_ah"))


@given(st.lists(st.tuples(AMOUNTS, st.sampled_from("+−")), min_size=1, max_size=12))
@QUICK
def test_a_linear_sum_swings_by_a_tenth_of_each_line(terms):
    lines = [step("line", v, "Wh", op if i else "", "input", name=f"n{i}") for i, (v, op) in enumerate(terms)]
    one = figure(*lines, unit="Wh")
    assume(abs(one.value) > 0.2 * math.fsum(v for v, _ in terms))  # a tenth does not change its sign

    tornado = of_figure(one)

    largest = sorted((v for v, _ in terms), reverse=True)[:MOST_BARS]
    assert [swing(bar, tornado.base) for bar in tornado.bars] == pytest.approx([0.2 * v for v in largest])
    assert tornado.moved_by_ratio == 0.1


@given(st.lists(st.tuples(st.floats(1.5, 100), st.sampled_from("×÷")), min_size=1, max_size=8))
@QUICK
def test_a_product_swings_by_what_each_factor_makes_of_it(terms):
    lines = [step(f"f{i}", v, "A", op if i else "", "catalogue") for i, (v, op) in enumerate(terms)]
    one = figure(*lines)

    tornado = of_figure(one)

    for bar in tornado.bars:
        up = bar.code == "f0" or terms[int(bar.code[1:])][1] == "×"
        expected = (0.9, 1.1) if up else (1 / 0.9, 1 / 1.1)
        assert (bar.value_low, bar.value_high) == pytest.approx([one.value * x for x in expected])


OPS = st.sampled_from(["+", "×", "÷", "max", "min"])


@given(st.lists(st.tuples(st.floats(0.1, 50), OPS), min_size=2, max_size=8), st.booleans())
@QUICK
def test_each_bar_spans_the_figure_and_is_the_sum_with_that_line_changed(terms, rooted):
    lines = [step(f"f{i}", v, "m", op if i else "", "survey") for i, (v, op) in enumerate(terms)]
    one = figure(*lines, *([step("root", 0, op="√")] if rooted else []))

    for bar in of_figure(one).bars:
        for to, got in ((bar.input_low, bar.value_low), (bar.input_high, bar.value_high)):
            changed = [s.model_copy(update={"value": to}) if s.code == bar.code else s for s in one.steps[:-1]]
            assert got == pytest.approx(follow(Figure(code="x", value=0, unit="", steps=tuple(changed))))
        assert min(bar.value_low, bar.value_high) <= one.value * (1 + 1e-12)
        assert max(bar.value_low, bar.value_high) >= one.value * (1 - 1e-12)


def test_what_is_a_share_a_temperature_or_a_number_of_things_moves_as_such():
    one = figure(
        step("depth", 0.95, "", "", "policy"),
        step("compartment_rise", 3, "K", "+", "policy"),
        step("hottest_air", 30, "°C", "+", "table"),
        step("parallel", 2, "", "×", "catalogue"),
        step("hours", 23, "h", "×", "input"),
        step("hours_in_day", 24, "h", "÷"),
        step("shade", 0.8, "", "×", "survey"),
        step("factor", 2, "", "×", "constant"),
    )

    tornado = of_figure(one)

    moved = {bar.code: (bar.input_low, bar.input_high) for bar in tornado.bars}
    assert moved == {
        "depth": pytest.approx((0.855, 1.0)),
        "compartment_rise": (0, 8),
        "hottest_air": (25, 35),
        "parallel": (1, 3),
        "hours": pytest.approx((20.7, 24)),
        "shade": pytest.approx((0.78, 0.82)),
    }
    assert tornado.moved_by_ratio is None


def test_a_line_repeated_moves_with_itself_and_a_result_with_its_sum():
    inner = figure(step("a", 6, "V", origin="survey"), step("b", 2, "V", "+", "survey"), code="p.q")
    one = figure(
        step("got", 8, "V"), step("a", 6, "V", "×", "survey"), step("c", 3, "V", "÷", "input"), code="p.r"
    )  # (a + b) × a ÷ c

    opened = {bar.code: bar.value_high for bar in of_figure(one, {"p.q": inner, "p.r": one}).bars}
    shut = {bar.code: bar.value_high for bar in of_figure(one).bars}

    assert opened == pytest.approx({"a": 8.6 * 6.6 / 3, "b": 8.2 * 6 / 3, "c": 16 / 1.1})
    assert shut == pytest.approx({"a": 8 * 6.6 / 3, "got": 8.8 * 6 / 3, "c": 16 / 1.1})


def test_a_move_that_leads_to_no_number_is_halved():
    one = figure(
        step("charge_to_put_back", 100, "Ah", origin="input"),
        step("left_for_battery", 1, "A", "÷", "input"),
    )
    narrow = Figure(
        code="n", value=100, unit="h", steps=(
            step("rating", 20, "A", origin="catalogue"), step("draw", 19, "A", "−", "survey"),
            step("left", 1, "A", "="), step("charge", 100, "Ah", "", "input"), step("left", 1, "A", "÷"),
            step("hours_to_full", 100, "h", "="),
        ),
    )  # fmt: skip

    bars = {bar.code: bar for bar in of_figure(narrow).bars}

    assert len(of_figure(one).bars) == 2
    # 20 − 2 A would leave less than nothing, 20 − 1 A nothing; with 0.5 A less, half an ampere is left
    assert (bars["rating"].input_low, bars["rating"].value_low) == pytest.approx((19.5, 200))
    assert (bars["rating"].input_high, bars["rating"].value_high) == pytest.approx((22, 100 / 3))
    assert bars["draw"].input_high == pytest.approx(19.95)


def test_lines_that_do_not_lead_to_the_value_give_no_bars():
    astray = Figure(code="x", value=7, unit="A", steps=(step("a", 5, "A", origin="input"),))

    assert of_figure(astray).bars == ()
    assert of_figure(Figure(code="x", value=7, unit="A")).bars == ()


def test_sums_that_take_each_other_over_come_to_an_end():
    a = Figure(code="a", value=2, unit="", steps=(step("b_end", 2, ""), step("a_end", 2, "", "=")))
    b = Figure(code="b", value=2, unit="", steps=(step("a_end", 2, ""), step("b_end", 2, "", "=")))

    assert of_figure(a, {"a": a, "b": b}).bars[0].code == "a_end"


@pytest.mark.parametrize("code", ["trip.lowest_low_ratio", "trip.flat_days"])
def test_a_figure_of_the_trip_is_simulated_again(found, code):
    tornado = of_trip(wagon(), found, code)

    bars = {bar.code: bar for bar in tornado.bars}
    assert tornado.base == pytest.approx(found.value(code), abs=1e-3)
    assert [swing(bar, tornado.base) for bar in tornado.bars] == sorted(
        (swing(bar, tornado.base) for bar in tornado.bars), reverse=True
    )
    assert bars["trip_loads"].value_low > tornado.base > bars["trip_loads"].value_high
    assert bars["trip_worn"].value_low == tornado.base > bars["trip_worn"].value_high
    if code == "trip.flat_days":
        assert "trip_sun" not in bars  # nothing charges
    else:
        assert bars["trip_sun"].value_low < tornado.base < bars["trip_sun"].value_high
        assert bars["trip_driving"].value_low < tornado.base < bars["trip_driving"].value_high
        assert bars["trip_shade"].value_low > tornado.base > bars["trip_shade"].value_high


def test_what_a_trial_cannot_reach_stays_as_it_is(found):
    """There is no hour of driving less than none."""
    trip = {f"trip.{i}.driving_h_per_day": 0.0 for i in (0, 1)} | {"trip.1.days": 0.5, "trip.0.days": 2.0}
    brief = wagon(**trip, policy={"weather_draws": 50})

    tornado = of_trip(brief, found, "trip.lowest_low_ratio")

    bars = {bar.code: bar for bar in tornado.bars}
    assert bars["trip_driving"].value_low == tornado.base < bars["trip_driving"].value_high
    assert bars["trip_driving"].input_low == 0.0


def test_a_bar_of_the_trip_says_what_was_moved_indeed(found):
    """A day of 0.4 h cannot lose an hour, nor two packs that fill their window take a tenth more."""
    laptops = {"loads.3.use.charges_per_day": 3.0, "loads.3.window_start_h": 17, "loads.3.window_end_h": 21}
    trip = {"trip.0.driving_h_per_day": 0.4, "trip.0.shade_ratio": 0.05, "trip.0.days": 1, "trip.1.days": 3}
    brief = wagon(**trip, **laptops, policy={"weather_draws": 50})

    bars = {bar.code: bar for bar in of_trip(brief, found, "trip.lowest_low_ratio").bars}

    assert bars["trip_driving"].input_low == pytest.approx(-(0.4 + 3 * 1.0) / 4)
    assert bars["trip_driving"].input_high == 1.0
    assert bars["trip_shade"].input_low == pytest.approx(-(0.05 + 3 * 0.1) / 4)
    assert bars["trip_loads"].input_high == pytest.approx(1.05)
    assert bars["trip_loads"].value_high < bars["trip_loads"].value_low


def test_a_figure_that_is_not_the_trips_is_refused(found):
    with pytest.raises(SizingError, match=r"is none of the trip's: trip\.dark_chance_ratio"):
        of_trip(wagon(), found, "battery.days")
