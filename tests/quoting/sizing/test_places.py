"""Any place on earth: distances, weights, what leaving rows out shows, and what an estimate says of itself."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quoting.sizing import neighbours, places, sun
from quoting.sizing.errors import SizingError
from quoting.sizing.places_errors import left_out, rms
from tests.quoting.sizing.weather_files import shipped_sites
from tests.reference.rows_places import PUBLISHED, YEARS, estimated

ROWS = shipped_sites()
LATITUDES, LONGITUDES = st.floats(-66.5, 66.5), st.floats(-180, 180)
KEPT_OUT_KM = (0.0, 250.0, 600.0, 1200.0, 2500.0)


def _site(**changes):
    return ROWS[0].model_copy(update=changes)


# --- Distances ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("a", "b", "km"),
    [
        ((0, 0), (0, 180), math.pi * 6371),  # half the equator
        ((90, 0), (-90, 77), math.pi * 6371),  # pole to pole, whatever the meridian
        ((90, 12), (90, -140), 0),  # every meridian meets at a pole
        ((0, 179.5), (0, -179.5), 2 * math.pi * 6371 / 360),  # a degree over the date line
        ((-17.7, 180), (-17.7, -180), 0),  # the date line is one meridian
        ((60, 0), (60, 180), math.pi * 6371 / 3),  # over the pole, not along the parallel
    ],
)
def test_distances_by_hand(a, b, km):
    assert float(neighbours.distance_km(*a, *b)) == pytest.approx(km, abs=1e-6)


@given(LATITUDES, LONGITUDES, LATITUDES, LONGITUDES)
def test_distance_is_that_of_the_chord(lat, lon, to_lat, to_lon):
    """Held against the angle between two unit vectors, by the sine, which is exact for near and far."""

    def unit(a, b):
        a, b = math.radians(a), math.radians(b)
        return np.array([math.cos(a) * math.cos(b), math.cos(a) * math.sin(b), math.sin(a)])

    one, other = unit(lat, lon), unit(to_lat, to_lon)
    angle = math.atan2(float(np.linalg.norm(np.cross(one, other))), float(one @ other))

    assert float(neighbours.distance_km(lat, lon, to_lat, to_lon)) == pytest.approx(6371 * angle, abs=1e-3)


# --- Weights -----------------------------------------------------------------------------------------


@settings(max_examples=15, deadline=None)
@given(LATITUDES, LONGITUDES, st.floats(-450, 6000))
def test_weights_reproduce_the_drift(lat, lon, elevation):
    known = neighbours.library(ROWS)

    weight = neighbours.weights(known, lat, lon, elevation)

    part = np.abs(known.latitude_deg) / 90
    assert weight.sum() == pytest.approx(1, abs=1e-6)
    assert weight @ part == pytest.approx(abs(lat) / 90, abs=1e-6)
    assert weight @ part**2 == pytest.approx((lat / 90) ** 2, abs=1e-6)
    assert weight @ known.elevation_m == pytest.approx(elevation, abs=1e-2)


def test_a_lapse_rate_in_the_rows_is_found_again():
    """Rows whose temperature falls 6.5 K a kilometre and 0.7 K a degree: any other height and latitude follows."""

    def air(row, at_sea_c):
        falls = 6.5 * row.elevation_m / 1000 + 0.7 * abs(row.latitude_deg)
        return tuple([at_sea_c - falls] * 12)

    rows = [row.model_copy(update={"tmin_c": air(row, 25.0), "tmax_c": air(row, 35.0)}) for row in ROWS]

    found = places.estimate(-25.0, 130.0, 1200.0, rows)

    assert found.tmin_c == pytest.approx([25 - 6.5 * 1.2 - 0.7 * 25] * 12, abs=0.051)
    assert found.tmax_c == pytest.approx([35 - 6.5 * 1.2 - 0.7 * 25] * 12, abs=0.051)


def test_one_clearness_everywhere_is_that_clearness_anywhere():
    rows = []
    for row in ROWS:
        above = neighbours.above_kwh_m2_day(row.latitude_deg)
        rows.append(row.model_copy(update={"ghi_kwh_m2_day": tuple(0.5 * x for x in above)}))

    found = places.estimate(12.0, -61.0, 5.0, rows)

    expected = [0.5 * sun.extraterrestrial_kwh_m2_day(12.0, month) for month in range(1, 13)]
    assert found.ghi_kwh_m2_day == pytest.approx(expected, abs=0.006)


def test_across_the_equator_rows_count_half_a_year_later():
    """Of the library's northern rows alone, a place in the south gets its summer in January."""
    north = [row for row in ROWS if row.latitude_deg > 0]

    found = places.estimate(-35.0, 20.0, 10.0, north)

    assert found.tmax_c.index(max(found.tmax_c)) in (0, 1)
    assert found.tmin_c.index(min(found.tmin_c)) in (5, 6, 7)


