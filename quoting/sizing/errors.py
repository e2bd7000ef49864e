"""Refusals of impossible or missing input: always field, value, allowed range and unit."""

from __future__ import annotations

from typing import Any


class SizingError(ValueError):
    """An input that no figure can be made from.

    Parameters
    ----------
    field : str
        Dotted name of the input, as ``loads[2].power_w``.
    value : Any
        What was given; ``None`` when it is missing.
    minimum, maximum : float, optional
        The allowed range. [unit]
    unit : str
        Unit of value and range.
    code : str
        ``missing``, ``out_of_range``, ``not_a_number``, ``not_a_choice``, ``conflict``.
    message : str
        For ``conflict``: what is the matter, in English (through gettext where shown).
    """

    def __init__(
        self,
        field: str,
        *,
        value: Any = None,
        minimum: float | None = None,
        maximum: float | None = None,
        unit: str = "",
        code: str = "out_of_range",
        message: str = "",
    ) -> None:
        self.field, self.value, self.unit, self.code, self.message = field, value, unit, code, message
        self.minimum, self.maximum = minimum, maximum
        super().__init__(self._sentence())

    def _sentence(self) -> str:
        unit = f" {self.unit}" if self.unit else ""
        if self.code == "missing":
            return f"{self.field} is missing{f' [{self.unit}]' if self.unit else ''}."
        if self.message:
            return f"{self.field}: {self.message}"
        low = "" if self.minimum is None else f" at least {self.minimum:g}{unit}"
        high = "" if self.maximum is None else f" at most {self.maximum:g}{unit}"
        joint = " and" if low and high else ""
        bounds = f"; it must be{low}{joint}{high}" if low or high else ""
        return f"{self.field} is {shown_value(self.value)}{unit}{bounds}."


LONGEST_VALUE = 80
"""Characters of a refused value that are shown."""


def shown_value(value: Any) -> str:
    """A refused value as a sentence shows it: its beginning, where nobody would read it all."""
    if isinstance(value, int) and abs(value) >= 10**LONGEST_VALUE:
        return f"a whole number of more than {LONGEST_VALUE} digits"
    text = repr(value[: LONGEST_VALUE + 1] if isinstance(value, str) else value)
    return text if len(text) <= LONGEST_VALUE + 2 else f"{text[:LONGEST_VALUE]}…"


def require(
    field: str, value: float | None, *, minimum: float | None = None, maximum: float | None = None, unit: str = ""
) -> float:
    """Return ``value`` when it is a finite number inside its range, else raise :class:`SizingError`."""
    if value is None:
        raise SizingError(field, unit=unit, code="missing", minimum=minimum, maximum=maximum)
    if isinstance(value, bool) or not isinstance(value, int | float) or value != value or value in (_INF, -_INF):
        raise SizingError(field, value=value, minimum=minimum, maximum=maximum, unit=unit, code="not_a_number")
    if (minimum is not None and value < minimum) or (maximum is not None and value > maximum):
        raise SizingError(field, value=value, minimum=minimum, maximum=maximum, unit=unit)
    return float(value)


_INF = float("inf")
