"""What an import would do, row by row: kept as lines of JSON, so that a large one is never held whole."""

from __future__ import annotations

import io
import json
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from django.core.serializers.json import DjangoJSONEncoder

from catalog.sheets.limits import LIMITS, SheetRefused

KINDS = ("added", "changed", "same", "wrong", "left_out")
VERSION = 1


@dataclass(frozen=True, slots=True)
class Problem:
    """One wrong cell, or one wrong row when ``column`` is empty."""

    row: int
    column: str
    value: str
    words: str


@dataclass(frozen=True, slots=True)
class PlanRow:
    """One row of the table and what becomes of it: ``added``, ``changed``, ``same``, ``wrong`` or ``left_out``."""

    row: int
    kind: str
    name: str
    changes: tuple[tuple[str, str, str, str], ...] = ()
    """Label, words before, words after, by how much."""


class Plan:
    """Counts of rows, and the rows themselves on disk.

    ``left_out`` counts rows of a price list that name no part of the catalogue; ``unlisted`` wrong cells beyond those
    that are listed.
    """

    def __init__(self, code: str, lines: Any, counts: dict[str, int], unlisted: int = 0) -> None:
        self.code, self._lines, self._counts, self.unlisted = code, lines, counts, unlisted

    @property
    def added(self) -> int:
        return self._counts["added"]

    @property
    def changed(self) -> int:
        return self._counts["changed"]

    @property
    def same(self) -> int:
        return self._counts["same"]

    @property
    def wrong(self) -> int:
        return self._counts["wrong"]

    @property
    def left_out(self) -> int:
        return self._counts["left_out"]

    @property
    def counts(self) -> dict[str, int]:
        return dict(self._counts)

    def to_json_lines(self, file: Any) -> None:
        """Write the whole plan to an open file, of text or of bytes."""
        write = file.write if isinstance(file, io.TextIOBase) else lambda text: file.write(text.encode())
        head = {"plan": VERSION, "type": self.code, "counts": self._counts, "unlisted": self.unlisted}
        write(json.dumps(head) + "\n")
        for line in self._all_lines():
            write(line)

    @classmethod
    def read(cls, file: Any) -> Plan:
        """A plan from an open file, which must stay open while it is looked at. Raises :class:`SheetRefused`."""
        lines: Any = file if isinstance(file, io.TextIOBase) else _text_of(file)
        lines.seek(0)
        try:
            head = json.loads(lines.readline())
            counts = {kind: int(head["counts"][kind]) for kind in KINDS}
            if head["plan"] != VERSION:
                raise ValueError(head["plan"])
        except (ValueError, KeyError, TypeError):
            raise SheetRefused("The plan of this import cannot be read. Check the table once more.") from None
        return cls(str(head["type"]), lines, counts, int(head["unlisted"]))

    def entries(self, kind: str | None = None) -> Iterator[dict[str, Any]]:
        """Every row as it was written, in the order of the file."""
        begin = None if kind is None else _begin(kind)
        for line in self._all_lines():
            if begin is None or line.startswith(begin):
                yield json.loads(line)

    def rows(self, first: int = 0, count: int = 50, kind: str | None = None) -> list[PlanRow]:
        """Some rows, of one kind or of all."""
        return [
            PlanRow(entry["row"], entry["kind"], entry["name"], tuple(tuple(c) for c in entry.get("changes", ())))
            for entry in self._some(first, count, kind)
        ]

    def problems(self, first: int = 0, count: int = 50) -> list[Problem]:
        """Some of the wrong cells, in the order of the file."""
        found: list[Problem] = []
        for entry in self.entries("wrong"):
            for column, value, words in entry["problems"]:
                if first:
                    first -= 1
                elif len(found) < count:
                    found.append(Problem(entry["row"], column, value, words))
                else:
                    return found
        return found

    def _some(self, first: int, count: int, kind: str | None) -> Iterator[dict[str, Any]]:
        begin = "" if kind is None else _begin(kind)
        for line in self._all_lines():
            if not line.startswith(begin):
                continue
            if first:
                first -= 1
            elif count:
                count -= 1
                yield json.loads(line)
            else:
                return

    def _all_lines(self) -> Iterator[str]:
        self._lines.seek(0)
        for line in self._lines:
            if not line.startswith('{"plan"'):
                yield line


def _begin(kind: str) -> str:
    """How a row of a kind begins, so that others need not be parsed."""
    return f'{{"kind": "{kind}"'


class _Scratch:
    """A file without a name, for as long as somebody needs it."""

    def __init__(self) -> None:
        self.file = tempfile.TemporaryFile("w+", encoding="utf-8", newline="\n")  # noqa: SIM115  (closed below)

    def write(self, text: str) -> None:
        self.file.write(text)

    def seek(self, place: int) -> int:
        return self.file.seek(place)

    def __iter__(self) -> Iterator[str]:
        return iter(self.file)

    def __del__(self) -> None:
        self.file.close()


class PlanWriter:
    """Takes the rows of a check one by one."""

    def __init__(self, code: str) -> None:
        self.code = code
        self.counts = dict.fromkeys(KINDS, 0)
        self.listed = self.unlisted = 0
        self._lines = _Scratch()

    def add(self, kind: str, row: int, name: str, **more: Any) -> None:
        """Write one row; of its ``problems`` as many as are still listed."""
        self.counts[kind] += 1
        if "problems" in more:
            room = max(LIMITS.problems - self.listed, 0)
            self.listed += min(room, len(more["problems"]))
            self.unlisted += max(len(more["problems"]) - room, 0)
            more["problems"] = more["problems"][:room]
        entry = {"kind": kind, "row": row, "name": name, **more}
        self._lines.write(json.dumps(entry, cls=DjangoJSONEncoder, ensure_ascii=False) + "\n")

    def done(self) -> Plan:
        return Plan(self.code, self._lines, self.counts, self.unlisted)


def _text_of(file: Any) -> Any:
    raw: Any = _Kept(file)
    return io.TextIOWrapper(raw, encoding="utf-8")


class _Kept(io.RawIOBase):
    """A file of bytes whose wrapper does not close it."""

    def __init__(self, file: Any) -> None:
        self._file = file

    def readable(self) -> bool:
        return True

    def seekable(self) -> bool:
        return True

    def seek(self, place: int, whence: int = 0) -> int:
        return int(self._file.seek(place, whence) or self._file.tell())

    def tell(self) -> int:
        return int(self._file.tell())

    def readinto(self, buffer: Any) -> int:
        data = self._file.read(len(buffer))
        buffer[: len(data)] = data
        return len(data)
