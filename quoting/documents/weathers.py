"""What the trip over many weathers promises, in an owner's words. Of snapshots without it nothing is said."""

from __future__ import annotations

from collections.abc import Iterator

from django.utils.translation import gettext as _

from quoting.documents.common import Frozen
from quoting.documents.content import Named, SpreadChart, SpreadStop
from quoting.documents.speech import day_count, figure, percent, quantity
from quoting.documents.text import strong
from quoting.sizing.outlook import ShedOutlook, TripOutlook

TOLD = frozenset({"dark_possible", "shed_likely"})
"""Findings that only repeat what stands here."""
NOT_HELD = frozenset({"dark_likely", "month_fails"})
"""Findings that say what the system will not do; where they stand, this says nothing of it."""


def expected(frozen: Frozen) -> tuple[str, ...]:
    """For a quote: how the charge goes, what may go dark, what goes off first, the weakest month."""
    outlook = frozen.appraisal.outlook
    if outlook is None:
        return ()
    held = {finding.code for finding in frozen.appraisal.findings}
    out = [_charge(outlook)]
    if "dark_likely" not in held:
        out.append(_dark(frozen, outlook))
    out += [_first_off(outlook)] if outlook.sheds else []
    if "month_fails" not in held and outlook.weakest_month:
        out.append(_weakest(frozen, outlook))
    return tuple(out)


def spread_chart(frozen: Frozen) -> SpreadChart | None:
    """The curves of a quote's small chart."""
    outlook = frozen.appraisal.outlook
    if outlook is None:
        return None
    return SpreadChart(
        words=_(
            "Charge of the battery over the trip: the line is the middle of the weathers, and %(share)s of them stay "
            "in the band."
        )
        % {"share": percent(band_ratio(outlook))}
        + (" " + _("Under a broken line something goes off.") if outlook.sheds else ""),
        stops=tuple(
            SpreadStop(f"{span.name}, {frozen.locality.month(span.month)}", span.points) for span in outlook.stops
        ),
        low=outlook.charge_low,
        median=outlook.charge_median,
        high=outlook.charge_high,
        step_h=outlook.step_h,
        levels=tuple(group.below_ratio for group in outlook.sheds),
    )


def band_ratio(outlook: TripOutlook) -> float:
    """Share of the weathers between the two percentiles."""
    return 1 - 2 * outlook.low_ratio


def _charge(outlook: TripOutlook) -> str:
    words = _(
        "Worked out hour by hour in %(draws)s weathers that these places and months may bring, the lowest charge of "
        "the trip is %(median)s in the middle one, and %(low)s where only %(share)s are worse."
    )
    return words % {
        "draws": figure(outlook.draws),
        "median": strong(percent(outlook.lowest_median_ratio, 0)),
        "low": strong(percent(outlook.lowest_low_ratio, 0)),
        "share": percent(outlook.low_ratio),
    }


def _dark(frozen: Frozen, outlook: TripOutlook) -> str:
    dark = outlook.dark
    if not any(load.get("essential") for load in frozen.body["brief"]["loads"]):
        words = _(
            "No appliance is marked as essential. The system itself goes dark in %(dark)s of the %(draws)s; the chance "
            "may be up to %(high)s."
        )
        return words % {
            "dark": figure(dark.draws_dark) if dark.draws_dark else _("none"),
            "draws": figure(outlook.draws),
            "high": percent(dark.chance_high_ratio, 1),
        }
    params = {
        "dark": figure(dark.draws_dark),
        "draws": figure(outlook.draws),
        "high": percent(dark.chance_high_ratio, 1),
    }
    if not dark.draws_dark:
        return (
            _("Nothing essential goes dark in any of them. That is no promise: the chance may still be up to %(high)s.")
            % params
        )
    words = _("Something essential goes dark in %(dark)s of the %(draws)s; the chance may be up to %(high)s.")
    return words % params


