"""Decimal signs of a table that says which it uses."""

from __future__ import annotations

import re

from django.utils.translation import gettext as _

from catalog.sheets.cells import Figure

DECIMALS = ("either", "point", "comma")
_NUMBER = re.compile(r"[0-9][0-9.,]*[0-9]|[0-9]")
_GROUPED = {
    ",": re.compile(r"[0-9]{1,3}(,[0-9]{3})+(\.[0-9]+)?"),
    ".": re.compile(r"[0-9]{1,3}(\.[0-9]{3})+(,[0-9]+)?"),
}
_SAID = {"point": (",", "."), "comma": (".", ",")}


class UnlikelyNumber(ValueError):
    """A number that does not follow the decimal sign chosen for the table."""


def pointed(text: str, decimal: str) -> str:
    """Numbers in ``text`` with a decimal point and nothing between thousands, as the table's sign has them.

    ``either`` leaves the text as it is: then the rule of ``catalog.quantities`` holds. Numbers that a workbook keeps
    as numbers have a point whatever the table's sign is.

    >>> pointed("1.234,5 kg", "comma"), pointed("1,500", "point"), pointed("1,500", "either")
    ('1234.5 kg', '1500', '1,500')
    """
    if decimal == "either" or isinstance(text, Figure):
        return text
    parts, mark = _SAID[decimal]

    def plain(match: re.Match[str]) -> str:
        number = match[0]
        if parts in number:
            if not _GROUPED[parts].fullmatch(number):
                raise UnlikelyNumber(_refusal(number, decimal))
            number = number.replace(parts, "")
        if number.count(mark) > 1:
            raise UnlikelyNumber(_refusal(number, decimal))
        return number.replace(mark, ".")

    return _NUMBER.sub(plain, text)


def _refusal(number: str, decimal: str) -> str:
    if decimal == "point":
        return _("“%(number)s” has a comma, but this table is read with a decimal point.") % {"number": number}
    return _("“%(number)s” has a point, but this table is read with a decimal comma.") % {"number": number}
