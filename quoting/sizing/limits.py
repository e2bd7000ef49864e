"""Range and unit that a record declares for one of its values, found by the value's place in the JSON."""

from __future__ import annotations

import types
from dataclasses import dataclass
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic import BaseModel

Place = tuple[int | str, ...]
MISSING = object()


@dataclass(frozen=True, slots=True)
class Limits:
    """What a value may be."""

    minimum: float | None = None
    maximum: float | None = None
    unit: str = ""
    is_number: bool = False
    choices: tuple[Any, ...] = ()


def limits_of(model: type[BaseModel], place: Place) -> Limits:
    """Range, unit or choices of the value at a place; without any of them where none are declared.

    Parameters
    ----------
    model : type of BaseModel
        Record that the place is counted from.
    place : tuple
        Names and indices, as pydantic gives them; a union's tag may stand in it. [-]

    Returns
    -------
    Limits
        Least and most. [the value's unit]

    Examples
    --------
    >>> from quoting.sizing.brief import Brief
    >>> found = limits_of(Brief, ("loads", 0, "use", "steady", "power_w"))
    >>> found.minimum, found.maximum, found.unit
    (0.01, 20000, 'W')
    """
    return _walk(model, (), place)


def _walk(kind: Any, around: tuple[Any, ...], place: Place) -> Limits:
    origin = get_origin(kind)
    if origin is Annotated:
        inner, *more = get_args(kind)
        return _walk(inner, (*around, *more), place)
    if origin in (Union, types.UnionType):
        return _union([k for k in get_args(kind) if k is not type(None)], around, place)
    if not place:
        return _read(kind, around)
    if isinstance(kind, type) and issubclass(kind, BaseModel):
        found = kind.model_fields.get(str(place[0]))
        return _walk(found.annotation, (found, *found.metadata), place[1:]) if found else Limits()
    inner = get_args(kind)
    if origin is tuple and inner:
        index = place[0] if isinstance(place[0], int) else 0
        return _walk(
            inner[0] if len(inner) == 2 and inner[1] is ... else inner[min(index, len(inner) - 1)], (), place[1:]
        )
    if origin is list and inner:
        return _walk(inner[0], (), place[1:])
    if origin is dict and inner:
        return _walk(inner[1], (), place[1:])
    return Limits()


def _union(kinds: list[Any], around: tuple[Any, ...], place: Place) -> Limits:
    """The member that a tag in the place names, or the only one."""
    for kind in kinds:
        way = kind.model_fields.get("way") if isinstance(kind, type) and issubclass(kind, BaseModel) else None
        if place and way is not None and way.default == place[0]:
            return _walk(kind, around, place[1:])
    return _walk(kinds[0], around, place) if len(kinds) == 1 else Limits()


def _read(kind: Any, around: tuple[Any, ...]) -> Limits:
    found: dict[str, Any] = {}
    for one in _flat(around):
        for name, ends in (("minimum", ("ge", "gt")), ("maximum", ("le", "lt"))):
            for end in ends:
                value = getattr(one, end, None)
                if isinstance(value, int | float):
                    found[name] = value
        extra = getattr(one, "json_schema_extra", None)
        if isinstance(extra, dict) and isinstance(extra.get("unit"), str):
            found["unit"] = extra["unit"]
    choices = get_args(kind) if get_origin(kind) is Literal else ()
    return Limits(**found, is_number=kind in (int, float), choices=choices)


def _flat(around: tuple[Any, ...]) -> list[Any]:
    """Constraints themselves and those that a field's declaration holds."""
    return [x for one in around for x in (one, *getattr(one, "metadata", ()))]
