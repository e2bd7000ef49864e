"""Between a kind's declaration and what people type and read: texts to values, values to rows of words."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from catalog.kinds.base import Field, Kind
from catalog.quantities import (
    UNIT_SPACE,
    QuantityError,
    format_number,
    natural,
    parse,
    typed,
)


def read_field(field: Field, text: str) -> Any:
    """Turn what was typed into the value that is stored; ``None`` when nothing was typed.

    Raises :class:`QuantityError`. Choices, booleans and texts need no reading.
    """
    if not text.strip():
        return None
    if field.type in ("number", "integer"):
        return _stored(parse(text, field.shown_unit), field.shown_factor)
    if field.type == "numbers":
        return [_stored(parse(item, field.shown_unit), field.shown_factor) for item in _items(text)]
    if field.type == "curve":
        return [list(_pair(field, item)) for item in _items(text)]
    return text


def typed_field(field: Field, value: Any) -> Any:
    """The value as it stands in the field to be edited; the inverse of :func:`read_field`."""
    if value is None:
        return ""
    if field.type in ("number", "integer"):
        return typed(_shown(value, field.shown_factor))
    if field.type == "numbers":
        return "; ".join(typed(_shown(item, field.shown_factor)) for item in value)
    if field.type == "curve":
        pairs = ((_shown(x, field.x_shown_factor), _shown(y, field.shown_factor)) for x, y in value)
        return "; ".join(f"{typed(x)} {typed(y)}" for x, y in pairs)
    return value


def _items(text: str) -> list[str]:
    return [item.strip() for item in text.replace("\n", ";").split(";") if item.strip()]


def _pair(field: Field, item: str) -> tuple[float, float]:
    parts = (
        item.replace(":", " ").replace(field.x_shown_unit or "\0", " ").replace(field.shown_unit or "\0", " ").split()
    )
    if len(parts) != 2:
        raise QuantityError("not_a_number", text=item)
    return _stored(parse(parts[0]), field.x_shown_factor), _stored(parse(parts[1]), field.shown_factor)


def _stored(shown: float, factor: float) -> float:
    return shown if factor == 1.0 else round(shown / factor, 12)


def _shown(stored: float, factor: float) -> float:
    return stored if factor == 1.0 else round(stored * factor, 9)


@dataclass(frozen=True, slots=True)
class Row:
    """One line of a specification as it is read."""

    field: Field
    label: str
    text: str | SafeString
    is_stated: bool

    @property
    def is_short(self) -> bool:
        """It stays on one line, to the right."""
        return self.field.type not in ("curve", "numbers", "choices", "text") or not self.is_stated


def rows(kind: Kind, spec: Mapping[str, Any]) -> list[Row]:
    """The whole specification in words, in the order of the declaration."""
    out = []
    for field in kind.fields:
        value = spec.get(field.name)
        stated = value not in (None, "", []) and value != ()
        out.append(Row(field, _(field.label), _words(field, value) if stated else _("not stated"), stated))
    return out


def columns(kind: Kind, spec: Mapping[str, Any]) -> list[list[Row]]:
    """The rows in one column, or in two when there are many; sections that state nothing are left out."""
    told = {field.section for field in kind.fields if _differs(field, spec.get(field.name))}
    all_rows = [row for row in rows(kind, spec) if not row.field.section or row.field.section in told]
    half = (len(all_rows) + 1) // 2 if len(all_rows) > 7 else len(all_rows)
    return [part for part in (all_rows[:half], all_rows[half:]) if part]


def _differs(field: Field, value: Any) -> bool:
    """It states something: it is neither empty nor what every component has."""
    default = list(field.default) if isinstance(field.default, tuple) else field.default
    return value not in (None, "", [], ()) and (list(value) if isinstance(value, tuple) else value) != default


def rating(kind: Kind, spec: Mapping[str, Any]) -> SafeString:
    """The one-line rating, units lighter; what is zero or none (a stud, a hazard) is left out."""
    parts = []
    for field in kind.fields:
        value = spec.get(field.name)
        nothing = value in (None, "", [], "none") or (not isinstance(value, bool) and value == 0)
        if not field.in_rating or nothing:
            continue
        before, _middle, after = _(field.rating_words).partition("{}")
        parts.append((before, _words(field, value, short=True), after))
    if kind.priced_per == "metre":
        parts.append((_("per") + " ", format_html('<span class="u">{}</span>', "m"), ""))
    return format_html_join(", ", "{}{}{}", parts)


def rating_text(kind: Kind, spec: Mapping[str, Any]) -> str:
    """The same as plain text with plain spaces, for search and for lists without markup."""
    html = rating(kind, spec)
    plain = html.replace('<span class="u">', "").replace("</span>", "")
    for space in (UNIT_SPACE, "\u202f"):
        plain = plain.replace(space, " " if space == UNIT_SPACE else "")
    return plain[:240]


def _words(field: Field, value: Any, *, short: bool = False) -> str | SafeString:
    if field.type == "boolean":
        return _("yes") if value else _("no")
    if field.type == "choice":
        words = _(dict(field.options).get(value, str(value)))
        return words.partition(" (")[0] if short else words
    if field.type == "choices":
        return ", ".join(_(dict(field.options).get(v, str(v))) for v in value)
    if field.type == "curve":
        if short and value:
            ends = (_figure(_shown(y, field.shown_factor), field.shown_unit) for _x, y in (value[0], value[-1]))
            return format_html(_("{} to {}"), *ends)
        return format_html_join(
            "; ",
            "{}: {}",
            (
                (
                    _figure(_shown(x, field.x_shown_factor), field.x_shown_unit),
                    _figure(_shown(y, field.shown_factor), field.shown_unit),
                )
                for x, y in value
            ),
        )
    if field.type == "numbers":
        if short and len(set(value)) == 1 and len(value) > 1:
            return format_html("{} × {}", len(value), _figure(value[0], field.unit))
        return format_html_join(
            ", ", "{}", ((_figure(_shown(v, field.shown_factor), field.shown_unit),) for v in value)
        )
    if field.type == "text":
        return str(value)
    return _figure(_shown(value, field.shown_factor), field.shown_unit)


def _figure(value: float, unit: str) -> SafeString:
    figure, said_unit = (value, _("a day")) if unit == "1/day" else natural(value, unit)
    if not said_unit:
        return format_html("{}", format_number(figure))
    return format_html('{}{}<span class="u">{}</span>', format_number(figure), UNIT_SPACE, said_unit)
