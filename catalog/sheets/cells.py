"""Cells as they come out of a table: text that remembers what the spreadsheet held."""

from __future__ import annotations

import re
from datetime import date, datetime, time
from decimal import Decimal
from typing import Any

from catalog.quantities import typed

RUNS = ("=", "+", "-", "@", "\t", "\r")
"""What a cell must not begin with: a spreadsheet would run it as a formula."""
_PLAIN_NUMBER = re.compile(r"-?[0-9]+(?:\.[0-9]+)?")
SURE_DIGITS = 15
"""Digits of a number that a spreadsheet keeps."""


class Figure(str):
    """A number, written with a point."""


class Truth(str):
    """A spreadsheet's own true or false, as ``yes`` or ``no``."""


class Moment(str):
    """A day or a time of day, as ISO 8601 writes it."""


class Literal(str):
    """Text that is meant as it stands, because an apostrophe stood before it: a dash is then a dash."""


class Fault(str):
    """A cell that holds no value of its own. ``words`` say why, with the cell's name."""

    words: str = ""

    def __new__(cls, text: str, words: str = "") -> Fault:
        made = super().__new__(cls, text)
        made.words = words
        return made


def from_value(value: Any, number_format: str = "") -> str:
    """The cell for a value of a workbook; per cent that a cell's format shows are written out."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return Truth("yes" if value else "no")
    if isinstance(value, int | float | Decimal):
        if "%" in number_format:
            return Figure(f"{typed(round(Decimal(repr(value)) * 100, 9))} %")
        return Figure(typed(value))
    if isinstance(value, datetime):
        return Moment(value.date().isoformat() if value.time() == time() else value.isoformat(" ", "minutes"))
    if isinstance(value, date):
        return Moment(value.isoformat())
    if isinstance(value, time):
        return Moment(value.isoformat("minutes"))
    return unguarded(str(value))


def guarded(text: str) -> str:
    """Text that no spreadsheet runs: an apostrophe before what would begin a formula.

    >>> guarded("=1+1"), guarded("-12.5"), guarded("'=x"), guarded("it's")
    ("'=1+1", '-12.5', "''=x", "it's")
    """
    if text.lstrip("'").startswith(RUNS) and not _PLAIN_NUMBER.fullmatch(text):
        return f"'{text}"
    return text


def unguarded(text: str) -> str:
    """The inverse of :func:`guarded`.

    >>> unguarded("'=1+1"), unguarded("''=x"), unguarded("'quoted'")
    ('=1+1', "'=x", "'quoted'")
    """
    if text.startswith("'") and text.lstrip("'").startswith(RUNS):
        return Literal(text[1:])
    return text


def column_letters(number: int) -> str:
    """What a spreadsheet calls its columns, the first being 1.

    >>> column_letters(1), column_letters(27), column_letters(702)
    ('A', 'AA', 'ZZ')
    """
    letters = ""
    while number:
        number, rest = divmod(number - 1, 26)
        letters = chr(65 + rest) + letters
    return letters


def shortened(text: str, most: int = 80) -> str:
    """The beginning of a long text."""
    return text if len(text) <= most else f"{text[: most - 1]}…"
