"""Assemblies: saved as the next version, never edited; retired, restored, copied."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.core.exceptions import PermissionDenied, ValidationError
from django.db import transaction
from django.utils.translation import gettext as _

from catalog.assemblies import formula_of
from catalog.models import Assembly, AssemblyLine, AssemblyVersion, Component, LabourOperation
from catalog.rules import can_edit_catalogue

MOST_LINES = 60
MOST_EACH = 10000
DECIMALS = 3


@dataclass(frozen=True, slots=True)
class LineValues:
    """A line before it is saved: one component or one labour operation, and its formula."""

    component: Component | None = None
    labour: LabourOperation | None = None
    fixed: float = 0.0
    each: float = 1.0
    per: str = AssemblyLine.Per.ASSEMBLY
    round_up: bool = True


class LinesRefused(ValidationError):
    """Lines that cannot be kept; ``of_line`` has a sentence for the number of each wrong one."""

    def __init__(self, of_line: Mapping[int, str]) -> None:
        self.of_line = dict(of_line)
        super().__init__([_("Line %(n)d: %(words)s") % {"n": n + 1, "words": w} for n, w in of_line.items()])


@transaction.atomic
def save_assembly(
    values: Mapping[str, str],
    lines: Sequence[LineValues],
    *,
    by: Any,
    assembly: Assembly | None = None,
    why: str = "",
    seen: int | None = None,
) -> AssemblyVersion:
    """Add an assembly, or give ``assembly`` its next version; ``values`` are name, what_for and notes.

    The same lines again make no new version. ``seen`` is the number of the version that the person had before them:
    a newer one is never passed over. Raises LinesRefused for the lines, ValidationError for the rest,
    PermissionDenied.
    """
    if not can_edit_catalogue(by):
        raise PermissionDenied
    row = Assembly() if assembly is None else Assembly.objects.select_for_update().get(pk=assembly.pk)
    newest = None if assembly is None else row.versions.prefetch_related("lines").first()
    if newest is not None and seen is not None and newest.number != seen:
        words = _("Version %(number)d was made meanwhile. Look at it first; what you typed is kept here.")
        raise ValidationError(words % {"number": newest.number})
    check_lines(lines)
    if len(why) > 200:
        raise ValidationError({"why": _("It has %(n)d characters; at most 200.") % {"n": len(why)}})
    for name in ("name", "what_for", "notes"):
        if name in values:
            setattr(row, name, values[name].strip())
    row.full_clean()
    if assembly is None or any(getattr(row, n) != getattr(assembly, n) for n in ("name", "what_for", "notes")):
        row._history_user = by  # type: ignore[attr-defined]
        row.save()
    if newest is not None and [_same(x) for x in newest.lines.all()] == [_same(x) for x in lines]:
        return newest
    return _add_version(row, 1 if newest is None else newest.number + 1, lines, why, by)


def _add_version(row: Assembly, number: int, lines: Sequence[LineValues], why: str, by: Any) -> AssemblyVersion:
    version = AssemblyVersion.objects.create(
        assembly=row, number=number, why=why.strip(), made_by_id=getattr(by, "pk", None)
    )
    AssemblyLine.objects.bulk_create(
        AssemblyLine(
            version=version,
            place=place,
            component=x.component,
            labour=x.labour,
            fixed=x.fixed,
            each=x.each,
            per=x.per,
            round_up=x.round_up,
        )
        for place, x in enumerate(lines)
    )
    return version


def check_lines(lines: Sequence[LineValues]) -> None:
    """Refuse lines that cannot be, each in a sentence with field, value and range."""
    if not lines:
        raise ValidationError(_("An assembly has at least one line. Add a component or labour."))
    if len(lines) > MOST_LINES:
        raise ValidationError(
            _("It has %(n)d lines; an assembly has at most %(most)d.") % {"n": len(lines), "most": MOST_LINES}
        )
    wrong = {number: words for number, line in enumerate(lines) if (words := _fault(line))}
    if wrong:
        raise LinesRefused(wrong)


def _fault(line: LineValues) -> str:
    if (line.component is None) == (line.labour is None):
        return _("Choose one component or one labour operation.")
    what = line.component or line.labour
    if what is not None and what.is_retired:
        return _("“%(name)s” is retired. Take it back into use, or choose another.") % {"name": what}
    for label, value in ((_("Always"), line.fixed), (_("For each"), line.each)):
        if not 0 <= value <= MOST_EACH:
            return _("%(label)s is %(value)g; it must be at least 0 and at most %(most)d.") % {
                "label": label,
                "value": value,
                "most": MOST_EACH,
            }
        if round(value, DECIMALS) != value:
            return _("%(label)s is %(value)s; it may have at most three decimals.") % {"label": label, "value": value}
    if not line.fixed and not line.each:
        return _("Always and for each are both 0; one of them must be above 0.")
    if line.per not in AssemblyLine.Per.values:
        return _("“%(per)s” is nothing that is counted.") % {"per": line.per}
    return ""


def _same(line: LineValues | AssemblyLine) -> tuple[Any, ...]:
    of = (
        (line.component_id, line.labour_id)
        if isinstance(line, AssemblyLine)
        else (_key(line.component), _key(line.labour))
    )
    formula = formula_of(line) if isinstance(line, AssemblyLine) else (line.fixed, line.each, line.per, line.round_up)
    return *of, *formula


def _key(row: Any) -> int | None:
    return None if row is None else int(row.pk)


@transaction.atomic
def copy_assembly(assembly: Assembly, *, by: Any) -> Assembly:
    """A new assembly with the lines of the newest version and the next free name.

    Raises LinesRefused when one of its parts is retired by now.
    """
    newest = assembly.versions.first()
    kept = [] if newest is None else newest.lines.select_related("component", "labour")
    lines = [LineValues(x.component, x.labour, x.fixed, x.each, x.per, x.round_up) for x in kept]
    wanted = _("Copy of %(name)s") % {"name": assembly.name[:90]}
    taken = set(Assembly.objects.filter(name__startswith=wanted).values_list("name", flat=True))
    names = (wanted if i == 1 else f"{wanted} {i}" for i in range(1, len(taken) + 2))
    values = {"name": next(n for n in names if n not in taken), "what_for": assembly.what_for, "notes": assembly.notes}
    return save_assembly(values, lines, by=by).assembly


def load_starter(entries: Iterable[Mapping[str, Any]], *, by: Any) -> int:
    """Add assemblies of the library that are not there by name; returns how many.

    One of whose parts the workshop has not, or not any more, is left out.
    """
    names = set(Assembly.objects.values_list("name", flat=True))
    parts = {row.name: row for row in Component.objects.in_use()}
    labour = {row.code: row for row in LabourOperation.objects.in_use()}
    added = 0
    for entry in entries:
        lines = [
            LineValues(
                component=parts.get(line.get("component", "")),
                labour=labour.get(line.get("labour", "")),
                fixed=line["fixed"],
                each=line["each"],
                per=line["per"],
                round_up=line["round_up"],
            )
            for line in entry["lines"]
        ]
        if entry["name"] not in names and all(line.component or line.labour for line in lines):
            save_assembly({"name": entry["name"], "what_for": entry["what_for"]}, lines, by=by)
            added += 1
    return added
