"""Whatever is typed as a quantity: a number or a reason, and what is printed to be edited reads back."""

from __future__ import annotations

import math
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalog.quantities import SENTENCES, UNITS, QuantityError, format_quantity, parse, parse_decimal, typed
from catalog.sheets.decimals import UnlikelyNumber, pointed

NEAR = st.text(st.sampled_from("0123456789.,-+−eE \u202f\u00a0/%²·ΩµmkMVAWhgKC°AWGdin"), max_size=70)
ANY = st.text(max_size=90) | NEAR
UNIT = st.sampled_from([*sorted(UNITS), "", "nonsense"])
SIZES = st.floats(-1e15, 1e15, allow_nan=False)


@given(ANY, UNIT)
def test_any_text_is_a_finite_number_or_a_reason(text, unit):
    try:
        value = parse(text, unit)
    except QuantityError as error:
        reason = error
    else:
        reason = None
        assert math.isfinite(value)
        assert abs(value) <= 1e15
    assert reason is None or (reason.code in SENTENCES and str(reason))


@given(ANY, st.integers(0, 6))
def test_any_text_is_exact_money_or_a_reason(text, decimals):
    try:
        amount = parse_decimal(text, decimals)
    except QuantityError as error:
        reason = error
    else:
        reason = None
        assert amount.is_finite()
        assert -amount.as_tuple().exponent == decimals
    assert reason is None or (reason.code in SENTENCES and str(reason))


@given(SIZES)
def test_what_is_printed_to_be_edited_reads_back(value):
    text = typed(value)
    if len(text) <= 60:
        assert parse(text) == value
    else:
        with pytest.raises(QuantityError, match="too long"):
            parse(text)


@given(st.decimals(-(10**8), 10**8, places=4))
def test_money_that_is_printed_reads_back(amount):
    assert parse_decimal(typed(amount)) == amount


@given(st.floats(1e-3, 1e6).map(lambda x: float(f"{x:.6g}")), st.sampled_from(["V", "A", "W", "mm²", "Ω", "kg", "s"]))
def test_what_is_printed_to_be_read_reads_back_to_six_digits(value, unit):
    assert math.isclose(parse(format_quantity(value, unit), unit), value, rel_tol=1e-5, abs_tol=1e-9)


@given(st.integers(0, 10**6), st.integers(0, 9999))
def test_comma_and_point_are_one_number_or_the_comma_has_two_readings(whole, rest):
    has_two_readings = len(str(rest)) == 3 and 1 <= whole <= 999
    if has_two_readings:
        with pytest.raises(QuantityError) as refused:
            parse(f"{whole},{rest}")
        small = format(Decimal(f"{whole}.{rest}").normalize(), "f")
        assert refused.value.code == "ambiguous"
        assert refused.value.params == {"text": f"{whole},{rest}", "small": small, "large": f"{whole}{rest}"}
    else:
        assert parse(f"{whole},{rest}") == parse(f"{whole}.{rest}")


@given(st.integers(0, 10**9), st.integers(0, 99))
def test_a_table_that_says_its_sign_has_one_reading_of_every_number(whole, cents):
    wanted = Decimal(f"{whole}.{cents:02d}")
    german = f"{whole:,}".replace(",", ".") + f",{cents:02d}"
    english = f"{whole:,}.{cents:02d}"

    assert parse_decimal(pointed(german, "comma")) == wanted
    assert parse_decimal(pointed(english, "point")) == wanted
    assert parse_decimal(pointed(f"{whole},{cents:02d}", "comma")) == wanted
    if whole > 999:
        for text, decimal in ((german, "point"), (english, "comma")):
            with pytest.raises(UnlikelyNumber):
                pointed(text, decimal)


@given(ANY, st.sampled_from(["point", "comma"]))
def test_any_text_is_pointed_or_unlikely(text, decimal):
    try:
        said = pointed(text, decimal)
    except UnlikelyNumber as error:
        said = str(error)
    assert isinstance(said, str)
