"""A column of a sheet type, and how heads of a file find theirs."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from difflib import SequenceMatcher
from typing import Any

from django import forms
from django.utils.text import capfirst
from django.utils.translation import gettext as _

from catalog.sheets.entries import Entry, entry_for
from catalog.sheets.limits import SheetRefused

ALIKE = 0.86
"""How alike a head and a column's words must be to be proposed. 1 is the same."""


@dataclass(frozen=True, slots=True)
class Column:
    """One column: what it is called, what may stand in it, whether a new record needs it."""

    name: str
    words: Any
    """The label, translated when it is shown."""
    entry: Entry
    required: bool = False
    note: Any = ""
    is_money: bool = False
    default: Any = None
    """What an empty cell stands for in a new record; ``None`` leaves it to the entry."""
    aliases: tuple[str, ...] = ()
    apart: bool = False
    """It is no field of the record itself: it finds the record, or goes beside it."""
    prefix: Any = ""
    """Before the label, where two columns would be called the same."""

    @property
    def label(self) -> str:
        words = str(_(str(self.words)))
        return f"{self.prefix} {words[:1].lower()}{words[1:]}" if self.prefix else str(capfirst(words))

    @property
    def unit(self) -> str:
        return self.entry.unit

    @property
    def head(self) -> str:
        """As it stands above the column in what is exported."""
        return f"{self.label} ({self.unit})" if self.unit else self.label

    @property
    def help(self) -> str:
        return str(_(str(self.note))) if self.note else ""

    @property
    def allowed(self) -> str:
        return self.entry.allowed

    @property
    def blank(self) -> Any:
        """The value of an empty cell of a new record."""
        return self.entry.empty if self.default is None else self.default


def of_form(name: str, field: forms.Field, **more: Any) -> Column:
    """The column that a form's entry stands for: its label, help, limits and whether it must be filled in."""
    settings = {"note": field.help_text, "required": field.required and not isinstance(field, forms.BooleanField)}
    entry = more.pop("entry", None) or entry_for(field)
    return Column(name, field.label, entry, **{**settings, **more})


def propose(columns: Sequence[Column], heads: Iterable[str]) -> dict[str, str]:
    """Which column each head of a file most likely means; number of the head as text to the column's name."""
    free = {str(place): _plain(head) for place, head in enumerate(heads) if _plain(head)}
    found: dict[str, str] = {}
    for column in columns:
        names = _names(column)
        place = next((place for place, head in free.items() if head in names), None)
        if place is not None:
            found[place] = column.name
            del free[place]
    rest = {column.name: _names(column) for column in columns if column.name not in found.values()}
    for place, head in free.items():
        best, name = max(((_alike(head, names), name) for name, names in rest.items()), default=(0.0, ""))
        if best >= ALIKE:
            found[place] = name
            del rest[name]
    return dict(sorted(found.items(), key=lambda pair: int(pair[0])))


def _alike(head: str, names: Iterable[str]) -> float:
    """How alike a head is to the nearest of some names; 0 for what is not alike at all, found out in little time."""
    best = 0.0
    for name in names:
        if 3 * abs(len(head) - len(name)) > len(name):
            continue
        match = SequenceMatcher(None, head, name)
        if match.quick_ratio() >= ALIKE:
            best = max(best, match.ratio())
    return best


def _names(column: Column) -> set[str]:
    bare = column.name.removeprefix("spec_")
    return {_plain(text) for text in (column.head, column.label, str(column.words), bare, column.name, *column.aliases)}


def _plain(text: str) -> str:
    """Small letters and digits without accents, what stands in brackets left out."""
    bare = re.sub(r"\([^)]*\)|\[[^\]]*\]", " ", text)
    letters = unicodedata.normalize("NFKD", bare).encode("ascii", "ignore").decode().lower()
    return " ".join(re.findall(r"[a-z0-9]+", letters))


def mapped(columns: Sequence[Column], heads: Sequence[str], mapping: Mapping[str, str]) -> dict[int, Column]:
    """The columns by their place in the file. Raises :class:`SheetRefused` for a mapping that cannot be followed."""
    known = {column.name: column for column in columns}
    found: dict[int, Column] = {}
    for place, name in mapping.items():
        if not name:
            continue
        column = known.get(name)
        if column is None or not str(place).isdecimal() or int(place) >= len(heads):
            raise SheetRefused(_("The columns of the table are not matched as they stand. Match them once more."))
        if column in found.values():
            raise SheetRefused(_("Two columns are matched to “%(label)s”. Leave one out.") % {"label": column.label})
        found[int(place)] = column
    if not found:
        raise SheetRefused(_("No column of the table is matched yet."))
    return found
