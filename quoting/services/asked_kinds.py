"""Which kinds of component the sizing can use: those with a capability that a file of ``quoting.sizing`` names."""

from __future__ import annotations

import importlib
import pkgutil
from collections.abc import Iterator
from functools import cache
from typing import Any

import quoting.sizing
from catalog import kinds
from catalog.kinds.base import Field, Kind
from catalog.kinds.capabilities import Capability


@cache
def asked_kinds() -> frozenset[str]:
    """Codes of the kinds that a design may take a part of. A kind that cannot be told about is among them."""
    asked = asked_capabilities()
    return frozenset(kind.code for kind in kinds.all_kinds() if (can := can_do(kind)) is None or can & asked)


def asked_capabilities() -> frozenset[type[Capability]]:
    """Every capability that a file of the sizing has a name for, so that a new need is never forgotten here."""
    named = (
        value
        for found in pkgutil.iter_modules(quoting.sizing.__path__, "quoting.sizing.")
        for value in vars(importlib.import_module(found.name)).values()
    )
    return frozenset(v for v in named if isinstance(v, type) and issubclass(v, Capability) and v is not Capability)


def can_do(kind: Kind) -> frozenset[type[Capability]] | None:
    """Everything that a part of a kind can do when all its fields are filled; ``None`` when that cannot be told."""
    found: set[type[Capability]] = set()
    try:
        for spec in _filled(kind):
            found.update(type(one) for one in kind.capabilities(spec))
    except Exception:  # a made-up specification may be one that no part could have
        return None
    return frozenset(found)


def _filled(kind: Kind) -> Iterator[dict[str, Any]]:
    """Specifications with something in every field, and one more for each further choice of each field."""
    first = {field.name: _something(field) for field in kind.fields}
    yield first
    for field in kind.fields:
        if field.type == "choice":
            for code, _words in field.options[1:]:
                yield {**first, field.name: code}


def _something(field: Field) -> Any:
    if field.type == "choices":
        return [code for code, _words in field.options]
    if field.options:
        return field.options[0][0] if field.type == "choice" else float(field.options[0][0])
    low = field.minimum if field.minimum is not None else 0.0
    number = max(low, min(1.0, field.maximum if field.maximum is not None else 1.0))
    kinds_of_value: dict[str, Any] = {
        "number": number,
        "integer": max(1, round(number)),
        "boolean": True,
        "numbers": [number],
        "curve": [[0.0, number], [1.0, number]],
    }
    return kinds_of_value.get(field.type, "x")
