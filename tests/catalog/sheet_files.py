"""Tables for tests: written to a folder, checked and saved as a person's would be."""

from __future__ import annotations

import csv
import io
from pathlib import Path
from typing import Any

from catalog import sheets


def still(done: int, of: int) -> None:
    """A tick that stops nothing."""


def write(folder: Path, name: str, content: bytes | str) -> Path:
    path = folder / name
    path.write_bytes(content.encode() if isinstance(content, str) else content)
    return path


def table(*rows: Any, delimiter: str = ",") -> str:
    """Rows of cells as CSV."""
    out = io.StringIO()
    csv.writer(out, delimiter=delimiter).writerows(rows)
    return out.getvalue()


def check_file(type: sheets.SheetType, path: Path, by: Any, **reading: Any) -> sheets.Plan:
    """Check a file with the mapping that is proposed for it."""
    read = {**sheets.guess_reading(path, path.name), **reading}
    mapping = sheets.propose(type, sheets.heads(path, read))
    return sheets.check(type, path, read, mapping, by=by, tick=still)


def check_rows(type: sheets.SheetType, folder: Path, by: Any, *rows: Any, **reading: Any) -> sheets.Plan:
    return check_file(type, write(folder, "table.csv", table(*rows)), by, **reading)


def bring(type: sheets.SheetType, plan: sheets.Plan, by: Any) -> sheets.Saved:
    """Save a plan as a worker would, from its lines in a file."""
    file = io.BytesIO()
    plan.to_json_lines(file)
    return sheets.save(type, file, by=by, tick=still)
