"""Estimated places and files of hourly weather: findings, kinds of file, and why a file is refused."""

from typing import Any

from django.utils.translation import gettext_lazy as _

FINDING_PLACES: dict[str, Any] = {
    "estimate_far": (
        _("No place with known climate is near"),
        _(
            "The nearest is {nearest_km} away, and beyond {limit_km} a month's sun is likely right to no more than "
            "{likely_error_ratio}. A file of hourly weather from there is much surer."
        ),
    ),
    "estimate_high": (
        _("Higher than every place with known climate"),
        _("It lies at {elevation_m}; the highest row at {highest_m}. Up there temperatures are drawn out, not known."),
    ),
    "site_estimated": (
        _("The climate of {name} is an estimate"),
        _(
            "It was worked out from other places: a month's sun is likely right to {likely_error_ratio}, and every "
            "figure of the sun there with it. A file of hourly weather, or a row typed from a source, is surer."
        ),
    ),
}

FILE_KIND: dict[str, Any] = {
    "pvgis_hourly": _("PVGIS, hours of real years"),
    "pvgis_tmy": _("PVGIS, typical year"),
    "epw": _("EPW"),
    "tmy3": _("TMY3"),
}

REFUSED: dict[str, Any] = {
    "empty": _("The file is empty."),
    "too_big": _("The file has {size_mb}; at most {limit_mb} are read. Ask for fewer years."),
    "packed": _("The file is packed. Unpack it, and give the file that is inside."),
    "not_text": _("This is no text file. PVGIS (CSV or JSON), EPW and TMY3 are."),
    "web_page": _("This is a web page, not the data: perhaps the page was saved instead of the file behind its link."),
    "unknown": _("This is neither a PVGIS file (CSV or JSON) nor EPW nor TMY3, by its first lines."),
    "monthly": _("This file holds monthly values. Give the hourly or the typical-year file, or type the months in."),
    "cut": _("The file ends in the middle, or was edited so that it cannot be read. Fetch it once more."),
    "short": _("The file holds {hours} whole hours; a year has {needed}. It was cut short, or values are missing."),
    "damaged": _("By its first lines this is {kind}, but it cannot be read. It may be damaged or edited."),
    "not_hourly": _("The file holds {count} values an hour; it must hold one."),
    "no_sun": _("The file holds no irradiation. Ask for it with the radiation, flat on the ground."),
    "tilted": _(
        "The irradiation in this file is that on a plane of {slope_deg}. It cannot be turned back: ask for a slope "
        "of 0°."
    ),
    "tracking": _("The plane in this file follows the sun, or is not said. Ask for a fixed one with a slope of 0°."),
    "repeated": _("The hour {hour} on {day} {month} is there twice. The file was put together of several."),
    "month_missing": _("{month} has {hours} whole hours; it needs {needed}."),
    "hour_missing": _("No day of {month} has the hour {hour}."),
    "sun_impossible": _(
        "On {day} {month} at {hour} the irradiation is {value}; it must be at least {low} and at most {high} W/m². "
        "The unit may be another one."
    ),
    "air_impossible": _(
        "On {day} {month} at {hour} the air has {value}; it must be at least {low} and at most {high} °C. "
        "The unit may be another one."
    ),
    "sun_dark": _("The year's mean is {value}; it must be at least {limit} kWh/m² a day. The unit may be another one."),
    "sun_over_sky": _(
        "{month} has {value} a day on the ground; above the air it is {limit} kWh/m². Place or unit may be another one."
    ),
    "noon_off": _(
        "The light is centred on {noon_h} by the file's clock, the sun of its longitude on {sun_noon_h}; they must lie "
        "within {limit_h}. Time zone and longitude do not go together: a sign may be the other one."
    ),
    "sun_by_night": _(
        "The darkest hour of {month} has {value} W/m², the brightest {high} W/m²: it is light by night. The column may "
        "be another one."
    ),
}
