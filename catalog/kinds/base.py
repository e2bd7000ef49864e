"""What a component kind is: one declaration that form, table, import, check and schema all read.

Pure: no Django, no I/O. The fields' units are in their names (``capacity_ah``); fractions are 0..1
and end in ``_ratio``. Labels and help are plain English here and pass through gettext where shown.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any, Literal

from catalog.kinds.capabilities import Capability, OwnDraw

Spec = Mapping[str, Any]
FieldType = Literal["number", "integer", "choice", "boolean", "text", "curve", "choices", "numbers"]

GROUPS: tuple[tuple[str, str], ...] = (
    ("storage", "Storage"),
    ("charging", "Charging"),
    ("ac", "230 V side"),
    ("distribution", "Distribution and protection"),
    ("conductors", "Conductors and terminals"),
    ("fittings", "Fittings and comfort"),
)
"""Groups of bill and markup, in the order in which a bill prints them."""


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing wrong with a specification, as data; words are made where it is shown."""

    field: str
    code: str
    """``missing``, ``not_a_number``, ``out_of_range``, ``not_a_choice``, ``unknown_field``, ``conflict``."""
    value: Any = None
    minimum: float | None = None
    maximum: float | None = None
    unit: str = ""
    message: str = ""
    """For ``conflict``: the sentence, in English, through gettext where shown."""


class SpecError(ValueError):
    """A specification that cannot be kept, with every problem found in it."""

    def __init__(self, problems: Sequence[Problem]) -> None:
        self.problems = tuple(problems)
        super().__init__("; ".join(f"{p.field}: {p.code}" for p in self.problems))


@dataclass(frozen=True, slots=True)
class Field:
    """One entry of a specification.

    ``type`` is ``number`` or ``integer`` (with ``minimum``, ``maximum``, ``unit``), ``choice`` or ``choices``
    (one or several of ``options``), ``boolean``, ``text``, ``numbers`` (a list, each within the limits), or ``curve``:
    pairs such as compartment temperature against what is left of the rating, in rising order of the first.
    A ``number`` or ``integer`` with ``options`` must be one of them (12 or 24 V).
    """

    name: str
    label: str
    type: FieldType = "number"
    unit: str = ""
    minimum: float | None = None
    maximum: float | None = None
    required: bool = True
    default: Any = None
    options: tuple[tuple[str, str], ...] = ()
    help: str = ""
    in_rating: bool = False
    """Shown in the one-line rating of lists and bills."""
    x_unit: str = ""
    """For a curve: the unit of the first of each pair (``ratio`` for 0..1); ``unit`` is the second's."""
    rating_words: str = "{}"
    """How it reads in the one-line rating, as ``breaks {}``."""
    section: str = ""
    """Heading of a part of the form that most components leave alone; empty for the specification proper."""

    @property
    def shown_unit(self) -> str:
        """The unit people read and type: fractions are percent on screen."""
        if self.name.endswith("_ratio"):
            return "%"
        return {"1/K": "%/K"}.get(self.unit, self.unit)

    @property
    def shown_factor(self) -> float:
        """Shown value over stored value."""
        return 100.0 if self.shown_unit in ("%", "%/K") else 1.0

    @property
    def x_shown_unit(self) -> str:
        return "%" if self.x_unit == "ratio" else self.x_unit

    @property
    def x_shown_factor(self) -> float:
        return 100.0 if self.x_unit == "ratio" else 1.0


