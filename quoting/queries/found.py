"""What the page of a job shows of the vehicle as it came."""

from __future__ import annotations

from dataclasses import dataclass, field

from django.utils.translation import gettext as _

from fitouts.models import Defect, Fitout, FoundPart
from fitouts.services import found, towing
from quoting.services import kept


@dataclass(frozen=True, slots=True)
class PartRow:
    """A part as found, in words."""

    part: FoundPart
    where: str
    counts_as: str
    """What a design counts on it as; empty where it counts on nothing."""


@dataclass(frozen=True, slots=True)
class DefectRow:
    """A defect in words."""

    defect: Defect
    where: str
    is_settled: bool


@dataclass(frozen=True, slots=True)
class FoundPanel:
    """The vehicle as it came."""

    parts: list[PartRow] = field(default_factory=list)
    defects: list[DefectRow] = field(default_factory=list)
    questions: list[str] = field(default_factory=list)
    not_counted_on: list[str] = field(default_factory=list)
    may_take_over: bool = False
    is_shown: bool = False
    is_open: bool = True

    @property
    def dangers(self) -> int:
        return sum(1 for row in self.defects if row.defect.level == Defect.Level.DANGER and not row.is_settled)


def panel(fitout: Fitout) -> FoundPanel:
    """Parts and defects of a job, in a fixed number of queries; shown for what is not new, or once there is one."""
    parts = list(fitout.found_parts.select_related("position", "component"))
    defects = list(fitout.defects.select_related("position", "part", "photo", "mended_by", "found_by"))
    staying = [part for part in parts if part.plan == FoundPart.Plan.KEEP]
    taken = {part.installed_id for part in parts}
    ours = found.installed_before(fitout) if fitout.kind != Fitout.Kind.NEW else []
    return FoundPanel(
        parts=[PartRow(part, _where(fitout, part), _counts_as(part)) for part in parts],
        defects=[DefectRow(each, _where(fitout, each), found.is_settled(each)) for each in defects],
        questions=[question.words for question in kept.questions(staying)],
        not_counted_on=[part.name for part in kept.not_counted_on(staying)],
        may_take_over=any(part.pk not in taken for part in ours),
        is_shown=fitout.kind != Fitout.Kind.NEW or bool(parts) or bool(defects),
        is_open=fitout.stage not in found.CLOSED,
    )


def _where(fitout: Fitout, row: FoundPart | Defect) -> str:
    return towing.position_words(fitout, row.position) if row.position else ""


def _counts_as(part: FoundPart) -> str:
    if part.plan != FoundPart.Plan.KEEP:
        return ""
    role = kept.role_of(part)
    return str(kept.ROLE_NAMES[role]) if role else _("a design cannot count on it")
