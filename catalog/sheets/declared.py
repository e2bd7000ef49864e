"""Cells of a declaration's fields: read, checked and written by what the kind says."""

from __future__ import annotations

from typing import Any

from django.utils.translation import gettext as _

from catalog.kinds.base import Field, check
from catalog.quantities import QuantityError, format_quantity
from catalog.sheets.cells import Figure, Moment, Truth
from catalog.sheets.decimals import pointed
from catalog.sheets.entries import CellError, Choice, Entry, YesNo, between
from catalog.specs import read_field, typed_field
from catalog.words import field_sentence, quantity_sentence


class Declared(Entry):
    """A number, several numbers, a curve or words of a declaration."""

    empty = None

    def __init__(self, field: Field) -> None:
        self.field = field
        self.unit = field.shown_unit
        self.is_number = field.type in ("number", "integer")

    def taken(self, cell: str, decimal: str) -> Any:
        if isinstance(cell, Moment | Truth) and self.field.type != "text":
            raise CellError(_("It holds a day, a time or true or false, where a number belongs."))
        text = cell if self.field.type == "text" else pointed(cell, decimal)
        try:
            value = read_field(self.field, str(text))
        except QuantityError as error:
            raise CellError(quantity_sentence(error)) from None
        for problem in check(self.field, value):
            raise CellError(field_sentence(self.field, problem))
        if self.field.type == "text":
            return str(value).strip()
        return int(value) if self.field.type == "integer" else value

    def write(self, value: Any) -> Any:
        text = typed_field(self.field, value)
        return Figure(text) if self.is_number and text else text

    def say(self, value: Any) -> str:
        if value in (None, "", []):
            return ""
        if self.is_number:
            return format_quantity(round(value * self.field.shown_factor, 9), self.unit)
        return str(typed_field(self.field, value))

    def same(self, old: Any, new: Any) -> bool:
        if self.is_number:
            return super().same(old, new)
        return bool((old or None) == (new or None))

    @property
    def allowed(self) -> str:
        field = self.field
        if field.options:
            return ", ".join(_(words) for _code, words in field.options)
        limits = between(field.minimum, field.maximum, self.unit, field.shown_factor, whole=field.type == "integer")
        if field.type == "numbers":
            return _("numbers parted by semicolons, each %(limits)s") % {"limits": limits}
        if field.type == "curve":
            units = {"first": field.x_shown_unit or _("number"), "limits": limits}
            return _("pairs parted by semicolons: %(first)s, then %(limits)s; as 40 100; 60 50") % units
        return _("text, at most 200 characters") if field.type == "text" else limits


class Choices(Choice):
    """Several of some, parted by semicolons or commas."""

    empty = None

    def taken(self, cell: str, decimal: str) -> Any:
        codes = [code for code, _words in self.options]
        found = {code for part in cell.split(";") if part.strip() for code in self._codes_of(part)}
        return sorted(found, key=codes.index)

    def _codes_of(self, part: str) -> set[Any]:
        """Words may have a comma in them, so a comma parts only what is no choice as it stands."""
        try:
            return {super().code_of(part)}
        except CellError:
            return {self.code_of(piece) for piece in part.split(",") if piece.strip()}

    def say(self, value: Any) -> str:
        return "; ".join(self.words_of(code) for code in value or ())

    def same(self, old: Any, new: Any) -> bool:
        return list(old or []) == list(new or [])

    @property
    def allowed(self) -> str:
        return _("one or several of: %(choices)s") % {"choices": super().allowed}

    def code_of(self, text: str) -> Any:
        try:
            return super().code_of(text)
        except CellError:
            params = {"text": text.strip(), "allowed": self.allowed}
            raise CellError(_("“%(text)s” must be %(allowed)s.") % params) from None


def declared_entry(field: Field) -> Entry:
    """The cell for one field of a declaration."""
    if field.type == "boolean":
        return YesNo()
    if field.type == "choice":
        return Choice(field.options)
    if field.type == "choices":
        return Choices(field.options)
    return Declared(field)
