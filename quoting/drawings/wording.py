"""English for everything a drawing says, by code; ``quoting/words.py`` gives the other languages.

A drawing asks ``words(code, **params)`` for every text it sets. Numbers go through it too (code ``number``), so that
the decimal sign follows the reader.
"""

from __future__ import annotations

from collections.abc import Callable

from quoting.sizing.trace import Scalar

Words = Callable[..., str]
"""``words(code, **params) -> str``."""

MESSAGES: dict[str, str] = {
    "drawing.caution.dc": "A DC line is the positive; a negative of the same size runs beside it. Lengths are one way.",
    "drawing.caution.dc_colours": (
        "A DC line is the positive, {positive}; a negative of the same size, {negative}, runs beside it. "
        "Another colour is said at its line. Lengths are one way."
    ),
    "drawing.colour.black": "black",
    "drawing.colour.blue": "blue",
    "drawing.colour.brown": "brown",
    "drawing.colour.green": "green",
    "drawing.colour.grey": "grey",
    "drawing.colour.orange": "orange",
    "drawing.colour.pink": "pink",
    "drawing.colour.red": "red",
    "drawing.colour.violet": "violet",
    "drawing.colour.white": "white",
    "drawing.colour.yellow": "yellow",
    "drawing.caution.chassis": "Where a body sign hangs below a load, the body is its return.",
    "drawing.caution.solar": "Solar leads are live in daylight.",
    "drawing.caution.fuse": "Fuse at the source before connecting.",
    "drawing.caution.battery": "Batteries give thousands of amperes.",
    "drawing.caution.mains": "Mains work is for licensed people and local rules.",
    "drawing.caution.installer": "A design aid; the installer answers for the work.",
    "drawing.zone": "230 V: licensed person",
    "drawing.earth": "neutral–earth link and earth to body",
    "drawing.drop": "drop",
    "drawing.elsewhere": "circuits: {count}",
    "drawing.from": "from",
    "drawing.here": "{field}",
    "drawing.there": "sheet {sheet}, {field}",
    "drawing.signals": "signals",
    "drawing.ac": "230 V side",
    "drawing.note": "note {number}",
    "drawing.notes": "Notes that found no room beside their part",
    "drawing.asked": (
        "Asked of the licensed person: conductors, protection and poles, residual-current type, "
        "neutral\u2013earth link. Nothing of it is decided here."
    ),
    "drawing.two_pole": "2-pole",
    "drawing.trailer": "Trailer",
    "drawing.mark.changed": "* Settled by hand; the reason is on the circuit schedule.",
    "drawing.mark.stays": "( ) In the vehicle already and stays; its line is thin.",
    "drawing.sources_on": "more sources:",
    "drawing.batteries_on": "batteries:",
    "drawing.boards_on": "more boards:",
    "drawing.continued": "continued",
    "drawing.sheet": "Sheet {number} of {count}",
    "drawing.not_drawn": "Not drawn as lines:",
    "drawing.key.fuse": "fuse",
    "drawing.key.breaker": "breaker",
    "drawing.key.residual": "residual-current",
    "drawing.key.isolator": "isolator",
    "drawing.key.channel": "switched output",
    "drawing.key.coupling": "trailer coupling",
    "drawing.key.lamp": "lamp",
    "drawing.key.motor": "motor",
    "drawing.key.socket": "socket",
    "drawing.key.socket_earthed": "earthed socket",
    "drawing.key.heater": "heater",
    "drawing.key.appliance": "appliance",
    "drawing.key.three_conductors": "three conductors",
    "drawing.key.refrigerator": "refrigerator",
    "drawing.key.electronic": "electronic",
    "drawing.key.changeover": "changeover",
    "drawing.key.sensor": "sensor",
    "drawing.key.signal": "signal lead",
    "drawing.key.arrow": "goes on elsewhere",
    "drawing.key.trailer": "trailer",
    "drawing.plan.front": "front",
    "drawing.plan.left": "left",
    "drawing.plan.right": "right",
    "drawing.plan.scale": "1:{scale} at full size",
    "drawing.plan.roof": "Broken lines: roof areas, and the panels that lie on them.",
    "drawing.space.sides_m": "{length} × {width} m",
    "drawing.space.sides_mm": "{length} × {width} mm",
    "drawing.plan.measured": "measured",
    "drawing.plan.usual": "usual place, not measured",
    "drawing.plan.lengths": "not measured: placed by cable lengths",
    "drawing.plan.run": "cable run",
    "drawing.plan.run_key": "cable run: number, circuits × length; thicker with more circuits",
    "drawing.plan.hitch": "cable across the drawbar",
    "drawing.plan.straight": "Runs are drawn straight; the length said is the cable's, one way, height included.",
    "drawing.plan.size": "The vehicle was not measured: {length} × {width} m, as such bodies have it.",
    "drawing.plan.trailer_size": "The trailer was not measured: {length} × {width} m, as such bodies have it.",
    "drawing.plan.short": "Shorter than the straight line, check the measures: run {runs}.",
    "chart.empty": "empty",
    "chart.hour": "{hour}:00",
    "chart.days": "{count} days",
    "chart.day": "1 day",
    "chart.unit_days": "days",
    "chart.hours": "{count} h",
    "chart.worn": "worn",
    "chart.new": "new",
    "chart.everything": "everything runs",
    "chart.kept": "kept back",
    "chart.goes_off": "{name} off at",
    "chart.lowest": "lowest",
}

