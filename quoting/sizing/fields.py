"""Fields that records of a Brief share: names, keys, numbers with unit and range."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import Field

Name = Annotated[str, Field(min_length=1, max_length=120)]
Key = Annotated[str, Field(min_length=1, max_length=60)]


def n(unit: str, ge: float, le: float, default: Any = ..., help: str = "") -> Any:
    """A number of that unit within a range; required unless it has a default."""
    return Field(default=default, ge=ge, le=le, description=help, json_schema_extra={"unit": unit})
