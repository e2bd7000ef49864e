"""What somebody tries on the design page: the chosen parts stay, the trip or its weather is another, and what moves."""

from __future__ import annotations

import math
from collections.abc import Callable

from pydantic import ValidationError

from quoting.sizing import cutouts
from quoting.sizing.appraisal import Appraisal
from quoting.sizing.asking import find_peaks
from quoting.sizing.brief import Brief, Site, Stop
from quoting.sizing.converters import is_behind
from quoting.sizing.days import day_of, losses_of
from quoting.sizing.errors import SizingError
from quoting.sizing.figures_trip import coldest_c, hot_strings
from quoting.sizing.loads import Day
from quoting.sizing.outlook import CutOut, Moved, Trial, TrialResult, TripOutlook
from quoting.sizing.parts import Catalogue
from quoting.sizing.simulation.plant_of import Conditions
from quoting.sizing.simulation.trip import Looked, look_ahead
from quoting.sizing.system import Book, System, assemble
from quoting.sizing.wired import as_wired

COUNTS = {"": 0.005, "day": 0.05, "h": 0.1, "Wh/day": 5.0}
"""Least change of a result that counts, by its unit. Common practice: what a person would act on."""
STOP_FIELDS = ("days", "month", "shade_ratio", "driving_h_per_day", "mains_h_per_day")
"""Fields of a trial that are fields of a stop."""


def try_out(brief: Brief, appraisal: Appraisal, trial: Trial, *, with_year: bool = False) -> TrialResult:
    """Simulate the system that was chosen under a trial. Nothing is chosen again and no circuit is designed again.

    Parameters
    ----------
    brief : Brief
        That the appraisal was made from.
    appraisal : Appraisal
        Its chosen parts, circuits and outlook.
    trial : Trial
        What is other than in the Brief.
    with_year : bool
        Work out the year at home as well, which takes several times as long.

    Returns
    -------
    TrialResult
        The outlook under the trial, and each result before and after.

    Raises
    ------
    SizingError
        For a trial that cannot be, naming its field, and when no battery was chosen.
    """
    try:
        system, days = _as_chosen(tried(brief, trial), appraisal)
    except SizingError as error:
        raise _of_trial(error, trial, len(brief.loads)) from None
    _check_added(brief, system, trial)
    conditions = Conditions(
        sun_ratio=1.0 if trial.sun_ratio is None else trial.sun_ratio, worn=trial.worn, drift=trial.drift
    )
    looked = _outlook(system, days, appraisal, conditions, with_year)
    before = appraisal.outlook
    if before is None:
        before = _outlook(*_as_chosen(brief, appraisal), appraisal, Conditions()).outlook
    book = Book()
    hot_strings(looked, book)
    _overload(system, days, appraisal, trial, book)
    return TrialResult(
        trial=trial, after=looked.outlook, moved=moved(before, looked.outlook), findings=tuple(book.findings)
    )


def tried(brief: Brief, trial: Trial) -> Brief:
    """The Brief under a trial, its catalogue left as it is.

    Raises
    ------
    SizingError
        For a stop beyond the trip, air hotter or colder than can be, or an added load that cannot be.
    """
    last = len(brief.trip) - 1
    if trial.stop is not None and trial.stop > last:
        raise SizingError("trial.stop", value=trial.stop, minimum=0, maximum=last)
    own = {name: getattr(trial, name) for name in STOP_FIELDS if getattr(trial, name) is not None}
    stops = tuple(
        _warmer(stop.model_copy(update=own) if trial.stop in (None, index) else stop, trial.warmer_k)
        for index, stop in enumerate(brief.trip)
    )
    keys, places = {x.key for x in brief.loads}, {p.key for p in brief.vehicle.positions}
    for i, load in enumerate(trial.added):
        if load.key in keys:
            raise _conflict(f"trial.added[{i}].key", load.key, "a load has this key already")
        if load.position is not None and load.position not in places:
            raise _conflict(f"trial.added[{i}].position", load.position, "it is not one of the vehicle's")
        keys.add(load.key)
    return brief.model_copy(update={"trip": stops, "loads": (*brief.loads, *trial.added)})


def _conflict(field: str, value: object, message: str) -> SizingError:
    return SizingError(field, value=value, code="conflict", message=f"{message} (got {value!r})")


def _warmer(stop: Stop, by_k: float | None) -> Stop:
    if not by_k:
        return stop
    site = stop.site.model_dump()
    for name in ("tmin_c", "tmax_c"):
        site[name] = tuple(round(x + by_k, 6) for x in site[name])
    try:
        return stop.model_copy(update={"site": Site.model_validate(site)})
    except ValidationError:
        raise _conflict(
            "trial.warmer_k",
            by_k,
            f"the air at {stop.site.name} would leave -60 to 45 °C at its coldest or -50 to 55 °C at its warmest",
        ) from None


def _as_chosen(brief: Brief, appraisal: Appraisal) -> tuple[System, tuple[Day, ...]]:
    """The chosen parts as a system of this Brief, wired as they were, and the stops' days with them."""
    used = {one.part for one in appraisal.chosen}
    parts = tuple(p for p in brief.catalogue if p.key in used)
    missing = sorted(used - {p.key for p in parts})
    if missing:
        raise _conflict("appraisal.chosen", missing[0], "the Brief's catalogue has no such part")
    # only what was chosen is looked at, however long the catalogue
    small = brief.model_copy(update={"catalogue": parts})
    system = assemble(small, appraisal.chosen, Catalogue(small))
    system = as_wired(system, appraisal.circuits, appraisal.shortfalls, Book())
    curve = losses_of(small, system)
    return system, tuple(day_of(system, stop, index, curve) for index, stop in enumerate(small.trip))


