"""Checking a table: every cell, every row, against the records there are, with nothing written."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from copy import copy
from typing import Any

from django.core.exceptions import PermissionDenied, ValidationError
from django.utils.translation import gettext as _

from catalog.bulk_values import kept
from catalog.sheets import reading as readings
from catalog.sheets.batches import batches
from catalog.sheets.cells import Literal, shortened
from catalog.sheets.columns import Column, mapped
from catalog.sheets.entries import CellError, errors_of
from catalog.sheets.limits import SheetRefused
from catalog.sheets.matching import LeftOut, Unclear
from catalog.sheets.plan import Plan, PlanWriter
from catalog.sheets.sheet_type import RowError, SheetType, Told, Values

Tick = Callable[[int, int], Any]
AT_ONCE = 200
"""Rows whose records are fetched in one query."""
CLEARS = frozenset({"-", "–", "—"})
"""A cell with only this empties what the record has; an empty cell leaves it."""


def check(
    type: SheetType, path: Any, reading: Mapping[str, Any], mapping: Mapping[str, str], *, by: Any, tick: Tick
) -> Plan:
    """Find out what bringing the table in would do, and everything that is wrong with it.

    Raises :class:`SheetRefused` for the whole table, ``PermissionDenied``; what ``tick`` raises goes through.
    """
    if not type.can_import(by):
        raise PermissionDenied
    found = readings.heads(path, reading)
    columns = mapped(type.columns, found, mapping)
    names = {column.name for column in columns.values()}
    if not names & set(type.finds):
        labels = ", ".join(type.column(name).label for name in type.finds)
        raise SheetRefused(_("Match a column that says which record is meant: %(labels)s.") % {"labels": labels})
    total = sum(1 for _row in readings.body(path, reading))
    if not total:
        raise SheetRefused(_("The table has heads, but no rows below them."))
    return _Check(type, found, columns, str(reading.get("decimal") or "either")).run(
        readings.body(path, reading), total, tick
    )


class _Check:
    """One check on its way through the rows."""

    def __init__(self, type: SheetType, heads: list[str], columns: dict[int, Column], decimal: str) -> None:
        self.type, self.heads, self.columns, self.decimal = type, heads, columns, decimal
        self.index = type.index()
        self.writer = PlanWriter(type.code)
        self.claimed: dict[Any, int] = {}
        self.head_of = {column.name: heads[place] for place, column in columns.items()}

    def run(self, rows: Iterator[readings.Row], total: int, tick: Tick) -> Plan:
        done = 0
        tick(0, total)
        for batch in batches(rows, AT_ONCE):
            read = [_Row(self, number, cells) for number, cells in batch]
            wanted = {row.pk for row in read if row.pk is not None}
            records = self.type.records().in_bulk(wanted) if wanted else {}
            for row in read:
                row.judge(records.get(row.pk))
            done += len(batch)
            tick(done, total)
        return self.writer.done()


class _Row:
    """One row: what was given, what is wrong, what it would write."""

    def __init__(self, check: _Check, number: int, cells: list[str]) -> None:
        self.check, self.number, self.cells = check, number, cells
        self.given: Values = {}
        self.cleared: list[Column] = []
        self.problems: list[tuple[str, str, str]] = []
        self.pk: int | None = None
        self.left_out = self.unclear = False
        self._read_cells()
        self._find()

    def _read_cells(self) -> None:
        width = len(self.check.heads)
        if any(self.cells[width:]):
            words = _("The row has %(cells)d cells, but there are %(heads)d heads: a separator too many?")
            self._wrong("", words % {"cells": len(self.cells), "heads": width})
        for place, column in self.check.columns.items():
            cell = self.cells[place] if place < len(self.cells) else ""
            if not cell:
                continue
            if cell in CLEARS and not isinstance(cell, Literal):
                self.cleared.append(column)
                continue
            try:
                self.given[column.name] = column.entry.read(cell, self.check.decimal)
            except CellError as error:
                self._wrong(column.name, str(error))

    def _find(self) -> None:
        """Which record it is. While that is unclear nobody knows whether a new one lacks something."""
        self.unclear = any(name in self.check.type.finds for name, _value, _words in self.problems)
        try:
            self.pk = self.check.index.find(self.given)
        except Unclear as error:
            self.unclear = True
            self._wrong(error.column, str(error))
        except LeftOut:
            self.left_out = True

    def judge(self, record: Any) -> None:
        """Write what becomes of this row into the plan."""
        type, writer = self.check.type, self.check.writer
        if self.left_out:
            writer.add("left_out", self.number, type.name_of(self.given, None))
            return
        values = self._values(record)
        self._claim(record, values)
        made = None
        moved = self._moved(record, values)
        beside, told = self._beside(record)
        if not self.problems and (moved or record is None):
            made = self._made(record, values)
        if record is not None and (moved or told) and not self.problems:
            refusal = type.refusal(record)
            if refusal:
                self._wrong("", refusal)
        name = shortened(type.name_of({**values, **self.given}, record))
        if self.problems:
            writer.add("wrong", self.number, name, problems=self._told())
        elif record is None:
            finds = {column: self.given[column] for column in type.finds if column in self.given}
            writer.add("added", self.number, name, finds=finds, after=kept(*made), beside=beside)  # type: ignore[misc]
        elif not (moved or told):
            writer.add("same", self.number, name)
        else:
            told = [*self._told_moves(values, moved), *told]
            before, after = _steps(record, made)
            more = {"pk": record.pk, "before": before, "after": after, "beside": beside}
            writer.add("changed", self.number, name, changes=told, **more)

    def _beside(self, record: Any) -> tuple[Values, list[Told]]:
        try:
            return self.check.type.beside(self.given, record, self.check.index)
        except RowError as error:
            for name, words in error.problems.items():
                self._wrong(name, words)
            return {}, []

    def _values(self, record: Any) -> Values:
        """The whole row: what is given, over what the record has or what an empty cell stands for."""
        own = [column for column in self.check.type.columns if not column.apart]
        if record is not None:
            values = self.check.type.current(record)
        else:
            values = {column.name: column.blank for column in own}
        for column in own:
            if column.name in self.given:
                old = values[column.name]
                new = self.given[column.name]
                values[column.name] = old if record is not None and column.entry.same(old, new) else new
        for column in self.cleared:
            if column.required or column.apart:
                self._wrong(column.name, _("%(label)s cannot be emptied.") % {"label": column.label})
            else:
                values[column.name] = column.blank
        apart = {column.name for column in self.check.type.columns} - values.keys()
        values |= {name: self.given[name] for name in apart & self.given.keys()}
        if record is None and not self.unclear:
            self._ask_for_missing(own)
        return self.check.type.settled(values, record)

    def _ask_for_missing(self, own: list[Column]) -> None:
        wrong = {name for name, _value, _words in self.problems}
        for column in own:
            if column.required and column.name not in self.given and column.name not in wrong:
                words = _("%(label)s is missing; a new record needs it: %(allowed)s.")
                self._wrong(column.name, words % {"label": column.label, "allowed": column.allowed})

    def _claim(self, record: Any, values: Values) -> None:
        """No two rows of a file may mean one record."""
        key: Any = ("record", record.pk) if record is not None else self.check.index.key(values)
        first = self.check.claimed.setdefault(key, self.number)
        if first != self.number and any(key):
            words = _("Rows %(first)d and %(second)d mean the same record. Leave one out.")
            self._wrong("", words % {"first": first, "second": self.number})

    def _moved(self, record: Any, values: Values) -> list[tuple[Column, Any]]:
        if record is None:
            return []
        current = self.check.type.current(record)
        own = (column for column in self.check.type.columns if column.name in current)
        return [
            (column, current[column.name])
            for column in own
            if not column.entry.same(current[column.name], values[column.name])
        ]

    def _made(self, record: Any, values: Values) -> tuple[Any, Values] | None:
        """The record as it would be, and the fields that the row sets; nothing when it cannot be."""
        type = self.check.type
        try:
            fields = type.fields(values, record, self.check.index)
            made = _clean(type.model() if record is None else copy(record), fields)
        except RowError as error:
            for name, words in error.problems.items():
                self._wrong(name, words)
        except ValidationError as error:
            for field, words in _by_field(error).items():
                self._wrong(type.column_of(field), words)
        else:
            return made, fields
        return None

    def _told_moves(self, values: Values, moved: list[tuple[Column, Any]]) -> list[Told]:
        told = []
        for column, old in moved:
            new = values[column.name]
            told.append((column.label, column.entry.say(old), column.entry.say(new), column.entry.moved(old, new)))
        return told

    def _wrong(self, column: str, words: str) -> None:
        place = next((place for place, known in self.check.columns.items() if known.name == column), None)
        value = self.cells[place] if place is not None and place < len(self.cells) else ""
        self.problems.append((column, shortened(str(value)), words))

    def _told(self) -> list[tuple[str, str, str]]:
        """Problems with the head of the file in place of the column's name."""
        labels = {column.name: column.label for column in self.check.type.columns}
        return [
            (self.check.head_of.get(name) or labels.get(name, ""), value, words) for name, value, words in self.problems
        ]


def _clean(record: Any, fields: Values) -> Any:
    """The record with these fields, held against its model's own validators; the database is asked nothing."""
    for name, value in fields.items():
        setattr(record, name, value)
    relations = [field.name for field in record._meta.concrete_fields if field.is_relation]
    record.clean_fields(exclude=relations)
    record.clean()
    return record


def _steps(record: Any, made: tuple[Any, Values] | None) -> tuple[Values, Values]:
    """The columns of the record that move, before and after."""
    if made is None:
        return {}, {}
    after = kept(*made)
    before = kept(record, after)
    moved = [name for name, value in after.items() if value != before[name]]
    return {name: before[name] for name in moved}, {name: after[name] for name in moved}


def _by_field(error: ValidationError) -> dict[str, str]:
    if not hasattr(error, "error_dict"):
        return {"": errors_of(error)}
    return {field: " ".join(messages) for field, messages in error.message_dict.items()}
