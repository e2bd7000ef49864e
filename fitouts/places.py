"""Countries, currencies and time zones to choose from, in words."""

from __future__ import annotations

import zoneinfo
from functools import cache

from babel import Locale
from babel.core import UnknownLocaleError, get_global
from babel.numbers import get_territory_currencies

REGIONS = ("Africa", "America", "Antarctica", "Asia", "Atlantic", "Australia", "Europe", "Indian", "Pacific")


@cache
def countries(language: str = "en") -> tuple[tuple[str, str], ...]:
    """ISO 3166 countries by name."""
    names = Locale.parse(language).territories
    found = [(code, name) for code, name in names.items() if len(code) == 2 and code.isalpha() and _has_money(code)]
    return tuple(sorted(found, key=lambda pair: pair[1]))


def _has_money(code: str) -> bool:
    return bool(get_global("territory_currencies").get(code))


@cache
def currencies(language: str = "en") -> tuple[tuple[str, str], ...]:
    """ISO 4217 currencies in use, code first."""
    names = Locale.parse(language).currencies
    used = {code for country, _name in countries() for code in get_territory_currencies(country)}
    return tuple((code, f"{code} – {names.get(code, code)}") for code in sorted(used))


@cache
def time_zones() -> tuple[tuple[str, str], ...]:
    """IANA time zones, by region."""
    zones = sorted(zone for zone in zoneinfo.available_timezones() if zone.split("/")[0] in REGIONS)
    return (("UTC", "UTC"), *((zone, zone.replace("_", " ")) for zone in zones))


def number_format(country: str) -> str:
    """The locale in which this country writes English numbers, or plain English."""
    try:
        return str(Locale.parse(f"en_{country}", resolve_likely_subtags=False))
    except (UnknownLocaleError, ValueError):
        return "en"


@cache
def number_formats() -> tuple[tuple[str, str], ...]:
    """Locales to print numbers and money in."""
    found = [("en", "English")]
    for code, name in countries():
        if number_format(code) != "en":
            found.append((f"en_{code}", f"English, {name}"))
    return tuple(found)
