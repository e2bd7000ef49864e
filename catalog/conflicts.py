"""Two people at one form: whoever saves later is told what the other changed, before anything is overwritten."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from catalog.changes import changes
from catalog.rules import MONEY_FIELDS, can_see_money

SEEN = "seen"
"""Name of the entry that carries which state of the record a form was opened on."""
MOST_DIGITS = 18


def stamp(record: Any) -> str:
    """Which state of a record this is: the number of its last history row."""
    last = record.history.order_by("-history_id").values_list("history_id", flat=True).first()
    return "" if last is None else str(last)


def watch(form: Any, record: Any, entries: Mapping[str, Any], *, reader: Any) -> bool:
    """Let ``form`` carry the state of ``record`` it was opened on; True when somebody saved the record since.

    Then the form says who changed what, keeps what was typed, and carries the new state: saving again goes through.
    """
    now, seen = stamp(record), str(entries.get(SEEN, ""))
    form.seen = now
    if not form.is_bound or not _is_number(seen) or seen == now:
        return False
    form.add_error(None, _words(record, int(seen), reader))
    return True


def _is_number(text: str) -> bool:
    return text.isascii() and text.isdigit() and len(text) <= MOST_DIGITS


def _words(record: Any, seen: int, reader: Any) -> str:
    hidden: frozenset[str] = frozenset() if can_see_money(reader) else MONEY_FIELDS
    rows = record.history.filter(history_id__gte=seen)
    told = [change for change in changes(("", rows), hidden=hidden) if change.kind != "added"]
    if not told:
        return _("This record was saved elsewhere while it was open here. Save again to put your entries in its place.")
    fields = [f"{f.label}: {f.before} → {f.after}" for change in reversed(told) for f in change.fields]
    last = told[0]
    words = _("%(who)s changed this at %(when)s, while it was open here") % {
        "who": last.by,
        "when": date_format(timezone.localtime(last.at), "H:i"),
    }
    what = f" ({'; '.join(fields[:6])})" if fields else ""
    return _("%(who)s%(what)s. Nothing of yours is saved yet. Save again to put your entries in its place.") % {
        "who": words,
        "what": what,
    }
