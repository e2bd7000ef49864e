"""Sun on a flat roof; figures of libraries are rows of the reference table, here a whole year's file is run."""

import math
from pathlib import Path

import pvlib
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from catalog.kinds.capabilities import Panel, SolarControl
from quoting.sizing import sun
from quoting.sizing.appraise import appraise
from quoting.sizing.brief import Site
from quoting.sizing.errors import SizingError
from quoting.sizing.loads import ambient_by_hour
from tests.quoting.sizing.sums import follow
from tests.quoting.sizing.wagon import wagon

PANEL = Panel(
    power_w=100, vmp_v=20, imp_a=5, voc_v=24, isc_a=5.4, power_per_k=-0.0035, voc_per_k=-0.0028,
    max_series_fuse_a=15, max_system_v=600, length_m=1, width_m=0.6,
)  # fmt: skip
MPPT = SolarControl("mppt", (12.0, 24.0), 20, 0.96, 100, 20, start_margin_v=5.0)
PWM = SolarControl("pwm", (12.0,), 20, 0.98, 50, 20)


@given(st.floats(-66, 66), st.integers(1, 12))
def test_hour_shares_add_up_to_one_and_are_even_about_noon(latitude_deg, month):
    shares = sun.hour_shares(latitude_deg, month)

    assert math.fsum(shares) == pytest.approx(1, abs=1e-12)
    assert all(x >= 0 for x in shares)
    assert all(shares[h] == pytest.approx(shares[23 - h], abs=1e-12) for h in range(12))


@pytest.fixture(scope="module")
def greensboro():
    """Typical-year file that pvlib ships: hours, irradiation and air of every month."""
    place = Path(pvlib.__file__).parent / "data" / "723170TYA.CSV"
    hours, meta = pvlib.iotools.read_tmy3(place, coerce_year=1990, map_variables=True)
    return hours, meta


@pytest.mark.parametrize(("month", "wh_day"), [(1, 212.1), (6, 480.0), (7, 464.8), (12, 194.4)])
def test_mean_day_gives_what_a_whole_month_of_hours_gives(greensboro, month, wh_day):
    """Close mount, γ −0.35 %/K, losses 14.0757 %, Wh/day from 100 W: pvlib 0.16.1 hour by hour over the file [L]."""
    hours, meta = greensboro
    rows = hours[hours.index.month == month]
    days = rows.groupby(rows.index.day)
    site = Site(
        name="Greensboro", latitude_deg=float(meta["latitude"]), longitude_deg=float(meta["longitude"]),
        ghi_kwh_m2_day=(float(rows["ghi"].mean() * 24 / 1000),) * 12,
        tmin_c=(float(days["temp_air"].min().mean()),) * 12, tmax_c=(float(days["temp_air"].max().mean()),) * 12,
    )  # fmt: skip
    air, wind = ambient_by_hour(site, month), float(rows["wind_speed"].mean())

    total = 0.0
    for h, share in enumerate(sun.hour_shares(site.latitude_deg, month)):
        irradiance = 1000 * site.ghi_kwh_m2_day[0] * share
        total += sun.array_power_w(100, irradiance, sun.cell_c(irradiance, air[h], wind), -0.0035, 1 - 0.140757)

    assert total == pytest.approx(wh_day, rel=0.03)


def test_hour_shape_follows_the_files_mean_day(greensboro):
    hours, meta = greensboro
    rows = hours[hours.index.month == 7]
    mean = rows.groupby(rows.index.hour)["ghi"].mean()
    shares = sun.hour_shares(float(meta["latitude"]), 7)
    # local standard time runs 0.32 h behind the sun there: 75° − 79.95° and the equation of time
    middle = sum(h * mean[h] for h in range(24)) / mean.sum()
    ours = sum((h + 0.5) * x for h, x in enumerate(shares))
    spread = math.sqrt(sum((h - middle) ** 2 * mean[h] for h in range(24)) / mean.sum())
    our_spread = math.sqrt(sum((h + 0.5 - ours) ** 2 * x for h, x in enumerate(shares)))

    assert our_spread == pytest.approx(spread, rel=0.04)


def test_more_sun_than_reaches_the_air_is_refused():
    with pytest.raises(SizingError, match=r"site.ghi is 9\.0 kWh/m²/day; it must be at least 0 kWh/m²/day"):
        sun.check_site("site.ghi", -35.0, 6, 9.0)


def test_a_polar_month_may_have_a_little_more_than_its_mean_day():
    """December at 66 degrees: 0.04 kWh/m2/day on the 10th, more at both ends of the month, as a file may say."""
    assert sun.extraterrestrial_kwh_m2_day(66.0, 12) < 0.05
    assert sun.check_site("site.ghi", 66.0, 12, 0.05) == pytest.approx(0.1)
    with pytest.raises(SizingError):
        sun.check_site("site.ghi", 66.0, 12, 0.2)


def test_june_is_dark_in_the_south_and_light_in_the_north():
    assert sun.extraterrestrial_kwh_m2_day(-38, 6) < 5 < 11 < sun.extraterrestrial_kwh_m2_day(45, 6)


@pytest.mark.parametrize("month", [0, 13])
def test_months_run_from_one_to_twelve(month):
    with pytest.raises(SizingError, match="month is"):
        sun.hour_shares(0.0, month)


