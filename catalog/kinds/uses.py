"""The four ways in which an appliance uses power, declared as kinds are, so form and check come from one place.

Ranges follow ``quoting.sizing.brief``; a test holds the two against each other.
"""

from __future__ import annotations

from catalog.kinds.base import Field, Kind, Problem, Spec
from catalog.kinds.common import conflict, number


def _fits_a_day(spec: Spec) -> tuple[Problem, ...]:
    total = spec["minutes"] * spec["times_per_day"]
    if total > 1440:
        return conflict("minutes", f"All uses together take {total:g} min a day; a day has 1440 min.")
    return ()


def _way(code: str, label: str, help: str, *fields: Field) -> Kind:
    checks = (_fits_a_day,) if code == "event" else ()
    return Kind(
        code=code,
        label=label,
        plural=label,
        group="",
        fields=fields,
        capabilities=lambda _: (),
        help=help,
        checks=checks,
    )


STEADY = _way(
    "steady",
    "steady",
    "Runs at one power for so many hours a day.",
    number("power_w", "Power", "W", 0.01, 20000, "Of one, while it runs.", rating="{}"),
    number("hours_per_day", "Hours a day", "h", 0, 24, rating="{} a day"),
    number("duty_ratio", "Duty within them", "", 0, 1, "Share of the time that it really draws.", default=1.0),
)
COOLING = _way(
    "cooling",
    "cools",
    "A compressor refrigerator, by the maker's duty at a stated ambient.",
    number("power_w", "Power", "W", 1, 2000, "While the compressor runs.", rating="{}"),
    number("rated_duty_ratio", "Duty", "", 0.01, 1, "At the ambient stated next.", rating="duty {}"),
    number("rated_ambient_c", "At ambient", "°C", 10, 50, rating="at {}"),
    number("inside_c", "Inside", "°C", -30, 15, rating="inside {}"),
)
RECHARGE = _way(
    "recharge",
    "recharge",
    "Batteries of tools, drones, laptops and cameras.",
    number("pack_wh", "Battery pack", "Wh", 0.1, 20000, rating="{}"),
    number("charges_per_day", "Charges a day", "1/day", 0, 100, rating="{}"),
    number("charger_efficiency_ratio", "Charger's efficiency", "", 0.3, 1),
    number("power_w", "Charger draws", "W", 0.1, 20000, rating="{}"),
)
EVENT = _way(
    "event",
    "event",
    "Short use, so many minutes so many times a day.",
    number("power_w", "Power", "W", 0.1, 20000, rating="{}"),
    number("minutes", "Minutes each time", "min", 0.01, 1440, rating="{}"),
    number("times_per_day", "Times a day", "1/day", 0, 1000, rating="{}"),
)
WAYS: dict[str, Kind] = {way.code: way for way in (STEADY, COOLING, RECHARGE, EVENT)}
