"""Quantities as typed and as printed."""

from __future__ import annotations

from decimal import Decimal

import pytest
from django.template import Context, Template
from hypothesis import given
from hypothesis import strategies as st

from catalog.quantities import (
    QuantityError,
    format_number,
    format_quantity,
    gauge_area_mm2,
    parse,
    parse_decimal,
    typed,
)

NARROW, NO_BREAK, MINUS = "\u202f", "\u00a0", "\u2212"


@pytest.mark.parametrize(
    ("text", "unit", "expected"),
    [
        ("2.5", "V", 2.5),
        ("2,5", "V", 2.5),
        (" 12.8 V ", "V", 12.8),
        ("12,8V", "V", 12.8),
        ("0,500", "V", 0.5),
        ("1.500", "kg", 1.5),
        ("1500", "W", 1500.0),
        ("1 500", "W", 1500.0),
        (f"1{NARROW}500", "W", 1500.0),
        (f"1{NO_BREAK}500,5 W", "W", 1500.5),
        ("1,500.5", "W", 1500.5),
        ("1.500,5", "W", 1500.5),
        ("1,500,000", "W", 1500000.0),
        ("1.500.000", "W", 1500000.0),
        ("12,5000", "V", 12.5),
        ("1.5 kW", "W", 1500.0),
        ("1,5kW", "W", 1500.0),
        ("200 mA", "A", 0.2),
        ("0.2 A", "A", 0.2),
        ("20 kA", "A", 20000.0),
        ("35 mm2", "mm²", 35.0),
        ("35 mm²", "mm²", 35.0),
        ("35", "mm²", 35.0),
        ("3 mohm", "Ω", 0.003),
        ("3 mΩ", "Ω", 0.003),
        ("1.21 mΩ/m", "Ω/km", 1.21),
        ("90 min", "h", 1.5),
        ("2 days", "h", 48.0),
        ("80 g", "kg", 0.08),
        ("250 cm", "m", 2.5),
        ("10 ft", "m", 3.048),
        ("10 lb", "kg", 4.5359237),
        ("1.8 kWh", "Wh", 1800.0),
        ("-5", "°C", -5.0),
        (f"{MINUS}5 °C", "°C", -5.0),
        ("-20 C", "°C", -20.0),
        ("88 %", "%", 88.0),
        ("-0.36 %/K", "%/K", -0.36),
        ("2e3", "W", 2000.0),
        (".5", "A", 0.5),
        ("+7", "A", 7.0),
    ],
)
def test_typed_quantity_is_read(text, unit, expected):
    assert parse(text, unit) == expected


def test_comma_that_can_mean_two_things_is_refused_with_both():
    with pytest.raises(QuantityError) as refused:
        parse("1,500", "W")

    assert refused.value.code == "ambiguous"
    assert refused.value.params == {"text": "1,500", "small": "1.5", "large": "1500"}
    assert str(refused.value) == "“1,500” can mean 1.5 or 1500. Write one of these."


@pytest.mark.parametrize(
    ("text", "unit", "code"),
    [
        ("", "W", "empty"),
        ("   ", "W", "empty"),
        ("twelve", "W", "not_a_number"),
        ("nan", "W", "not_a_number"),
        ("inf", "W", "not_a_number"),
        ("--5", "W", "not_a_number"),
        ("1.2.3", "W", "not_a_number"),
        ("1,2,3", "W", "not_a_number"),
        ("12 50", "W", "not_a_number"),
        ("1,50.00,5", "W", "not_a_number"),
        ("=1+1", "W", "not_a_number"),
        ("<script>", "W", "not_a_number"),
        ("١٢", "W", "not_a_number"),
        ("1=1", "W", "unknown_unit"),
        ("12,500 W", "W", "ambiguous"),
        ("12 furlongs", "m", "unknown_unit"),
        ("12 A", "V", "wrong_unit"),
        ("12 V", "", "no_unit"),
        ("9" * 61, "W", "too_long"),
        ("1e99", "W", "too_large"),
        ("1e999", "W", "too_large"),
        ("50 AWG", "mm²", "unknown_unit"),
        ("6 AWG", "A", "unknown_unit"),
    ],
)
def test_text_that_is_no_quantity_is_refused(text, unit, code):
    with pytest.raises(QuantityError) as refused:
        parse(text, unit)

    assert refused.value.code == code
    assert str(refused.value).endswith(".")


def test_prefix_in_the_wrong_case_is_taken_only_when_it_is_clear():
    assert parse("2 KW", "W") == 2000.0
    assert parse("200 ma", "A") == 0.2
    assert parse("2 MW", "W") == 2e6  # mega, never milli: the field's range refuses it
    assert parse("2 Mw", "W") == 2e6
    with pytest.raises(QuantityError, match="not a unit"):
        parse("2 MWW", "W")


