"""Files of hourly weather: every kind gives the same months; what is wrong is refused in words, never by a crash."""

import json
import re

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from quoting.sizing import climate_files
from quoting.sizing.climate_files import ClimateFileError, read
from quoting.sizing.errors import SizingError
from tests.quoting.sizing import weather_files as w

SERIES = ("ghi_kwh_m2_day", "tmin_c", "tmax_c")


@pytest.mark.parametrize("kind", w.KINDS)
def test_every_kind_of_the_same_hours_gives_the_same_months(kind):
    table, _ = w.hours()
    daily = table.groupby(table.index.day_of_year)
    by_month = table.index[::24].month
    sums, lows, highs = daily.ghi.sum() / 1000, daily.temp_air.min(), daily.temp_air.max()

    found = read(w.KINDS[kind]())

    assert (found.latitude_deg, found.longitude_deg, found.elevation_m) == (36.1, -79.95, 273.0)
    assert (found.hours, found.gaps, found.record_low_c) == (8760, 0, table.temp_air.min())
    for name, days in (("ghi_kwh_m2_day", sums), ("tmin_c", lows), ("tmax_c", highs)):
        means = days.groupby(by_month).mean()
        # One row of pvlib's reading lands an hour late in leap years, and a file by UTC loses hours at its two ends.
        within = 0.02 if name == "ghi_kwh_m2_day" else 0.26
        assert getattr(found, name) == pytest.approx(list(means), abs=within), name


def test_names_and_sources_come_from_the_head():
    tmy3, epw, pvgis = read(w.station()), read(w.epw()), read(w.pvgis_hourly_json())

    assert (tmy3.name, tmy3.country, tmy3.source) == (
        "Greensboro Piedmont Triad Int NC",
        "USA",
        "TMY3, station 723170",
    )
    assert (epw.name, epw.country, epw.source) == ("Testville NC", "USA", "EPW, TMY3 723170")
    assert (pvgis.name, pvgis.source) == ("", "PVGIS, hours of 1999, TEST-DB")


def test_minima_are_those_of_local_days():
    """By the clock of Greenwich a day at 80° W ends at 19 h, and its minimum would often be the next evening's."""
    local, by_utc = read(w.epw()), read(w.pvgis_tmy_csv())

    assert by_utc.utc_offset_h == -5
    assert by_utc.tmin_c == pytest.approx(local.tmin_c, abs=0.05)
    assert by_utc.noon_h == pytest.approx(local.noon_h, abs=0.01)


def test_a_place_ahead_of_greenwich_gets_its_own_days_too():
    """The same local hours at 150° E: by the clock of Greenwich its day begins ten hours earlier."""
    local, whole = read(w.epw()), json.loads(w.pvgis_tmy_json())
    table, _ = w.hours()
    air, light = (list(table[name]) for name in ("temp_air", "ghi"))
    whole["inputs"]["location"]["longitude"] = 150.0
    for i, hour in enumerate(whole["outputs"]["tmy_hourly"]):
        hour["T2m"], hour["G(h)"] = air[(i + 10) % 8760], light[(i + 10) % 8760]

    found = read(json.dumps(whole).encode())

    assert found.utc_offset_h == 10
    assert found.tmin_c == pytest.approx(local.tmin_c, abs=0.05)
    assert found.ghi_kwh_m2_day == pytest.approx(local.ghi_kwh_m2_day, abs=0.011)


def test_several_years_are_taken_together():
    """A second year five kelvin warmer, with two thirds of the sun: the months lie in between."""
    first = w.pvgis_hourly_csv()
    head, _, rest = first.partition(b"Int\r\n")
    hours = rest.partition(b"\r\n\r\n")[0].split(b"\r\n")
    second = []
    for line in hours:
        at, light, height, air, *more = line.split(b",")
        warmer, dimmer = b"%.1f" % (float(air) + 5), b"%.2f" % (float(light) * 2 / 3)
        second.append(b",".join([b"2001" + at[4:], dimmer, height, warmer, *more]))

    one, both = read(first), read(head + b"Int\r\n" + b"\r\n".join([*hours, *second]) + b"\r\n\r\n")

    assert both.source == "PVGIS, hours of 1999 to 2001, TEST-DB"
    assert both.hours == 2 * 8760
    assert both.ghi_kwh_m2_day == pytest.approx([x * 5 / 6 for x in one.ghi_kwh_m2_day], abs=0.02)
    assert both.tmax_c == pytest.approx([x + 2.5 for x in one.tmax_c], abs=0.2)


def test_a_station_name_of_an_older_encoding_is_read():
    data = w.epw().replace(b"Testville", "Löwenfurt".encode("latin-1"))

    assert read(data).name == "Löwenfurt NC"


def test_a_mark_at_the_beginning_changes_nothing():
    assert read(b"\xef\xbb\xbf" + w.epw()) == read(w.epw())


