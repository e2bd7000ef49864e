"""Steps of mending what was found: between isolation and power, each remedy a step of its own."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import datetime

from django.utils.translation import gettext as _

from fitouts.models import BuildTick, Defect, Fitout, FittedPart, FoundPart, User
from fitouts.services import found
from quoting.models import Line, Revision
from quoting.services import kept
from quoting.services.build_step import BuildStep, arrival
from quoting.services.hand_prices import RULE_PART
from quoting.sizing.appraisal import Appraisal, Chosen

NO_SERIAL = ("conductors", "distribution", "sundries", "labour")
"""Groups of a bill whose parts carry no serial number worth keeping."""


def of_fault(fitout: Fitout, more: Iterable[BuildStep]) -> Iterator[BuildStep]:
    """The whole order of a job that is mended and not designed."""
    yield from arrival(fitout)
    yield BuildStep(
        "disconnect",
        _(
            "Isolated: all sources off, starter battery negative off first, panels covered, shore lead out; "
            "proved dead. "
            "Airbags, fuel and high-voltage kept clear"
        ),
        hold_point=True,
    )
    yield from more
    yield from of_findings(fitout)
    yield BuildStep(
        "before_power",
        _(
            "Before any fuse goes in: a fuse at the source of every cable worked on, polarity, insulation, every joint "
            "that was opened seen; lugs torqued and marked"
        ),
        hold_point=True,
    )
    yield BuildStep("power_up", _("Fuses in, source ends first; isolator closed; starter battery negative last"))
    yield BuildStep("tried", _("What the owner complained of is tried out, and the codes are read again"))
    yield BuildStep("labels", _("What was changed is labelled, and the owner's cautions are in the vehicle"))


def of_findings(fitout: Fitout) -> Iterator[BuildStep]:
    """What is taken out or replaced, then each defect that is to be mended."""
    for part in fitout.found_parts.filter(plan__in=[FoundPart.Plan.REMOVE, FoundPart.Plan.REPLACE]):
        words = _("Take out %(quantity)d × %(name)s; its cables insulated or removed, none left live")
        yield BuildStep(f"out:{part.pk}", words % {"quantity": part.quantity, "name": part.name})
    for defect in fitout.defects.exclude(remedy=""):
        if not defect.left_because:
            yield BuildStep(f"mend:{defect.pk}", _mending(defect), hold_point=defect.level == Defect.Level.DANGER)


LICENSED_ROLES = ("inlet", "residual")
"""Kept parts on mains voltage: their conductors are the licensed person's."""


def checking(chosen: Chosen) -> BuildStep:
    """A part that stays is looked over like a new one is fitted."""
    words = _("Check %(quantity)d × %(name)s, kept: fixing, venting, terminals, that it does what its label says")
    if chosen.role not in LICENSED_ROLES:
        words += _(". Take off its old cables and fuses: no circuit of this design counts on them")
    return BuildStep(f"kept:{chosen.role}:{chosen.part}", words % {"quantity": chosen.quantity, "name": chosen.name})


def _mending(defect: Defect) -> str:
    return _("%(words)s: %(remedy)s") % {"words": defect.words.rstrip(". "), "remedy": defect.remedy}


def ticked(tick: BuildTick, *, by: User | None, at: datetime | None) -> None:
    """A step that mends a defect and is done says so of the defect; ``at`` is ``None`` when it is opened again."""
    what, _colon, key = tick.key.partition(":")
    if what != "mend" or not key.isdigit():
        return
    defect = Defect.objects.filter(pk=int(key), fitout=tick.fitout_id).first()
    if defect is None:
        return
    if at is None:
        found.open_again(defect, by=by)
    else:
        found.mend(defect, tick.note or defect.remedy, by=by)


def parts_by_hand(revision: Revision) -> Iterator[dict[str, object]]:
    """Parts chosen by hand whose serial numbers are written down, one for each piece."""
    lines = Line.objects.filter(offer__revision=revision, rule=RULE_PART, component__isnull=False)
    for line in lines.exclude(group__in=NO_SERIAL).select_related("component"):
        component = line.component
        assert component is not None
        pieces = int(line.quantity)
        for number in range(1, pieces + 1):
            yield {
                "key": f"hand:{line.pk}:{number}",
                "component_id": component.pk,
                "role": next(iter(kept.roles_of(component)), "other"),
                "name": component.name if pieces == 1 else f"{component.name[:110]}, {number}",
                "part_number": component.part_number,
                "settings_asked": {},
            }


def lay_out_parts(fitout: Fitout, revision: Revision, plan: Appraisal, place: int) -> None:
    """Put the parts chosen by hand behind those of the design, and serials on those that are kept."""
    for number, values in enumerate(parts_by_hand(revision), start=place):
        key = values.pop("key")
        FittedPart.objects.get_or_create(fitout=fitout, key=key, defaults={"place": number, **values})
    _write_down_serials(fitout, plan)


def _write_down_serials(fitout: Fitout, plan: Appraisal) -> None:
    """Kept parts have the serial numbers that were read off them."""
    found_parts = kept.kept_parts(fitout)
    for chosen in (c for c in plan.chosen if c.kept):
        serials = [p.serial for p in found_parts if str(p.component_id) == chosen.part and p.serial]
        rows = FittedPart.objects.filter(fitout=fitout, key__startswith=f"{chosen.role}:{chosen.part}:", serial="")
        for row, serial in zip(rows.order_by("place"), serials, strict=False):
            row.serial = serial
            row.save(update_fields=["serial"])


def kept_besides(fitout: Fitout) -> list[FoundPart]:
    """Kept parts that were not laid out to be fitted or checked, because no accepted design counts on them."""
    rows = FittedPart.objects.filter(fitout=fitout).exclude(key__startswith="hand:")
    laid_out = set(rows.values_list("role", "component_id"))
    return [part for part in kept.kept_parts(fitout) if (kept.role_of(part), part.component_id) not in laid_out]
