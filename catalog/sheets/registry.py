"""Every type of table there is: those of the catalogue, and those that apps above it add."""

from __future__ import annotations

from catalog import kinds
from catalog.kinds.base import Kind
from catalog.kinds.uses import WAYS
from catalog.sheets.sheet_type import SheetType
from catalog.sheets.types_catalogue import ApplianceSheet, LabourSheet, SiteSheet, SupplierSheet
from catalog.sheets.types_components import ComponentSheet, PriceSheet

_CATALOGUE: tuple[SheetType, ...] = (
    PriceSheet(),
    *(ApplianceSheet(way) for way in WAYS.values()),
    LabourSheet(),
    SupplierSheet(),
    SiteSheet(),
)
_ADDED: dict[str, SheetType] = {}
_OF_KIND: dict[str, ComponentSheet] = {}


def register(type: SheetType) -> None:
    """Add a type of an app above the catalogue; called while the apps start."""
    _ADDED[type.code] = type


def types() -> tuple[SheetType, ...]:
    """Every type, components by kind first. A kind that was declared a moment ago is among them."""
    return (*(_of_kind(kind) for kind in kinds.all_kinds()), *_CATALOGUE, *_ADDED.values())


def get(code: str) -> SheetType:
    """The type of that code. Raises ``LookupError``."""
    if code.startswith("component:"):
        return _of_kind(kinds.get(code.removeprefix("component:")))
    for type in (*_CATALOGUE, *_ADDED.values()):
        if type.code == code:
            return type
    raise LookupError(code)


def _of_kind(kind: Kind) -> ComponentSheet:
    known = _OF_KIND.get(kind.code)
    if known is None or known.kind is not kind:
        known = _OF_KIND[kind.code] = ComponentSheet(kind)
    return known
