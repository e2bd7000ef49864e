"""Quantities as people type and read them. Pure.

Typed: ``2.5`` and ``2,5`` are the same number; a point is always the decimal mark, as it is on our pages; a comma
with exactly three digits behind it (``1,500``) could mean two things and is refused with both. Thousands may be
parted by spaces of any width. A unit may follow (``35 mm2``, ``200 mA``, ``6 AWG``); without one the field's holds.
Printed: thousands parted by U+202F, U+00A0 before the unit, U+2212 as the minus.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal, InvalidOperation
from typing import Any

GROUP_SPACE = "\u202f"
UNIT_SPACE = "\u00a0"
MINUS = "\u2212"
LONGEST = 60
"""Characters that a typed quantity may have."""


class QuantityError(ValueError):
    """Text that is no quantity: a code, its parameters, and the English sentence made of them.

    ``code`` is ``empty``, ``too_long``, ``not_a_number``, ``ambiguous``, ``too_large``, ``too_many_decimals``,
    ``unknown_unit`` or ``wrong_unit``.
    """

    def __init__(self, code: str, **params: Any) -> None:
        self.code, self.params = code, params
        super().__init__(SENTENCES[code].format(**params))


SENTENCES = {
    "empty": "Enter a number.",
    "too_long": "This is too long for a number: {length} characters, at most {maximum}.",
    "not_a_number": "“{text}” is not a number.",
    "ambiguous": "“{text}” can mean {small} or {large}. Write one of these.",
    "too_large": "“{text}” is too large a number.",
    "too_many_decimals": "“{text}” has more than {maximum} decimals.",
    "unknown_unit": "“{given}” is not a unit known here; use {unit}.",
    "wrong_unit": "“{given}” is not a unit of this field; use {unit}.",
    "no_unit": "“{given}” has a unit, but this is a plain number.",
}
"""English of every code; pages pass them through gettext with the same parameters."""


@dataclass(frozen=True, slots=True)
class _Unit:
    dimension: str
    factor: Decimal


def _units() -> dict[str, _Unit]:
    table: dict[str, _Unit] = {}

    def add(dimension: str, **names: str) -> None:
        for factor, spelled in names.items():
            for name in spelled.split("|"):
                table[name] = _Unit(dimension, _FACTORS[factor])

    for symbol, dimension in (("W", "power"), ("VA", "apparent"), ("A", "current"), ("V", "voltage"), ("Wh", "energy")):
        add(dimension, u=f"µ{symbol}", m=f"m{symbol}", one=symbol, k=f"k{symbol}", M=f"M{symbol}")
    add("charge", m="mAh", one="Ah", k="kAh")
    add("resistance", u="µΩ|uohm|µohm", m="mΩ|mohm|mOhm", one="Ω|ohm|Ohm|ohms", k="kΩ|kohm", M="MΩ|Mohm")
    add("resistance_length", one="Ω/km|ohm/km|mΩ/m|mohm/m", k="Ω/m|ohm/m")
    add("length", m="mm", c="cm", one="m|metre|metres", k="km", inch="in|inch|inches", foot="ft|foot|feet")
    add("area", one="mm²|mm2|mm^2|sqmm|sq mm")
    add("surface", one="m²|m2|m^2", u="mm²|mm2", sqcm="cm²|cm2")
    add("mass", m="g", one="kg", k="t", pound="lb|lbs")
    add(
        "time",
        m="ms",
        one="s|sec|second|seconds",
        minute="min|minute|minutes",
        hour="h|hr|hour|hours",
        day="d|day|days",
    )
    add("temperature", one="°C|℃|C|degC|deg C|°c")
    add("frequency", one="Hz|hz", k="kHz")
    add("ratio", one="%|percent|per cent")
    add("per_kelvin", one="%/K|%/°C")
    add("compensation", one="mV/K|mV/°C", k="V/K")
    add("irradiation", one="kWh/m²/day|kWh/m2/day|kWh/m²/d|kWh/m2/d|kWh/m²|kWh/m2")
    add("angle", one="°|deg|degrees")
    add("per_day", one="1/day|/day|a day|per day|×/day|x/day")
    add("cycles", one="cycles|cycle")
    add("speed", one="m/s")
    add("volume", m="ml|mL", one="l|L|litre|litres")
    add("air_flow", one="m³/h|m3/h|m^3/h")
    # the same spelling in two dimensions: the field decides, see _lookup
    table["mm²"] = table["mm2"] = table["mm^2"] = _Unit("area", _FACTORS["one"])
    return table


_FACTORS = {
    "u": Decimal("0.000001"),
    "m": Decimal("0.001"),
    "c": Decimal("0.01"),
    "one": Decimal(1),
    "k": Decimal(1000),
    "M": Decimal(1000000),
    "minute": Decimal(60),
    "hour": Decimal(3600),
    "day": Decimal(86400),
    "sqcm": Decimal("0.0001"),
    "inch": Decimal("0.0254"),  # exact by definition, as the foot and the pound
    "foot": Decimal("0.3048"),
    "pound": Decimal("0.45359237"),
}
UNITS = _units()

_SPACES = " \u00a0\u2007\u2009\u202f"
_TYPED = re.compile(
    rf"([+\-{MINUS}]?)\s*([0-9.,{_SPACES}]*[0-9][0-9.,]*)((?:[eE][+\-{MINUS}]?[0-9]{{1,3}})?)\s*(.*)", re.DOTALL
)
_PER = re.compile(rf"[{_SPACES}]+1/(?=[A-Za-z])")
"""Between a number and a unit like ``1/day``, whose own digit is no part of the number."""
_GAUGE = re.compile(r"(?:AWG\s*([0-9]{1,2}(?:/0)?)|([0-9]{1,2}(?:/0)?)\s*AWG)", re.IGNORECASE)


def parse(text: str, unit: str = "") -> float:
    """Read a typed quantity in the field's unit.

    Parameters
    ----------
    text : str
        What was typed, with or without a unit. [any unit of the same dimension]
    unit : str
        The field's unit; empty for a plain number.

    Returns
    -------
    float
        The value. [unit]

    Raises
    ------
    QuantityError
        When it is no number, can be read in two ways, or has a unit that does not belong here.

    Examples
    --------
    >>> parse("2,5", "V"), parse("2.5", "V"), parse("200 mA", "A"), parse("1.5 kW", "W")
    (2.5, 2.5, 0.2, 1500.0)
    >>> round(parse("6 AWG", "mm²"), 2)
    13.3
    >>> try:
    ...     parse("1,500", "W")
    ... except QuantityError as error:
    ...     print(error)
    “1,500” can mean 1.5 or 1500. Write one of these.
    """
    stripped = _stripped(text)
    gauge = _GAUGE.fullmatch(stripped)
    if gauge and unit == "mm²":
        return gauge_area_mm2(gauge.group(1) or gauge.group(2))
    number, given = _split(stripped)
    if given:
        number *= _factor(given, unit)
    value = float(number)
    if not math.isfinite(value) or abs(value) > 1e15:
        raise QuantityError("too_large", text=stripped)
    return value


def parse_decimal(text: str, decimals: int = 4) -> Decimal:
    """Read typed money or another exact number without a unit, with at most so many decimals."""
    stripped = _stripped(text)
    number, given = _split(stripped)
    if given:
        raise QuantityError("no_unit", given=given)
    if abs(number) > Decimal("1e12"):
        raise QuantityError("too_large", text=stripped)
    exact = number.quantize(Decimal(1).scaleb(-decimals))
    if exact != number:
        raise QuantityError("too_many_decimals", text=stripped, maximum=decimals)
    return exact


def gauge_area_mm2(gauge: str) -> float:
    """Area of a conductor of an American wire gauge, as ``6`` or ``2/0``. [mm²] ASTM B258.

    >>> round(gauge_area_mm2("2/0"), 1)
    67.4
    """
    number = 1 - int(gauge.removesuffix("/0")) if gauge.endswith("/0") else int(gauge)
    if not -3 <= number <= 40:
        raise QuantityError("unknown_unit", given=f"{gauge} AWG", unit="mm²")
    diameter_mm = 0.127 * 92 ** ((36 - number) / 39)
    return float(math.pi / 4 * diameter_mm**2)


def _stripped(text: str) -> str:
    if len(text) > LONGEST:
        raise QuantityError("too_long", length=len(text), maximum=LONGEST)
    stripped = text.strip()
    if not stripped:
        raise QuantityError("empty")
    return stripped


def _split(text: str) -> tuple[Decimal, str]:
    match = _TYPED.fullmatch(_PER.sub(" /", text))
    if not match:
        raise QuantityError("not_a_number", text=text)
    sign, digits, exponent, given = match.groups()
    plain = _plain_digits(digits.strip(_SPACES), text)
    try:
        number = Decimal(plain + exponent.replace(MINUS, "-"))
    except InvalidOperation:
        raise QuantityError("not_a_number", text=text) from None
    return (-number if sign in ("-", MINUS) else number), given.strip()


def _plain_digits(digits: str, text: str) -> str:
    """Digits with at most one point, whatever parted them."""
    refused = QuantityError("not_a_number", text=text)
    marks = [c for c in digits if c in ".,"]
    whole, mark, rest = digits, "", ""
    if len(set(marks)) == 2:
        # 1,500.5 or 1.500,5: the last mark is the decimal one, the other parts thousands
        mark = marks[-1]
        if marks.count(mark) > 1:
            raise refused
        whole, rest = digits.rsplit(mark, 1)
        whole = re.sub("[.,]", " ", whole)
    elif len(marks) > 1:
        whole = re.sub("[.,]", " ", digits)
    elif marks:
        mark = marks[0]
        whole, rest = digits.split(mark)
        if mark == "," and re.fullmatch("[1-9][0-9]{0,2}", whole) and re.fullmatch("[0-9]{3}", rest):
            small = format(Decimal(f"{whole}.{rest}").normalize(), "f")
            raise QuantityError("ambiguous", text=text, small=small, large=whole + rest)
    whole = re.sub(f"[{_SPACES}]", " ", whole)
    if " " in whole and not re.fullmatch("[0-9]{1,3}( [0-9]{3})+", whole):
        raise refused
    if rest and not re.fullmatch("[0-9]+", rest):
        raise refused
    return f"{whole.replace(' ', '') or '0'}.{rest or '0'}"


def _factor(given: str, unit: str) -> Decimal:
    if not unit:
        raise QuantityError("no_unit", given=given)
    if given == unit or f"1{given}" == unit:
        return Decimal(1)
    if unit == "m²" and given in ("mm²", "mm2"):
        return _FACTORS["u"]
    own = UNITS.get(unit)
    found = UNITS.get(given)
    if found is None and own is not None:
        found = _near(given, own.dimension)
    if found is None:
        raise QuantityError("unknown_unit", given=given, unit=unit)
    if own is None or found.dimension != own.dimension:
        raise QuantityError("wrong_unit", given=given, unit=unit)
    return found.factor / own.factor


def _near(given: str, dimension: str) -> _Unit | None:
    """The unit meant by letters of another case; the prefix's own case decides between milli and mega."""
    alike = {name: u for name, u in UNITS.items() if name.lower() == given.lower() and u.dimension == dimension}
    exact = {u for name, u in alike.items() if name[0] == given[0]}
    found = exact or set(alike.values())
    return found.pop() if len(found) == 1 else None


