"""The registry of single methods: what an input is, how it is read, how a method is run.

The methods themselves are declared in :mod:`quoting.sizing.methods`.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Annotated, Any, Literal

from pydantic import Field

from catalog.quantities import QuantityError, parse
from quoting import money
from quoting.sizing.appraisal import METHOD_VERSION
from quoting.sizing.brief import Site
from quoting.sizing.errors import SizingError, require
from quoting.sizing.trace import Figure, Record, Scalar, Step

Values = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Input:
    """One named input; without a default it must be given."""

    name: str
    unit: str
    minimum: float | None
    maximum: float | None
    help: str
    default: Any = None
    type: Literal["number", "integer", "numbers", "choice", "yes"] = "number"
    options: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Method:
    """A method of the registry."""

    name: str
    help: str
    inputs: tuple[Input, ...]
    work: Callable[[Values], tuple[Figure, Mapping[str, Scalar]]]
    wants_sites: bool = False
    """Works from places whose climate is known: who runs it passes them."""


class MethodResult(Record):
    """What a single method gave, versioned."""

    version: Literal["loomwright.method/1"] = "loomwright.method/1"
    method_version: str = METHOD_VERSION
    method: str
    inputs: dict[str, Scalar | tuple[float, ...]]
    figure: Figure
    also: Annotated[dict[str, Scalar], Field(default_factory=dict)]


METHODS: dict[str, Method] = {}


def run(name: str, given: Mapping[str, Any], sites: Sequence[Site] = ()) -> MethodResult:
    """Work one method.

    Parameters
    ----------
    name : str
        A key of ``METHODS``.
    given : mapping
        Inputs by name; text is read as people type it, with or without unit.
    sites : sequence of Site
        Places whose climate is known, for a method that works from them.

    Raises
    ------
    SizingError
        For an unknown method or input, one that is missing or out of range, or a result that is no number.
    """
    method = METHODS.get(name)
    if method is None:
        raise SizingError(
            "method", value=name, code="not_a_choice", message=f"{name!r} is none of {', '.join(METHODS)}"
        )
    known = {x.name for x in method.inputs}
    for key in given:
        if key not in known:
            listed = ", ".join(x.name for x in method.inputs)
            raise SizingError(
                key, value=given[key], code="conflict", message=f"{name} has no such input; it has {listed}"
            )
    values = {x.name: _value(x, given.get(x.name)) for x in method.inputs}
    if method.wants_sites and not sites:
        raise SizingError("sites", code="missing")
    try:
        figure, also = method.work(values | {"sites": sites} if method.wants_sites else values)
    except (OverflowError, ZeroDivisionError):
        raise SizingError("inputs", code="conflict", message="these values lead to no number") from None
    except money.MoneyError as error:
        raise SizingError(
            error.field, value=str(error.value), code="conflict", message=f"it must be {error.allowed}"
        ) from None
    numbers = [figure.value, *(s.value for s in figure.steps), *(v for v in also.values() if isinstance(v, float))]
    if not all(math.isfinite(x) for x in numbers):
        raise SizingError("inputs", code="conflict", message="these values lead to no number")
    return MethodResult(method=name, inputs=values, figure=figure, also=dict(also))


def _value(x: Input, given: Any) -> Any:
    if given is None or given == "":
        if x.default is None:
            raise SizingError(x.name, unit=x.unit, code="missing", minimum=x.minimum, maximum=x.maximum)
        return x.default
    if x.type == "choice":
        if given not in x.options:
            raise SizingError(
                x.name, value=str(given), code="not_a_choice", message=f"choose among {', '.join(x.options)}"
            )
        return given
    if x.type == "yes":
        if given not in ("yes", "no", True, False):
            raise SizingError(x.name, value=str(given), code="not_a_choice", message="choose among yes, no")
        return given in ("yes", True)
    if x.type == "numbers":
        items = given.split(";") if isinstance(given, str) else given
        if not isinstance(items, list | tuple) or not 1 <= len(items) <= 1000:
            raise SizingError(x.name, value=str(given), code="conflict", message="give 1 to 1000 numbers parted by ;")
        return tuple(_number(x, item) for item in items)
    number = _number(x, given)
    if x.type == "integer":
        if number != int(number):
            raise SizingError(x.name, value=number, code="conflict", message="it must be a whole number")
        return int(number)
    return number


def _number(x: Input, given: Any) -> float:
    if isinstance(given, str):
        try:
            given = parse(given, x.unit)
        except QuantityError as error:
            raise SizingError(x.name, value=given[:80], unit=x.unit, code="not_a_number", message=str(error)) from None
    return require(x.name, given, minimum=x.minimum, maximum=x.maximum, unit=x.unit)


def declare(
    name: str, help: str, *inputs: Input, wants_sites: bool = False
) -> Callable[[Callable[[Values], Any]], Callable[[Values], Any]]:
    def keep(work: Callable[[Values], Any]) -> Callable[[Values], Any]:
        METHODS[name] = Method(name, help, inputs, work, wants_sites)
        return work

    return keep


def figure_of(
    code: str, value: float, unit: str, steps: tuple[Step, ...], method: str, source: str, **also: Scalar
) -> tuple[Figure, dict[str, Scalar]]:
    figure = Figure(code=code, value=float(value), unit=unit, steps=steps, method=method, source=source)
    return figure, also


def number(
    name: str, unit: str, low: float | None, high: float | None, help: str, default: float | None = None
) -> Input:
    return Input(name, unit, low, high, help, default)
