"""The JSON Schema of a kind's specification, from its declaration."""

from __future__ import annotations

from typing import Any

from catalog.kinds.base import Field, Kind


def json_schema(kind: Kind) -> dict[str, Any]:
    """Describe a specification of ``kind`` as JSON Schema 2020-12; units stand beside each number as ``unit``."""
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": kind.label,
        "description": kind.help,
        "type": "object",
        "version": kind.version,
        "properties": {field.name: _property(field) for field in kind.fields},
        "required": [field.name for field in kind.fields if field.required and field.default is None],
        "additionalProperties": False,
    }


def _property(field: Field) -> dict[str, Any]:
    out: dict[str, Any] = {"title": field.label, **({"description": field.help} if field.help else {})}
    if field.type in ("number", "integer"):
        out |= {"type": field.type, **_limits(field)}
        if field.options:
            out["enum"] = [float(code) for code, _ in field.options]
    elif field.type == "boolean":
        out["type"] = "boolean"
    elif field.type == "choice":
        out |= {"type": "string", "enum": [code for code, _ in field.options]}
    elif field.type == "choices":
        out |= {"type": "array", "uniqueItems": True, "items": {"enum": [code for code, _ in field.options]}}
    elif field.type == "numbers":
        out |= {"type": "array", "items": {"type": "number", **_limits(field)}}
    elif field.type == "curve":
        pair = [{"type": "number", "unit": field.x_unit}, {"type": "number", **_limits(field)}]
        out |= {"type": "array", "items": {"type": "array", "prefixItems": pair, "minItems": 2, "maxItems": 2}}
    else:
        out |= {"type": "string", "maxLength": 200}
    if field.default is not None:
        out["default"] = list(field.default) if isinstance(field.default, tuple) else field.default
    return out


def _limits(field: Field) -> dict[str, Any]:
    out: dict[str, Any] = {"unit": field.unit}
    if field.minimum is not None:
        out["minimum"] = field.minimum
    if field.maximum is not None:
        out["maximum"] = field.maximum
    return out
