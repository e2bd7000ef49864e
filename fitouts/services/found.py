"""A vehicle as it came: parts that somebody else put in, what is wrong with them, and what was done about it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Q
from django.utils import timezone
from django.utils.translation import gettext as _

from fitouts.models import Defect, Fitout, FoundPart, InstalledComponent, InstalledSystem, Stage, User
from fitouts.services import towing
from fitouts.services.assemblies import is_locked
from fitouts.services.keeping import keep, signed

CLOSED = (Stage.DELIVERED, Stage.CLOSED, Stage.CANCELLED, Stage.LOST)
"""Where nothing more is written down about how a vehicle came."""
MOST_PARTS = 100
MOST_DEFECTS = 100


class FoundRefused(Exception):
    """It cannot be written down now; the text says why."""


@transaction.atomic
def add_part(fitout: Fitout, *, by: User | None, **values: Any) -> FoundPart:
    """Write down a part that is in the vehicle. Raises ``ValidationError`` naming each wrong field."""
    must_be_open(fitout)
    if fitout.found_parts.count() >= MOST_PARTS:
        raise FoundRefused(_("At most %(most)s parts are written down for one job.") % {"most": MOST_PARTS})
    return _keep_part(FoundPart(fitout=fitout, vehicle=fitout.vehicle), values, by)


@transaction.atomic
def change_part(part: FoundPart, *, by: User | None, **values: Any) -> FoundPart:
    """Change what is said of a part, or what becomes of it; what an accepted design counts on stays."""
    must_be_open(part.fitout)
    _must_not_be_counted_on(part, values)
    return _keep_part(part, values, by)


@transaction.atomic
def remove_part(part: FoundPart, *, by: User | None) -> None:
    """Take a part off the list; its defects stay."""
    must_be_open(part.fitout)
    _must_not_be_counted_on(part, None)
    signed(part, by).delete()


@transaction.atomic
def take_over(fitout: Fitout, *, by: User | None) -> int:
    """Write down every component of our own systems in the vehicle, once. Returns how many are new."""
    must_be_open(fitout)
    known = set(fitout.found_parts.exclude(installed=None).values_list("installed", flat=True))
    found = [part for part in installed_before(fitout) if part.pk not in known]
    for part in found:
        keep(
            FoundPart(fitout=fitout, vehicle=part.system.vehicle, installed=part, component=part.component),
            {"name": part.name, "role": part.role, "serial": part.serial, "label_words": part.part_number},
            by,
        )
    return len(found)


def installed_before(fitout: Fitout) -> list[InstalledComponent]:
    """Components of our own systems that are in the vehicle, or on its trailer, when a job begins."""
    owners = Q(system__vehicle=fitout.vehicle_id)
    if fitout.trailer_id:
        owners |= Q(system__vehicle=fitout.trailer_id)
    rows = InstalledComponent.objects.filter(owners, removed_on=None, system__removed_on=None)
    return list(rows.exclude(system__fitout=fitout).select_related("system__vehicle", "component"))


@transaction.atomic
def add_defect(fitout: Fitout, *, by: User | None, **values: Any) -> Defect:
    """Write down what is wrong. A danger says what to do about it, or why it is left."""
    must_be_open(fitout)
    if fitout.defects.count() >= MOST_DEFECTS:
        raise FoundRefused(_("At most %(most)s defects are written down for one job.") % {"most": MOST_DEFECTS})
    return _keep_defect(Defect(fitout=fitout, found_by=by), values, by)


@transaction.atomic
def change_defect(defect: Defect, *, by: User | None, **values: Any) -> Defect:
    must_be_open(defect.fitout)
    _must_stay_a_danger(defect, values.get("level", defect.level))
    return _keep_defect(defect, values, by)


@transaction.atomic
def remove_defect(defect: Defect, *, by: User | None) -> None:
    """Take a defect off the list: it was none. Its history stays."""
    must_be_open(defect.fitout)
    _must_stay_a_danger(defect, None)
    signed(defect, by).delete()


@transaction.atomic
def mend(defect: Defect, words: str, *, by: User | None) -> Defect:
    """Say that a defect is mended, and how."""
    must_be_open(defect.fitout)
    words = words.strip()
    if not words:
        raise ValidationError({"mended_words": _("Say what was done.")})
    values = {"mended_at": timezone.now(), "mended_by": by, "mended_words": words, "left_because": ""}
    return keep(defect, values, by)


@transaction.atomic
def leave(defect: Defect, because: str, *, by: User | None) -> Defect:
    """Say why a defect stays as it is; a danger that is left is on every paper."""
    must_be_open(defect.fitout)
    because = because.strip()
    if not because:
        raise ValidationError({"left_because": _("Say why it is left as it is.")})
    return keep(defect, {**_NOT_MENDED, "left_because": because}, by)


@transaction.atomic
def open_again(defect: Defect, *, by: User | None) -> Defect:
    """Take back that a defect was mended or left."""
    must_be_open(defect.fitout)
    return keep(defect, {**_NOT_MENDED, "left_because": ""}, by)


_NOT_MENDED: Mapping[str, Any] = {"mended_at": None, "mended_by": None, "mended_words": ""}


@transaction.atomic
def end_earlier(fitout: Fitout, system: InstalledSystem, day: date, *, by: User | None) -> None:
    """Record where parts of earlier systems went: replaced and taken out are gone, kept ones belong to this system.

    An earlier system that has nothing left ends the same day.
    """
    moved = fitout.found_parts.exclude(installed=None).exclude(plan=FoundPart.Plan.UNDECIDED)
    keys = list(moved.values_list("installed", flat=True))
    InstalledComponent.objects.filter(pk__in=keys, removed_on=None).update(removed_on=day)
    left = InstalledComponent.objects.filter(removed_on=None)
    touched = InstalledSystem.objects.filter(components__in=keys, removed_on=None).exclude(pk=system.pk).distinct()
    for earlier in touched:
        if not left.filter(system=earlier).exists():
            keep(earlier, {"removed_on": day}, by)


def is_settled(defect: Defect) -> bool:
    """Mended, or left with a reason."""
    return defect.mended_at is not None or bool(defect.left_because)


def undecided(parts: Iterable[FoundPart]) -> list[FoundPart]:
    return [part for part in parts if part.plan == FoundPart.Plan.UNDECIDED]


def must_be_open(fitout: Fitout) -> None:
    """Refuse what would change how a vehicle came, once the job is over."""
    if fitout.stage in CLOSED:
        raise FoundRefused(
            _("Job %(number)s is %(stage)s; what was found stays as it was written down.")
            % {"number": fitout.number, "stage": fitout.get_stage_display().lower()}
        )


def _as_kept(model: Any, row: Any) -> Any:
    """How it stands in the database: a form has written to the row already."""
    return model.objects.select_related("fitout").get(pk=row.pk)


def _must_not_be_counted_on(part: FoundPart, values: Mapping[str, Any] | None) -> None:
    """A part that an accepted design keeps is laid out to be checked; leaving it out now would lose it on the way."""
    kept = _as_kept(FoundPart, part)
    if kept.plan != FoundPart.Plan.KEEP or kept.component_id is None or kept.fitout.kind == Fitout.Kind.FAULT:
        return
    names = ("plan", "component", "role", "quantity")
    moved = values is None or any(values.get(name, getattr(kept, name)) != getattr(kept, name) for name in names)
    if moved and is_locked(kept.fitout):
        raise FoundRefused(
            _("The quote of this job is accepted, and its design keeps “%(name)s”; that stays. Note what is wrong "
              "with it as a defect.") % {"name": kept.name}
        )  # fmt: skip


def _must_stay_a_danger(defect: Defect, level: str | None) -> None:
    """A danger that stands on an accepted quote is mended or left with a reason; it does not just go away."""
    kept = _as_kept(Defect, defect)
    if kept.level == Defect.Level.DANGER and level != Defect.Level.DANGER and is_locked(kept.fitout):
        raise FoundRefused(
            _("The quote of this job is accepted; this stays a danger. Say that it is mended, or why it is left.")
        )


def _keep_part(part: FoundPart, values: Mapping[str, Any], by: User | None) -> FoundPart:
    position = values.get("position", part.position)
    if position is not None:
        _must_have(part.fitout, position)
        part.vehicle = position.vehicle
    if values.get("plan", part.plan) == FoundPart.Plan.KEEP and not values.get("quantity", part.quantity):
        raise ValidationError({"quantity": _("Say how many are kept: at least 1.")})
    return keep(part, values, by)


def _keep_defect(defect: Defect, values: Mapping[str, Any], by: User | None) -> Defect:
    position = values.get("position", defect.position)
    if position is not None:
        _must_have(defect.fitout, position)
    part, photo = values.get("part", defect.part), values.get("photo", defect.photo)
    if part is not None and part.fitout_id != defect.fitout_id:
        raise ValidationError({"part": _("“%(name)s” was found for another job.") % {"name": part.name}})
    if photo is not None and photo.vehicle_id not in (defect.fitout.vehicle_id, defect.fitout.trailer_id):
        raise ValidationError({"photo": _("This photo is of another vehicle.")})
    level = values.get("level", defect.level)
    remedy, left = values.get("remedy", defect.remedy), values.get("left_because", defect.left_because)
    if level == Defect.Level.DANGER and not remedy.strip() and not left.strip():
        raise ValidationError({"remedy": _("A danger says what to do about it. Write the remedy down.")})
    return keep(defect, values, by)


def _must_have(fitout: Fitout, position: Any) -> None:
    if not towing.has_position(fitout, position):
        raise ValidationError({"position": _("“%(name)s” is a position of another vehicle.") % {"name": position.name}})