def _first_off(outlook: TripOutlook) -> str:
    first = max(outlook.sheds, key=lambda group: group.below_ratio)
    if first.chance_ratio == 0:
        words = _("First to go off would be %(names)s, under %(below)s; in none of the weathers it comes to that.")
    else:
        words = _("First to go off: %(names)s, under %(below)s, in %(chance)s of the weathers.")
    return words % {
        "names": ", ".join(first.names),
        "below": percent(first.below_ratio, 0),
        "chance": percent(first.chance_ratio, 1),
    }


def _weakest(frozen: Frozen, outlook: TripOutlook) -> str:
    weakest = next(each for each in outlook.year if each.month == outlook.weakest_month)
    words = _(
        "Used like this at %(name)s in any month of the year, what is essential runs; %(month)s is the weakest, with a "
        "lowest charge of %(low)s in bad weather."
    )
    return words % {
        "name": outlook.stops[0].name,
        "month": frozen.locality.month(weakest.month),
        "low": percent(weakest.lowest_low_ratio, 0),
    }


# --- For the handover sheet -------------------------------------------------------------------------------


def living(frozen: Frozen) -> tuple[Named, ...]:
    """What an owner lives by: an hour's drive, a grey day, no charging, the weakest month."""
    outlook = frozen.appraisal.outlook
    if outlook is None:
        return ()
    return tuple(Named(heading, (sentence,)) for heading, sentence in _lived(frozen, outlook))


def _lived(frozen: Frozen, outlook: TripOutlook) -> Iterator[tuple[str, str]]:
    figures = frozen.appraisal.figures
    hour = figures.get("engine.hour_gives_ah")
    if hour is not None and hour.value > 0:
        yield (
            _("An hour’s drive"),
            _("Puts back about %s while the battery is not nearly full.") % _of_battery(frozen, hour.value),
        )
    grey = max(outlook.stops, key=lambda span: span.grey_day_ah)
    if grey.grey_day_ah > 0:
        yield (
            _("A grey day"),
            _("Costs about %(charge)s against a usual one, reckoned for %(name)s in %(month)s. Drive or plug in.")
            % {
                "charge": _of_battery(frozen, grey.grey_day_ah),
                "name": grey.name,
                "month": frozen.locality.month(grey.month),
            },
        )
    if outlook.flat_days is not None:
        yield (
            _("Nothing charging"),
            _(
                "From full it is flat after about %s of the most demanding use of your trip, things going off as "
                "they do."
            )
            % strong(day_count(round(outlook.flat_days, 1))),
        )
    if outlook.weakest_month:
        yield (
            _("Weakest month"),
            _("%(month)s, at %(name)s: least is left then.")
            % {"month": frozen.locality.month(outlook.weakest_month), "name": outlook.stops[0].name},
        )


def _of_battery(frozen: Frozen, charge_ah: float) -> str:
    """A charge, and how much of the battery that is."""
    ratio = of_battery_ratio(frozen, charge_ah)
    charge = strong(quantity(charge_ah, "Ah", 0))
    return (
        charge
        if ratio is None
        else _("%(charge)s, %(share)s of the battery,") % {"charge": charge, "share": percent(ratio, 0)}
    )


def of_battery_ratio(frozen: Frozen, charge_ah: float) -> float | None:
    """Share of the capacity fitted."""
    got = frozen.appraisal.figures.get("battery.got_ah")
    return charge_ah / got.value if got and got.value > 0 else None


def off_and_on(frozen: Frozen) -> tuple[Named, ...]:
    """When each shed group goes off and comes back, the first to go off at the head."""
    outlook = frozen.appraisal.outlook
    if outlook is None:
        return ()
    groups = sorted(outlook.sheds, key=lambda group: -group.below_ratio)
    return tuple(Named(", ".join(group.names), (_off(outlook, group),)) for group in groups)


def _off(outlook: TripOutlook, group: ShedOutlook) -> str:
    words = _("Comes back once the charge is over %s.") % percent(group.restore_ratio, 0)
    if group.chance_ratio == 0:
        return words + " " + _("On a trip like yours it does not go off in any of %s weathers.") % figure(outlook.draws)
    return (
        words
        + " "
        + _("On a trip like yours it goes off in %(chance)s of the weathers.")
        % {"chance": percent(group.chance_ratio, 1)}
    )