@pytest.mark.parametrize("longitude", [-60.0, 37.0, 150.0])
def test_a_step_over_the_equator_changes_next_to_nothing(longitude):
    north, south = (places.estimate(lat, longitude, 100.0, ROWS) for lat in (0.01, -0.01))

    assert south.ghi_kwh_m2_day == pytest.approx(north.ghi_kwh_m2_day, abs=0.03)
    assert south.tmax_c == pytest.approx(north.tmax_c, abs=0.2)


def test_a_step_over_the_date_line_changes_next_to_nothing():
    east, west = (places.estimate(-17.7, lon, 5.0, ROWS) for lon in (179.999, -179.999))

    assert west.ghi_kwh_m2_day == pytest.approx(east.ghi_kwh_m2_day, abs=0.011)
    assert [x.name for x in west.rows] == [x.name for x in east.rows]
    assert west.nearest_km == pytest.approx(east.nearest_km, abs=0.21)


def test_rows_on_one_parallel_still_make_an_estimate():
    """Nothing tells latitude's drift apart then; what the rows say is given back all the same."""
    rows = [_site(name=f"Row {i}", latitude_deg=-30.0, longitude_deg=130.0 + i, elevation_m=200.0) for i in range(14)]

    found = places.estimate(-30.0, 136.5, 200.0, rows)

    assert found.tmax_c == pytest.approx(ROWS[0].tmax_c, abs=0.1)


# --- How good it is ----------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def left():
    """Every row left out in turn, with more and more of its surroundings."""
    return {keep_out: left_out(ROWS, keep_out) for keep_out in KEPT_OUT_KM}


def test_leaving_one_row_out(left):
    """102 rows, each estimated from the other 101: root mean square and bias of a month and of the year."""
    ones = left[0.0]
    month, year = [x.month_ratio for x in ones], [x.year_ratio for x in ones]
    ghi, air = [x.ghi_kwh_m2_day for x in ones], [x.temperature_k for x in ones]
    print(
        f"\n102 rows, one left out: a month ±{rms(month):.1%} (bias {np.mean(month):+.1%}), "
        f"{rms(ghi):.2f} kWh/m²/day (bias {np.mean(ghi):+.3f}); the year ±{rms(year):.1%} (bias {np.mean(year):+.1%}); "
        f"temperature ±{rms(air):.1f} K (bias {np.mean(air):+.2f} K)"
    )

    assert len(ones) == 102
    assert rms(month) < 0.095
    assert rms(ghi) < 0.39
    assert rms(year) < 0.063
    assert rms(air) < 2.8
    assert abs(np.mean(month)) < 0.015
    assert abs(np.mean(ghi)) < 0.05
    assert abs(np.mean(year)) < 0.01
    assert abs(np.mean(air)) < 0.2


