"""Values of a circuit that a person may settle: what they are called, and how they read."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.utils.translation import gettext as _

from quoting import words
from quoting.sizing.brief_wiring import CHANGEABLE
from quoting.sizing.trace import Scalar

CHANGE_WORDS = {
    "area_mm2": (lambda: _("conductor"), "mm²"),
    "insulation_c": (lambda: _("insulation class"), "°C"),
    "rating_a": (lambda: _("device rating"), "A"),
    "form": (lambda: _("kind of device"), ""),
    "run_m": (lambda: _("length one way"), "m"),
    "drop_limit_ratio": (lambda: _("drop limit"), "%"),
    "return_by": (lambda: _("return"), ""),
}
"""Values that a person may settle, in the order of ``CHANGEABLE``: name and unit as shown."""
CHOICE_WORDS = {
    "form": {"fuse": lambda: _("fuse"), "breaker": lambda: _("circuit breaker")},
    "return_by": {"conductor": lambda: _("a conductor"), "chassis": lambda: _("the vehicle's body")},
}


def value_name(field: str) -> str:
    """What a value that may be settled by hand is called."""
    return str(CHANGE_WORDS[field][0]()) if field in CHANGE_WORDS else field


def value_words(field: str, value: Scalar) -> str:
    """Such a value with its unit; shares in per cent."""
    if value is None:
        return _("as worked out")
    if isinstance(value, str):
        named = CHOICE_WORDS.get(field, {}).get(value)
        return str(named()) if named else value
    unit = CHANGE_WORDS[field][1] if field in CHANGE_WORDS else ""
    return words.number_words(100 * float(value) if unit == "%" else float(value), unit)


def settled_words(values: Mapping[str, Any]) -> list[tuple[str, str]]:
    """Name and value of everything that was settled, in one order."""
    return [(value_name(name), value_words(name, values[name])) for name in CHANGEABLE if values.get(name) is not None]