def test_a_few_gaps_are_told_and_bridged():
    data = w.epw()
    lines = data.split(b"\r\n")
    for i in range(20, 26):
        cells = lines[i].split(b",")
        cells[6] = b"99.9"
        lines[i] = b",".join(cells)

    found = read(b"\r\n".join(lines))

    assert (found.hours, found.gaps) == (8754, 6)
    assert found.ghi_kwh_m2_day == read(data).ghi_kwh_m2_day


def _without(data: bytes, pattern: bytes) -> bytes:
    return b"\r\n".join(line for line in data.split(b"\r\n") if not re.match(pattern, line))


def _cell(data: bytes, line: int, cell: int, value: bytes) -> bytes:
    lines = data.split(b"\r\n")
    cells = lines[line].split(b",")
    cells[cell] = value
    lines[line] = b",".join(cells)
    return b"\r\n".join(lines)


def _more_june(data: bytes) -> bytes:
    """June's sun three times over, as a file in another unit would have it."""
    lines = data.split(b"\r\n")
    for i, line in enumerate(lines):
        if line.startswith(b"1999,6,"):
            cells = line.split(b",")
            cells[13] = b"%.1f" % min(1600.0, 3 * float(cells[13]))
            lines[i] = b",".join(cells)
    return b"\r\n".join(lines)


def _no_sun(data: bytes) -> bytes:
    lines = data.split(b"\r\n")
    for i in range(8, len(lines)):
        cells = lines[i].split(b",")
        cells[13] = b"0"
        lines[i] = b",".join(cells)
    return b"\r\n".join(lines)


def _later(data: bytes) -> bytes:
    """The clock eight hours off, as when a file by UTC says it is local."""
    lines = data.split(b"\r\n")
    return b"\r\n".join([*lines[:8], *lines[16:], *lines[8:16]])


def _light_by_night(data: bytes) -> bytes:
    lines = data.split(b"\r\n")
    lit = [b",".join([*line.split(b",")[:13], b"100", *line.split(b",")[14:]]) for line in lines[8:]]
    return b"\r\n".join([*lines[:8], *lit])


def _later_stamped(data: bytes) -> bytes:
    lines, moved = data.split(b"\r\n"), _later(data).split(b"\r\n")
    stamped = [b",".join([*a.split(b",")[:6], *b.split(b",")[6:]]) for a, b in zip(lines[8:], moved[8:], strict=True)]
    return b"\r\n".join([*lines[:8], *stamped])


