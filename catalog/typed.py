"""A record named by typing: its number, or enough of its words. Long lists of choices are never sent to the page.

While somebody types, the page may ask for names that begin so (:func:`offers`). Without script the same entry is read
on the server, and refused in words when it fits none or several.
"""

from __future__ import annotations

import re
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.db.models import Model, QuerySet
from django.urls import reverse
from django.utils.translation import gettext as _

from catalog.finding import FINDABLE, Hit, is_key, matching
from catalog.finding_search import find
from catalog.finding_words import compact
from catalog.models import SearchWord

OFFERED = 12
LEAST_LETTERS = 2
KEY = re.compile(r"#\s*(\d{1,15})\s*$")
"""Names that the page offers end so, and are certain then."""


class NotOne(Exception):
    """What was typed names no record, or several; the text says which and what to do."""


def name_of(about: str, row: Any, user: Any = None) -> str:
    """A record as it is offered while typing: in words, with its key behind them."""
    return _name(FINDABLE[about].line(row, user), row.pk)


def _name(hit: Hit, pk: int) -> str:
    return f"{' · '.join(part for part in (str(hit.words), str(hit.sub)) if part)} #{pk}"


def offers(about: str, text: str, user: Any) -> list[str]:
    """Names of the first records in use that have a word beginning with each word of ``text``."""
    if len(text.strip()) < LEAST_LETTERS:
        return []
    hits = [one for one in find(user, text).hits if one.about == about and not one.hit.off]
    return [_name(one.hit, one.pk) for one in hits[:OFFERED]]


def resolve(about: str, rows: QuerySet[Any], text: str) -> Any:
    """The one row of ``rows`` that ``text`` names: by key, by a number it goes by, or by its words.

    Raises :class:`NotOne` with a sentence that repeats what was typed.
    """
    text = text.strip()
    if not text:
        raise NotOne(_("Type a name or a number."))
    keyed = KEY.search(text)
    if keyed:
        row = rows.filter(pk=int(keyed[1])).first()
        if row is None:
            raise NotOne(_("Nothing in use has the number #%(key)s.") % {"key": keyed[1]})
        return row
    exact = _by_number(about, rows, text)
    found = exact or list(matching(rows, about, text)[: OFFERED + 1])
    if len(found) == 1:
        return found[0]
    named = [row for row in found if str(row).casefold() == text.casefold()]
    if len(named) == 1:
        return named[0]
    if not found:
        raise NotOne(_("Nothing in use is called “%(text)s”.") % {"text": text[:60]})
    some = "; ".join(name_of(about, row) for row in found[:5])
    more = _(" and more") if len(found) > 5 else ""
    words = _("“%(text)s” names several: %(some)s%(more)s. Add words, or give the number behind the name.")
    raise NotOne(words % {"text": text[:60], "some": some, "more": more})


def _by_number(about: str, rows: QuerySet[Any], text: str) -> list[Any]:
    asked = compact(text)
    if not asked:
        return []
    keys = SearchWord.objects.filter(about=about, word=asked[:40]).values("row_id")
    return [row for row in rows.filter(pk__in=keys)[:200] if is_key(FINDABLE[about], row, asked)]


class TypedRecordField(forms.ModelChoiceField):  # type: ignore[type-arg]
    """A choice among very many records, typed. ``address`` answers with names while somebody types."""

    widget = forms.TextInput

    def __init__(self, queryset: Any, *, about: str, address: str, **kwargs: Any) -> None:
        super().__init__(queryset, empty_label=None, **kwargs)
        self.about, self.address = about, address
        self.widget.attrs |= {"autocomplete": "off", "maxlength": 200}

    @property
    def rows(self) -> QuerySet[Any]:
        """Whatever may be named."""
        assert self.queryset is not None
        return self.queryset

    def keyed(self, key: Any) -> Any:
        """The record of a key out of an address, as the entry begins with it; ``None`` when there is none."""
        return self.rows.filter(pk=int(key)).first() if str(key).isdecimal() and len(str(key)) < 16 else None

    def offering(self, name: str) -> None:
        """Let the page ask for names as they are typed; called by the form once addresses are known."""
        self.widget.attrs |= {
            "list": f"{name}-names",
            "hx-get": reverse(self.address),
            "hx-trigger": "input changed delay:250ms",
            "hx-target": f"#{name}-names",
        }

    def prepare_value(self, value: Any) -> Any:
        return name_of(self.about, value) if isinstance(value, Model) else value

    def to_python(self, value: Any) -> Any:
        if value in self.empty_values or not str(value).strip():
            return None
        try:
            return resolve(self.about, self.rows, str(value))
        except NotOne as error:
            raise ValidationError(str(error), code="invalid_choice") from None