@dataclass(frozen=True, slots=True)
class Kind:
    """A family of parts that are described by the same fields and serve the same needs."""

    code: str
    label: str
    plural: str
    group: str
    """Group of bill and markup: ``storage``, ``charging``, ``ac``, ``distribution``, ``conductors``, ``fittings``."""
    fields: tuple[Field, ...]
    capabilities: Callable[[Spec], tuple[Capability, ...]]
    """What a part of this kind can do; each need is met by a capability, never by a kind's name."""
    version: int = 1
    priced_per: Literal["each", "metre"] = "each"
    own_draw: Callable[[Spec], OwnDraw] = field(default=lambda spec: OwnDraw())
    checks: tuple[Callable[[Spec], tuple[Problem, ...]], ...] = ()
    help: str = ""

    def field(self, name: str) -> Field:
        return next(f for f in self.fields if f.name == name)

    def clean(self, raw: Spec) -> dict[str, Any]:
        """Return the specification as it is stored, or raise :class:`SpecError` naming every fault.

        Numbers must already be numbers; text as people type it is parsed by ``catalog.quantities`` before.
        """
        problems: list[Problem] = [
            Problem(name, "unknown_field", value) for name, value in raw.items() if name not in self.names
        ]
        out: dict[str, Any] = {}
        for f in self.fields:
            value = raw.get(f.name)
            if value in (None, "", [], ()):
                if f.required and f.default is None:
                    problems.append(Problem(f.name, "missing", unit=f.unit, minimum=f.minimum, maximum=f.maximum))
                else:
                    out[f.name] = list(f.default) if isinstance(f.default, tuple) else f.default
                continue
            cleaned, found = _clean_one(f, value)
            problems.extend(found)
            out[f.name] = cleaned
        if not problems:
            for check in self.checks:
                problems.extend(check(out))
        if problems:
            raise SpecError(problems)
        return out

    @property
    def names(self) -> frozenset[str]:
        return frozenset(f.name for f in self.fields)


def check(f: Field, value: Any) -> tuple[Problem, ...]:
    """What is wrong with one value by itself, before it is held against the others."""
    return tuple(_clean_one(f, value)[1])


def _clean_one(f: Field, value: Any) -> tuple[Any, list[Problem]]:
    if f.type in ("number", "integer"):
        if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
            return None, [Problem(f.name, "not_a_number", value, f.minimum, f.maximum, f.unit)]
        if f.type == "integer" and value != int(value):
            return None, [Problem(f.name, "not_a_whole_number", value, f.minimum, f.maximum, f.unit)]
        if (f.minimum is not None and value < f.minimum) or (f.maximum is not None and value > f.maximum):
            return None, [Problem(f.name, "out_of_range", value, f.minimum, f.maximum, f.unit)]
        if f.options and float(value) not in {float(code) for code, _ in f.options}:
            return None, [Problem(f.name, "not_a_choice", value, f.minimum, f.maximum, f.unit)]
        return (int(value) if f.type == "integer" else float(value)), []
    if f.type == "boolean":
        if not isinstance(value, bool):
            return None, [Problem(f.name, "not_a_choice", value)]
        return value, []
    if f.type == "choice":
        if not isinstance(value, str) or value not in dict(f.options):
            return None, [Problem(f.name, "not_a_choice", value)]
        return value, []
    if f.type == "choices":
        if not isinstance(value, list | tuple) or any(v not in [code for code, _ in f.options] for v in value):
            return None, [Problem(f.name, "not_a_choice", value)]
        return sorted(set(value), key=[code for code, _ in f.options].index), []
    if f.type == "curve":
        return _clean_curve(f, value)
    if f.type == "numbers":
        return _clean_numbers(f, value)
    if not isinstance(value, str) or len(value) > 200:
        return None, [Problem(f.name, "not_text", value, maximum=200)]
    return value.strip(), []


def _clean_numbers(f: Field, value: Any) -> tuple[Any, list[Problem]]:
    if not isinstance(value, list | tuple):
        return None, [Problem(f.name, "not_a_number", value, f.minimum, f.maximum, f.unit)]
    one = Field(f.name, f.label, "number", f.unit, f.minimum, f.maximum)
    cleaned: list[float] = []
    for item in value:
        number, found = _clean_one(one, item)
        if found:
            return None, found
        cleaned.append(number)
    return cleaned, []


def _clean_curve(f: Field, value: Any) -> tuple[Any, list[Problem]]:
    try:
        pairs = [[float(x), float(y)] for x, y in value]
    except (TypeError, ValueError):
        return None, [Problem(f.name, "not_a_number", value, f.minimum, f.maximum, f.unit)]
    if not all(math.isfinite(n) for pair in pairs for n in pair):
        return None, [Problem(f.name, "not_a_number", value, f.minimum, f.maximum, f.unit)]
    if any(b[0] <= a[0] for a, b in pairwise(pairs)):
        return None, [Problem(f.name, "not_rising", value, unit=f.x_unit)]
    low = -math.inf if f.minimum is None else f.minimum
    high = math.inf if f.maximum is None else f.maximum
    for _, y in pairs:
        if not low <= y <= high:
            return None, [Problem(f.name, "out_of_range", y, f.minimum, f.maximum, f.unit)]
    return pairs, []
