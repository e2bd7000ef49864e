"""How a figure was made, as data. Page, PDF and tests read the same trace; ``quoting/words.py`` words it.

A trace is a sum on paper: signs, what each number is, where it comes from, the number, its unit, a rule, a result.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field

Scalar = str | float | int | bool | None
Op = Literal["", "+", "−", "×", "÷", "=", "max", "min", "≤", "√"]
Origin = Literal["input", "survey", "policy", "catalogue", "table", "derived", "constant"]
"""Where a number comes from; ``input`` and ``survey`` are shown in pen, the rest in ink."""
Level = Literal["info", "warning", "danger"]


class Record(BaseModel):
    """Base of every frozen value that goes in or comes out as JSON."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False, strict=True)


class Step(Record):
    """One line of a sum. ``code`` names what the number is (``words.STEP``), ``params`` fill its words."""

    op: Op = ""
    code: str
    value: float
    unit: str = ""
    origin: Origin = "derived"
    params: Annotated[dict[str, Scalar], Field(default_factory=dict)]


class Figure(Record):
    """A number a person sees, with its working.

    ``code`` is its key in ``Appraisal.figures`` (``battery.asked_ah``); ``method`` names the formula
    and ``source`` the book, standard or policy it comes from, both as codes of ``words.METHOD`` and ``words.SOURCE``.
    """

    code: str
    value: float
    unit: str
    steps: tuple[Step, ...] = ()
    method: str = ""
    source: str = ""


class Finding(Record):
    """Something a person must know about a result. ``danger`` stops a quote from being issued.

    ``code`` is worded by ``words.FINDING``; ``params`` carry the numbers (unit in the name, as ``fault_a``);
    ``subject`` is the circuit tag, load key, stop index or figure code it is about.
    """

    level: Level
    code: str
    subject: str = ""
    params: Annotated[dict[str, Scalar], Field(default_factory=dict)]


def step(code: str, value: float, unit: str = "", op: Op = "", origin: Origin = "derived", **params: Any) -> Step:
    """Write one line of a sum."""
    return Step(op=op, code=code, value=float(value), unit=unit, origin=origin, params=params)


def finding(level: Level, code: str, subject: str = "", **params: Scalar) -> Finding:
    """Write a finding; parameters carry their unit in the name."""
    return Finding(level=level, code=code, subject=subject, params=params)
