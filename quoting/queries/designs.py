"""A design as its page shows it: figures that open to their sums, and findings."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _

from catalog.models import LabourOperation
from quoting import words
from quoting.models import Design
from quoting.queries.charts import StopChart, stop_charts
from quoting.queries.circuits import CircuitRow, circuit_rows
from quoting.queries.findings import FindingRow, finding_rows
from quoting.queries.shown import Shown, Sum, shown, sum_of
from quoting.queries.wiring import BillGroup, ChosenRow, bill_groups, chosen_rows
from quoting.services import designs
from quoting.sizing.appraisal import Appraisal, Chosen
from quoting.sizing.brief import Brief
from quoting.sizing.trace import Figure


@dataclass(frozen=True, slots=True)
class FigureRow:
    """Asked, got, margin; opens to the sums of both."""

    code: str
    title: str
    sub: str
    asked_word: str
    asked: Shown | None
    got_word: str
    got: Shown | None
    margin: Shown | None
    level: str
    """``danger`` or ``warning`` when the margin is below zero, else nothing."""
    sums: tuple[Sum, ...]
    note: str = ""
    """What one step more or less would do."""


@dataclass(frozen=True, slots=True)
class _Pair:
    code: str
    title: Any
    roles: tuple[str, ...]
    asked: str
    got: str
    more_is_better: bool = True
    asked_word: Any = None
    got_word: Any = None
    also: tuple[str, ...] = ()
    stands_alone: bool = True
    """Shown with what is asked even while nothing was got."""


def _pairs() -> tuple[_Pair, ...]:
    return (
        _Pair("battery", _("Auxiliary battery"), ("battery",), "battery.asked_ah", "battery.got_ah"),
        _Pair(
            "engine", _("Engine"), ("engine_charger", "multi_charger"), "engine.asked_a", "engine.output_a",
        ),
        _Pair(
            "engine_idle", _("Engine, at hot idle"), (), "engine.headroom_idle_a", "engine.input_a",
            more_is_better=False, asked_word=_("spare"), got_word=_("takes"), also=("engine.headroom_speed_a",),
        ),
        _Pair(
            "mains",
            _("Mains"),
            ("mains_charger",),
            "policy.mains_full_h",
            "mains.hours_to_full",
            more_is_better=False,
            also=("mains.asked_a", "mains.outlet_a"),
        ),
        _Pair(
            "sun", _("Sun"), ("panel", "solar_controller"), "sun.asked_wh", "sun.got_wh",
            also=("sun.array_w", "sun.cold_voc_v"),
        ),
        _Pair(
            "inverter", _("Inverter"), ("inverter",), "inverter.asked_w", "inverter.got_w",
            also=("inverter.input_a", "inverter.surge_w"),
        ),
        _Pair(
            "converter", _("Converter, 12 V loads"), ("converter",), "converter.asked_a", "converter.got_a",
            also=("converter.input_a", "converter.peak_a"),
        ),
    )  # fmt: skip


LEAD = ("day.energy_wh", "day.charge_ah", "day.peak_a", "battery.days", "battery.peak_a")
"""Single figures that come first among those without a pair."""


def figure_rows(appraisal: Appraisal, brief: Brief) -> tuple[list[FigureRow], list[FigureRow]]:
    """Pairs of asked and got, and every other figure by itself."""
    figures = dict(appraisal.figures)
    if "mains.hours_to_full" in figures:
        full_h = brief.policy.mains_full_h
        figures["policy.mains_full_h"] = Figure(code="policy.mains_full_h", value=full_h, unit="h")
    used: set[str] = set()
    rows: list[FigureRow] = []
    for pair in _pairs():
        asked, got = figures.get(pair.asked), figures.get(pair.got)
        if got is None and (asked is None or not pair.stands_alone):
            continue
        rows.append(_pair_row(pair, asked, got, appraisal, brief))
        used |= {pair.asked, pair.got, *pair.also}
    rest = [code for code in appraisal.figures if code not in used and code != "sun.day_wh"]
    rest.sort(key=lambda code: LEAD.index(code) if code in LEAD else len(LEAD))
    names = {load.key: load.name for load in brief.loads}
    return rows, [_single_row(appraisal.figures[code], names) for code in rest]


def _pair_row(pair: _Pair, asked: Figure | None, got: Figure | None, appraisal: Appraisal, brief: Brief) -> FigureRow:
    margin = None
    if asked is not None and got is not None and asked.unit == got.unit:
        margin = got.value - asked.value if pair.more_is_better else asked.value - got.value
    unit = got.unit if got else asked.unit if asked else ""
    also = [appraisal.figures[code] for code in pair.also if code in appraisal.figures]
    is_short = got is None or (margin is not None and margin < -1e-9)
    return FigureRow(
        code=pair.code,
        title=str(pair.title),
        sub=_chosen_words([c for c in appraisal.chosen if c.role in pair.roles]),
        asked_word=str(pair.asked_word or _("asked")),
        asked=shown(asked.value, asked.unit, "" if pair.more_is_better else "≤ ") if asked else None,
        got_word=str(pair.got_word or _("got")),
        got=shown(got.value, got.unit) if got else None,
        margin=shown(margin, unit, "+" if margin > 0 else "", got.value) if margin is not None and got else None,
        level="warning" if is_short else "",
        sums=tuple(sum_of(f) for f in (asked, got, *also) if f is not None and f.steps),
        note=_day_more(asked, appraisal, brief) if pair.code == "battery" and asked else "",
    )


def _day_more(asked: Figure, appraisal: Appraisal, brief: Brief) -> str:
    """What another day of autonomy would ask, and what the hungriest line does; where the sum is a product."""
    if asked.method != "bank_product":
        return ""
    days, energy = brief.wishes.autonomy_days, appraisal.value("day.energy_wh")
    largest = max(appraisal.loads, key=lambda load: load.energy_wh)
    return _("One more day of autonomy would ask %(more)s; %(name)s alone accounts for %(share)s.") % {
        "more": words.number_words(asked.value * (days + 1) / days, asked.unit),
        "name": largest.name,
        "share": words.number_words(asked.value * largest.energy_wh / energy, asked.unit),
    }


def _single_row(figure: Figure, names: dict[str, str]) -> FigureRow:
    return FigureRow(
        code=figure.code,
        title=words.figure_words(figure, names),
        sub="",
        asked_word="",
        asked=None,
        got_word="",
        got=value_of(figure),
        margin=None,
        level="",
        sums=(sum_of(figure, names),) if figure.steps else (),
    )


def value_of(figure: Figure) -> Shown | None:
    """A figure's value as a heading has it: shares in per cent."""
    is_share = figure.unit == "" and figure.code.endswith((".duty", "_ratio"))
    return shown(100 * figure.value, "%") if is_share else shown(figure.value, figure.unit)


