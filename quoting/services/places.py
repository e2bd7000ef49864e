"""Places that are not in the list: estimated from those that are, or read from a file of hourly weather.

Nothing is saved before a person has seen it. A file that was read is not kept; what it said travels through the form
under a signature until it is saved.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.core import signing
from django.utils.translation import gettext as _

from catalog import services
from catalog.models import MadeFrom, Site
from catalog.quantities import format_number, format_quantity
from catalog.rules import can_edit_catalogue
from fitouts.uploads import Larger, take_larger
from quoting.services import policy
from quoting.sizing import climate_files, neighbours, places
from quoting.sizing.brief import Site as Climate
from quoting.sizing.climate_files import ClimateFile
from quoting.sizing.errors import SizingError
from quoting.sizing.places import Estimate

take_larger("place_file", Larger(climate_files.MOST_BYTES, "arriving", can_edit_catalogue))
SALT = "quoting.places.file"
KEPT_S = 24 * 3600
"""How long what was read from a file can be saved. [s]"""
NEAR_KM = 25.0
"""Nearer than this a row that is there does better than any estimate. Common practice."""


class PlaceRefused(ValueError):
    """Says why no climate can be made of what was given."""


def known_rows() -> tuple[Climate, ...]:
    """Every place in use whose climate is known; an estimate is never made from estimates."""
    rows = Site.objects.in_use().exclude(made_from=MadeFrom.ESTIMATE).order_by("pk")
    return tuple(Climate.model_validate(row.as_brief()) for row in rows)


def estimate(latitude_deg: float, longitude_deg: float, elevation_m: float) -> Estimate:
    """The climate of a place, estimated under the workshop's policy. Raises :class:`PlaceRefused`."""
    try:
        return places.estimate(latitude_deg, longitude_deg, elevation_m, known_rows(), policy.current())
    except SizingError as error:
        if error.field == "rows":
            words = _("An estimate needs at least %(n)d places with known climate in use; there are %(have)d.")
            raise PlaceRefused(words % {"n": neighbours.ROWS_LEAST, "have": error.value}) from None
        raise PlaceRefused(str(error)) from None


def near_row(found: Estimate) -> str:
    """Name of a row so near that it should be taken instead; nothing when there is none."""
    near = min(found.rows, key=lambda row: row.distance_km)
    return near.name if near.distance_km <= NEAR_KM else ""


def save_estimate(found: Estimate, values: Mapping[str, Any], *, by: Any) -> Site:
    """Keep an estimate as a place of the workshop's own. ``values``: name, country, notes."""
    near = min(found.rows, key=lambda row: row.distance_km)
    source = _("Estimate from %(n)d places, the nearest %(name)s, %(km)s; a month's sun likely right to %(error)s")
    params = {
        "n": found.rows_count,
        "name": near.name[:60],
        "km": format_quantity(round(near.distance_km), "km"),
        "error": format_quantity(100 * found.likely_error_ratio, "%"),
    }
    rows = ", ".join(
        f"{row.name} ({format_quantity(round(row.distance_km), 'km')}, {format_number(100 * row.weight_ratio, 0)} %)"
        for row in found.rows
    )
    heaviest = _("Weighing most: %(rows)s.") % {"rows": rows}
    notes = "\n\n".join(x for x in (str(values.get("notes") or ""), heaviest) if x)
    return _save(
        found, {**values, "notes": notes[:2000]}, by, source % params, MadeFrom.ESTIMATE, found.likely_error_ratio
    )


def read_file(upload: Any) -> ClimateFile:
    """What an uploaded file says. Raises :class:`SizingError` for one that nothing can be made of."""
    if (upload.size or 0) > climate_files.MOST_BYTES:
        raise climate_files.too_big(upload.size)
    return climate_files.read(upload.read())


def sealed(found: ClimateFile) -> str:
    """What a file said, so that a form can carry it without anyone changing it on the way."""
    return signing.dumps(found.model_dump_json(), salt=SALT, compress=True)


def opened(text: str) -> ClimateFile:
    """What :func:`sealed` put in. Raises :class:`PlaceRefused`."""
    try:
        return ClimateFile.model_validate_json(signing.loads(text, salt=SALT, max_age=KEPT_S))
    except (signing.BadSignature, ValueError):
        raise PlaceRefused(_("What the file said is no longer at hand. Give the file once more.")) from None


def save_file(found: ClimateFile, values: Mapping[str, Any], *, by: Any) -> Site:
    """Keep what a file said as a place of the workshop's own. ``values``: name, country, source, notes."""
    return _save(found, values, by, str(values.get("source") or found.source), MadeFrom.FILE, None)


def _save(
    found: Estimate | ClimateFile, values: Mapping[str, Any], by: Any, source: str, made: str, error: float | None
) -> Site:
    return services.save_site(
        {
            "name": values["name"],
            "country": values["country"].upper(),
            "latitude_deg": found.latitude_deg,
            "longitude_deg": found.longitude_deg,
            "elevation_m": found.elevation_m,
            "ghi_kwh_m2_day": list(found.ghi_kwh_m2_day),
            "tmin_c": list(found.tmin_c),
            "tmax_c": list(found.tmax_c),
            "record_low_c": found.record_low_c,
            "source": source[:200],
            "notes": values.get("notes") or "",
            "made_from": made,
            "likely_error_ratio": error,
        },
        by=by,
    )
