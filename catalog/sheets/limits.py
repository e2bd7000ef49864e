"""What a table may hold at most, and how a whole table is refused."""

from __future__ import annotations

from dataclasses import dataclass

MEGABYTE = 1024 * 1024


class SheetRefused(Exception):
    """The whole table cannot be taken; the text is a sentence for the person who brought it."""


@dataclass(frozen=True, slots=True)
class Limits:
    """Bounds that keep a table from harming the server. Refused before it is read further."""

    file_bytes: int = 25 * MEGABYTE
    unpacked_bytes: int = 200 * MEGABYTE
    member_bytes: int = 60 * MEGABYTE
    """One part of a workbook that is no sheet: its shared texts, its styles."""
    packed_ratio: int = 250
    """How many times smaller a large part of a workbook may be packed."""
    members: int = 2000
    rows: int = 60_000
    lines: int = 1_048_576
    """Rows with the empty ones between them: what a sheet of a spreadsheet has at most."""
    columns: int = 300
    cell_characters: int = 4_000
    head_characters: int = 200
    problems: int = 5_000
    """Wrong cells that are listed one by one; more are counted."""


LIMITS = Limits()
