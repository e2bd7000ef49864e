"""Files of hourly weather that people have: PVGIS (CSV or JSON), EPW, TMY3. Bytes in, monthly climate out.

The reading is pvlib's. What kind a file is shows in its first lines, never in its name. The file itself is not kept.
"""

from __future__ import annotations

import io
import json
import re
import warnings
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Literal

from quoting.sizing import climate_bounds
from quoting.sizing.climate_months import ClimateFileError, Hours, Months, months_of
from quoting.sizing.errors import SizingError, require
from quoting.sizing.trace import Record

__all__ = ["MOST_BYTES", "ClimateFile", "ClimateFileError", "read"]

MOST_BYTES = 20_000_000
"""Largest file that is read; sixteen years of hours are about 8 MB. [bytes]"""
HOURS_LEAST = 8760
Kind = Literal["pvgis_hourly", "pvgis_tmy", "epw", "tmy3"]
SLOPE_MOST_DEG = 0.5
"""Steepest plane that is taken for flat. [°]"""


class ClimateFile(Record):
    """What a file says about its place: monthly means, January first."""

    kind: Kind
    name: str
    country: str
    latitude_deg: float
    longitude_deg: float
    elevation_m: float
    ghi_kwh_m2_day: tuple[float, ...]
    tmin_c: tuple[float, ...]
    tmax_c: tuple[float, ...]
    record_low_c: float
    source: str
    hours: int
    gaps: int
    noon_h: float
    utc_offset_h: float


@dataclass(frozen=True, slots=True)
class _Raw:
    """A file as pvlib read it: local times, values, and what its head says."""

    times: Any
    sun_w_m2: Any
    air_c: Any
    latitude_deg: float
    longitude_deg: float
    elevation_m: float
    utc_offset_h: float
    source: str
    name: str = ""
    country: str = ""
    one_year: bool = True


def read(data: bytes) -> ClimateFile:
    """Read a file of hourly weather.

    Parameters
    ----------
    data : bytes
        The whole file, at most 20 MB.

    Raises
    ------
    ClimateFileError
        For a file that is none of the kinds, is damaged or cut short, lacks a month or holds values that cannot be.
    SizingError
        If its place is not between the polar circles, or a coordinate is out of range.

    References
    ----------
    .. [1] ``pvlib.iotools``: ``read_pvgis_hourly``, ``read_pvgis_tmy``, ``read_epw``, ``read_tmy3``.
    """
    text = _text(data)
    kind = _kind(text)
    raw = _parsed(kind, text)
    latitude = require("latitude_deg", raw.latitude_deg, minimum=-66.5, maximum=66.5, unit="°")
    longitude = require("longitude_deg", raw.longitude_deg, minimum=-180, maximum=180, unit="°")
    elevation = require("elevation_m", raw.elevation_m, minimum=-450, maximum=6000, unit="m")
    require("utc_offset_h", raw.utc_offset_h, minimum=-12, maximum=14, unit="h")
    months = months_of(_hours(raw), latitude, _sun_noon_h(longitude, raw.utc_offset_h))
    return _file(kind, raw, months, (latitude, longitude, elevation))


def _file(kind: Kind, raw: _Raw, months: Months, where: tuple[float, float, float]) -> ClimateFile:
    return ClimateFile(
        kind=kind,
        name=raw.name[:120],
        country=raw.country,
        latitude_deg=where[0],
        longitude_deg=where[1],
        elevation_m=where[2],
        ghi_kwh_m2_day=months.ghi_kwh_m2_day,
        tmin_c=months.tmin_c,
        tmax_c=months.tmax_c,
        record_low_c=max(-70.0, min(30.0, months.lowest_c)),
        source=raw.source[:200],
        hours=months.hours,
        gaps=months.gaps,
        noon_h=months.noon_h,
        utc_offset_h=raw.utc_offset_h,
    )


def too_big(size: int) -> ClimateFileError:
    """The refusal of a file of so many bytes."""
    message = f"the file has {size / 1e6:.1f} MB; at most {MOST_BYTES / 1e6:.0f} MB are read"
    return ClimateFileError("too_big", message, size_mb=round(size / 1e6, 1), limit_mb=MOST_BYTES / 1e6)


