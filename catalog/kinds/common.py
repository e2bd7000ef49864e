"""Fields and checks that several families share. Pure."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from catalog.kinds.base import Field, Problem, Spec
from catalog.kinds.capabilities import CHEMISTRIES, Curve

NOMINAL_V = (("12", "12 V"), ("24", "24 V"))
"""Nominal voltages of vehicle and house buses."""

Check = Callable[[Spec], tuple[Problem, ...]]


def number(
    name: str,
    label: str,
    unit: str,
    minimum: float,
    maximum: float,
    help: str = "",
    *,
    required: bool = True,
    default: float | None = None,
    rating: str = "",
) -> Field:
    """Declare a number; ``rating`` is how it reads in the one-line rating, empty when it is not part of it."""
    return Field(
        name, label, "number", unit, minimum, maximum, required, default, (), help, bool(rating), "", rating or "{}"
    )


def count(name: str, label: str, minimum: int, maximum: int, help: str = "", *, default: int | None = None) -> Field:
    return Field(name, label, "integer", "", minimum, maximum, default=default, help=help)


def yes_no(name: str, label: str, help: str = "", *, default: bool = False) -> Field:
    return Field(name, label, "boolean", default=default, help=help)


def choice(
    name: str,
    label: str,
    options: tuple[tuple[str, str], ...],
    help: str = "",
    *,
    default: str | None = None,
    rating: str = "",
) -> Field:
    return Field(
        name,
        label,
        "choice",
        default=default,
        options=options,
        help=help,
        in_rating=bool(rating),
        rating_words=rating or "{}",
    )


def nominal_v(name: str = "nominal_v", label: str = "Nominal voltage", help: str = "", rating: str = "{}") -> Field:
    return Field(
        name,
        label,
        "number",
        "V",
        12,
        24,
        options=NOMINAL_V,
        help=help,
        in_rating=bool(rating),
        rating_words=rating or "{}",
    )


def nominal_choices(name: str, label: str, help: str = "") -> Field:
    return Field(name, label, "choices", options=NOMINAL_V, help=help, in_rating=True)


def efficiency(name: str = "efficiency_ratio", label: str = "Efficiency", help: str = "At full output.") -> Field:
    return number(name, label, "", 0.5, 1.0, help)


PROFILES = Field(
    "profiles",
    "Charge profiles",
    "choices",
    options=CHEMISTRIES,
    help="Battery chemistries it has a charge profile for.",
)

DERATING = Field(
    "derating_ratio",
    "Derating with heat",
    "curve",
    minimum=0.0,
    maximum=1.0,
    required=False,
    x_unit="°C",
    help="Compartment temperature against what is left of the output, as the maker states it: 40 100; 60 50.",
)

OWN_AWAKE = number(
    "own_awake_w", "Own draw, awake", "W", 0, 100, "Taken from the house bus while it works.", default=0.0
)
OWN_ASLEEP = number(
    "own_asleep_w", "Own draw, asleep", "W", 0, 50, "Taken while the vehicle is parked up.", default=0.0
)


def curve(value: Iterable[Iterable[float]] | None) -> Curve:
    """Make a stored curve the frozen one that sizing reads."""
    return tuple((float(x), float(y)) for x, y in value or ())


def volts(codes: Iterable[str]) -> tuple[float, ...]:
    return tuple(float(code) for code in codes)


def conflict(field: str, message: str) -> tuple[Problem, ...]:
    return (Problem(field, "conflict", message=message),)


def not_above(low: str, high: str, message: str) -> Check:
    """A check that one value is not above another."""

    def check(spec: Spec) -> tuple[Problem, ...]:
        if spec.get(low) is None or spec.get(high) is None or spec[low] <= spec[high]:
            return ()
        return conflict(low, message)

    return check


def at_least_one(name: str, message: str) -> Check:
    """A check that several-of-many has at least one."""

    def check(spec: Spec) -> tuple[Problem, ...]:
        return () if spec.get(name) else conflict(name, message)

    return check