def _chosen_words(chosen: Sequence[Chosen]) -> str:
    parts = []
    for c in chosen:
        many = f"{c.quantity} × " if c.quantity > 1 else ""
        parts.append(f"{many}{c.name}")
    return ", ".join(parts)


@dataclass(frozen=True, slots=True)
class DesignPage:
    """Everything the page shows of a design."""

    design: Design
    appraisal: Appraisal
    brief: Brief
    rows: list[FigureRow]
    singles: list[FigureRow]
    findings: list[FindingRow]
    charts: list[StopChart]
    chosen: list[ChosenRow]
    circuits: list[CircuitRow]
    bill: list[BillGroup]
    mass: Shown | None
    dangers: int
    questions: list[str]

    @property
    def battery(self) -> Shown | None:
        return _value(self.appraisal, "battery.got_ah") or _value(self.appraisal, "battery.asked_ah")

    @property
    def lasts(self) -> Shown | None:
        return _value(self.appraisal, "battery.days")


def _value(appraisal: Appraisal, code: str) -> Shown | None:
    figure = appraisal.figures.get(code)
    return shown(figure.value, figure.unit) if figure else None


def design_page(design: Design) -> DesignPage:
    """Read a kept design into what its page shows; nothing is worked out anew."""
    appraisal, brief = designs.appraisal_of(design), designs.brief_of(design)
    rows, singles = figure_rows(appraisal, brief)
    findings = finding_rows(appraisal)
    return DesignPage(
        design=design,
        appraisal=appraisal,
        brief=brief,
        rows=rows,
        singles=singles,
        findings=findings,
        charts=stop_charts(appraisal, brief),
        chosen=chosen_rows(appraisal),
        circuits=circuit_rows(appraisal, brief),
        bill=bill_groups(appraisal, dict(LabourOperation.objects.values_list("code", "name"))),
        mass=shown(appraisal.mass_kg, "kg"),
        dangers=sum(1 for row in findings if row.level == "danger"),
        questions=words.questions_for(appraisal),
    )