# --- What kind of file it is -------------------------------------------------------------------------

PACKED = (b"PK\x03\x04", b"\x1f\x8b", b"7z\xbc\xaf", b"Rar!", b"BZh", b"\xfd7zXZ")
LEAD = 4096


def _text(data: bytes) -> str:
    """The file as text; a station's name may be in the encoding of an older machine."""
    if not data.strip():
        raise ClimateFileError("empty", "the file is empty")
    if len(data) > MOST_BYTES:
        raise too_big(len(data))
    if data.startswith(PACKED):
        raise ClimateFileError("packed", "the file is packed; unpack it and give the file inside")
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return data.decode("utf-16", errors="replace")
    if b"\x00" in data:
        raise ClimateFileError("not_text", "the file is not text")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("latin-1")


def _kind(text: str) -> Kind:
    lead = text[:LEAD].lstrip()
    if lead.startswith("<"):
        raise ClimateFileError("web_page", "the file is a web page, not the data; save the data itself")
    if lead.startswith("LOCATION,"):
        return "epw"
    lines = lead.splitlines()
    if len(lines) > 1 and lines[1].startswith("Date (MM/DD/YYYY)"):
        return "tmy3"
    if lead.startswith("{"):
        return _kind_of_json(text)
    if lead.startswith("Latitude (decimal degrees)"):
        if re.search(r"^time\(UTC\),", lead, re.MULTILINE):
            return "pvgis_tmy"
        if re.search(r"^time,", lead, re.MULTILINE):
            return "pvgis_hourly"
        if re.search(r"^(year|month)\b", lead, re.MULTILINE | re.IGNORECASE):
            raise ClimateFileError("monthly", "the file holds monthly values; give the hourly or the typical-year file")
    raise ClimateFileError("unknown", "the file is neither PVGIS (CSV or JSON) nor EPW nor TMY3")


def _kind_of_json(text: str) -> Kind:
    """By the name of its list of hours, which stands near the beginning or after the inputs."""
    if re.search(r'"tmy_hourly"\s*:', text):
        return "pvgis_tmy"
    if re.search(r'"hourly"\s*:\s*\[', text):
        return "pvgis_hourly"
    if re.search(r'"monthly"\s*:', text):
        raise ClimateFileError("monthly", "the file holds monthly values; give the hourly or the typical-year file")
    raise ClimateFileError("unknown", "the file is neither PVGIS (CSV or JSON) nor EPW nor TMY3")


# --- Reading through pvlib ---------------------------------------------------------------------------

DATA_LINE: dict[Kind, str] = {
    "epw": r"^\d{4},\d{1,2},\d{1,2},\d{1,2},",
    "tmy3": r"^\d{1,2}/\d{1,2}/\d{4},\d{1,2}:\d{2},",
    "pvgis_tmy": r"^\d{8}:\d{4},",
    "pvgis_hourly": r"^\d{8}:\d{4},",
}


def _parsed(kind: Kind, text: str) -> _Raw:
    is_json = text.lstrip().startswith("{")
    if is_json:
        _check_json(kind, text)
    else:
        if climate_bounds.is_vast(text):
            raise _damaged(kind, "more lines or columns than hourly weather has")
        found = len(re.findall(DATA_LINE[kind], text, re.MULTILINE))
        if found < HOURS_LEAST:
            message = f"it holds {found} hours; a year has {HOURS_LEAST}"
            raise ClimateFileError("short", message, hours=found, needed=HOURS_LEAST)
    try:
        # What a stranger's file makes pandas warn of shows in the values, which are checked one by one.
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            return READERS[kind](text.lstrip() if is_json else text, is_json)
    except SizingError:
        raise
    except Exception as error:  # two libraries read a stranger's bytes; whatever they trip over, the file is at fault
        raise _damaged(kind, type(error).__name__) from None


def _damaged(kind: Kind, why: str) -> ClimateFileError:
    message = f"it looks like {kind.upper()} but cannot be read ({why}); it may be damaged or edited"
    return ClimateFileError("damaged", message, kind=kind)