def format_number(value: float | Decimal | int, digits: int | None = None) -> str:
    """Print a number with thin spaces between thousands and a real minus.

    ``digits`` fixes the decimals, trailing zeros kept so that columns line up. Without it the number is shown to six
    significant digits and trailing zeros go.

    >>> format_number(1186, 2), format_number(-0.0004, 2), format_number(0.1 + 0.2)
    ('1\\u202f186.00', '0.00', '0.3')
    """
    if isinstance(value, float) and not math.isfinite(value):
        raise ValueError(f"{value!r} cannot be printed as a number")
    exact = Decimal(repr(value)) if isinstance(value, float) else Decimal(value)
    if digits is None:
        whole_digits = max(exact.adjusted() + 1, 1) if exact else 1
        exact = round(exact, max(6 - whole_digits, 0)) if abs(exact) >= 1 else _significant(exact, 6)
        plain = format(exact, "f")
        plain = plain.rstrip("0").rstrip(".") if "." in plain else plain
    else:
        plain = format(exact.quantize(Decimal(1).scaleb(-digits), ROUND_HALF_UP), "f")
    negative = plain.startswith("-")
    whole, _, rest = plain.lstrip("-").partition(".")
    grouped = f"{int(whole):,}".replace(",", GROUP_SPACE)
    text = f"{grouped}.{rest}" if rest else grouped
    return f"{MINUS}{text}" if negative and re.search("[1-9]", text) else text


