"""What a quote says of each source of charge, in an owner's words."""

from __future__ import annotations

from django.utils.translation import gettext as _

from quoting.documents.common import Frozen
from quoting.documents.speech import in_unit, joined, quantity, scale_of
from quoting.sizing.appraisal import SourceSummary

LEAST_WH = 0.5
"""Energy of a day under which a source is not planned for. [Wh]"""


def puts_back(frozen: Frozen, source: SourceSummary) -> str:
    """What one source gives at once and on a day of the trip, and how long it takes to full."""
    words = {
        "engine": _("Driving puts back up to %(current)s, and could give about %(energy)s on a day %(where)s"),
        "mains": _("Mains puts back up to %(current)s, and could give about %(energy)s on a day %(where)s"),
        "sun": _("The sun puts back up to %(current)s, and could give about %(energy)s on a day %(where)s"),
        "together": _("All together put back up to %(current)s, and could give about %(energy)s on a day %(where)s"),
    }[source.source]
    energy_wh_day, where = _day_of(frozen, source)
    if energy_wh_day < LEAST_WH:
        words = words.rpartition(",")[0] + _(", though none is planned on this trip")
    sentence = words % {
        "current": quantity(source.current_a, "A"),
        "energy": quantity(energy_wh_day, "Wh", 0),
        "where": where,
    }
    if source.hours_to_full is not None:
        sentence += _("; from reserve to full takes %s, nothing else drawing") % joined(
            in_unit(source.hours_to_full, scale_of(source.hours_to_full, days_from_h=48))
        )
    return sentence + "."


def _day_of(frozen: Frozen, source: SourceSummary) -> tuple[float, str]:
    """Energy of a day and the stop it is of: the most demanding one, or where that source gives most if it has none."""
    stops, index = frozen.appraisal.stops, source.stop_index
    if len(stops) < 2 or index is None:
        return source.energy_wh_day, _("of this trip")
    energy_wh_day = source.energy_wh_day
    if energy_wh_day < LEAST_WH and source.source != "together":
        index = max(range(len(stops)), key=lambda i: getattr(stops[i], f"{source.source}_wh"))
        energy_wh_day = getattr(stops[index], f"{source.source}_wh")
    stop = stops[index]
    return energy_wh_day, _("at %(name)s in %(month)s") % {
        "name": stop.name,
        "month": frozen.locality.month(stop.month),
    }