def _check_json(kind: Kind, text: str) -> None:
    if climate_bounds.is_vast_json(text):
        raise _damaged(kind, "more objects than hourly weather has")
    try:
        whole = json.loads(text)
    except (ValueError, RecursionError):
        raise ClimateFileError("cut", "the file ends in the middle, or was edited; fetch it again") from None
    if climate_bounds.is_wide(whole):
        raise _damaged(kind, "more columns than hourly weather has")


def _epw(text: str, is_json: bool) -> _Raw:
    from pvlib.iotools import read_epw

    per_hour = re.search(r"^DATA PERIODS,\s*\d+\s*,\s*(\d+)", text[: 20 * LEAD], re.MULTILINE)
    if per_hour and int(per_hour[1]) != 1:
        raise ClimateFileError(
            "not_hourly", f"it holds {per_hour[1]} values an hour; it must hold one", count=int(per_hour[1])
        )
    table, meta = read_epw(io.StringIO(text))
    place = " ".join(x for x in (_plain(meta["city"]), _plain(meta["state-prov"])) if x not in ("", "-"))
    country = _plain(meta["country"]).upper()
    return _Raw(
        times=_moved(table.index, 0),
        sun_w_m2=_numbers(table["ghi"], 9999),
        air_c=_numbers(table["temp_air"], 99.9),
        latitude_deg=meta["latitude"],
        longitude_deg=meta["longitude"],
        elevation_m=meta["altitude"],
        utc_offset_h=meta["TZ"],
        source=f"EPW, {_plain(meta['data_type'])} {_plain(meta['WMO_code'])}".strip(", "),
        name=place,
        country=country if re.fullmatch("[A-Z]{3}", country) else "",
    )


def _tmy3(text: str, is_json: bool) -> _Raw:
    from pvlib.iotools import read_tmy3

    table, meta = read_tmy3(io.StringIO(text))
    # Its hours are named by their end: 1:00 to 24:00.
    return _Raw(
        times=_moved(table.index, -1),
        sun_w_m2=_numbers(table["ghi"], -9900),
        air_c=_numbers(table["temp_air"], -9900),
        latitude_deg=meta["latitude"],
        longitude_deg=meta["longitude"],
        elevation_m=meta["altitude"],
        utc_offset_h=meta["TZ"],
        source=f"TMY3, station {meta['USAF']}",
        name=f"{_plain(meta['Name']).title()} {_plain(meta['State']).upper()}".strip(),
        country="USA",
    )


def _pvgis_tmy(text: str, is_json: bool) -> _Raw:
    from pvlib.iotools import read_pvgis_tmy

    if is_json:
        table, meta = read_pvgis_tmy(io.StringIO(text), pvgis_format="json")
    else:
        table, meta = read_pvgis_tmy(io.BytesIO(text.encode()), pvgis_format="csv")
    head = _head(meta["inputs"])
    offset = _solar_offset_h(head["longitude"])
    # Each month comes from a year of its own; what the offset pushes over a year's end is that year's other end.
    return _Raw(
        times=_moved(table.index, offset),
        sun_w_m2=_numbers(table["ghi"]),
        air_c=_numbers(table["temp_air"]),
        latitude_deg=head["latitude"],
        longitude_deg=head["longitude"],
        elevation_m=head["elevation"],
        utc_offset_h=offset,
        source=f"PVGIS, typical year{_database(meta['inputs'])}",
    )


def _pvgis_hourly(text: str, is_json: bool) -> _Raw:
    from pvlib.iotools import read_pvgis_hourly

    table, meta = read_pvgis_hourly(io.StringIO(text), pvgis_format="json" if is_json else "csv")
    _check_flat(meta["inputs"])
    parts = [x for x in ("poa_direct", "poa_sky_diffuse", "poa_ground_diffuse") if x in table]
    if "poa_global" in table:
        light = _numbers(table["poa_global"])
    elif "poa_direct" in parts and "poa_sky_diffuse" in parts:
        light = sum(_numbers(table[part]) for part in parts)
    else:
        raise ClimateFileError("no_sun", "it holds no irradiation; ask for it with the radiation components or the sum")
    head = _head(meta["inputs"])
    offset = _solar_offset_h(head["longitude"])
    first, last = table.index.year.min(), table.index.year.max()
    return _Raw(
        times=_moved(table.index, offset),
        sun_w_m2=light,
        air_c=_numbers(table["temp_air"]),
        latitude_deg=head["latitude"],
        longitude_deg=head["longitude"],
        elevation_m=head["elevation"],
        utc_offset_h=offset,
        source=f"PVGIS, hours of {first if first == last else f'{first} to {last}'}{_database(meta['inputs'])}",
        one_year=False,
    )


