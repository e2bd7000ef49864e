"""Building, testing and proving what was accepted: ticks, serials, settings, readings."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from fitouts.models import (
    BuildTick,
    Commissioning,
    Fitout,
    FittedPart,
    Instrument,
    Reading,
    Stage,
    User,
)
from fitouts.services import fitouts as jobs
from quoting import words
from quoting.models import Revision
from quoting.services import assembled, build_steps, mend_steps
from quoting.services.found_facts import open_dangers
from quoting.services.plans import plan_of
from quoting.services.quotes import accepted_revision
from quoting.sizing.appraisal import Appraisal, Expectation
from quoting.sizing.one_piece import also, pieces

OPEN = (Stage.IN_BUILD, Stage.TESTED)
"""Where readings and conditions may still be written down."""


class NotReady(Exception):
    """A step of building or proof that cannot be taken now, in a sentence the person can act on."""


def accepted(fitout: Fitout) -> Revision:
    revision = accepted_revision(fitout)
    if revision is None:
        raise NotReady(_("No revision of the quote is accepted yet."))
    return revision


@transaction.atomic
def start_build(fitout: Fitout, *, by: User) -> None:
    """Move an accepted job into the bay and lay out its ticks and parts from the accepted design and assemblies."""
    revision = accepted(fitout)
    jobs.move(fitout, Stage.IN_BUILD, by=by)
    appraisal = plan_of(revision)
    uses = assembled.uses_of(revision)
    for place, tick in enumerate(build_steps.steps(fitout, appraisal, assembled.steps(uses))):
        BuildTick.objects.get_or_create(
            fitout=fitout,
            key=tick.key,
            defaults={
                "place": place,
                "words": tick.words[:300],
                "hold_point": tick.hold_point,
                "licensed": tick.licensed,
            },
        )
    for place, part in enumerate([*_parts_to_fit(appraisal), *assembled.parts(uses)]):
        FittedPart.objects.get_or_create(fitout=fitout, key=part.pop("key"), defaults={"place": place, **part})
    mend_steps.lay_out_parts(fitout, revision, appraisal, FittedPart.objects.filter(fitout=fitout).count())
    Commissioning.objects.get_or_create(fitout=fitout)


def _parts_to_fit(appraisal: Appraisal) -> Iterable[dict[str, Any]]:
    for chosen in pieces(appraisal.chosen):
        settings = [one.setting for one in (chosen, *also(appraisal.chosen, chosen))]
        for number in range(1, chosen.quantity + 1):
            yield {
                "key": f"{chosen.role}:{chosen.part}:{number}",
                "component_id": int(chosen.part) if chosen.part.isdigit() else None,
                "role": chosen.role,
                "name": chosen.name if chosen.quantity == 1 else f"{chosen.name[:110]}, {number}",
                "part_number": chosen.part_number,
                "settings_asked": {name: value for one in settings for name, value in one.items()},
            }


@transaction.atomic
def tick(row: BuildTick, *, by: User, at: Any, note: str = "") -> None:
    """Mark one step as done. Steps come after the hold points before them; licensed steps want a licence."""
    _in_build(row.fitout)
    open_hold = (
        BuildTick.objects.filter(fitout=row.fitout, hold_point=True, done_at__isnull=True, place__lt=row.place)
        .order_by("place")
        .first()
    )
    if open_hold is not None:
        raise NotReady(_("Hold point first: %(words)s") % {"words": open_hold.words})
    if row.licensed and not by.licence_no:
        raise NotReady(_("This step is for a licensed person; your account has no licence number."))
    row.done_at, row.done_by, row.note = at, by, note
    row.save(update_fields=["done_at", "done_by", "note"])
    mend_steps.ticked(row, by=by, at=at)


@transaction.atomic
def untick(row: BuildTick) -> None:
    """Open a step again."""
    _in_build(row.fitout)
    mend_steps.ticked(row, by=row.done_by, at=None)
    row.done_at = row.done_by = None
    row.save(update_fields=["done_at", "done_by"])


@transaction.atomic
def record_part(part: FittedPart, *, serial: str, batch: str, entered: Mapping[str, float | str], by: User) -> None:
    """Write down serial, batch and the settings that were entered."""
    _in_build(part.fitout)
    unknown = set(entered) - set(part.settings_asked)
    if unknown:
        raise NotReady(_("“%(name)s” is not a setting of this part.") % {"name": sorted(unknown)[0]})
    part.serial, part.batch = serial.strip(), batch.strip()
    part.settings_entered = {k: v for k, v in entered.items() if v != ""}
    part._history_user = by  # type: ignore[attr-defined]
    part.save()


@dataclass(frozen=True, slots=True)
class Row:
    """One expected reading with the last one taken."""

    expectation: Expectation
    words: str
    reading: Reading | None

    @property
    def is_open(self) -> bool:
        return self.reading is None

    @property
    def passed(self) -> bool:
        return self.reading is not None and self.reading.passed


def rows(fitout: Fitout, appraisal: Appraisal | None = None) -> list[Row]:
    """Every reading the accepted design expects, in order, with what was last measured."""
    if appraisal is None:
        appraisal = plan_of(accepted(fitout))
    last: dict[str, Reading] = {}
    for reading in Reading.objects.filter(fitout=fitout).select_related("instrument", "by"):
        last[reading.key] = reading
    return [Row(e, words.reading_words(e), last.get(e.key)) for e in appraisal.expectations]


@transaction.atomic
def take_reading(
    fitout: Fitout,
    key: str,
    *,
    value: float | None = None,
    answer: bool | None = None,
    instrument: Instrument | None = None,
    licence_no: str = "",
    note: str = "",
    by: User,
) -> Reading:
    """Record one reading against what was computed for it. Earlier readings of the same key stay."""
    _must_be_at(fitout, OPEN, _("Readings are taken while the job is in build or tested."))
    expected = next((r.expectation for r in rows(fitout) if r.expectation.key == key), None)
    if expected is None:
        raise NotReady(_("The accepted design expects no reading “%(key)s”.") % {"key": key})
    if expected.licensed and not licence_no.strip():
        raise NotReady(_("Enter the licence number of the person who measured it."))
    if expected.answer == "yes":
        if answer is None:
            raise NotReady(_("Answer yes or no."))
        passed, value = answer, None
    else:
        if value is None:
            raise NotReady(_("Enter the measured value [%(unit)s].") % {"unit": expected.unit or "–"})
        passed, answer = within(value, expected.minimum, expected.maximum), None
    return Reading.objects.create(
        fitout=fitout,
        key=key,
        value=value,
        answer=answer,
        minimum=expected.minimum,
        maximum=expected.maximum,
        unit=expected.unit,
        safety=expected.safety,
        licensed=expected.licensed,
        passed=passed,
        licence_no=licence_no.strip(),
        instrument=instrument,
        note=note,
        by=by,
    )


def within(value: float, minimum: float | None, maximum: float | None) -> bool:
    """Whether a reading is inside its limits; both limits belong to the range."""
    return (minimum is None or value >= minimum) and (maximum is None or value <= maximum)


def open_points(fitout: Fitout, *, for_delivery: bool, taken: list[Row] | None = None) -> list[str]:
    """What still stands in the way of Tested, or of Delivered, each a sentence; ``taken``: rows already read."""
    taken = rows(fitout) if taken is None else taken
    points = [
        _("Build step open: %(words)s") % {"words": t.words}
        for t in BuildTick.objects.filter(fitout=fitout, done_at__isnull=True)
        if for_delivery or not t.licensed
    ]
    for part in FittedPart.objects.filter(fitout=fitout):
        if not part.serial:
            points.append(_("Serial number missing: %(name)s") % {"name": part.name})
        missing = sorted(set(part.settings_asked) - set(part.settings_entered))
        if missing:
            points.append(
                _("Settings not entered: %(name)s, %(count)d of them") % {"name": part.name, "count": len(missing)}
            )
    for row in taken:
        expected = row.expectation
        if expected.licensed and not for_delivery:
            continue
        if row.is_open and (expected.safety or not for_delivery):
            points.append(_("Reading missing: %(words)s") % {"words": row.words})
        elif row.reading is not None and not row.passed and expected.safety:
            points.append(_("Safety reading fails: %(words)s") % {"words": row.words})
    if for_delivery:
        points += open_dangers(fitout)
        record = Commissioning.objects.filter(fitout=fitout).first()
        needs_certificate = any(r.expectation.licensed for r in taken)
        if needs_certificate and (record is None or not record.certificate_no):
            points.append(_("The certificate number of the 230 V work is missing."))
    return points


@transaction.atomic
def mark_tested(fitout: Fitout, *, by: User) -> None:
    """Move a job to Tested. Refused while a step, a serial or a reading of the extra-low-voltage part is open."""
    _in_build(fitout)
    points = open_points(fitout, for_delivery=False)
    if points:
        raise NotReady(" ".join(points))
    jobs.move(fitout, Stage.TESTED, by=by)


@transaction.atomic
def set_commissioning(
    fitout: Fitout, values: Mapping[str, Any], instruments: Iterable[Instrument], *, by: User
) -> None:
    """Write down test conditions, instruments, odometer, certificate."""
    _must_be_at(fitout, OPEN, _("Conditions are written down while the job is in build or tested."))
    record, _made = Commissioning.objects.get_or_create(fitout=fitout)
    for field, value in values.items():
        setattr(record, field, value)
    record._history_user = by  # type: ignore[attr-defined]
    record.save()
    record.instruments.set(instruments)


def _in_build(fitout: Fitout) -> None:
    _must_be_at(fitout, (Stage.IN_BUILD,), _("Build steps and parts are recorded while the job is in build."))


def _must_be_at(fitout: Fitout, stages: Collection[str], words: str) -> None:
    """Lock the job and see where it is now, so that nothing slips in while a delivery is checked and frozen."""
    if Fitout.objects.select_for_update().get(pk=fitout.pk).stage not in stages:
        raise NotReady(words)
