"""Files of hourly weather for the tests, in every kind that is read, made of the stations that pvlib ships."""

from __future__ import annotations

import io
import json
from functools import cache
from pathlib import Path

import numpy as np
import pandas as pd
import pvlib
from pvlib.iotools import read_tmy3

from quoting.sizing.brief import Site
from quoting.sizing.places import site_of

DATA = Path(pvlib.__file__).parent / "data"
GREENSBORO, SAND_POINT = "723170TYA.CSV", "703165TY.csv"


@cache
def station(name: str = GREENSBORO) -> bytes:
    """A TMY3 file as pvlib ships it."""
    return (DATA / name).read_bytes()


@cache
def hours(name: str = GREENSBORO) -> tuple[pd.DataFrame, dict]:
    """Its hours by the beginning of each, local standard time, all in 1999; and its head."""
    table, meta = read_tmy3(io.StringIO(station(name).decode("latin-1")))
    table = table[["ghi", "temp_air"]].reset_index(drop=True)
    table.index = pd.date_range("1999-01-01", periods=len(table), freq="h")
    return table, meta


@cache
def epw(name: str = GREENSBORO, per_hour: int = 1) -> bytes:
    table, meta = hours(name)
    lines = [
        f"LOCATION,Testville,NC,USA,TMY3,723170,{meta['latitude']},{meta['longitude']},{meta['TZ']},{meta['altitude']}",
        "DESIGN CONDITIONS,0",
        "TYPICAL/EXTREME PERIODS,0",
        "GROUND TEMPERATURES,0",
        "HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0",
        "COMMENTS 1,made by a test",
        "COMMENTS 2,",
        f"DATA PERIODS,1,{per_hour},Data,Sunday,1/1,12/31",
    ]
    for at, row in zip(table.index, table.itertuples(index=False), strict=True):
        line = [at.year, at.month, at.day, at.hour + 1, 0, "?9", row.temp_air, 0, 50, 101300, 0, 0, 300, row.ghi]
        lines.append(",".join(str(x) for x in [*line, *[0] * 21]))
    return "\r\n".join(lines).encode()


@cache
def utc(name: str = GREENSBORO) -> tuple[pd.DataFrame, dict]:
    """The same hours of the same year by the clock of Greenwich, those beyond its end rolled to its beginning."""
    table, meta = hours(name)
    shifted = pd.DataFrame(np.roll(table.to_numpy(), -int(meta["TZ"]), axis=0), columns=table.columns)
    shifted.index = table.index
    return shifted, meta


def _inputs(meta: dict, **more: object) -> dict:
    where = {"latitude": meta["latitude"], "longitude": meta["longitude"], "elevation": meta["altitude"]}
    return {"location": where, "meteo_data": {"radiation_db": "TEST-DB"}, **more}


@cache
def pvgis_tmy_json(name: str = GREENSBORO) -> bytes:
    table, meta = utc(name)
    rows = [
        {"time(UTC)": at.strftime("%Y%m%d:%H%M"), "T2m": row.temp_air, "RH": 50.0, "G(h)": row.ghi}
        for at, row in zip(table.index, table.itertuples(index=False), strict=True)
    ]
    months = [{"month": m, "year": 1999} for m in range(1, 13)]
    whole = {
        "inputs": _inputs(meta),
        "outputs": {"months_selected": months, "tmy_hourly": rows},
        "meta": {"inputs": {"location": {}}, "outputs": {}},
    }
    return json.dumps(whole).encode()


@cache
def pvgis_tmy_csv(name: str = GREENSBORO) -> bytes:
    table, meta = utc(name)
    lines = [
        f"Latitude (decimal degrees): {meta['latitude']}",
        f"Longitude (decimal degrees): {meta['longitude']}",
        f"Elevation (m): {meta['altitude']}",
        "Irradiance Time Offset (h): 0.1761",
        "month,year",
        *(f"{m},1999" for m in range(1, 13)),
        "time(UTC),T2m,RH,G(h)",
    ]
    for at, row in zip(table.index, table.itertuples(index=False), strict=True):
        lines.append(f"{at:%Y%m%d:%H%M},{row.temp_air},50.0,{row.ghi}")
    return "\r\n".join([*lines, "T2m: 2-m air temperature (degree Celsius)", ""]).encode()


@cache
def pvgis_hourly_json(
    name: str = GREENSBORO, slope: float = 0, mounting: str = "fixed", with_sun: bool = True
) -> bytes:
    table, meta = utc(name)
    rows = []
    for at, row in zip(table.index, table.itertuples(index=False), strict=True):
        sun = {"Gb(i)": row.ghi * 0.6, "Gd(i)": row.ghi * 0.4, "Gr(i)": 0.0} if with_sun else {}
        rows.append({"time": f"{at:%Y%m%d:%H}10", **sun, "H_sun": 0.0, "T2m": row.temp_air, "WS10m": 1.0, "Int": 0.0})
    mounted = {mounting: {"slope": {"value": slope, "optimal": False}, "azimuth": {"value": 0, "optimal": False}}}
    whole = {
        "inputs": _inputs(meta, mounting_system=mounted),
        "outputs": {"hourly": rows},
        "meta": {"inputs": {"location": {}}, "outputs": {}},
    }
    return json.dumps(whole).encode()


@cache
def pvgis_hourly_csv(name: str = GREENSBORO, slope: str = "0 deg.") -> bytes:
    table, meta = utc(name)
    lines = [
        f"Latitude (decimal degrees):\t{meta['latitude']}",
        f"Longitude (decimal degrees):\t{meta['longitude']}",
        f"Elevation (m):\t{meta['altitude']}",
        "Radiation database:\tTEST-DB",
        "",
        f"Slope: {slope}",
        "Azimuth: 0 deg.",
        "time,G(i),H_sun,T2m,WS10m,Int",
    ]
    for at, row in zip(table.index, table.itertuples(index=False), strict=True):
        lines.append(f"{at:%Y%m%d:%H}10,{row.ghi},0.0,{row.temp_air},1.0,0.0")
    return "\r\n".join([*lines, "", "G(i): Global irradiance on the inclined plane (W/m2)", ""]).encode()


KINDS = {
    "epw": epw,
    "tmy3": station,
    "pvgis_tmy_json": pvgis_tmy_json,
    "pvgis_tmy_csv": pvgis_tmy_csv,
    "pvgis_hourly_json": pvgis_hourly_json,
    "pvgis_hourly_csv": pvgis_hourly_csv,
}


@cache
def shipped_sites() -> tuple[Site, ...]:
    """The rows that come with the program, as the sizing reads them."""
    from catalog import library

    return tuple(site_of(row) for row in library.site_rows())
