from __future__ import annotations

import re
from pathlib import Path

import pytest

import quoting.drawings
from quoting.drawings.wording import MESSAGES, digits_for, english, number

SOURCES = sorted(Path(quoting.drawings.__file__).parent.glob("*.py"))


def test_every_code_a_drawing_says_is_worded_and_no_other():
    said = {
        code
        for path in SOURCES
        if path.name != "wording.py"
        for code in re.findall(r'"((?:drawing|chart)\.[a-z_.]+[a-z])"', path.read_text())
    }
    keys = {code for code in MESSAGES if code.startswith(("drawing.key.", "drawing.colour."))}

    assert said == set(MESSAGES) - keys


@pytest.mark.parametrize(
    ("value", "digits", "said"),
    [
        (2000.0, 0, "2\u202f000"),
        (14.4, 1, "14.4"),
        (-3.0, 0, "\u22123"),
        (-0.04, 1, "0.0"),
        (12345.6, 1, "12\u202f345.6"),
    ],
)
def test_numbers_are_written_with_point_true_minus_and_thin_space(value, digits, said):
    assert number(value, digits) == said


@pytest.mark.parametrize(
    ("value", "most", "digits"), [(1.5, 2, 1), (0.75, 2, 2), (16.0, 2, 0), (14.4, 1, 1), (0.04, 1, 2), (0.0, 1, 0)]
)
def test_only_decimals_that_say_something(value, most, digits):
    assert digits_for(value, most) == digits


def test_an_unknown_code_is_refused():
    with pytest.raises(KeyError):
        english("drawing.nonsense")