def _significant(value: Decimal, digits: int) -> Decimal:
    if not value:
        return Decimal(0)
    return round(value, digits - value.adjusted() - 1)


def format_quantity(value: float | Decimal | int, unit: str = "", digits: int | None = None) -> str:
    """Print a value and its unit with a no-break space between.

    >>> format_quantity(12.8, "V"), format_quantity(-5, "°C")
    ('12.8\\xa0V', '\\u22125\\xa0°C')
    """
    number = format_number(value, digits)
    return f"{number}{UNIT_SPACE}{unit}" if unit else number


def typed(value: float | Decimal | int) -> str:
    """Print a number as it is put into a field to be edited: every digit kept, nothing between them.

    >>> typed(1500.0), typed(0.0006)
    ('1500', '0.0006')
    """
    plain = format(Decimal(repr(value)) if isinstance(value, float) else Decimal(value), "f")
    return plain.rstrip("0").rstrip(".") if "." in plain else plain


def natural(value: float, unit: str) -> tuple[float, str]:
    """Choose the prefix in which a person says it: 20 kA, 0.6 mΩ.

    >>> natural(20000.0, "A"), natural(0.003, "Ω"), natural(35.0, "A")
    ((20.0, 'kA'), (3.0, 'mΩ'), (35.0, 'A'))
    """
    if unit == "A" and abs(value) >= 1000:
        return value / 1000, "kA"
    if unit == "Ω" and 0 < abs(value) < 1:
        return round(value * 1000, 9), "mΩ"
    return value, unit