@pytest.mark.parametrize(
    ("gauge", "area_mm2"),
    # ASTM B258 nominal areas, as printed in wire tables [M]
    [("18", 0.823), ("14", 2.08), ("10", 5.26), ("6", 13.3), ("2", 33.6), ("1/0", 53.5), ("2/0", 67.4), ("4/0", 107.2)],
)
def test_gauge_gives_the_area_of_the_standard(gauge, area_mm2):
    assert gauge_area_mm2(gauge) == pytest.approx(area_mm2, rel=0.003)
    assert parse(f"{gauge} AWG", "mm²") == parse(f"AWG {gauge}", "mm²") == gauge_area_mm2(gauge)


@pytest.mark.parametrize(
    ("value", "digits", "printed"),
    [
        (1186, 2, f"1{NARROW}186.00"),
        (1186, None, f"1{NARROW}186"),
        (1234567.5, None, f"1{NARROW}234{NARROW}568"),  # whole digits are never cut
        (12.80, None, "12.8"),
        (12.80, 2, "12.80"),
        (0.1 + 0.2, None, "0.3"),
        (-5.0, None, f"{MINUS}5"),
        (-0.0004, 2, "0.00"),
        (0.0006, None, "0.0006"),
        (0, None, "0"),
        (Decimal("41.8"), 2, "41.80"),
    ],
)
def test_number_is_printed(value, digits, printed):
    assert format_number(value, digits) == printed


def test_not_a_number_is_never_printed():
    with pytest.raises(ValueError, match="nan"):
        format_number(float("nan"))


def test_unit_stays_with_its_figure():
    assert format_quantity(12.8, "V") == f"12.8{NO_BREAK}V"


@given(st.decimals(min_value=-(10**9), max_value=10**9, places=12).map(float))
def test_what_stands_in_a_field_is_read_back_exactly(value):
    assert parse(typed(value)) == value


@given(st.floats(min_value=0.001, max_value=99999), st.sampled_from(["V", "A", "W", "mm²", "Ω", "°C", "Wh", "kg", "m"]))
def test_what_is_printed_is_read_back(value, unit):
    assert parse(format_quantity(value, unit), unit) == pytest.approx(value, rel=1e-5)


@given(st.integers(min_value=0, max_value=10**9), st.integers(min_value=0, max_value=9999))
def test_both_decimal_marks_mean_the_same(whole, rest):
    text = f"{whole}.{rest:04d}"

    assert parse(text) == parse(text.replace(".", ","))
    assert parse_decimal(text) == Decimal(text)


@given(st.text(max_size=70))
def test_any_text_is_read_or_refused_with_a_sentence(text):
    try:
        outcome = parse(text, "W")
    except QuantityError as error:
        outcome = str(error)
    assert outcome.endswith(".") if isinstance(outcome, str) else abs(outcome) <= 1e15


@pytest.mark.parametrize(
    ("text", "code"),
    [("12.34567", "too_many_decimals"), ("12 V", "no_unit"), ("1,500", "ambiguous"), ("1e20", "too_large")],
)
def test_amount_is_exact_or_refused(text, code):
    with pytest.raises(QuantityError) as refused:
        parse_decimal(text)
    assert refused.value.code == code


@pytest.mark.parametrize(
    ("template", "value", "printed"),
    [
        ('{{ v|quantity:"V" }}', 12.8, f'12.8{NO_BREAK}<span class="u">V</span>'),
        ('{{ v|quantity:"V 2" }}', 12.8, f'12.80{NO_BREAK}<span class="u">V</span>'),
        ('{{ v|quantity:"V" }}', None, "–"),
        ("{{ v|number:2 }}", 1186, f"1{NARROW}186.00"),
        ("{{ v|percent }}", 0.9, f'90{NO_BREAK}<span class="u">%</span>'),
        ("{{ v|percent:1 }}", 0.885, f'88.5{NO_BREAK}<span class="u">%</span>'),
        ('{{ v|money:"AUD" }}', Decimal("1186.5"), f"A$1{NARROW}186.50"),
        ('{{ v|money:"EUR" }}', Decimal("-3.999"), f"{MINUS}€4.00"),
        ('{{ v|money:"JPY" }}', Decimal("1500"), f"¥1{NARROW}500"),
        ("{{ v|money }}", Decimal("41.8"), "41.80"),
        ("{{ v|money }}", None, "–"),
    ],
)
def test_filters_print(template, value, printed):
    assert Template(template).render(Context({"v": value})) == printed


def test_money_filter_refuses_a_float():
    with pytest.raises(TypeError, match="never float"):
        Template("{{ v|money }}").render(Context({"v": 1.1}))
