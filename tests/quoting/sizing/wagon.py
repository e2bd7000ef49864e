"""The example Brief for tests, whole or with something changed."""

from __future__ import annotations

import copy
import json
from functools import lru_cache
from pathlib import Path
from typing import Any

from quoting.sizing import brief as briefs
from quoting.sizing.brief import Brief

PLACE = Path(__file__).parents[2] / "examples" / "field_wagon.json"


@lru_cache(maxsize=1)
def _raw() -> dict[str, Any]:
    return json.loads(PLACE.read_text(encoding="utf-8"))


def raw() -> dict[str, Any]:
    """The example as plain JSON values, free to change."""
    return copy.deepcopy(_raw())


def wagon(**changes: Any) -> Brief:
    """The example with values put at dotted places: ``wagon(**{"loads.0.quantity": 2})``.

    Lists are reached by index.
    """
    found = raw()
    for place, value in changes.items():
        *path, last = place.split(".")
        inner: Any = found
        for name in path:
            inner = inner[int(name)] if isinstance(inner, list) else inner[name]
        if isinstance(inner, list):
            inner[int(last)] = value
        else:
            inner[last] = value
    return briefs.read(found)
