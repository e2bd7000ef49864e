"""The parts of a workbook, watched while they are read: what would fill the memory or never end is refused before.

A part may be small and well packed and still be hard on who reads it: one row of fifty million cells, a row number
with twelve digits, a million styles. Every byte goes through a bare XML parser that counts, and then to the reader.
"""

from __future__ import annotations

import zipfile
from typing import Any
from xml.parsers import expat

from django.utils.translation import gettext as _

from catalog.sheets.cells import shortened
from catalog.sheets.limits import LIMITS, MEGABYTE, SheetRefused

DEPTH = 100
"""Elements inside each other."""
IN_A_ROW = 100_000
"""Elements of one row: six for each of the 16 384 cells that a row can have."""
ROWS = 1_048_576
"""Rows that a sheet can have."""
OUTSIDE = 300_000
"""Elements of a part that are in no row: styles, merged cells, names."""
TEXTS = 2_000_000
"""Elements of the part with the shared texts."""
BETWEEN = 2 * MEGABYTE
"""Bytes from the beginning of one element to the beginning of the next: its attributes and its text."""


class TooMuch(SheetRefused):
    """A part of a workbook that no spreadsheet program would have written."""


class GuardedArchive(zipfile.ZipFile):
    """An archive whose parts are counted as they are read."""

    def open(self, name: Any, mode: Any = "r", *args: Any, **kwargs: Any) -> Any:
        part = super().open(name, mode, *args, **kwargs)
        title = name if isinstance(name, str) else name.filename
        return _GuardedPart(part, title)


class _GuardedPart:
    """One part for reading. What is refused raises :class:`TooMuch` before the reader sees it."""

    def __init__(self, part: Any, name: str) -> None:
        self._part, self._name = part, name
        self._most_outside = TEXTS if "sharedstrings" in name.lower() else OUTSIDE
        self._outside = self._in_row = self._rows = self._depth = self._fed = self._last = 0
        self._row_depth = 0
        self._parser: Any = expat.ParserCreate()
        self._parser.StartElementHandler, self._parser.EndElementHandler = self._begins, self._ends
        self._parser.StartDoctypeDeclHandler = self._declares

    def read(self, size: int = -1) -> bytes:
        if size is None or size < 0:
            return b"".join(iter(lambda: self.read(MEGABYTE), b""))
        chunk: bytes = self._part.read(size)
        if self._parser is not None and chunk:
            self._fed += len(chunk)
            try:
                self._parser.Parse(chunk, False)
            except expat.ExpatError:
                self._parser = None  # the reader meets the same fault, and says so
            if self._fed - self._last > BETWEEN:
                raise self._refused()
        return chunk

    def close(self) -> None:
        self._part.close()

    def __enter__(self) -> _GuardedPart:
        return self

    def __exit__(self, *error: object) -> None:
        self.close()

    def _begins(self, name: str, attributes: dict[str, str]) -> None:
        self._last = self._parser.CurrentByteIndex
        self._depth += 1
        if self._depth > DEPTH:
            raise self._refused()
        if name == "row" or name.endswith(":row"):
            self._rows += 1
            self._in_row, self._row_depth = 0, self._row_depth or self._depth
            if self._rows > ROWS or not _is_row_number(attributes.get("r", "1")):
                raise self._refused()
        elif self._row_depth:
            self._in_row += 1
            if self._in_row > IN_A_ROW:
                raise self._refused()
        else:
            self._outside += 1
            if self._outside > self._most_outside:
                raise self._refused()

    def _ends(self, name: str) -> None:
        if self._depth == self._row_depth:
            self._row_depth = 0
        self._depth -= 1

    def _declares(self, *declaration: object) -> None:
        """A document type may define texts that grow without end; the reader refuses them all."""
        self._parser = None

    def _refused(self) -> TooMuch:
        words = _("A part of the workbook (%(name)s) holds more than can be read; at most %(most)d columns are.")
        return TooMuch(words % {"name": shortened(self._name), "most": LIMITS.columns})


def _is_row_number(text: str) -> bool:
    """The reader takes 1e11 for a number too, and counts up to it."""
    return text.isascii() and text.isdigit() and len(text) <= len(str(ROWS)) and int(text) <= ROWS
