"""How large a table a stranger's file may ask for: 20 MB of one wide line, or of short lines, can ask for gigabytes."""

from __future__ import annotations

import io
from typing import Any

HOURS_MOST = 400_000
"""Lines of text or hours of a list; forty-five years of hours."""
COLUMNS_MOST = 500
"""Values of a line; the kinds that are read have 4 to 71 an hour, and some hundred in a line of their heads."""
CELLS_MOST = 20_000_000
"""Lines times the values of the widest, 160 MB as a table; twenty years of ten values an hour are 1.8 million."""
OBJECTS_MOST = HOURS_MOST + 10_000
"""Objects and lists in JSON: one an hour, and what stands around them."""


def is_vast(text: str) -> bool:
    """Whether text parted by commas makes a larger table than a file of weather."""
    widest, lines = 1, 0
    for line in io.StringIO(text, newline=""):
        widest, lines = max(widest, line.count(",") + 1), lines + 1
        if lines > HOURS_MOST or widest > COLUMNS_MOST:
            return True
    return lines * widest > CELLS_MOST


def is_vast_json(text: str) -> bool:
    """Whether JSON has more objects than a file of weather, before any of it is read."""
    return text.count("{") + text.count("[") > OBJECTS_MOST


def is_wide(whole: Any) -> bool:
    """Whether the lists of JSON as it was read make a larger table than a file of weather."""
    outputs = whole.get("outputs") if isinstance(whole, dict) else None
    lists = [x for x in outputs.values() if isinstance(x, list)] if isinstance(outputs, dict) else []
    return any(_is_wide(rows) for rows in lists)


def _is_wide(rows: list[Any]) -> bool:
    names: set[str] = set()
    for row in rows:
        names.update(row if isinstance(row, dict) else ())
        if len(names) > COLUMNS_MOST:
            return True
    return len(rows) * len(names) > CELLS_MOST
