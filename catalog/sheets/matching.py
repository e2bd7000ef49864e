"""Which record a row means. An index is read once, in one query, and never asked the database again."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from typing import Any

from django.utils.translation import gettext as _


class Unclear(ValueError):
    """A row that does not name one record: the column it lies at, and why."""

    def __init__(self, column: str, words: str) -> None:
        self.column = column
        super().__init__(words)


class LeftOut(Exception):
    """A row that names nothing the workshop has, in a list where that is usual."""


class Index:
    """Finds the record of a row. ``find`` returns its number, ``None`` for a new one; it raises :class:`Unclear`."""

    def find(self, given: dict[str, Any]) -> int | None:
        raise NotImplementedError

    def key(self, values: dict[str, Any]) -> tuple[str, ...]:
        """What two new rows of one file must not share."""
        raise NotImplementedError


def folded(text: Any) -> str:
    """Text as it is compared: letters of one case, single spaces."""
    return " ".join(str(text or "").split()).casefold()


class Names:
    """Rows by a text, letters' case put aside unless it tells them apart."""

    def __init__(self, pairs: Iterable[tuple[str, Any]] = ()) -> None:
        self._known: dict[str, list[tuple[str, Any]]] = defaultdict(list)
        for text, row in pairs:
            self.add(text, row)

    def add(self, text: str, row: Any) -> None:
        self._known[folded(text)].append((text, row))

    def of(self, text: str) -> list[Any]:
        """The rows of that text: those spelled exactly so, or else those that differ only in case."""
        alike = self._known.get(folded(text), [])
        exact = [row for known, row in alike if known == text]
        return exact or [row for _known, row in alike]


class OneFieldIndex(Index):
    """Records that one text names."""

    def __init__(self, rows: Iterable[tuple[str, int]], column: str = "name") -> None:
        self.column = column
        self.names = Names(rows)

    def find(self, given: dict[str, Any]) -> int | None:
        text = given.get(self.column)
        if not text:
            return None
        found = self.names.of(text)
        if len(found) > 1:
            raise Unclear(self.column, _("Several records are called “%(name)s”.") % {"name": text})
        return found[0] if found else None

    def key(self, values: dict[str, Any]) -> tuple[str, ...]:
        return (self.column, folded(values.get(self.column)))