def _of_trial(error: SizingError, trial: Trial, before: int) -> SizingError:
    """A refusal of one of the added loads, by the place it has in the trial."""
    for i in range(len(trial.added)):
        place = f"loads[{before + i}]"
        if error.field.startswith(place):
            field = f"trial.added[{i}]{error.field.removeprefix(place)}"
            return SizingError(
                field, value=error.value, minimum=error.minimum, maximum=error.maximum, unit=error.unit,
                code=error.code, message=error.message,
            )  # fmt: skip
    return error


def _check_added(brief: Brief, system: System, trial: Trial) -> None:
    for i, load in enumerate(trial.added):
        if load.bus == "ac" and system.inverter is None:
            raise _conflict(f"trial.added[{i}].bus", load.bus, "no inverter was chosen")
        if is_behind(brief, load) and system.converter is None:
            raise _conflict(f"trial.added[{i}].bus", load.bus, "no converter was chosen")


def _outlook(
    system: System, days: tuple[Day, ...], appraisal: Appraisal, conditions: Conditions, with_year: bool = False
) -> Looked:
    left = system.chemistry_policy.end_of_life_ratio if conditions.worn else 1.0
    found = cutouts_of(system, days, appraisal, left)
    looked = look_ahead(system, days, found, conditions=conditions, with_year=with_year)
    if looked is None:
        raise SizingError("appraisal.chosen", code="conflict", message="no battery was chosen: there is no trip to try")
    return looked


def cutouts_of(
    system: System, days: tuple[Day, ...], appraisal: Appraisal, left_ratio: float = 1.0
) -> tuple[CutOut, ...]:
    """Where appliances cut out with the circuits as they were designed and the loads as they are now."""
    day = max(days, key=lambda x: x.energy_wh)
    known = {x.key for x in appraisal.loads}
    results = tuple(line.result(system.bank_v) for line in day.lines)
    apart = {x.key for x in system.brief.loads if not x.at_once}
    more_a = math.fsum(x.running_a for x in results if x.key not in known and x.key not in apart)
    at_once_a = appraisal.value("day.peak_a") + more_a
    return cutouts.find(system, appraisal.circuits, results, at_once_a, coldest_c(system, days), left_ratio)


def _overload(system: System, days: tuple[Day, ...], appraisal: Appraisal, trial: Trial, book: Book) -> None:
    """Say what the added loads overload."""
    got = appraisal.figures.get("inverter.got_w")
    if got is None or not any(x.bus == "ac" for x in trial.added):
        return
    ac = find_peaks(system.brief, max(days, key=lambda x: x.energy_wh)).ac
    if ac is not None and ac.running_w > got.value:
        book.note("warning", "trial_inverter_over", "inverter", asked_w=ac.running_w, got_w=got.value)


def moved(before: TripOutlook, after: TripOutlook) -> tuple[Moved, ...]:
    """Each result before and after, and whether it got better by more than what counts."""

    def mean(outlook: TripOutlook, name: str) -> float:
        days = math.fsum(s.days for s in outlook.stops)
        return math.fsum(getattr(s, name) * s.days for s in outlook.stops) / days

    reads: tuple[tuple[str, str, int, Callable[[TripOutlook], float | None]], ...] = (
        ("lowest_low", "", 1, lambda x: x.lowest_low_ratio),
        ("lowest_median", "", 1, lambda x: x.lowest_median_ratio),
        ("end_median", "", 1, lambda x: x.end_median_ratio),
        ("dark_chance", "", -1, lambda x: x.dark.chance_ratio),
        ("flat_days", "day", 1, lambda x: x.flat_days),
        ("shed_hours", "h", -1, lambda x: math.fsum(s.hours_mean for s in x.sheds)),
        ("load_wh_day", "Wh/day", -1, lambda x: mean(x, "load_wh_day")),
        ("sun_wh_day", "Wh/day", 0, lambda x: mean(x, "sun_wh_day")),
        ("spilled_wh_day", "Wh/day", 0, lambda x: mean(x, "spilled_wh_day")),
        ("starter_lowest", "", 1, lambda x: x.starter.lowest_ratio if x.starter else None),
    )
    return tuple(_row(code, unit, good, read(before), read(after)) for code, unit, good, read in reads)


def _row(code: str, unit: str, good: int, before: float | None, after: float | None) -> Moved:
    """``good``: 1 where more is better, -1 where less is, 0 where neither is."""
    was, now = (_known(code, value) for value in (before, after))
    better = None
    if good and was is not None and now is not None and was != now and not abs(now - was) < COUNTS[unit]:
        better = good * (now - was) > 0
    return Moved.model_validate(
        {"code": code, "unit": unit, "before": _tidy(before), "after": _tidy(after), "better": better}
    )


def _known(code: str, value: float | None) -> float | None:
    """Days to flat that are not said are over a year."""
    return math.inf if value is None and code == "flat_days" else value


def _tidy(value: float | None) -> float | None:
    return None if value is None else round(value, 4)
