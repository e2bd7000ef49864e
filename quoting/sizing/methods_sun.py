"""Single methods of the sun: above the air, by hours, clear days, in a plane, at a battery, in shade, at any place."""

from __future__ import annotations

import math

from catalog.kinds.capabilities import Panel, SolarControl
from quoting.sizing import places, shade, sun
from quoting.sizing.methods_registry import Input, Values, declare, figure_of, number
from quoting.sizing.simulation import weather
from quoting.sizing.trace import Figure, Scalar, step

Worked = tuple[Figure, dict[str, Scalar]]

LATITUDE = number("latitude_deg", "°", -66.5, 66.5, "South negative.")
MONTH = Input("month", "", 1, 12, "1 is January.", None, "integer")
DAILY = number("ghi_kwh_m2_day", "kWh/m²/day", 0, 12, "Mean daily irradiation on the flat.")


@declare("extraterrestrial", "Daily irradiation above the air on a month's mean day.", LATITUDE, MONTH)
def _above(v: Values) -> Worked:
    value = sun.extraterrestrial_kwh_m2_day(v["latitude_deg"], v["month"])
    steps = (step("above_the_air", value, "kWh/m²/day", "", "derived", month=v["month"]),)
    rise = sun.sunrise_h(v["latitude_deg"], v["month"])
    return figure_of(
        "above_kwh_m2_day", value, "kWh/m²/day", steps, "extraterrestrial", "spencer_cooper", sunrise_h=rise
    )


@declare(
    "hour-share",
    "Share of a mean day's irradiation that falls in one hour.",
    LATITUDE,
    MONTH,
    Input("hour", "", 0, 23, "Local solar time; 12 is from 12 to 13 h.", 12, "integer"),
)
def _hour_share(v: Values) -> Worked:
    share = sun.hour_shares(v["latitude_deg"], v["month"])[v["hour"]]
    steps = (step("share_of_day", share, "", "", "derived", hour=v["hour"]),)
    return figure_of("share_ratio", share, "", steps, "hour_share", "collares_pereira")


@declare(
    "clearness-quantile",
    "Clearness that so large a share of a month's days does not exceed.",
    number("mean_clearness", "", 0, 1, "Monthly mean of daily clearness."),
    number("share", "", 0, 1, "Share of the days that are no clearer.", 0.05),
)
def _clearness(v: Values) -> Worked:
    mean = v["mean_clearness"]
    value = weather.clearness_quantile(mean, v["share"])
    steps = (
        step("clearness_mean", mean, "", "", "input"),
        step("day_over_mean", value / mean if mean else 0.0, "", "×", "derived", share_ratio=v["share"]),
        step("clearness_day", value, "", "="),
    )
    return figure_of(
        "clearness", value, "", steps, "clearness_quantile", "clearness", clearest=weather.clearness_most(mean),
        spread=weather.clearness_spread(mean),
    )  # fmt: skip


@declare(
    "clear-sky",
    "Daily irradiation on the flat on a month's mean day without a cloud.",
    LATITUDE,
    MONTH,
    number("elevation_m", "m", -450, 6000, "Over the sea.", 0.0),
    number("turbidity", "", 1, 10, "Linke turbidity at air mass 2.", places.TURBIDITY_CLEAN),
)
def _clear_sky(v: Values) -> Worked:
    months = places.clear_sky_kwh_m2_day(v["latitude_deg"], v["elevation_m"], v["turbidity"])
    value = float(months[v["month"] - 1])
    steps = (step("clear_day", value, "kWh/m²/day", "", "derived", month=v["month"]),)
    return figure_of("clear_kwh_m2_day", value, "kWh/m²/day", steps, "clear_sky", "ineichen_perez")


