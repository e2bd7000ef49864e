"""What a paper can be made for: its page, or a sheet of labels and the first label on it that is free.

A form is a short code that stands with the paper: ``a3``, ``a4-4x10``, ``a4-4x10-flag+5`` (flags round a cable, from
the fifth label on). An empty form is the kind's usual one.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from quoting.documents.label_sheets import SHEETS, LabelSheet

FLAG = "-flag"
MOST_DIGITS = 4
"""Of the number of a label."""
PAGES: dict[str, Any] = {
    "a3": gettext_lazy("A3"),
    "a4": gettext_lazy("A4"),
    "a5": gettext_lazy("A5"),
}
OF_KIND: dict[str, tuple[str, ...]] = {
    "diagram": ("a4", "a3"),
    "wiring": ("a4", "a3"),
    "plan": ("a4", "a3"),
    "fuse_map": ("a4", "a5"),
    "labels": tuple(f"{code}{style}" for code in SHEETS for style in ("", FLAG)),
}
"""Forms of each kind of paper, the usual one first; other kinds have one form and no choice."""
LETTER_COUNTRIES = frozenset({"US", "CA", "MX", "CL", "CO", "CR", "PH", "PR", "VE"})
"""Where blank label sheets are sold in Letter (common practice)."""


class UnknownForm(ValueError):
    """A form that a kind of paper does not have, with a sentence that says which there are."""


@dataclass(frozen=True, slots=True)
class Labels:
    """A label form taken apart."""

    code: str
    sheet: LabelSheet
    flag: bool
    first: int
    """First label that is free, from 1."""


def forms_for(kind: str, country: str = "") -> tuple[tuple[str, str], ...]:
    """Codes and words of a kind's forms, the usual one of the country first; nothing where there is no choice."""
    codes = list(OF_KIND.get(kind, ()))
    if kind == "labels" and country.upper() in LETTER_COUNTRIES:
        codes.sort(key=lambda code: not code.startswith("letter"))
    return tuple((code, form_words(code)) for code in codes)


def clean(kind: str, form: str, first: int = 1) -> str:
    """The form as it is kept with a paper; the kind's usual one is kept as nothing.

    Raises
    ------
    UnknownForm
        If the kind has no such form, or the sheet no such label.
    """
    allowed = OF_KIND.get(kind, ())
    code, _plus, start = form.partition("+")
    if code and code not in allowed:
        known = ", ".join(str(form_words(each)) for each in allowed) or _("one form")
        raise UnknownForm(
            _("There is no form “%(form)s” for this paper; there is: %(known)s.") % {"form": form[:30], "known": known}
        )
    if kind != "labels":
        return "" if not allowed or code == allowed[0] else code
    code = code or allowed[0]
    count = labels_of(code).sheet.count
    number = _whole(start) if start else first
    if number is None or not 1 <= number <= count:
        raise UnknownForm(
            _("The first free label is %(number)s; this sheet has labels 1 to %(count)d.")
            % {"number": start[:12] or number, "count": count}
        )
    kept = code if number == 1 else f"{code}+{number}"
    return "" if kept == allowed[0] else kept


def _whole(text: str) -> int | None:
    """A short whole number, or ``None``: a form comes from a request, and may hold anything."""
    return int(text) if text.isascii() and text.isdecimal() and len(text) <= MOST_DIGITS else None


def labels_of(form: str) -> Labels:
    """A label form taken apart; an empty one is the usual sheet from its first label."""
    code, _plus, start = (form or OF_KIND["labels"][0]).partition("+")
    whole = f"{code}+{start}" if start else code
    return Labels(whole, SHEETS[code.removesuffix(FLAG)], code.endswith(FLAG), int(start or 1))


def page_of(kind: str, form: str) -> str:
    """Code of the page a paper is made for: ``a3``, ``a4`` or ``a5``."""
    return form or OF_KIND[kind][0]


def form_words(form: str) -> str:
    """A form in words: its page, or labels by their measures."""
    if not form:
        return ""
    if form in PAGES:
        return str(PAGES[form])
    labels = labels_of(form)
    sheet = labels.sheet
    words = _("%(page)s, %(columns)d × %(rows)d of %(width)g × %(height)g mm") % {
        "page": sheet.page,
        "columns": sheet.columns,
        "rows": sheet.rows,
        "width": sheet.width_mm,
        "height": sheet.height_mm,
    }
    if labels.flag:
        words = _("%s, flags") % words
    return words if labels.first == 1 else _("%(words)s, from no. %(first)d") % {"words": words, "first": labels.first}
