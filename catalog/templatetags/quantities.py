"""Filters that print numbers: figure in ink, unit lighter, never apart. Built in: no ``load`` needed."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from babel.numbers import format_currency, get_currency_symbol, get_group_symbol
from django import template
from django.utils.html import format_html
from django.utils.safestring import SafeString
from django.utils.translation import get_language, to_locale

from catalog.quantities import GROUP_SPACE, MINUS, UNIT_SPACE, format_number

register = template.Library()
NOTHING = "–"


@register.filter
def number(value: Any, digits: int | str | None = None) -> str:
    """``{{ x|number }}`` or ``{{ x|number:2 }}``: thin spaces between thousands, a real minus."""
    if value is None or value == "":
        return NOTHING
    return format_number(value, None if digits in (None, "") else int(digits))


@register.filter
def quantity(value: Any, unit: str = "") -> str | SafeString:
    """``{{ x|quantity:"V" }}`` or, with the decimals fixed, ``{{ x|quantity:"V 1" }}``."""
    if value is None or value == "":
        return NOTHING
    digits: int | None = None
    name, _, last = unit.rpartition(" ")
    if last.isdigit():
        unit, digits = name, int(last)
    figure = format_number(value, digits)
    if not unit:
        return figure
    return format_html('{}{}<span class="u">{}</span>', figure, UNIT_SPACE, unit)


@register.filter
def percent(ratio: Any, digits: int | str = 0) -> str | SafeString:
    """``{{ 0.885|percent:1 }}`` prints 88.5 %."""
    if ratio is None or ratio == "":
        return NOTHING
    exact = ratio * 100 if isinstance(ratio, Decimal | int) else Decimal(repr(float(ratio))) * 100
    return format_html('{}{}<span class="u">%</span>', format_number(exact, int(digits)), UNIT_SPACE)


def _currency_and_locale(of: Any) -> tuple[str, str]:
    """A currency's code, or a workshop with its ``currency`` and ``language``."""
    if isinstance(of, str) or of is None:
        return of or "", to_locale(get_language() or "en")
    return of.currency, of.language


@register.filter
def money(value: Any, of: Any = None) -> str:
    """``{{ cost|money:workshop }}`` or ``|money:"AUD"``: by Babel; without currency two decimals."""
    if value is None or value == "":
        return NOTHING
    if not isinstance(value, Decimal | int):
        raise TypeError("money is Decimal, never float")
    currency, locale = _currency_and_locale(of)
    if not currency:
        return format_number(value, 2)
    group = get_group_symbol(locale)
    amount = Decimal(value)
    text = format_currency(abs(amount), currency, locale=locale).replace(group, GROUP_SPACE)
    return f"{MINUS}{text}" if value < 0 else text


@register.filter
def currency_symbol(of: Any) -> str:
    """The sign that stands in the head of a column of money, of a workshop or a currency's code."""
    currency, locale = _currency_and_locale(of)
    return get_currency_symbol(currency, locale=locale) if currency else ""
