"""The months of a place as two charts: bars where the values are, a scale round them, words that say the same."""

import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from catalog.site_chart import site_chart

SUN = [5.0, 4.0, 3.0, 2.5, 2.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0]
LOW, HIGH = [float(i - 6) for i in range(12)], [float(i + 4) for i in range(12)]


def _tops(plot):
    """Upper and lower end of each bar, in per cent from the top."""
    found = re.findall(r"M[\d.]+ (-?[\d.]+)h0\.62V(-?[\d.]+)h-0\.62z", plot.bars)
    return [(float(top), float(bottom)) for top, bottom in found]


def test_bars_stand_where_the_values_are():
    chart = site_chart(SUN, LOW, HIGH)

    assert [tick.words for tick in chart.sun.ticks] == ["0", "1", "2", "3", "4", "5", "6"]
    assert _tops(chart.sun)[:2] == [(pytest.approx(100 / 6, abs=0.1), 100.0), (pytest.approx(200 / 6, abs=0.1), 100.0)]
    assert [tick.words for tick in chart.air.ticks] == ["−10", "−5", "0", "5", "10", "15"]
    assert _tops(chart.air)[0] == (pytest.approx(100 * 11 / 25, abs=0.1), pytest.approx(100 * 21 / 25, abs=0.1))
    assert chart.air.zero == "M0 60.0H12"
    assert chart.sun.zero == ""


def test_words_say_what_the_chart_shows():
    chart = site_chart(SUN, LOW, HIGH)

    assert chart.sun.words == "Least in Jun, 1.5\u00a0kWh/m²; most in Dec, 6\u00a0kWh/m² a day."
    assert chart.air.words == "From a mean minimum of −6\u00a0°C in Jan to a mean maximum of 15\u00a0°C in Dec."
    assert [letter for _, letter in chart.letters] == list("JFMAMJJASOND")


def test_an_estimate_has_whiskers_as_long_as_its_likely_error():
    whiskers = site_chart(SUN, LOW, HIGH, 0.2).sun.whiskers

    ends = [tuple(map(float, pair)) for pair in re.findall(r"M[\d.]+ ([\d.]+)V([\d.]+)", whiskers)]
    assert site_chart(SUN, LOW, HIGH).sun.whiskers == ""
    assert len(ends) == 12
    # 6 kWh ± 20 % on a scale of 0 to 8
    assert ends[11] == (pytest.approx(100 * (8 - 7.2) / 8, abs=0.1), pytest.approx(100 * (8 - 4.8) / 8, abs=0.1))


YEAR = st.lists(st.floats(0, 12), min_size=12, max_size=12)


@settings(max_examples=60)
@given(YEAR, st.lists(st.tuples(st.floats(-60, 45), st.floats(0, 30)), min_size=12, max_size=12), st.floats(0.01, 1))
def test_every_bar_of_any_place_lies_inside_its_scale(sun, air, error):
    low, high = [x for x, _ in air], [x + more for x, more in air]

    chart = site_chart(sun, low, high, error)

    for plot in (chart.sun, chart.air):
        assert len(_tops(plot)) == 12
        assert all(-0.1 <= top <= bottom <= 100.1 for top, bottom in _tops(plot))
        assert 2 <= len(plot.ticks) <= 10
