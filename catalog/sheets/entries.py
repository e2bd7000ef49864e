"""What one cell may hold: reading it, writing it, saying it. Limits are those of the forms, never a second set."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from datetime import date, time
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _

from catalog.form_fields import AmountField, QuantityField
from catalog.quantities import format_number, format_quantity, typed
from catalog.sheets.cells import SURE_DIGITS, Fault, Figure, Moment, Truth, shortened
from catalog.sheets.decimals import UnlikelyNumber, pointed
from catalog.sheets.limits import LIMITS

_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ufffe\uffff]")


class CellError(ValueError):
    """What is wrong with one cell, as a sentence."""


def errors_of(error: ValidationError) -> str:
    """The messages of a refusal in one line."""
    return " ".join(str(message) for message in error.messages)


class Entry:
    """A kind of cell. ``read`` raises :class:`CellError`; ``write`` and ``read`` are each other's inverse."""

    unit: str = ""
    empty: Any = None
    """What an empty cell of a new record stands for."""
    is_number = False

    def read(self, cell: str, decimal: str = "either") -> Any:
        """The stored value of a cell that is not empty."""
        if isinstance(cell, Fault):
            raise CellError(cell.words)
        if len(cell) > LIMITS.cell_characters:
            words = _("It has %(length)d characters; at most %(most)d are read.")
            raise CellError(words % {"length": len(cell), "most": LIMITS.cell_characters})
        try:
            return self.taken(cell, decimal)
        except UnlikelyNumber as error:
            raise CellError(str(error)) from None
        except ValidationError as error:
            raise CellError(errors_of(error)) from None

    def taken(self, cell: str, decimal: str) -> Any:
        raise NotImplementedError

    def write(self, value: Any) -> Any:
        """The value as a cell: text, or a number."""
        return "" if value is None else str(value)

    def say(self, value: Any) -> str:
        """The value in words, empty for nothing."""
        return "" if value is None else str(value)

    def same(self, old: Any, new: Any) -> bool:
        """Whether the two are one value; numbers that differ where spreadsheets round, in the 13th digit, are."""
        if isinstance(old, float) and isinstance(new, float):
            return math.isclose(old, new, rel_tol=1e-12, abs_tol=1e-11)
        return bool(old == new)

    def moved(self, old: Any, new: Any) -> str:
        """By how much a number moved, in per cent of what it was."""
        if not self.is_number or old is None or new is None or not old:
            return ""
        percent = (Decimal(str(new)) - Decimal(str(old))) / abs(Decimal(str(old))) * 100
        figure = format_number(round(percent, 1), 1)
        return f"{'+' if percent > 0 else ''}{figure}\u00a0%"

    @property
    def allowed(self) -> str:
        """What may stand there, in words."""
        return ""


class Text(Entry):
    """Words; ``lines`` lets them have line breaks."""

    empty = ""

    def __init__(self, field: Any, *, lines: bool = False) -> None:
        self.field, self.lines = field, lines

    def taken(self, cell: str, decimal: str) -> Any:
        if isinstance(cell, Moment):
            words = _("It holds a day (%(day)s). If it is meant as text, give the cell the format of text.")
            raise CellError(words % {"day": cell})
        if isinstance(cell, Truth):
            raise CellError(_("It holds true or false, where text belongs."))
        if isinstance(cell, Figure) and sum(c.isdigit() for c in cell.strip("0.")) > SURE_DIGITS:
            words = _("It is a number of more than %(most)d digits, which a spreadsheet rounds. Format it as text.")
            raise CellError(words % {"most": SURE_DIGITS})
        text = one_newline(str(cell)).strip()
        if _CONTROL.search(text):
            raise CellError(_("It holds characters that cannot be seen. Type it anew."))
        if not self.lines and "\n" in text:
            raise CellError(_("It holds a line break; write it in one line."))
        return self.field.clean(text)

    def same(self, old: Any, new: Any) -> bool:
        return one_newline(old or "").strip() == one_newline(new or "").strip()

    @property
    def allowed(self) -> str:
        most = getattr(self.field, "max_length", None)
        return _("text, at most %(most)d characters") % {"most": most} if most else _("text")


def one_newline(text: str) -> str:
    """Line breaks as one character, whatever wrote them."""
    return text.replace("\r\n", "\n").replace("\r", "\n")


def _refuse_day(cell: str) -> None:
    if isinstance(cell, Moment):
        raise CellError(_("It holds a day or a time (%(cell)s), where a number belongs.") % {"cell": cell})
    if isinstance(cell, Truth):
        raise CellError(_("It holds true or false, where a number belongs."))


class Quantity(Entry):
    """A number with the unit and the limits of a form's entry."""

    is_number = True

    def __init__(self, field: QuantityField) -> None:
        self.field = field
        self.unit = str(field.read_unit)

    def taken(self, cell: str, decimal: str) -> Any:
        _refuse_day(cell)
        return self.field.clean(pointed(cell, decimal))

    def write(self, value: Any) -> Any:
        return "" if value is None else Decimal(self.field.prepare_value(value))

    def say(self, value: Any) -> str:
        return "" if value is None else format_quantity(round(value * self.field.factor, 9), self.unit)

    @property
    def allowed(self) -> str:
        return between(self.field.minimum, self.field.maximum, self.unit, self.field.factor, whole=self.field.whole)