@declare(
    "tilted-day",
    "Irradiation of a month's mean day in the plane of tilted panels.",
    LATITUDE,
    MONTH,
    DAILY,
    number("tilt_deg", "°", 0, 60, "Over the horizontal."),
    number("azimuth_deg", "°", -1, 360, "Clockwise from north; towards the equator when −1.", -1.0),
)
def _tilted(v: Values) -> Worked:
    sun.check_site("ghi_kwh_m2_day", v["latitude_deg"], v["month"], v["ghi_kwh_m2_day"])
    facing = v["azimuth_deg"] if v["azimuth_deg"] >= 0 else None
    plane = sun.plane_w_m2(v["latitude_deg"], v["month"], v["ghi_kwh_m2_day"], v["tilt_deg"], facing)
    value = math.fsum(plane) / 1000
    flat = v["ghi_kwh_m2_day"]
    to_deg = sun.towards_equator_deg(v["latitude_deg"]) if facing is None else facing
    steps = (
        step("on_the_flat", flat, "kWh/m²/day", "", "input"),
        step("tilted", value / flat if flat else 0.0, "", "×", "derived", tilt_deg=v["tilt_deg"], facing_deg=to_deg),
        step("in_the_plane", value, "kWh/m²/day", "="),
    )
    return figure_of("plane_kwh_m2_day", value, "kWh/m²/day", steps, "tilted_day", "collares_pereira_rabl")


def _module(power_w: float, vmp_v: float, power_per_k: float, series: int, groups: int | None = None) -> Panel:
    one_a = power_w / vmp_v
    return Panel(
        power_w=power_w, vmp_v=vmp_v, imp_a=one_a, voc_v=vmp_v, isc_a=one_a, power_per_k=power_per_k, voc_per_k=0.0,
        max_series_fuse_a=one_a, max_system_v=vmp_v * series, length_m=1.0, width_m=1.0, bypass_groups=groups,
    )  # fmt: skip


def _control(method: str, efficiency_ratio: float, start_margin_v: float) -> SolarControl:
    return SolarControl(
        method=method, output_nominal_v=(12.0,), output_a=math.inf, efficiency_ratio=efficiency_ratio,
        max_voc_v=math.inf, max_isc_a=math.inf, start_margin_v=start_margin_v,
    )  # fmt: skip


@declare(
    "pv-hour",
    "Power at the battery in an hour of this sun, through an MPPT or a PWM controller.",
    number("power_w", "W", 1, 2000, "Of one module at standard test conditions."),
    number("vmp_v", "V", 1, 200, "Its voltage there."),
    number("power_per_k", "1/K", -0.01, 0, "Relative change of its power.", -0.0035),
    Input("series", "", 1, 20, "Modules in series.", 1, "integer"),
    Input("strings", "", 1, 20, "Strings side by side.", 1, "integer"),
    number("irradiance_w_m2", "W/m²", 0, 1500, "In the plane of the module."),
    number("cell_c", "°C", -60, 130, "Cells of the module."),
    Input("controller", "", None, None, "How it works.", "mppt", "choice", ("mppt", "pwm")),
    number("efficiency_ratio", "", 0.3, 1, "Of the controller.", 0.96),
    number("start_margin_v", "V", 0, 20, "An MPPT starts so far over the charging voltage.", 1.0),
    number("charging_v", "V", 5, 100, "At the battery.", 14.4),
    number("losses_left_ratio", "", 0, 1, "What the itemised losses leave.", 1.0),
)
def _pv_hour(v: Values) -> Worked:
    panel = _module(v["power_w"], v["vmp_v"], v["power_per_k"], v["series"])
    control = _control(v["controller"], v["efficiency_ratio"], v["start_margin_v"])
    volts = v["charging_v"]
    watts = sun.panel_hour_w(
        panel,
        control,
        v["series"],
        v["strings"],
        v["irradiance_w_m2"],
        v["cell_c"],
        v["losses_left_ratio"],
        volts,
        volts,
    )
    heat = max(0.0, 1 + v["power_per_k"] * (v["cell_c"] - sun.STC_C))
    left = (
        step("pwm_match", volts / v["vmp_v"] / v["series"], "", "×", "derived")
        if v["controller"] == "pwm"
        else step("temperature_rise", heat, "", "×", "derived", cell_c=v["cell_c"])
    )
    steps = (
        step("array", v["power_w"] * v["series"] * v["strings"], "W", "", "input"),
        step("sun_hours", v["irradiance_w_m2"] / 1000, "kW/m²", "×", "input"),
        left,
        step("losses", v["losses_left_ratio"], "", "×", "input"),
        step("controller", v["efficiency_ratio"], "", "×", "input"),
        step("starts", 1 if watts > 0 else 0, "", "×", "derived", charging_v=volts),
        step("sun_at_battery", watts, "W", "="),
    )
    return figure_of("battery_w", watts, "W", steps, "pv_hour", "collares_pereira_rabl", starts=watts > 0)