READERS: dict[Kind, Callable[[str, bool], _Raw]] = {
    "epw": _epw,
    "tmy3": _tmy3,
    "pvgis_tmy": _pvgis_tmy,
    "pvgis_hourly": _pvgis_hourly,
}


def _head(inputs: Any) -> dict[str, float]:
    where = inputs.get("location", inputs)
    return {name: float(where[name]) for name in ("latitude", "longitude", "elevation")}


def _database(inputs: Any) -> str:
    """Where its irradiation comes from, when it says so."""
    meteo = inputs.get("meteo_data")
    named = meteo.get("radiation_db", "") if isinstance(meteo, dict) else inputs.get("radiation_database", "")
    return f", {_plain(named)[:40]}" if _plain(named) else ""


def _check_flat(inputs: Any) -> None:
    """Only irradiation on the horizontal will do: a tilted plane's cannot be turned back."""
    mounting = inputs.get("mounting_system")
    if isinstance(mounting, dict):
        slope = mounting["fixed"]["slope"]["value"] if "fixed" in mounting else None
    else:
        told = re.search(r"-?\d+(\.\d+)?", str(inputs.get("Slope", "")))
        slope = float(told[0]) if told else None
    if slope is None:
        raise ClimateFileError("tracking", "its plane follows the sun or is not said; ask for slope 0°")
    if not abs(float(slope)) <= SLOPE_MOST_DEG:
        message = f"its irradiation is on a plane of {float(slope):g}°; it must be flat, slope 0°"
        raise ClimateFileError("tilted", message, slope_deg=float(slope))


def _solar_offset_h(longitude_deg: float) -> float:
    """Whole hours from UTC to the sun's time there: the files' own clock is UTC."""
    return float(round(require("longitude_deg", longitude_deg, minimum=-180, maximum=180, unit="°") / 15))


def _sun_noon_h(longitude_deg: float, utc_offset_h: float) -> float:
    """When the sun stands highest by the file's clock, on a mean of the year."""
    ahead_h = utc_offset_h - longitude_deg / 15
    return round(12 + (ahead_h + 12) % 24 - 12, 2)


def _moved(index: Any, by_h: float) -> Any:
    """Times without a zone, moved by whole hours."""
    import numpy as np

    return index.tz_localize(None) + np.timedelta64(int(by_h), "h")


def _numbers(column: Any, missing: float | None = None) -> Any:
    """A column as floats; what is no number, and the mark for a missing value, become gaps."""
    import numpy as np

    if column.dtype.kind in "fiu":
        values = column.to_numpy(dtype=float)
    else:
        values = np.array([_number(cell) for cell in column])
    return values if missing is None else np.where(values == missing, np.nan, values)


def _number(cell: Any) -> float:
    try:
        return float(cell)
    except (TypeError, ValueError, OverflowError):
        return float("nan")


def _plain(text: Any) -> str:
    """Words from a file's head: on one line, without quotes and control characters."""
    kept = "".join(c for c in str(text) if c.isprintable()).replace('"', " ")
    return " ".join(kept.split())


def _hours(raw: _Raw) -> Hours:
    """The values with their local times; a value without a time is a gap."""
    import numpy as np

    told = np.flatnonzero(~np.isnat(raw.times.to_numpy()))
    times = raw.times[told]
    nothing = np.zeros(len(times), dtype=np.int64)
    return Hours(
        year=nothing if raw.one_year else np.asarray(times.year, dtype=np.int64),
        month=np.asarray(times.month, dtype=np.int64),
        day=np.asarray(times.day, dtype=np.int64),
        hour=np.asarray(times.hour, dtype=np.int64),
        sun_w_m2=np.asarray(raw.sun_w_m2, dtype=float)[told],
        air_c=np.asarray(raw.air_c, dtype=float)[told],
    )