PAGE = b"<!DOCTYPE html><html><body>Please log in</body></html>"
BAD = {
    "nothing": (lambda: b"", "empty"),
    "blanks": (lambda: b"  \r\n ", "empty"),
    "too big": (lambda: b"a" * (climate_files.MOST_BYTES + 1), "too_big"),
    "zip": (lambda: b"PK\x03\x04" + b"\x00" * 50, "packed"),
    "gzip": (lambda: b"\x1f\x8b\x08" + b"\x00" * 50, "packed"),
    "web page": (lambda: PAGE, "web_page"),
    "picture": (lambda: b"\x89PNG\r\n\x1a\n\x00\x00", "not_text"),
    "letter": (lambda: b"Dear sirs,\nplease find", "unknown"),
    "other table": (lambda: b"name,price\nfuse,3", "unknown"),
    "other json": (lambda: b'{"a": 1}', "unknown"),
    "monthly json": (lambda: b'{"outputs": {"monthly": []}}', "monthly"),
    "monthly csv": (lambda: b"Latitude (decimal degrees):\t36\nLongitude:\t1\n\nyear\tmonth\tH(h)_m\n", "monthly"),
    "json cut": (lambda: w.pvgis_hourly_json()[:-5000], "cut"),
    "deep json": (lambda: b'{"hourly":[' + b"[" * 100_000, "cut"),
    "epw cut": (lambda: w.epw()[: len(w.epw()) // 2], "short"),
    "tmy3 cut": (lambda: w.station()[:-300], "short"),
    "pvgis csv cut": (lambda: w.pvgis_tmy_csv()[:100_000], "short"),
    "only a head": (lambda: b"\r\n".join(w.epw().split(b"\r\n")[:8]), "short"),
    "no june in tmy json": (lambda: _json(lambda x: _drop_june(x)), "month_missing"),
    "a day of june twice": (lambda: w.epw().replace(b"\r\n1999,6,2,", b"\r\n1999,6,1,"), "repeated"),
    "hot": (lambda: _cell(w.epw(), 100, 6, b"200"), "air_impossible"),
    "bright": (lambda: _cell(w.epw(), 100, 13, b"5000"), "sun_impossible"),
    "infinite": (lambda: _cell(w.epw(), 100, 13, b"inf"), "sun_impossible"),
    "a month of words": (lambda: re.sub(rb"(\r\n1999,6,[^?]*\?9,)[^,]*", rb"\1none", w.epw()), "month_missing"),
    "half-hours": (lambda: w.epw(per_hour=2), "not_hourly"),
    "more than above the air": (lambda: _more_june(w.epw()), "sun_over_sky"),
    "dark": (lambda: _no_sun(w.epw()), "sun_dark"),
    "longitude of the other sign": (lambda: w.epw().replace(b",-79.95,", b",79.95,"), "noon_off"),
    "longitude left at nothing": (lambda: w.station().replace(b",-79.950,", b",0.000,"), "noon_off"),
    "light by night": (lambda: _light_by_night(w.epw()), "sun_by_night"),
    "another clock": (lambda: _later_stamped(w.epw()), "noon_off"),
    "tilted": (lambda: w.pvgis_hourly_json(slope=35), "tilted"),
    "tilted csv": (lambda: w.pvgis_hourly_csv(slope="35 deg. (optimum)"), "tilted"),
    "tracking": (lambda: w.pvgis_hourly_json(mounting="two_axis"), "tracking"),
    "no sun": (lambda: w.pvgis_hourly_json(with_sun=False), "no_sun"),
    "a word for a place": (lambda: w.epw().replace(b",36.1,", b",north,"), "damaged"),
    "a column gone": (lambda: w.station().replace(b"Dry-bulb (C)", b"Something"), "damaged"),
    "head of json gone": (lambda: _json(lambda x: x.pop("meta")), "damaged"),
    "hours no list": (lambda: _json(lambda x: x["outputs"].update(tmy_hourly={"a": "b"})), "damaged"),
    "a line of millions": (lambda: w.epw().replace(b",2,0,", b",2,0," + b"1," * 5_000_000, 1), "damaged"),
    "a wide head over many lines": (lambda: _wide_head(w.station()), "damaged"),
    "millions of lines": (lambda: w.station() + b"1\r" * 5_000_000, "damaged"),
    "millions of objects": (lambda: w.pvgis_tmy_json()[:-1] + b',"x":[' + b"{}," * 5_000_000 + b"0]}", "damaged"),
    "a column for every hour": (lambda: _json(_name_every_hour), "damaged"),
}  # fmt: skip


def _json(change) -> bytes:
    whole = json.loads(w.pvgis_tmy_json())
    change(whole)
    return json.dumps(whole).encode()


def _drop_june(whole):
    hours = whole["outputs"]["tmy_hourly"]
    whole["outputs"]["tmy_hourly"] = [x for x in hours if x["time(UTC)"][4:6] != "06"]


def _wide_head(data: bytes) -> bytes:
    first, second, rest = data.split(b"\n", 2)
    return b"\n".join([first, second + b",x" * 400, rest + b"1\n" * 100_000])


def _name_every_hour(whole):
    for number, hour in enumerate(whole["outputs"]["tmy_hourly"]):
        hour[f"name {number}"] = 0


@pytest.mark.parametrize("name", BAD)
def test_a_bad_file_is_refused_for_what_is_wrong_with_it(name):
    make, reason = BAD[name]

    with pytest.raises(ClimateFileError) as refused:
        read(make())

    assert refused.value.reason == reason
    assert str(refused.value).startswith("file: ")


@pytest.mark.parametrize(
    ("put", "field"),
    [
        (b",78.25,", "latitude_deg"),
        (b",nan,", "latitude_deg"),
    ],
)
def test_a_place_out_of_range_is_refused_with_its_range(put, field):
    with pytest.raises(SizingError, match=r"at most 66\.5 °") as refused:
        read(w.epw().replace(b",36.1,", put))

    assert refused.value.field == field


SMALL = {name: make() for name, make in w.KINDS.items()}


def _refused_or_read(data: bytes) -> None:
    try:
        found = read(data)
    except SizingError:
        return
    assert all(0 <= x <= 13 for x in found.ghi_kwh_m2_day)
    assert all(low <= high for low, high in zip(found.tmin_c, found.tmax_c, strict=True))


HEADS = (b"LOCATION,", b"{", b'{"outputs": {"hourly": [', b"Latitude (decimal degrees):", b"a\nDate (MM/DD/YYYY),", b"")


@given(st.sampled_from(HEADS), st.binary(max_size=400))
def test_any_bytes_are_refused_in_words(head, tail):
    with pytest.raises(SizingError):
        read(head + tail)


@settings(max_examples=60, suppress_health_check=[HealthCheck.too_slow], deadline=None)
@given(
    name=st.sampled_from(sorted(w.KINDS)),
    where=st.floats(0, 1),
    near_head=st.booleans(),
    put=st.one_of(
        st.binary(min_size=1, max_size=12),
        st.sampled_from(
            [b"nan", b"1e999", b"-9999", b",,,,", b"\r\n\r\n", b'"', b"{", b"]", b":", b"99999999999999999999"]
        ),
    ),
    cut=st.integers(0, 40),
)
def test_a_damaged_file_is_read_or_refused_but_never_crashes(name, where, near_head, put, cut):
    data = SMALL[name]
    at = int(where * (1500 if near_head else len(data)))

    _refused_or_read(data[:at] + put + data[at + cut :])