@declare(
    "shade-left",
    "Share of its power that an array still gives in shade, by whole bypass groups.",
    number("shade_ratio", "", 0, 1, "Share of the panels' area in shadow."),
    Input("bypass_groups", "", 1, 12, "Of one panel.", 2, "integer"),
    Input("series", "", 1, 20, "Modules in series.", 1, "integer"),
    Input("strings", "", 1, 20, "Strings side by side.", 1, "integer"),
    number("hot_v", "V", 1, 250, "Working voltage of one module at its temperature."),
    Input("controller", "", None, None, "How it works.", "mppt", "choice", ("mppt", "pwm")),
    number("start_margin_v", "V", 0, 20, "An MPPT starts so far over the charging voltage.", 1.0),
    number("charging_v", "V", 5, 100, "At the battery.", 14.4),
)
def _shade_left(v: Values) -> Worked:
    panel = _module(v["hot_v"], v["hot_v"], 0.0, v["series"], v["bypass_groups"])
    control = _control(v["controller"], 1.0, v["start_margin_v"])
    groups, least_v = v["bypass_groups"] * v["series"] * v["strings"], sun.asked_v(control, v["charging_v"])
    hot_v = v["hot_v"] * v["series"]
    value = float(shade.left_ratio(panel, control, v["series"], v["strings"], v["shade_ratio"], hot_v, least_v))
    steps = (step("shade", value, "", "", "derived", shade_ratio=v["shade_ratio"], groups=groups),)
    touched = shade.touched_groups(v["shade_ratio"], groups)
    return figure_of("left_ratio", value, "", steps, "shade_left", "common", touched_groups=touched)


@declare(
    "site-estimate",
    "Daily irradiation of a month at any place, estimated from places whose climate is known.",
    LATITUDE,
    number("longitude_deg", "°", -180, 180, "West negative."),
    number("elevation_m", "m", -450, 6000, "Over the sea."),
    MONTH,
    wants_sites=True,
)
def _site(v: Values) -> Worked:
    found = places.estimate(v["latitude_deg"], v["longitude_deg"], v["elevation_m"], v["sites"])
    at = v["month"] - 1
    value, clear = found.ghi_kwh_m2_day[at], found.clearness_ratio[at]
    above = value / clear if clear else 0.0
    steps = (
        step("above_the_air", above, "kWh/m²/day", "", "derived", month=v["month"]),
        step("clearness_carried", clear, "", "×", "derived", rows=found.rows_count),
        step("on_the_flat", value, "kWh/m²/day", "="),
    )
    return figure_of(
        "ghi_kwh_m2_day", value, "kWh/m²/day", steps, "site_estimate", "nearest_rows", nearest_km=found.nearest_km,
        nearest=found.rows[0].name, likely_error_ratio=found.likely_error_ratio,
        likely_error_year_ratio=found.likely_error_year_ratio, tmin_c=found.tmin_c[at], tmax_c=found.tmax_c[at],
        record_low_c=found.record_low_c,
    )  # fmt: skip
