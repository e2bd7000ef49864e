"""The registry of component kinds. Adding one is adding a declaration to a family file here."""

from __future__ import annotations

from collections.abc import Iterator

from catalog.kinds.base import GROUPS, Field, Kind, Problem, Spec, SpecError

__all__ = [
    "GROUPS",
    "Field",
    "Kind",
    "Problem",
    "Spec",
    "SpecError",
    "UnknownKind",
    "all_kinds",
    "declare",
    "get",
    "withdraw",
]

_KINDS: dict[str, Kind] = {}


class UnknownKind(LookupError):
    """No kind is declared under that code."""


def declare(kind: Kind) -> Kind:
    """Add a kind to the registry; its code must be new."""
    if kind.code in _KINDS:
        raise ValueError(f"kind {kind.code!r} is already declared")
    _KINDS[kind.code] = kind
    return kind


def withdraw(code: str) -> None:
    """Take a kind out again (tests that declare one at run time)."""
    del _KINDS[code]


def get(code: str) -> Kind:
    try:
        return _KINDS[code]
    except KeyError:
        raise UnknownKind(code) from None


def all_kinds() -> Iterator[Kind]:
    return iter(tuple(_KINDS.values()))


# The families declare their kinds when they are imported, in the order in which lists show them.
from catalog.kinds import storage, charging, conversion, mains, distribution, switching, towing, protection  # noqa: E402, F401, I001
from catalog.kinds import conductors, fixings, sensing, comfort  # noqa: E402, F401
