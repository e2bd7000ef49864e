"""Cents that round badly, and sums that must add up. Sources stand beside each case."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quoting import money

D = Decimal


@pytest.mark.parametrize(
    ("lines", "ratio", "rounding", "half", "expected"),
    [
        # GST Act 1999 (Cth) s 9-90(2): added first, rounded once, 0.5 up. Arithmetic by hand (D).
        (["10.04"] * 3, "0.10", "total", "up", "3.01"),
        # The same Act's other choice: each supply rounded.
        (["10.04"] * 3, "0.10", "line", "up", "3.00"),
        (["13.15", "27.35", "4.95", "118.65"], "0.10", "line", "up", "16.43"),
        (["13.15", "27.35", "4.95", "118.65"], "0.10", "total", "up", "16.41"),
        # GST Act 1985 (NZ) s 19O: an exact half cent may be disregarded. 15 % of 1.50 and of 2.10 (D).
        (["1.50"], "0.15", "total", "down", "0.22"),
        (["2.10"], "0.15", "total", "down", "0.31"),
        (["1.50"], "0.15", "total", "up", "0.23"),
        (["2.10"], "0.15", "total", "up", "0.32"),
    ],
)
def test_tax_rounds_as_the_law_says(lines, ratio, rounding, half, expected):
    tax = money.tax_on_lines([D(x) for x in lines], D(ratio), rounding, half)

    assert tax == D(expected)


@pytest.mark.parametrize(
    ("with_tax", "ratio", "expected"),
    [
        ("59.85", "0.10", "5.44"),  # ATO: GST is an eleventh of the price including it (P); 59.85 / 11 (D)
        ("23.00", "0.15", "3.00"),  # NZ: 3/23 of the price (P)
        ("120.00", "0.20", "20.00"),  # UK: a sixth (M)
    ],
)
def test_tax_inside_a_price(with_tax, ratio, expected):
    assert money.tax_inside(D(with_tax), D(ratio)) == D(expected)


def test_a_discount_is_a_line_of_its_own_and_everything_adds_up():
    totals = money.totals(
        [D("1480.00"), D("165.00"), D("153.92")],
        tax_ratio=D("0.1"),
        discount_ratio=D("0.075"),
        deposit_ratio=D("0.2"),
        round_total_to=D("0.05"),
    )

    # by hand: 1798.92; 7.5 % is 134.919; 1664.00; tax 166.40; 1830.40; a fifth 366.08
    assert totals == money.Totals(
        lines=D("1798.92"),
        discount=D("-134.92"),
        net=D("1664.00"),
        tax=D("166.40"),
        rounding=D("0.00"),
        total=D("1830.40"),
        deposit=D("366.08"),
    )


cents = st.integers(0, 10_000_000).map(lambda n: D(n) / 100)
ratios = st.integers(0, 1000).map(lambda n: D(n) / 1000)


@given(
    lines=st.lists(cents, max_size=20),
    tax=ratios,
    discount=ratios,
    rounding=st.sampled_from(["total", "line"]),
    half=st.sampled_from(["up", "down"]),
    coin=st.sampled_from([D("0.01"), D("0.05"), D("0.10"), D("1")]),
)
def test_the_parts_of_a_total_add_up_to_it(lines, tax, discount, rounding, half, coin):
    t = money.totals(
        lines, tax_ratio=tax, discount_ratio=discount, tax_rounding=rounding, half=half, round_total_to=coin
    )

    assert t.lines == sum(lines)
    assert t.lines + t.discount == t.net
    assert t.net + t.tax + t.rounding == t.total
    assert abs(t.rounding) <= coin / 2
    assert t.total % coin == 0


@given(lines=st.lists(cents, min_size=1, max_size=30), ratio=ratios)
def test_rounding_by_line_is_at_most_half_a_cent_a_line_away(lines, ratio):
    by_line = money.tax_on_lines(lines, ratio, "line")
    at_once = money.tax_on_lines(lines, ratio, "total")

    assert abs(by_line - at_once) <= D("0.005") * (len(lines) + 1)


@pytest.mark.parametrize("wrong", [0.1, D("NaN"), D("-0.1"), D("1.1")])
def test_a_ratio_that_is_none_is_refused_with_its_range(wrong):
    with pytest.raises(money.MoneyError, match=r"ratio is .*; it must be"):
        money.tax_on_lines([D(1)], wrong)


@pytest.mark.parametrize("wrong", [1.5, D("Infinity"), None])
def test_an_amount_that_is_none_is_refused(wrong):
    with pytest.raises(money.MoneyError, match="amount is"):
        money.round_to(wrong)


def test_a_coin_of_nothing_is_refused():
    with pytest.raises(money.MoneyError, match="step is 0; it must be above 0"):
        money.round_to(D("1"), D("0"))
