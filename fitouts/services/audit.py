"""The power audit, line by line. Every line is checked before it is kept; nothing is half saved.

What a line may hold is fixed where it is worked out, which is above this app: the caller hands in the check
(``quoting.services.briefs.check_line``), and it is not optional.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from django.db import transaction
from django.db.models import Max
from django.utils.translation import gettext as _

from fitouts.models import Fitout, Requirement, User
from fitouts.services import towing
from fitouts.services.fitouts import LINE_FIELDS
from fitouts.services.keeping import as_typed

LineCheck = Callable[[Requirement], None]
EDITABLE = frozenset(LINE_FIELDS) - {"place"} | {"position", "appliance"}
MOST_LINES = 200


class LineRefused(Exception):
    """The line cannot be kept; the text says why."""


@transaction.atomic
def add_line(fitout: Fitout, values: dict[str, Any], *, by: User | None, check: LineCheck) -> Requirement:
    """Add a line at the end of the audit."""
    if fitout.requirements.count() >= MOST_LINES:
        raise LineRefused(_("An audit has at most %(most)s lines.") % {"most": MOST_LINES})
    last = fitout.requirements.aggregate(last=Max("place"))["last"]
    line = Requirement(fitout=fitout, place=0 if last is None else last + 1)
    return _write(line, values, by, check)


@transaction.atomic
def change_line(line: Requirement, values: dict[str, Any], *, by: User | None, check: LineCheck) -> Requirement:
    """Change a line; on refusal the saved one stays as it was."""
    return _write(line, values, by, check)


@transaction.atomic
def remove_line(line: Requirement, *, by: User | None) -> None:
    """Take a line out; its history stays."""
    line._history_user = by  # type: ignore[attr-defined]
    line.delete()


@transaction.atomic
def order_lines(fitout: Fitout, keys: Sequence[int], *, by: User | None) -> None:
    """Put the lines into the given order of keys; all of them, each once."""
    lines = {line.pk: line for line in fitout.requirements.all()}
    reorder(lines, keys, by)


@transaction.atomic
def copy_lines(fitout: Fitout, source: Fitout, *, by: User | None) -> int:
    """Add the lines of another job behind this one's. Positions are matched by name. Returns how many."""
    if source.pk == fitout.pk:
        raise LineRefused(_("That is this job itself."))
    lines = list(source.requirements.select_related("position"))
    if not lines:
        raise LineRefused(_("Job %(number)s has no lines to copy.") % {"number": source.number})
    have = fitout.requirements.count()
    if have + len(lines) > MOST_LINES:
        raise LineRefused(_("An audit has at most %(most)s lines.") % {"most": MOST_LINES})
    positions = towing.by_name(fitout)
    last = fitout.requirements.aggregate(last=Max("place"))["last"]
    first = 0 if last is None else last + 1
    for place, line in enumerate(lines, start=first):
        own = {f: getattr(line, f) for f in LINE_FIELDS if f != "place"}
        position = positions.get(towing.named(source, line.position)) if line.position else None
        copy = Requirement(fitout=fitout, place=place, position=position, **own)
        copy._history_user = by  # type: ignore[attr-defined]
        copy.save()
    return len(lines)


def with_values(line: Requirement, values: dict[str, Any]) -> Requirement:
    """Put values into a line without saving it."""
    unknown = set(values) - EDITABLE
    if unknown:
        raise TypeError(f"a line has no field {sorted(unknown)[0]!r}")
    for field, value in values.items():
        setattr(line, field, as_typed(value))
    return line


def reorder(rows: dict[int, Any], keys: Sequence[int], by: User | None) -> None:
    """Number rows by the order of their keys. Raises LineRefused unless every row is named once."""
    if sorted(keys) != sorted(rows):
        raise LineRefused(_("The list has changed meanwhile. Load the page again."))
    for place, key in enumerate(keys):
        row = rows[key]
        if row.place != place:
            row.place = place
            row._history_user = by
            row.save(update_fields=["place"])


def _write(line: Requirement, values: dict[str, Any], by: User | None, check: LineCheck) -> Requirement:
    with_values(line, values)
    if line.position and not towing.has_position(line.fitout, line.position):
        raise LineRefused(_("“%(name)s” is a position of another vehicle.") % {"name": line.position.name})
    check(line)
    line._history_user = by  # type: ignore[attr-defined]
    line.save()
    return line
