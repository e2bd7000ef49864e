"""A design as its page shows it: figures that open to their sums, findings, charts, circuits, bill."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _

from catalog.kinds.base import GROUPS
from catalog.quantities import format_number
from quoting import words
from quoting.models import Design
from quoting.services import designs
from quoting.sizing import sun
from quoting.sizing.appraisal import Appraisal, BillLine, Chosen, Circuit, StopResult
from quoting.sizing.brief import Brief, Stop
from quoting.sizing.trace import Figure, Scalar, Step


@dataclass(frozen=True, slots=True)
class Shown:
    """A number as it is printed, apart from its unit."""

    number: str
    unit: str
    before: str = ""
    """``≤``, ``+`` or nothing."""


def shown(value: float | None, unit: str = "", before: str = "") -> Shown | None:
    """Print a number as a workshop reads it: three figures, or whole units above a hundred."""
    if value is None:
        return None
    size = abs(value)
    places = 0 if size >= 100 or value == int(value) else 1 if size >= 10 else 2 if size >= 0.1 else 4
    text = format_number(value, places)
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return Shown(text, unit, before)


@dataclass(frozen=True, slots=True)
class SumLine:
    """One line of a sum on paper."""

    op: str
    words: str
    source: str
    number: str
    unit: str
    in_pen: bool
    is_result: bool


@dataclass(frozen=True, slots=True)
class Sum:
    """How one figure was made."""

    title: str
    lines: tuple[SumLine, ...]
    method: str
    source: str


def sum_lines(steps: Iterable[Step]) -> tuple[SumLine, ...]:
    """Steps of a trace in words; what a person put there is in pen."""
    out = []
    for step in steps:
        number = shown(step.value)
        assert number is not None
        out.append(
            SumLine(
                op="" if step.op == "=" and not out else step.op,
                words=words.step_words(step),
                source=words.origin_words(step),
                number=number.number,
                unit=step.unit,
                in_pen=step.origin in ("input", "survey"),
                is_result=step.op == "=",
            )
        )
    return tuple(out)


def sum_of(figure: Figure) -> Sum:
    return Sum(
        title=words.figure_words(figure),
        lines=sum_lines(figure.steps),
        method=words.method_words(figure.method) if figure.method else "",
        source=words.source_words(figure.source) if figure.source else "",
    )


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
            "battery_peak", _("Battery current"), (), "battery.peak_a", "battery.limit_a",
        ),
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
            "sun", _("Sun"), ("panel", "solar_controller"), "sun.asked_wh", "sun.got_wh", also=("sun.array_w",),
        ),
        _Pair("inverter", _("Inverter"), ("inverter",), "inverter.asked_w", "inverter.got_w"),
    )  # fmt: skip


LEAD = ("day.energy_wh", "day.charge_ah", "day.peak_a", "battery.days", "battery.peak_a", "sun.day_wh")
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
        rows.append(_pair_row(pair, asked, got, appraisal))
        used |= {pair.asked, pair.got, *pair.also}
    rest = [code for code in appraisal.figures if code not in used]
    rest.sort(key=lambda code: LEAD.index(code) if code in LEAD else len(LEAD))
    names = {load.key: load.name for load in brief.loads}
    return rows, [_single_row(appraisal.figures[code], names) for code in rest]


def _pair_row(pair: _Pair, asked: Figure | None, got: Figure | None, appraisal: Appraisal) -> FigureRow:
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
        margin=shown(margin, unit, "+" if margin > 0 else "") if margin is not None else None,
        level="warning" if is_short else "",
        sums=tuple(sum_of(f) for f in (asked, got, *also) if f is not None and f.steps),
    )


def _single_row(figure: Figure, names: dict[str, str]) -> FigureRow:
    title = words.figure_words(figure)
    if figure.code.startswith("cooling."):
        title = _("Duty of %(name)s") % {"name": names.get(figure.code.split(".")[1], "")}
    value, unit = (100 * figure.value, "%") if figure.code.endswith(".duty") else (figure.value, figure.unit)
    return FigureRow(
        code=figure.code,
        title=title,
        sub="",
        asked_word="",
        asked=None,
        got_word="",
        got=shown(value, unit),
        margin=None,
        level="",
        sums=(sum_of(figure),) if figure.steps else (),
    )


def _chosen_words(chosen: Sequence[Chosen]) -> str:
    parts = []
    for c in chosen:
        many = f"{c.quantity} × " if c.quantity > 1 else ""
        parts.append(f"{many}{c.name}")
    return ", ".join(parts)


@dataclass(frozen=True, slots=True)
class FindingRow:
    level: str
    title: str
    words: str


LEVELS = ("danger", "warning", "info")


def finding_rows(appraisal: Appraisal) -> list[FindingRow]:
    """Shortfalls and findings, the gravest first; a danger says what it stops."""
    rows = [
        FindingRow("danger", _("not in the catalogue"), f"{words.shortfall_words(s)} {_STOPS()}")
        for s in appraisal.shortfalls
    ]
    for finding in sorted(appraisal.findings, key=lambda f: LEVELS.index(f.level)):
        title, sentence = words.finding_words(finding)
        if finding.level == "danger":
            sentence = f"{sentence} {_STOPS()}"
        rows.append(FindingRow(finding.level, title, sentence))
    return rows


def _STOPS() -> str:  # noqa: N802
    return _("No quote is issued with it.")


@dataclass(frozen=True, slots=True)
class Band:
    """A stretch of hours, in percent of the day."""

    x: float
    width: float


@dataclass(frozen=True, slots=True)
class Limit:
    """A dashed line with its words: ``y`` in percent from full."""

    y: float
    words: str


@dataclass(frozen=True, slots=True)
class HourRow:
    hour: str
    load: Shown | None
    engine: Shown | None
    mains: Shown | None
    sun: Shown | None
    charge: Shown | None


@dataclass(frozen=True, slots=True)
class StopChart:
    """The 24 hours of a stop: state of charge as a path in hours and percent from full."""

    index: int
    name: str
    month: str
    days: float
    line: str
    nights: str
    driving: tuple[Band, ...]
    mains: tuple[Band, ...]
    sunlit: str
    """Area of the sun's offer, scaled to the day's largest power."""
    most_w: Shown | None
    limits: tuple[Limit, ...]
    lowest: Shown | None
    lowest_at: str
    start: Shown | None
    end: Shown | None
    totals: tuple[tuple[str, Shown | None, str], ...]
    hours: tuple[HourRow, ...]
    words: str


def stop_charts(appraisal: Appraisal, brief: Brief) -> list[StopChart]:
    return [_chart(stop, brief.trip[stop.index], brief) for stop in appraisal.stops]


def _chart(result: StopResult, stop: Stop, brief: Brief) -> StopChart:
    points = [(0, result.charge_ratio[-1] if result.days > 1 else result.start_ratio)]
    points += list(enumerate(result.charge_ratio, start=1))
    month = words.MONTHS[result.month - 1]
    lowest, at = min(result.charge_ratio), f"{result.lowest_hour:02d}:00"
    most_w = max(result.sun_w)
    sentence = _(
        "State of charge over a mean day at %(name)s in %(month)s: lowest %(low)s at %(at)s, %(end)s at the stop's end."
    ) % {
        "name": result.name,
        "month": month,
        "low": words.number_words(100 * result.lowest_ratio, "%"),
        "at": at,
        "end": words.number_words(100 * result.end_ratio, "%"),
    }
    del lowest
    return StopChart(
        index=result.index,
        name=result.name,
        month=month,
        days=result.days,
        line="M" + " ".join(f"{x} {100 - 100 * y:.1f}" for x, y in points),
        nights=_nights(stop),
        driving=_bands(stop.driving_start_h, stop.driving_h_per_day),
        mains=_bands(stop.mains_start_h, stop.mains_h_per_day),
        sunlit=_area(result.sun_w, most_w),
        most_w=shown(most_w, "W") if most_w > 0 else None,
        limits=_limits(brief),
        lowest=shown(100 * result.lowest_ratio, "%"),
        lowest_at=at,
        start=shown(100 * result.start_ratio, "%"),
        end=shown(100 * result.end_ratio, "%"),
        totals=(
            (_("Used a day"), shown(result.load_wh, "Wh"), ""),
            (_("Engine"), shown(result.engine_wh, "Wh"), _("a day")),
            (_("Mains"), shown(result.mains_wh, "Wh"), _("a day")),
            (_("Sun"), shown(result.sun_wh, "Wh"), _("a day")),
            (_("Met a full battery"), shown(result.spilled_wh, "Wh"), _("a day")),
            (_("Not given"), shown(result.unserved_wh, "Wh"), _("over the stop")),
        ),
        hours=tuple(
            HourRow(
                hour=f"{h:02d}:00",
                load=shown(result.load_w[h]),
                engine=shown(result.engine_w[h]),
                mains=shown(result.mains_w[h]),
                sun=shown(result.sun_w[h]),
                charge=shown(100 * result.charge_ratio[h]),
            )
            for h in range(24)
        ),
        words=sentence,
    )


def _nights(stop: Stop) -> str:
    rise = sun.sunrise_h(stop.site.latitude_deg, stop.month)
    return f"M0 0h{rise:.2f}v100H0zM{24 - rise:.2f} 0H24v100H{24 - rise:.2f}z"


def _bands(start_h: float, hours: float) -> tuple[Band, ...]:
    if hours <= 0:
        return ()
    if hours >= 24:
        return (Band(0.0, 100.0),)
    start = start_h % 24
    first = min(hours, 24 - start)
    bands = [Band(round(start / 0.24, 3), round(first / 0.24, 3))]
    if hours > first:
        bands.append(Band(0.0, round((hours - first) / 0.24, 3)))
    return tuple(bands)


def _area(values: Sequence[float], most: float) -> str:
    if most <= 0:
        return ""
    tops = " ".join(f"{h + 0.5} {100 - 60 * w / most:.1f}" for h, w in enumerate(values))
    return f"M0.5 100L{tops} 23.5 100z"


def _limits(brief: Brief) -> tuple[Limit, ...]:
    by_level: dict[float, list[str]] = {}
    for load in brief.loads:
        if load.shed_below_ratio:
            by_level.setdefault(load.shed_below_ratio, []).append(load.name)
    out = []
    for ratio, names in sorted(by_level.items(), reverse=True)[:3]:
        what = names[0] if len(names) == 1 else _("%(n)d loads") % {"n": len(names)}
        level = words.number_words(100 * ratio, "%")
        out.append(Limit(100 - 100 * ratio, _("%(what)s off below %(level)s") % {"what": what, "level": level}))
    return tuple(out)


@dataclass(frozen=True, slots=True)
class ChosenRow:
    name: str
    part_number: str
    serves: str
    quantity: int
    layout: str
    rating: str
    settings: tuple[tuple[str, str], ...]
    runner_up: str
    mass: Shown | None


def chosen_rows(appraisal: Appraisal) -> list[ChosenRow]:
    return [
        ChosenRow(
            name=c.name,
            part_number=c.part_number,
            serves=", ".join(str(words.NEED.get(code, code)) for code in c.serves),
            quantity=c.quantity,
            layout=_("%(s)d in series, %(p)d in parallel") % {"s": c.series, "p": c.parallel}
            if c.series > 1 or c.parallel > 1
            else "",
            rating=c.rating,
            settings=tuple(_setting(name, value) for name, value in c.setting.items()),
            runner_up=c.runner_up,
            mass=shown(c.mass_kg, "kg"),
        )
        for c in appraisal.chosen
    ]


def _setting(name: str, value: Scalar) -> tuple[str, str]:
    label = name
    for ending in sorted(designs_units(), key=len, reverse=True):
        if name.endswith(ending):
            label = name.removesuffix(ending)
            break
    return label.replace("_", " "), words.param_words(name, value)


def designs_units() -> tuple[str, ...]:
    return ("_ratio", "_mv_per_cell_k", "_a", "_v", "_c", "_w", "_ah", "_wh", "_s", "_h", "_min")


@dataclass(frozen=True, slots=True)
class DeviceRow:
    tag: str
    what: str
    name: str
    rating: Shown | None
    breaking: Shown | None
    fault: Shown | None
    is_short: bool
    """What it breaks is unknown or less than the fault."""
    at_end: bool


@dataclass(frozen=True, slots=True)
class CircuitRow:
    tag: str
    name: str
    group: str
    current: Shown | None
    run: Shown | None
    area: Shown | None
    drop: Shown | None
    drop_share: Shown | None
    drop_limit: Shown | None
    is_over: bool
    voltage: Shown | None
    ampacity: Shown | None
    devices: tuple[DeviceRow, ...]
    decided_by: str
    clears: Shown | None
    drop_iso: Shown | None
    lines: tuple[SumLine, ...]
    way: str


def circuit_rows(appraisal: Appraisal, brief: Brief) -> list[CircuitRow]:
    names = {p.key: p.name for p in brief.vehicle.positions}
    return [_circuit(c, names) for c in appraisal.circuits]


def _circuit(c: Circuit, names: dict[str, str]) -> CircuitRow:
    way = _("%(a)s to %(b)s") % {
        "a": names.get(c.from_position, c.source),
        "b": names.get(c.to_position, c.target),
    }
    groups = {"always_live": _("Always live"), "away": _("Away set"), "none": ""}
    return CircuitRow(
        tag=c.tag,
        name=c.name,
        group=groups[c.group],
        current=shown(c.current_a, "A"),
        run=shown(c.run_m, "m"),
        area=shown(c.area_mm2, "mm²"),
        drop=shown(c.drop_v, "V"),
        drop_share=shown(100 * c.drop_ratio, "%"),
        drop_limit=shown(100 * c.drop_limit_ratio, "%"),
        is_over=c.drop_ratio > c.drop_limit_ratio + 1e-9,
        voltage=shown(c.voltage_v, "V"),
        ampacity=shown(c.ampacity_a, "A"),
        devices=tuple(
            DeviceRow(
                tag=d.tag,
                what=DEVICE_WORDS[d.what](),
                name=d.name,
                rating=shown(d.rating_a, "A"),
                breaking=_amperes(d.breaking_a),
                fault=_amperes(d.fault_a),
                is_short=d.fault_a is not None
                and d.what in ("fuse", "breaker")
                and (d.breaking_a is None or d.breaking_a < d.fault_a),
                at_end=d.end == "load",
            )
            for d in c.devices
        ),
        decided_by=words.rule_words(c.decided_by),
        clears=shown(c.clears_s, "s") if c.clears_s is not None else None,
        drop_iso=shown(c.drop_iso_v, "V"),
        lines=sum_lines(c.steps),
        way=way,
    )


DEVICE_WORDS = {
    "fuse": lambda: _("fuse"),
    "breaker": lambda: _("circuit breaker"),
    "isolator": lambda: _("isolator"),
    "channel": lambda: _("switched output"),
    "residual": lambda: _("residual-current device"),
}


def _amperes(value: float | None) -> Shown | None:
    if value is None:
        return None
    return shown(value / 1000, "kA") if value >= 1000 else shown(value, "A")


@dataclass(frozen=True, slots=True)
class BillGroup:
    title: str
    lines: tuple[tuple[BillLine, str, Shown | None, str], ...]
    """Line, its quantity as printed, its mass, and why it is there."""
    mass: Shown | None


def bill_groups(appraisal: Appraisal) -> list[BillGroup]:
    """The bill in the order in which a quote prints it."""
    order = dict(GROUPS) | {"labour": _("Labour")}
    found: dict[str, list[BillLine]] = {}
    for line in appraisal.bill:
        found.setdefault(line.group, []).append(line)
    codes = [c for c in order if c in found] + [c for c in found if c not in order]
    return [
        BillGroup(
            title=str(_(order.get(code, code))),
            lines=tuple(
                (x, _quantity(x), shown(x.mass_kg, "kg") if x.mass_kg else None, words.rule_words(x.rule))
                for x in found[code]
            ),
            mass=shown(sum(x.mass_kg for x in found[code]), "kg"),
        )
        for code in codes
    ]


def _quantity(line: BillLine) -> str:
    number = format_number(round(line.quantity, 2))
    return number if line.unit == "each" else f"{number}\N{NO-BREAK SPACE}{line.unit}"


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
        bill=bill_groups(appraisal),
        mass=shown(appraisal.mass_kg, "kg"),
        dangers=sum(1 for row in findings if row.level == "danger"),
        questions=[words.question_words(code) for code in appraisal.questions],
    )