def between(low: float | None, high: float | None, unit: str, factor: float = 1.0, *, whole: bool = False) -> str:
    """Limits as ``0 to 60 V``."""
    figures = [None if limit is None else format_number(round(limit * factor, 9)) for limit in (low, high)]
    end = f"\u00a0{unit}" if unit else ""
    if figures[0] is not None and figures[1] is not None:
        words = _("%(low)s to %(high)s%(unit)s")
    elif figures[0] is not None:
        words = _("at least %(low)s%(unit)s")
    elif figures[1] is not None:
        words = _("at most %(high)s%(unit)s")
    else:
        words = unit
    said = words % {"low": figures[0], "high": figures[1], "unit": end}
    return _("whole number, %(limits)s") % {"limits": said} if whole else said


class Amount(Entry):
    """Money, exact to four places."""

    is_number = True

    def __init__(self, field: AmountField) -> None:
        self.field = field

    def taken(self, cell: str, decimal: str) -> Any:
        _refuse_day(cell)
        return self.field.clean(pointed(cell, decimal))

    def write(self, value: Any) -> Any:
        return "" if value is None else Decimal(typed(value))

    def say(self, value: Any) -> str:
        if value is None:
            return ""
        return format_number(value, 2 if value == round(value, 2) else 4)

    @property
    def allowed(self) -> str:
        return _("0 or more, at most four decimals")


class YesNo(Entry):
    """Yes or no, in one of the usual spellings."""

    empty = False
    _SAID = {"yes": True, "y": True, "true": True, "1": True, "x": True, "no": False, "n": False, "false": False}

    def taken(self, cell: str, decimal: str) -> Any:
        word = cell.strip().casefold()
        known = {**self._SAID, "0": False, _("yes").casefold(): True, _("no").casefold(): False}
        if word not in known:
            raise CellError(_("It must be yes or no."))
        return known[word]

    def write(self, value: Any) -> Any:
        return self.say(value)

    def say(self, value: Any) -> str:
        return "" if value is None else (_("yes") if value else _("no"))

    @property
    def allowed(self) -> str:
        return _("yes, no")


class Choice(Entry):
    """One of some, by its code or by its words."""

    empty: Any = ""

    def __init__(self, options: Iterable[tuple[Any, Any]]) -> None:
        self.options = tuple(options)

    def taken(self, cell: str, decimal: str) -> Any:
        return self.code_of(cell)

    def code_of(self, text: str) -> Any:
        """The code for a word, brackets in it or not. Raises :class:`CellError` naming the choices."""
        wanted = " ".join(text.split()).casefold()
        for code, words in self.options:
            if wanted in (str(code).casefold(), str(words).casefold(), _(str(words)).casefold()):
                return code
        short = [code for code, words in self.options if _(str(words)).partition(" (")[0].casefold() == wanted]
        if len(short) == 1:
            return short[0]
        raise CellError(_("It must be one of: %(choices)s.") % {"choices": self.allowed})

    def words_of(self, code: Any) -> str:
        return next((_(str(words)) for known, words in self.options if known == code), str(code))

    def write(self, value: Any) -> Any:
        return self.say(value)

    def say(self, value: Any) -> str:
        return "" if value in (None, "") else self.words_of(value)

    @property
    def allowed(self) -> str:
        return ", ".join(_(str(words)) for _code, words in self.options)


class Day(Entry):
    """A day as 2026-11-24."""

    def __init__(self, field: Any) -> None:
        self.field = field

    def taken(self, cell: str, decimal: str) -> Any:
        return self.field.clean(str(cell))

    def write(self, value: date | None) -> Any:
        return "" if value is None else value.isoformat()

    def say(self, value: date | None) -> str:
        return "" if value is None else value.isoformat()

    @property
    def allowed(self) -> str:
        return _("a day, as 2026-11-24")


class TimeOfDay(Entry):
    """A time as 16:30."""

    def __init__(self, field: forms.TimeField) -> None:
        self.field = field

    def taken(self, cell: str, decimal: str) -> Any:
        return self.field.clean(str(cell))

    def write(self, value: time | None) -> Any:
        return "" if value is None else value.isoformat("minutes" if not value.second else "seconds")

    say = write

    @property
    def allowed(self) -> str:
        return _("a time, as 16:30")


def entry_for(field: forms.Field) -> Entry:
    """The cell that a form's entry stands for."""
    if isinstance(field, QuantityField):
        return Quantity(field)
    if isinstance(field, AmountField):
        return Amount(field)
    if isinstance(field, forms.BooleanField):
        return YesNo()
    if isinstance(field, forms.ChoiceField):
        return Choice([(code, words) for code, words in _flat(field) if code not in ("", None)])
    if isinstance(field, forms.DateField):
        return Day(field)
    if isinstance(field, forms.TimeField):
        return TimeOfDay(field)
    if isinstance(field, forms.CharField):
        return Text(field, lines=isinstance(field.widget, forms.Textarea))
    raise TypeError(f"no cell is known for {type(field).__name__}")


def _flat(field: Any) -> Iterable[tuple[Any, Any]]:
    return list(field.choices)


__all__ = ["CellError", "Choice", "Entry", "Text", "entry_for", "errors_of", "shortened"]