THIN_SPACE = "\u202f"


def english(code: str, **params: Scalar) -> str:
    """Say it in English.

    >>> english("number", value=2000.0, digits=0) == "2\u202f000"
    True
    >>> english("drawing.elsewhere", count=12, sheet=2)
    '12 circuits: sheet 2'
    """
    if code == "number":
        value, digits = params.get("value"), params.get("digits")
        return number(float(value or 0), int(digits or 0))
    return MESSAGES[code].format(**params)


def number(value: float, digits: int) -> str:
    """Write a number: a point, a true minus, thousands parted by a narrow space."""
    text = f"{abs(value):,.{digits}f}".replace(",", THIN_SPACE)
    return ("\u2212" if value < 0 and text.strip("0.") else "") + text


def digits_for(value: float, most: int = 1) -> int:
    """Decimals worth printing: none when the value is whole at ``most`` decimals.

    >>> digits_for(16.0), digits_for(2.5), digits_for(0.04)
    (0, 1, 2)
    """
    if value and abs(value) < 0.1:
        most = max(most, 2)
    return next(digits for digits in range(most + 1) if round(value, digits) == round(value, most))


COLOURS = {
    "black": "BK",
    "brown": "BN",
    "red": "RD",
    "orange": "OG",
    "yellow": "YE",
    "green": "GN",
    "blue": "BU",
    "violet": "VT",
    "grey": "GY",
    "white": "WH",
    "pink": "PK",
}
"""Letter codes of IEC 60757 (M); they need no translation."""


def colour_code(colour: str) -> str:
    """Say a colour by its letters; one without them is said as it stands.

    >>> colour_code("red"), colour_code("green/yellow"), colour_code("teal")
    ('RD', 'GNYE', 'teal')
    """
    parts = colour.replace("-", "/").split("/")
    return "".join(COLOURS[part] for part in parts) if all(part in COLOURS for part in parts) else colour


UNITS: tuple[tuple[str, str], ...] = (
    ("_wh", "Wh"),
    ("_ah", "Ah"),
    ("_mm2", "mm²"),
    ("_ma", "mA"),
    ("_ohm", "Ω"),
    ("_a", "A"),
    ("_v", "V"),
    ("_w", "W"),
    ("_kg", "kg"),
    ("_c", "°C"),
)
"""Ending of a name and the unit it means."""


def unit_of(name: str) -> str:
    """Unit a name ends in, or nothing.

    >>> unit_of("capacity_ah"), unit_of("chemistry")
    ('Ah', '')
    """
    return next((unit for ending, unit in UNITS if name.endswith(ending)), "")
