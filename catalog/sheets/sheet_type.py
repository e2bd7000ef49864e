"""What a type of table is: its columns, the records it stands for, and how a row becomes a record."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from django.db.models import Model, QuerySet
from django.utils.text import capfirst
from django.utils.translation import gettext as _

from catalog.rules import can_edit_catalogue, can_see_money
from catalog.sheets.columns import Column
from catalog.sheets.matching import Index

Values = dict[str, Any]
Told = tuple[str, str, str, str]
"""A change in words: label, before, after, by how much."""


class RowError(ValueError):
    """What is wrong with a row: sentences by column's name, the empty name being the row itself."""

    def __init__(self, problems: Mapping[str, str]) -> None:
        self.problems = dict(problems)
        super().__init__("; ".join(self.problems.values()))


class SheetType:
    """A type of table. One subclass says how its rows and its records go together."""

    code: str
    words: Any
    group: Any
    model: type[Model]
    about: str
    """What a bulk action calls the records."""
    columns: tuple[Column, ...]
    finds: tuple[str, ...] = ("name",)
    """Columns that name a record; one of them must be matched."""
    follows: tuple[str, ...] = ()
    """Fields that only follow others; written when those move."""

    @property
    def label(self) -> str:
        return str(capfirst(str(_(str(self.words)))))

    def __repr__(self) -> str:
        return f"<SheetType {self.code}>"

    def column(self, name: str) -> Column:
        return next(column for column in self.columns if column.name == name)

    # who may

    def can_import(self, user: Any) -> bool:
        return can_edit_catalogue(user)

    def can_export(self, user: Any) -> bool:
        return bool(getattr(user, "is_active", False)) and bool(getattr(user, "role", ""))

    def columns_for(self, user: Any) -> tuple[Column, ...]:
        """The columns this person may see."""
        return self.columns if can_see_money(user) else tuple(c for c in self.columns if not c.is_money)

    # rows to records

    def index(self) -> Index:
        """What rows are matched with, read once for each check."""
        raise NotImplementedError

    def records(self) -> QuerySet[Any]:
        """Records with what :meth:`current` reads beside them."""
        return self.model._default_manager.all()

    def settled(self, values: Values, record: Any) -> Values:
        """The whole row, with what follows from its own values."""
        return values

    def current(self, record: Any) -> Values:
        """What stands in each column for a record."""
        return {column.name: getattr(record, column.name) for column in self.columns if not column.apart}

    def stands_apart(self, record: Any) -> Values:
        """What an export has in the columns that are no fields of the record."""
        return {column.name: getattr(record, column.name, None) for column in self.columns if column.apart}

    def fields(self, values: Values, record: Any, index: Any) -> Values:
        """Fields of the model for the columns of a row, by attribute name. Raises :class:`RowError`."""
        return {column.name: values[column.name] for column in self.columns if not column.apart}

    def refusal(self, record: Any) -> str:
        """Why this record must not change, or nothing."""
        if getattr(record, "retired_at", None):
            return _("“%(name)s” is retired. Take it back into use first, or leave this row out.") % {"name": record}
        return ""

    def column_of(self, field: str) -> str:
        """The column that a fault of a model's field belongs to; none when it is the row's."""
        return field if any(column.name == field for column in self.columns) else ""

    def name_of(self, values: Values, record: Any) -> str:
        """What to call a row."""
        return str(record) if record is not None else str(values.get("name") or "")

    def beside(self, given: Values, record: Any, index: Any) -> tuple[Values, list[Told]]:
        """What a row asks besides its record's fields: JSON for :meth:`write_beside`, and its changes in words.

        Raises :class:`RowError`.
        """
        return {}, []

    # saving

    def write_beside(self, saved: Iterable[tuple[Any, Values]], *, by: Any) -> None:
        """Write what goes with saved records: pairs of a record and its row of the plan."""

    # going out

    def rows_for(self, user: Any) -> QuerySet[Any]:
        """The records that an export has when nothing else is asked for: those in use."""
        return self.records().filter(retired_at=None)
