"""Numbers, money, dates and durations as papers say them. One formatter for figures: ``catalog.quantities``."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal, InvalidOperation
from typing import Any
from zoneinfo import ZoneInfo

from babel import Locale, UnknownLocaleError
from babel.dates import format_date
from babel.numbers import format_currency, format_decimal, get_currency_precision, get_currency_symbol
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from catalog.quantities import UNIT_SPACE, format_number


def places(value: float) -> int:
    """Decimals a figure is shown with: about three significant figures, never more than the trade reads."""
    size = abs(value)
    return 0 if size >= 99.95 else 1 if size >= 9.995 else 2 if size >= 0.0995 else 3


def figure(value: float | Decimal, digits: int | None = None) -> str:
    """A figure for reading; with ``digits`` trailing zeros stay, so that a column lines up."""
    if digits is not None:
        return format_number(value, digits)
    text = format_number(value, places(float(value)))
    return text.rstrip("0").rstrip(".") if "." in text else text


def quantity(value: float, unit: str, digits: int | None = None) -> str:
    """Figure and unit that never part at a line's end."""
    return f"{figure(value, digits)}{UNIT_SPACE}{unit}" if unit else figure(value, digits)


def percent(ratio: float, digits: int | None = None) -> str:
    return quantity(100 * ratio, "%", digits)


def duration(hours: float) -> tuple[str, str]:
    """Hours as an owner says them: minutes under an hour and a half, days from four on."""
    return in_unit(hours, scale_of(hours))


def scale_of(hours: float, days_from_h: float = 96.0) -> str:
    """Unit a duration is said in: ``min``, ``h`` or ``days``."""
    return "min" if hours < 1.5 else "h" if hours < days_from_h else "days"


def joined(said: tuple[str, str]) -> str:
    """A figure and its unit that stay on one line."""
    return f"{said[0]}\u00a0{said[1]}"


def in_unit(hours: float, scale: str) -> tuple[str, str]:
    """A duration in a unit that is already chosen, so that two beside each other can be compared."""
    if scale == "min":
        return figure(hours * 60, 0), _("min")
    if scale == "h":
        return figure(hours, 0 if hours >= 10 else 1), _("h")
    return figure(hours / 24, 0 if hours >= 240 else 1), _("days")


def lasting(hours: float) -> str:
    """A duration in a sentence."""
    value, unit = duration(hours)
    return f"{value}{UNIT_SPACE}{unit}"


def day_count(days: float) -> str:
    value = figure(days)
    return ngettext("%(n)s day", "%(n)s days", 1 if value == "1" else 2) % {"n": f"{value}"}


def hour_count(hours: float) -> str:
    value = figure(hours)
    return ngettext("%(n)s hour", "%(n)s hours", 1 if value == "1" else 2) % {"n": value}


def unparted(words: str) -> str:
    """A telephone number or the like that must not part at a line's end."""
    return words.replace(" ", UNIT_SPACE)


@dataclass(frozen=True, slots=True)
class Locality:
    """The workshop's way with money and dates."""

    language: str
    currency: str
    time_zone: str

    @property
    def locale(self) -> Locale:
        try:
            return Locale.parse(self.language.replace("-", "_"))
        except (UnknownLocaleError, ValueError):
            return Locale("en")

    def _pattern(self) -> str:
        digits = get_currency_precision(self.currency)
        return "#,##0." + "0" * digits if digits else "#,##0"

    def amount(self, value: Any) -> str:
        """Money without its sign, for columns."""
        exact = decimal(value)
        text = str(format_decimal(abs(exact), format=self._pattern(), locale=self.locale))
        return f"−{text}" if exact < 0 else text

    def money(self, value: Any) -> str:
        """Money with its sign, for totals and sentences."""
        exact = decimal(value)
        text = str(format_currency(abs(exact), self.currency, locale=self.locale))
        return f"−{text}" if exact < 0 else text

    @property
    def sign(self) -> str:
        return str(get_currency_symbol(self.currency, locale=self.locale))

    def day(self, value: str | None) -> str:
        """A day, or the day of a moment in the workshop's zone; empty when there is none."""
        if not value:
            return ""
        return str(format_date(self._date(value), format="d MMMM yyyy", locale=self.locale))

    def month_year(self, value: str | None) -> str:
        if not value:
            return ""
        return str(format_date(self._date(value), format="MMMM yyyy", locale=self.locale))

    def month(self, number: int) -> str:
        return str(format_date(date(2001, number, 1), format="LLLL", locale=self.locale))

    def _date(self, value: str) -> date:
        if len(value) <= 10:
            return date.fromisoformat(value)
        moment = datetime.fromisoformat(value.replace("Z", "+00:00"))
        return moment.astimezone(ZoneInfo(self.time_zone)).date() if moment.tzinfo else moment.date()


def decimal(value: Any) -> Decimal:
    """Money of a snapshot, a decimal string; a bad one is named."""
    try:
        return Decimal(str(value))
    except InvalidOperation:
        raise ValueError(f"{value!r} is no amount of money; write it as a decimal string like '1480.00'.") from None