def test_the_likely_error_of_each_band_is_what_was_measured_with_room(left):
    low, cases = 0.0, {(x.name, round(x.nearest_km)): x for ones in left.values() for x in ones}.values()
    for band in places.BANDS:
        here = [x for x in cases if low < x.nearest_km <= band.up_to_km]
        month, year = rms([x.month_ratio for x in here]), rms([x.year_ratio for x in here])
        air = rms([x.temperature_k for x in here])
        print(
            f"\n{low:5.0f} to {band.up_to_km:5.0f} km, {len(here):3d} cases: a month ±{month:.1%} "
            f"of {band.month_ratio:.0%}, the year ±{year:.1%} of {band.year_ratio:.0%}, "
            f"temperature ±{air:.1f} of {band.temperature_k:g} K"
        )
        assert len(here) >= 15
        assert 0.55 * band.month_ratio < month < band.month_ratio
        assert 0.55 * band.year_ratio < year < band.year_ratio
        assert 0.55 * band.temperature_k < air < band.temperature_k
        low = band.up_to_km


def test_published_places_lie_within_the_likely_error():
    """From outside the library, by other programmes: a likely error is one that two of three keep to."""
    months, years = [], []
    for _, *where, values, _, _ in PUBLISHED:
        found = estimated(*where)
        out = np.array(found.ghi_kwh_m2_day) / np.array(values) - 1
        months += list(np.abs(out) / found.likely_error_ratio)
    for _, *where, value, _, _ in YEARS:
        found = estimated(*where)
        years.append(abs(sum(found.ghi_kwh_m2_day) / 12 / value - 1) / found.likely_error_year_ratio)
    kept = [[float(np.mean(np.array(x) <= most)) for most in (1, 2)] for x in (months, years)]
    print(f"\nwithin the likely error, within twice: months {kept[0]}, years {kept[1]}")

    assert len(months) == 192
    assert len(years) == 22
    assert kept[0][0] >= 0.68
    assert kept[0][1] >= 0.90
    assert kept[1][0] >= 0.68
    assert kept[1][1] >= 0.90


def _nearest_row(known, lat, lon, elevation):
    return _by_distance(known, lat, lon, elevation, rows=1)


def _by_distance(known, lat, lon, elevation, rows=8, lapse_k_per_km=5.0):
    """Inverse square of the distance, temperatures brought to the place's height."""
    away = neighbours.distance_km(lat, lon, known.latitude_deg, known.longitude_deg)
    near = np.argsort(away)[:rows]
    weight = 1 / (away[near] + 50) ** 2
    weight /= weight.sum()
    clear, low, high = (
        weight @ neighbours.as_seasons(x, known, lat)[near] for x in (known.clearness_ratio, known.tmin_c, known.tmax_c)
    )
    up = float(weight @ (known.elevation_m[near] - elevation)) / 1000 * lapse_k_per_km
    return clear, low + up, high + up


def _drift_alone(known, lat, lon, elevation):
    """Latitude and elevation only, by least squares over all rows."""
    base = np.stack(
        [np.ones(len(known)), np.abs(known.latitude_deg) / 90, known.latitude_deg**2 / 8100, known.elevation_m / 1000],
        1,
    )
    here = np.array([1, abs(lat) / 90, lat**2 / 8100, elevation / 1000])
    return tuple(
        here @ np.linalg.lstsq(base, neighbours.as_seasons(x, known, lat), rcond=None)[0]
        for x in (known.clearness_ratio, known.tmin_c, known.tmax_c)
    )


@pytest.mark.parametrize("other", [_nearest_row, _by_distance, _drift_alone])
@pytest.mark.parametrize("keep_out_km", [0.0, 1200.0])
def test_no_plainer_way_is_better(left, other, keep_out_km):
    """What was tried: the nearest row, eight rows by inverse square of distance, latitude and elevation alone.

    Far from every row latitude and elevation alone are as good for the sun; near one, and for the air, they are not.
    """
    ours, theirs = left[keep_out_km], left_out(ROWS, keep_out_km, other)
    months = [rms([x.month_ratio for x in way]) for way in (ours, theirs)]
    airs = [rms([x.temperature_k for x in way]) for way in (ours, theirs)]
    told = f"{other.__name__}, from {keep_out_km:g} km: a month ±{months[1]:.1%}, {airs[1]:.1f} K"
    print(f"\n{told}; ours ±{months[0]:.1%}, {airs[0]:.1f} K")

    assert months[0] < months[1] * (1.03 if keep_out_km else 0.95)
    assert airs[0] < airs[1] * 0.95


