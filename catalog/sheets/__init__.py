"""The one way in and out for tables: every type of record, CSV and XLSX, checked whole before anything is saved."""

from __future__ import annotations

from collections.abc import Iterable

from catalog.sheets import columns as _columns
from catalog.sheets.checking import check
from catalog.sheets.columns import Column
from catalog.sheets.exporting import FORMATS, export, streamed, template
from catalog.sheets.limits import LIMITS, SheetRefused
from catalog.sheets.plan import Plan, PlanRow, Problem
from catalog.sheets.reading import DELIMITERS, ENCODINGS, guess_reading, heads, sample, sheet_names
from catalog.sheets.registry import get, register, types
from catalog.sheets.saving import Saved, save
from catalog.sheets.sheet_type import SheetType

__all__ = [
    "DELIMITERS",
    "ENCODINGS",
    "FORMATS",
    "LIMITS",
    "Column",
    "Plan",
    "PlanRow",
    "Problem",
    "Saved",
    "SheetRefused",
    "SheetType",
    "check",
    "export",
    "get",
    "guess_reading",
    "heads",
    "propose",
    "register",
    "sample",
    "save",
    "sheet_names",
    "streamed",
    "template",
    "types",
]


def propose(type: SheetType, heads: Iterable[str]) -> dict[str, str]:
    """Which column of the type each head most likely means: number of the head as text to the column's name."""
    return _columns.propose(type.columns, heads)