def _gives(control, series, cell, battery_v=12.8, charging_v=14.4, strings=1):
    return sun.panel_hour_w(PANEL, control, series, strings, 800.0, cell, 0.9, battery_v, charging_v)


def test_mppt_takes_power_and_pwm_takes_current():
    hot = 1 - 0.0035 * 25

    assert _gives(MPPT, 2, 50) == pytest.approx(2 * 100 * 0.8 * hot * 0.9 * 0.96)
    assert _gives(PWM, 1, 50) == pytest.approx(5 * 0.8 * 0.9 * 12.8 * 0.98)


def test_mppt_does_not_start_on_one_hot_panel():
    # 20 V × (1 − 0.0035 × 45) = 16.9 V, wanted 14.4 + 5 V
    assert _gives(MPPT, 1, 70) == 0
    assert _gives(MPPT, 2, 70) > 0


def test_pwm_gets_nothing_from_a_12_v_panel_on_24_v():
    assert _gives(PWM, 1, 50, battery_v=25.6, charging_v=28.8) == 0


def test_cold_raises_the_open_circuit_voltage():
    assert sun.cold_voc_v(24, -0.0028, 2, -10) > sun.cold_voc_v(24, -0.0028, 2, 5) > 48


@pytest.mark.parametrize(("call", "said"), [
    (lambda: sun.cold_voc_v(24, 0.003, 1, -10), "voc_per_k is 0.003 1/K; it must be at least -0.02 1/K"),
    (lambda: sun.array_power_w(100, -5, 25, -0.0035), "irradiance_w_m2 is -5 W/m²"),
    (lambda: sun.sunrise_h(80, 6), "latitude_deg is 80 °"),
])  # fmt: skip
def test_impossible_values_are_refused(call, said):
    with pytest.raises(SizingError, match=said):
        call()


# --- Tilted ------------------------------------------------------------------------------------------


def _plane(latitude, month, ghi, tilt=0.0, azimuth=None):
    return sum(sun.plane_w_m2(latitude, month, ghi, tilt, azimuth)) / 1000


def test_flat_panels_get_the_horizontal_exactly():
    shares = sun.hour_shares(-34.0, 7)

    assert sun.plane_w_m2(-34.0, 7, 2.6) == tuple(1000 * 2.6 * x for x in shares)


def test_hardly_tilted_is_hardly_different():
    assert _plane(-34.0, 7, 2.6, 0.01) == pytest.approx(2.6, rel=1e-3)


def test_in_winter_panels_towards_the_equator_gain_and_away_from_it_lose():
    towards, away = _plane(-34.0, 7, 2.6, 30.0), _plane(-34.0, 7, 2.6, 30.0, 180.0)

    assert towards == _plane(-34.0, 7, 2.6, 30.0, 0.0)
    assert away < 2.6 < towards
    assert _plane(40.0, 1, 2.0, 30.0) == _plane(40.0, 1, 2.0, 30.0, 180.0) > 2.0


def test_east_and_west_get_the_same_at_other_hours():
    east, west = (sun.plane_w_m2(-34.0, 3, 5.0, 30.0, x) for x in (90.0, 270.0))

    assert sum(east) == pytest.approx(sum(west), rel=1e-6)
    assert sum(east[:12]) > sum(west[:12])


@given(st.floats(-66, 66), st.integers(1, 12), st.floats(0, 1), st.floats(0, 60), st.floats(0, 360))
@settings(max_examples=60, deadline=None)
def test_no_plane_gets_light_at_night_or_more_than_there_is(latitude, month, clear, tilt, azimuth):
    ghi = min(12.0, 0.75 * clear * sun.extraterrestrial_kwh_m2_day(latitude, month))

    plane = sun.plane_w_m2(latitude, month, ghi, tilt, azimuth)

    shares = sun.hour_shares(latitude, month)
    assert all(x == 0 for x, part in zip(plane, shares, strict=True) if part == 0)
    assert min(plane) >= 0
    assert max(plane) < 1600


@pytest.mark.parametrize(
    ("tilt", "azimuth", "said"),
    [(61.0, None, "panel_tilt_deg is 61.0 °; .* at most 60 °"), (20.0, 361.0, "panel_azimuth_deg is 361.0 °")],
)
def test_impossible_planes_are_refused(tilt, azimuth, said):
    with pytest.raises(SizingError, match=said):
        sun.plane_w_m2(-34.0, 7, 2.6, tilt, azimuth)


def test_tilt_changes_the_yield_and_shows_in_the_working():
    flat, tilted = appraise(wagon(**WINTER)), appraise(wagon(**WINTER, **{"wishes.panel_tilt_deg": 20.0}))

    assert tilted.value("sun.array_w") < flat.value("sun.array_w")
    assert "tilted" in {s.code for s in tilted.figures["sun.got_wh"].steps}
    assert "tilted" not in {s.code for s in flat.figures["sun.got_wh"].steps}
    assert follow(tilted.figures["sun.got_wh"]) == pytest.approx(tilted.value("sun.got_wh"))


WINTER = {"trip.1.month": 7}


def test_pwm_gets_nothing_from_a_panel_that_works_under_the_charging_voltage():
    # a hot 30 V panel on 24 V: 20 × 1.5 V; here one 20 V panel at 70 °C, 16.9 V, on a bank charged at 17 V
    assert _gives(PWM, 1, 70, charging_v=17.0) == 0
    assert _gives(PWM, 1, 70, charging_v=16.8) > 0
