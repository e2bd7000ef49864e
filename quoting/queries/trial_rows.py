"""What moved when something was tried, as rows of a page."""

from __future__ import annotations

from dataclasses import dataclass

from django.utils.translation import gettext as _

from quoting import words
from quoting.queries.outlook_words import per_cent
from quoting.queries.shown import Shown, shown
from quoting.queries.trip_chart import TripChart, trip_chart
from quoting.services.trials import Tried
from quoting.sizing.outlook import Moved
from quoting.wording.outlook import IN_RATIO, MOVED


@dataclass(frozen=True, slots=True)
class MovedRow:
    """A figure before and after; ``way`` is ``better``, ``worse`` or nothing."""

    label: str
    before: Shown | None
    after: Shown | None
    way: str
    none: str = ""
    """What the lack of a number means."""


@dataclass(frozen=True, slots=True)
class TrialPage:
    """The answer to a trial."""

    moved: tuple[MovedRow, ...]
    chart: TripChart
    findings: tuple[tuple[str, str, str], ...]
    """Level, title, sentence."""

    @property
    def said(self) -> str:
        """What moved, for ears: each figure that got better or worse."""
        said = [
            _("%(label)s %(after)s %(unit)s, was %(before)s")
            % {"label": row.label, "after": row.after.number, "unit": row.after.unit, "before": row.before.number}
            for row in self.moved
            if row.way and row.after and row.before
        ]
        return "; ".join(said) or _("Nothing moves that counts.")


def trial_page(tried: Tried) -> TrialPage:
    result = tried.result
    stop = result.trial.stop
    return TrialPage(
        moved=tuple(moved_row(one) for one in result.moved),
        chart=trip_chart(result.after, tried.brief, "tried", stop=stop, before=tried.before),
        findings=tuple((f.level, *words.finding_words(f)) for f in result.findings),
    )


def moved_row(one: Moved) -> MovedRow:
    way = "" if one.better is None else "better" if one.better else "worse"
    return MovedRow(
        label=str(MOVED.get(one.code, one.code)),
        before=_shown(one, one.before),
        after=_shown(one, one.after),
        way=way,
        none=_("over a year") if one.code == "flat_days" else "–",
    )


def _shown(one: Moved, value: float | None) -> Shown | None:
    if value is None:
        return None
    if one.code in IN_RATIO:
        return per_cent(value if one.unit != "%" else value / 100)
    return shown(round(value) if abs(value) >= 100 else round(value, 1), one.unit)