def test_root_mean_square_of_nothing_but_zeros_is_zero():
    assert rms([[0.0, 0.0], [0.0, 0.0]]) == 0


def test_an_island_is_left_out_only_with_what_lies_near(left):
    """Key West, with the 1200 km round it gone, has its nearest row beyond that."""
    found = {x.name: x for x in left[1200.0]}

    assert all(x.nearest_km >= 1200 for x in found.values())
    assert found["Key West FL"].nearest_km == pytest.approx(1260, abs=60)


# --- What it says of itself --------------------------------------------------------------------------


@settings(max_examples=40, deadline=None)
@given(LATITUDES, LONGITUDES, st.floats(-450, 6000))
def test_any_place_on_earth_has_a_climate_that_can_be(lat, lon, elevation):
    found = places.estimate(lat, lon, elevation, ROWS)
    most = places.clear_sky_kwh_m2_day(lat, elevation)

    for ghi, low, high, limit, month in zip(
        found.ghi_kwh_m2_day, found.tmin_c, found.tmax_c, most, range(1, 13), strict=True
    ):
        above = sun.extraterrestrial_kwh_m2_day(lat, month)
        assert 0 <= ghi <= min(limit, 0.8 * above) + 0.006
        assert -60 <= low < high <= 55
    assert found.record_low_c == pytest.approx(max(-70.0, min(found.tmin_c) - 15), abs=0.11)
    assert found.rows_count == 102
    assert len(found.rows) == places.SHOWN_ROWS
    assert found.likely_error_ratio == places.band_of(found.nearest_km).month_ratio
    assert all(math.isfinite(x) for x in found.clearness_ratio)


def test_far_from_every_row_is_said_with_a_larger_error():
    near, far = places.estimate(-37.8, 145.0, 30, ROWS), places.estimate(-12.4, 130.9, 30, ROWS)

    assert near.findings == ()
    assert [(x.level, x.code) for x in far.findings] == [("warning", "estimate_far")]
    assert far.findings[0].params == {"nearest_km": 2202, "limit_km": 1000.0, "likely_error_ratio": 0.25}
    assert far.likely_error_ratio > near.likely_error_ratio


def test_high_above_every_row_is_said():
    found = places.estimate(39.2, -106.3, 3500, ROWS)

    assert [x.code for x in found.findings] == ["estimate_high"]
    assert found.findings[0].params == {"elevation_m": 3500, "highest_m": 3026}


@pytest.mark.parametrize(
    ("field", "value", "words"),
    [
        ("latitude_deg", 66.6, "at most 66.5 °"),
        ("latitude_deg", -90.0, "at least -66.5 °"),
        ("latitude_deg", math.nan, "latitude_deg"),
        ("longitude_deg", 180.1, "at most 180 °"),
        ("elevation_m", 6001.0, "at most 6000 m"),
        ("elevation_m", -451.0, "at least -450 m"),
    ],
)
def test_a_coordinate_out_of_range_is_refused(field, value, words):
    where = {"latitude_deg": 0.0, "longitude_deg": 0.0, "elevation_m": 0.0} | {field: value}

    with pytest.raises(SizingError) as refused:
        places.estimate(**where, rows=ROWS)

    assert refused.value.field == field
    assert words in str(refused.value)


def test_too_few_rows_are_refused():
    with pytest.raises(SizingError, match="rows is 11; it must be at least 12"):
        places.estimate(0.0, 0.0, 0.0, ROWS[:11])


@pytest.mark.parametrize(
    ("change", "field"), [({"lat": "north"}, "row"), ({"lat": "91"}, "latitude_deg"), ({"ghi_jan": None}, "ghi_jan")]
)
def test_a_faulty_row_of_a_table_is_refused(change, field):
    from catalog import library

    row = library.site_rows()[0] | change
    if None in change.values():
        row.pop("ghi_jan")

    with pytest.raises(SizingError) as refused:
        places.site_of(row)

    assert refused.value.field == field
