"""Numbers and sums as they are printed."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from catalog.quantities import format_number
from quoting import words
from quoting.sizing.trace import Figure, Step


@dataclass(frozen=True, slots=True)
class Shown:
    """A number as it is printed, apart from its unit."""

    number: str
    unit: str
    before: str = ""
    """``≤``, ``+`` or nothing."""


MOST_NAMED = 6
"""Inputs that a sentence lists."""
ONE = {"day": "day"}
"""Units that are written otherwise after the number 1."""
SHOWN_UNITS = {"Wh/day": "Wh/d", "ohm": "Ω", "ohm/km": "Ω/km", "day": "days"}
"""Units as a page writes them: short in a narrow column, the ohm with its sign, days in the plural."""


def shown(value: float | None, unit: str = "", before: str = "", like: float | None = None) -> Shown | None:
    """Print a number as a workshop reads it: three figures, or whole units above a hundred.

    ``like`` is a number to whose decimals a difference keeps.
    """
    if value is None:
        return None
    size = abs(value if like is None else like)
    places = (
        0 if size >= 100 or (like is None and value == int(value)) else 1 if size >= 10 else 2 if size >= 0.1 else 4
    )
    text = format_number(value, places)
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    singular = ONE.get(unit) if text == "1" else None
    return Shown(text, singular or SHOWN_UNITS.get(unit, unit), before)


@dataclass(frozen=True, slots=True)
class SumLine:
    """One line of a sum on paper."""

    op: str
    words: str
    source: str
    number: str
    unit: str
    in_pen: bool
    is_result: bool


@dataclass(frozen=True, slots=True)
class Sum:
    """How one figure was made."""

    title: str
    lines: tuple[SumLine, ...]
    method: str
    source: str
    changes_with: tuple[str, ...] = ()
    """What somebody could change about it: entries, survey, policy, the parts' own figures."""
    code: str = ""
    """Of the figure."""


def sum_lines(steps: Iterable[Step]) -> tuple[SumLine, ...]:
    """Steps of a trace in words; what a person put there is in pen."""
    out: list[SumLine] = []
    for step in steps:
        number = _factor(step.value) if step.unit == "" else shown(step.value)
        assert number is not None
        out.append(
            SumLine(
                op="" if step.op == "=" and not out else step.op,
                words=words.step_words(step),
                source=words.origin_words(step),
                number=number.number,
                unit=SHOWN_UNITS.get(step.unit, step.unit),
                in_pen=step.origin in ("input", "survey"),
                is_result=step.op == "=",
            )
        )
    return tuple(out)


def _factor(value: float) -> Shown | None:
    """A factor to three decimals, so that a product can be worked out again: 0.995 is not 1."""
    if not 0.1 <= abs(value) < 10:
        return shown(value)
    return Shown(format_number(value, 3).rstrip("0").rstrip("."), "")


def sum_of(figure: Figure, names: Mapping[str, str] | None = None) -> Sum:
    """A figure's sum as it is printed; ``names`` are those of loads, by their keys."""
    return Sum(
        title=words.figure_words(figure, names),
        lines=sum_lines(figure.steps),
        method=words.method_words(figure.method) if figure.method else "",
        source=words.source_words(figure.source) if figure.source else "",
        changes_with=changes_with(figure.steps),
        code=figure.code,
    )


def changes_with(steps: Iterable[Step]) -> tuple[str, ...]:
    """The inputs of a sum that a person can change, each once, in its order."""
    named = (
        words.step_words(s) for s in steps if s.op != "=" and s.origin in ("input", "survey", "policy", "catalogue")
    )
    return tuple(dict.fromkeys(named))[:MOST_NAMED]
