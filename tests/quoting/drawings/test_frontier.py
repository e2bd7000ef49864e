"""Price against the chance of going dark: marks stand where their numbers say, names stand apart."""

from __future__ import annotations

import math
from itertools import combinations, pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quoting.drawings.frontier import (
    HEIGHT_PX,
    LEAST_APART,
    NARROWEST_PX,
    Spot,
    _box,
    _interval,
    _shared,
    frontier_chart,
)
from quoting.sizing.errors import SizingError

THREE = (
    Spot(6120.0, 0.11, 0.17, "Lean", frontier=True),
    Spot(7044.0, 0.03, 0.07, "Steady", frontier=True),
    Spot(9310.0, 0.0, 0.02, "Roomy", frontier=True),
    Spot(6980.0, 0.09),
    Spot(5800.0, 0.24, holds=False),
)
spots = st.builds(
    Spot,
    price=st.floats(100, 40_000),
    dark_ratio=st.floats(0, 1) | st.just(0.0) | st.floats(0, 0.02),
    high_ratio=st.none() | st.floats(0, 1),
    name=st.sampled_from(["", "", "", "Lean", "Steady", "Roomy"]),
    holds=st.booleans(),
    frontier=st.booleans(),
)


def test_marks_stand_at_their_price_and_the_root_of_their_chance():
    chart = frontier_chart(THREE)

    for mark in chart.marks:
        top = chart.chances[-1].value
        assert mark.y == pytest.approx(1 - math.sqrt(mark.spot.dark_ratio / top))
    at = {mark.spot.price: mark.x for mark in chart.marks}
    per_unit = (at[9310.0] - at[5800.0]) / (9310 - 5800)
    assert at[7044.0] == pytest.approx(at[5800.0] + per_unit * (7044 - 5800))
    assert [tick.value for tick in chart.prices] == [6000.0, 7000.0, 8000.0, 9000.0]
    assert [tick.at for tick in chart.prices] == pytest.approx([at[5800.0] + per_unit * (p - 5800) for p in
                                                               (6000, 7000, 8000, 9000)])  # fmt: skip
    assert chart.chances[0].value == 0.0
    assert chart.chances[-1].value == 0.35


def test_line_keeps_a_systems_chance_until_the_next_is_paid_for():
    chart = frontier_chart(THREE)
    named = {mark.spot.name: mark for mark in chart.marks if mark.spot.name}
    lean, steady, roomy = (named[name] for name in ("Lean", "Steady", "Roomy"))

    assert chart.stairs == (
        (lean.x, lean.y), (steady.x, lean.y), (steady.x, steady.y),
        (roomy.x, steady.y), (roomy.x, roomy.y), (1.0, roomy.y),
    )  # fmt: skip


def test_names_leave_the_lines_of_intervals_free():
    """Two offers near none, side by side, as a narrow page has them."""
    chart = frontier_chart(
        [Spot(13_160, 0.06, 0.1, "Lean"), Spot(13_906, 0.0, 0.019, "Steady"), Spot(13_992, 0.0, 0.019, "Roomy")]
    )

    boxes = [_box(mark, mark.label) for mark in chart.marks]
    lines = [_interval(mark) for mark in chart.marks]
    assert [_shared(box, line) for box in boxes for line in lines] == [0.0] * 9
    assert [_shared(one, other) for one, other in combinations(boxes, 2)] == [0.0] * 3


def test_one_system_stands_in_the_middle():
    (mark,) = frontier_chart([Spot(5000.0, 0.0, 0.02, "Steady", frontier=True)]).marks

    assert (mark.x, mark.y) == (pytest.approx(0.5), 1.0)


def test_two_offers_of_one_system_share_a_mark_and_its_name():
    chart = frontier_chart([Spot(5000.0, 0.01, 0.03, "Lean"), Spot(5000.0, 0.01, 0.03, "Steady"), Spot(5000.0, 0.01)])

    assert [mark.spot.name for mark in chart.marks] == ["Lean, Steady"]


@pytest.mark.parametrize(
    ("spot", "field"),
    [
        (Spot(-1.0, 0.0), "price"),
        (Spot(1.0, 1.2), "dark_ratio"),
        (Spot(1.0, 0.2, 1.3), "high_ratio"),
    ],
)
def test_what_cannot_be_is_refused(spot, field):
    with pytest.raises(SizingError, match=field):
        frontier_chart([spot])


def test_nothing_to_draw_is_refused():
    with pytest.raises(SizingError, match="spots"):
        frontier_chart([])


@settings(max_examples=80, deadline=None)
@given(st.lists(spots, min_size=1, max_size=14))
def test_everything_stands_inside_and_scales_rise(found):
    chart = frontier_chart(found)

    for mark in chart.marks:
        assert 0 < mark.x < 1
        assert 0 <= mark.y <= 1
        assert mark.high_y is None or 0 <= mark.high_y <= 1
        assert (mark.label is None) == (mark.spot.name == "")
    assert 1 <= len(chart.prices) <= 4
    assert all(0 <= tick.at <= 1 for tick in chart.prices)
    assert [tick.at for tick in chart.prices] == sorted(tick.at for tick in chart.prices)
    down = [tick.at for tick in chart.chances]
    assert down[0] == 1.0
    assert down[-1] == 0.0
    assert all(a - b >= LEAST_APART - 1e-9 for a, b in pairwise(down))


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.tuples(st.floats(4000, 12_000), st.floats(0, 0.3)), min_size=3, max_size=3, unique_by=lambda p: p[0]),
    st.lists(st.tuples(st.floats(4000, 12_000), st.floats(0, 0.3)), max_size=8),
)
def test_names_of_three_offers_never_meet_on_the_narrowest_page(offers, others):
    names = ("Lean", "Steady", "Roomy")
    named = [Spot(*at, high_ratio=at[1] + 0.02, name=name) for at, name in zip(offers, names, strict=True)]

    chart = frontier_chart([*named, *(Spot(*at) for at in others)])

    boxes = [_box(mark, mark.label) for mark in chart.marks if mark.label]
    for k, box in enumerate(boxes):
        assert box[0] >= -21
        assert box[2] <= NARROWEST_PX + 1
        assert box[3] <= HEIGHT_PX + 1
        assert all(_shared(box, other) == 0 for other in boxes[k + 1 :])
