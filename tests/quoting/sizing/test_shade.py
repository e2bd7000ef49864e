"""Shade by bypass groups: cases done by hand, what holds for every array, and arrays chosen under it."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

import catalog.kinds as kinds
from catalog.kinds.capabilities import Panel, SolarControl
from quoting.sizing import shade, sun
from quoting.sizing.appraise import appraise
from quoting.sizing.sensitivity import of_figure
from tests.quoting.sizing.wagon import raw, wagon
from tests.quoting.sizing.worded import assert_sums_follow, assert_worded

PANEL = Panel(
    power_w=100, vmp_v=18, imp_a=5.56, voc_v=22, isc_a=6, power_per_k=-0.0035, voc_per_k=-0.0028, max_series_fuse_a=15,
    max_system_v=600, length_m=1, width_m=0.6,
)  # fmt: skip
MPPT = SolarControl("mppt", (12.0,), 20, 0.96, 100, 20, start_margin_v=1.0)
PWM = SolarControl("pwm", (12.0,), 20, 0.98, 50, 20)
HOT_V = 16.0
"""Of one panel."""


def left(share, series=1, strings=1, control=MPPT, panel=PANEL, hot_v=HOT_V) -> float:
    return float(shade.left_ratio(panel, control, series, strings, share, hot_v * series, sun.asked_v(control, 14.4)))


@pytest.mark.parametrize(
    ("voc_v", "stated", "groups"), [(22.0, None, 2), (37.5, None, 3), (9.0, None, 1), (22.0, 4, 4)]
)
def test_a_panel_has_the_groups_its_maker_states_or_its_voltage_tells(voc_v, stated, groups):
    assert shade.groups_of(replace(PANEL, voc_v=voc_v, bypass_groups=stated)) == groups


def test_touched_groups_are_the_mean_over_where_the_edge_falls():
    edges = np.linspace(-0.5, 0.5, 100_001)[:-1] + 5e-6
    for groups, share in ((4, 0.5), (6, 0.31), (2, 0.6), (12, 0.9)):
        assert shade.touched_groups(share, groups) == pytest.approx(np.ceil(share * groups + edges).mean(), abs=1e-4)
    assert (shade.touched_groups(0.0, 4), shade.touched_groups(1.0, 4)) == (0.0, 4.0)


@pytest.mark.parametrize(
    ("share", "series", "strings", "by_hand"),
    [
        # shares chosen so that the mean touches whole groups: (k - 1/2) / G
        (0.25, 1, 1, 0.0),  # one of two: 8 V do not start
        (0.125, 2, 1, 0.75),  # one of four: 24 V
        (0.375, 2, 1, 0.5),  # two of four: 16 V
        (0.625, 2, 1, 0.0),  # three of four: 8 V
        (0.125, 1, 2, 0.5),  # the shaded one is left alone
        (0.625, 1, 2, 0.0),  # one dark, of the other half
        (1 / 16, 2, 2, 0.75),  # of 8 groups one: 24 V of both strings beat 32 V of one
        (3 / 16, 2, 2, 0.5),  # two: 16 V of both, or 32 V of one
        (5 / 16, 2, 2, 0.5),  # three: 32 V of one
        (9 / 16, 2, 2, 0.375),  # five: 24 V of the second
    ],
)
def test_a_tracker_gives_what_is_worked_out_by_hand(share, series, strings, by_hand):
    assert left(share, series, strings) == pytest.approx(by_hand)


def test_pwm_needs_the_batterys_voltage_only_and_is_never_better_than_the_light():
    assert left(0.25, control=PWM) == 0.0  # 8 V
    assert left(0.375, 2, control=PWM) == pytest.approx(0.5)  # 16 V carry the whole current, which is not counted
    assert left(0.125, 1, 2, control=PWM) == pytest.approx(0.5)


def test_heat_takes_bypassed_strings_first():
    hot_v = np.array([32.0, 30.0])  # half of it: over and under 15.4 V

    given_ = shade.left_ratio(PANEL, MPPT, 2, 1, 0.375, hot_v, 15.4)

    assert given_.tolist() == [0.5, 0.0]


SHARES = st.floats(0, 1)


@given(SHARES, SHARES, st.integers(1, 4), st.integers(1, 4), st.integers(1, 12), st.sampled_from((MPPT, PWM)),
       st.floats(8, 60))  # fmt: skip
@example(0.0, 1.0, 1, 1, 2, MPPT, 16.0)
@settings(max_examples=150, deadline=None)
def test_more_shade_never_gives_more_nor_more_than_lies_in_the_sun(a, b, series, strings, groups, control, hot_v):
    less, more = sorted((a, b))
    panel = replace(PANEL, bypass_groups=groups)

    light, dark = (left(x, series, strings, control, panel, hot_v) for x in (less, more))

    assert dark <= light + 1e-12
    assert 0 <= dark <= 1 - more + 1e-12
    assert light == 1 if less == 0 else light < 1
    assert left(1.0, series, strings, control, panel, hot_v) == 0


@given(st.floats(0.001, 1), st.integers(1, 3), st.integers(1, 3), st.sampled_from((MPPT, PWM)))
@settings(max_examples=60, deadline=None)
def test_once_there_is_shade_no_little_more_of_it_makes_a_leap(share, series, strings, control):
    """A thousandth more touches G/1000 groups more, each with everything to lose."""
    groups = 2 * series * strings

    assert (
        left(share - 0.001 if share > 0.002 else share, series, strings, control)
        - left(share, series, strings, control)
        <= 0.001 * groups + 1e-12
    )


def test_the_day_says_what_shade_leaves_and_by_how_many_groups():
    found = appraise(wagon())

    assert_worded(found)
    assert_sums_follow(found)
    panel = next(c for c in found.chosen if c.role == "panel")
    for figure in (found.figures["sun.day_wh"], found.figures["sun.array_w"]):
        said = next(s for s in figure.steps if s.code == "shade")
        assert said.params == {"shade_ratio": 0.1, "groups": 2 * panel.quantity}
        assert 0 < said.value < 0.9
    bars = {bar.code for bar in of_figure(found.figures["sun.day_wh"], found.figures).bars}
    assert "shade" in bars


@pytest.mark.parametrize("shade_ratio", [0.02, 0.1, 0.2, 0.3])
def test_an_array_chosen_under_shade_meets_its_share(shade_ratio):
    found = appraise(wagon(**{f"trip.{i}.shade_ratio": shade_ratio for i in (0, 1)}))

    assert not {s.need.code for s in found.shortfalls} & {"panel", "solar_control"}
    assert "sun_short" not in {f.code for f in found.findings}


def test_where_shade_leaves_no_array_enough_it_is_said():
    found = appraise(wagon(**{"trip.0.shade_ratio": 0.8}))

    (short,) = (s for s in found.shortfalls if s.need.code == "panel")
    assert short.params["best_value"] < short.params["asked"]
    assert math.isfinite(found.value("sun.array_w"))
    assert_worded(found)


def test_more_groups_of_the_same_panel_lose_less():
    more = raw()
    for part in more["catalogue"]:
        if part["kind"] == "solar_panel":
            part["spec"]["bypass_groups"] = 4
    few, many = appraise(wagon()), appraise(wagon(catalogue=more["catalogue"]))

    assert many.value("sun.array_w") < few.value("sun.array_w")


def test_a_panel_kept_before_groups_were_asked_for_still_reads():
    kind = kinds.get("solar_panel")
    spec = next(p["spec"] for p in raw()["catalogue"] if p["kind"] == "solar_panel")

    (panel,) = kind.capabilities(kind.clean(spec))

    assert panel.bypass_groups is None
