"""An invented wagon and an invented shelf of parts that the tests of choice, circuits and bill share."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from quoting.sizing.appraisal import LoadResult
from quoting.sizing.brief import Brief, Part, read
from quoting.sizing.conductor_tables import CLASS_5_OHM_PER_KM_20C
from quoting.sizing.needs import BatteryNeed, InverterNeed, Needs, SolarNeed

AREAS = (1.5, 2.5, 4, 6, 10, 16, 25, 35, 50, 70, 95, 120)


def part(key: str, kind: str, cost: float, mass_kg: float = 0.1, **spec: Any) -> dict[str, Any]:
    return {
        "key": key,
        "kind": kind,
        "name": key.replace("_", " "),
        "part_number": key.upper(),
        "spec": spec,
        "cost": f"{cost:.2f}",
        "mass_kg": mass_kg,
    }


def battery(key: str = "larkham_100", cost: float = 600, capacity_ah: float = 100, **change: Any) -> dict[str, Any]:
    spec = {
        "chemistry": "lifepo4", "nominal_v": 12.8, "cells": 4, "capacity_ah": capacity_ah, "rate_h": 5, "peukert": 1.03,
        "resistance_ohm": 0.003, "max_charge_a": capacity_ah, "max_discharge_a": 1.5 * capacity_ah,
        "peak_a": 3 * capacity_ah, "peak_s": 10, "cutoff_v": 10.8, "absorption_v": 14.4, "float_v": 13.6,
        "compensation_mv_per_cell_k": 0, "max_series": 2, "max_parallel": 4, "min_charge_c": 0, "max_charge_c": 45,
    }  # fmt: skip
    return part(key, "battery", cost, 11.5 * capacity_ah / 100, **{**spec, **change})


def dcdc(key: str = "corrie_40", output_a: float = 40, cost: float = 420, **change: Any) -> dict[str, Any]:
    spec = {
        "output_a": output_a, "input_nominal_v": 12, "output_nominal_v": 12, "efficiency_ratio": 0.9,
        "stop_below_v": 11.5, "limit_steps_a": [10, 20, 30], "smart_alternator": True,
        "profiles": ["lifepo4", "agm"], "derating_ratio": [[50, 1.0], [70, 0.5]],
    }  # fmt: skip
    spec["limit_steps_a"] = [s for s in (10, 20, 30) if s < output_a]
    return part(key, "dcdc_charger", cost, 1.6, **{**spec, **change})


def fuse(rating_a: float, series: str, breaking_a: float, ohm: float, cost: float) -> dict[str, Any]:
    key = f"fuse_{series}_{rating_a:g}"
    return part(key, "fuse", cost, 0.05, rating_a=rating_a, breaking_a=breaking_a, series=series, max_v=58,
                resistance_ohm=ohm, min_opening_s_at_2x=0.5)  # fmt: skip


def shelf() -> list[dict[str, Any]]:
    """Everything a 12 V wagon needs, and a little more."""
    parts = [
        battery(),
        battery("larkham_200", 1100, 200),
        part("larkham_agm", "battery", 250, 30, chemistry="agm", nominal_v=12, cells=6, capacity_ah=100, rate_h=20,
             peukert=1.12, resistance_ohm=0.005, max_charge_a=30, max_discharge_a=100, peak_a=400, peak_s=5,
             cutoff_v=10.5, absorption_v=14.4, float_v=13.6, compensation_mv_per_cell_k=-4, max_series=2,
             max_parallel=4, min_charge_c=-15, max_charge_c=50),
        dcdc(),
        dcdc("corrie_25", 25, 300),
        part("corrie_mains_30", "mains_charger", 350, 3, output_a=30, output_nominal_v=12, mains_v=230,
             efficiency_ratio=0.9, power_factor=0.95, profiles=["lifepo4", "agm"]),
        part("harrowell_mppt_30", "solar_controller", 230, 1.2, method="mppt", output_a=30,
             output_nominal_v=["12", "24"], efficiency_ratio=0.97, max_voc_v=100, max_isc_a=35, start_margin_v=1.0,
             profiles=["lifepo4", "agm"]),
        part("harrowell_120", "solar_panel", 150, 7, power_w=120, vmp_v=20.4, imp_a=5.9, voc_v=24.3, isc_a=6.3,
             power_per_k=-0.0035, voc_per_k=-0.0028, max_series_fuse_a=15, max_system_v=600, length_m=1.1,
             width_m=0.55),
        part("pellow_2000", "inverter", 900, 9, continuous_w=2000, continuous_va=2000, surge_w=4000, surge_s=5,
             nominal_v=12, output_v=230, output_hz=50, no_load_w=12, efficiency_half_ratio=0.93,
             efficiency_full_ratio=0.9, cutoff_v=10.8, derating_ratio=[[40, 1.0], [60, 0.8]]),
        part("quoin_monitor", "battery_monitor", 180, 0.4, shunt_a=500, shunt_ohm=0.0001, max_v=70, own_awake_w=0.5),
        part("quoin_switch_8", "switched_output_module", 320, 0.6, channel_limits_a=[25, 25, 15, 15, 10, 10, 10, 10],
             total_a=100, nominal_v=["12", "24"], sheds=True, protects=False, own_awake_w=2),
        part("ambry_isolator", "isolator", 60, 0.4, rating_a=300, max_v=60),
        part("ambry_inlet", "shore_inlet", 70, 0.4, rated_a=15, rated_v=240),
        part("ambry_rcd", "residual_current_device", 90, 0.3, rated_a=16, sensitivity_ma=30, poles=2, type="a",
             overcurrent=True, breaking_a=6000),
        part("ossery_bus_12", "busbar", 55, 0.7, rating_a=400, studs=12, stud_mm=8, max_v=60),
        part("ossery_hold_c", "fuse_holder", 6, 0.05, series="blade_c", max_rating_a=40, ways=1, max_v=58),
        part("ossery_hold_b6", "fuse_holder", 24, 0.2, series="bolt_b", max_rating_a=125, ways=1, max_v=58),
        part("ossery_hold_t", "fuse_holder", 45, 0.2, series="class_t", max_rating_a=500, ways=1, max_v=125),
    ]  # fmt: skip
    parts += [fuse(r, "blade_c", 1000, 0.02 / r, 1) for r in (1, 2, 3, 5, 7.5, 10, 15, 20, 25, 30, 40)]
    parts += [fuse(r, "bolt_b", 2000, 0.06 / r, 6) for r in (30, 40, 50, 60, 80, 100, 125)]
    parts += [
        fuse(r, "class_t", 20000, 0.05 / r, 40) for r in (50, 60, 80, 100, 125, 150, 200, 225, 250, 300, 350, 400)
    ]
    for r in (5, 10, 15, 20, 30):
        parts.append(part(f"breaker_{r}", "circuit_breaker", 18, 0.2, rating_a=r, breaking_a=6000, max_v=100, poles=1,
                          resistance_ohm=0.03 / r, min_opening_s_at_2x=1.0, isolates=True))  # fmt: skip
    for area in AREAS:
        ohm = CLASS_5_OHM_PER_KM_20C[area]
        for colour in ("red", "black"):
            parts.append(part(f"cable_{area:g}_{colour}", "cable", 0.5 + area * 0.25, 0.012 * area, area_mm2=area,
                              insulation_c=105, colour=colour, ohm_per_km_20c=ohm))  # fmt: skip
        for stud in (5, 6, 8):
            parts.append(part(f"lug_{area:g}_{stud}", "terminal", 0.3 + area * 0.03, 0.01, area_mm2=area, stud_mm=stud,
                              form="ring"))  # fmt: skip
    return parts


def case(**change: Any) -> dict[str, Any]:
    """The wagon's Brief as JSON; keys of ``change`` replace whole branches."""
    month = [5.0] * 12
    brief = {
        "title": "Wagon",
        "vehicle": {
            "name": "Ostler Farrow wagon", "nominal_v": 12, "alternator_control": "smart", "alternator_a": 150,
            "hot_idle_v": 13.2, "starter_ah": 80, "starter_ohm": 0.006, "cranking_v": 10.1, "standing_draw_a": 0.03,
            "roof_length_m": 2.4, "roof_width_m": 1.3,
            "positions": [
                {"key": "engine", "name": "Engine bay", "ambient_c": 70, "engine_space": True},
                {"key": "canopy", "name": "Canopy front", "ambient_c": 50},
                {"key": "rear", "name": "Canopy rear", "ambient_c": 50},
                {"key": "roof", "name": "Roof", "ambient_c": 60},
            ],
            "runs": [
                {"a": "engine", "b": "canopy", "length_m": 5.2, "bundled": 2},
                {"a": "canopy", "b": "rear", "length_m": 3.0, "bundled": 2},
                {"a": "canopy", "b": "roof", "length_m": 3.0, "bundled": 2},
            ],
            "places": {"starter": "engine", "battery": "canopy", "board": "canopy", "charger": "canopy",
                       "inverter": "canopy", "array": "roof", "inlet": "rear"},
        },
        "loads": [
            {"key": "fridge", "name": "Refrigerator", "position": "rear", "always_live": True, "critical": True,
             "essential": True, "shed_below_ratio": 0.2, "min_voltage_v": 10.4, "start_multiple": 3, "start_s": 0.1,
             "use": {"way": "steady", "power_w": 50, "hours_per_day": 24, "duty_ratio": 0.4}},
            {"key": "lights", "name": "Lights", "position": "rear", "circuit": "Rear",
             "use": {"way": "steady", "power_w": 24, "hours_per_day": 4}},
            {"key": "fan", "name": "Fan", "position": "rear", "circuit": "Rear",
             "use": {"way": "steady", "power_w": 18, "hours_per_day": 6}},
            {"key": "pump", "name": "Water pump", "position": "canopy", "start_multiple": 3, "start_s": 0.1,
             "use": {"way": "event", "power_w": 72, "minutes": 3, "times_per_day": 6}},
            {"key": "kettle", "name": "Kettle", "bus": "ac",
             "use": {"way": "event", "power_w": 1200, "minutes": 4, "times_per_day": 3}},
        ],
        "trip": [{"site": {"name": "Camp", "latitude_deg": -31.9, "longitude_deg": 115.9, "ghi_kwh_m2_day": month,
                           "tmin_c": [10.0] * 12, "tmax_c": [25.0] * 12}, "month": 6, "days": 3.0,
                  "driving_h_per_day": 1.5}],
        "wishes": {"system_v": 12},
        "catalogue": shelf(),
    }  # fmt: skip
    for key, value in change.items():
        brief[key] = value
    return brief


def brief_of(raw: dict[str, Any] | None = None) -> Brief:
    return read(raw or case())


def needs(**change: Any) -> Needs:
    asked = Needs(
        battery=BatteryNeed({"lifepo4": 180.0, "agm": 320.0}, 140.0, 170.0, 1.0),
        engine_a=30.0,
        engine_most_a=45.0,
        mains_a=20.0,
        solar=SolarNeed(230.0, -2.0, 70.0, 2.4 * 1.3),
        inverter=InverterNeed(1200.0, 1200.0, 1200.0, 1.0, 50.0),
        house_peak_a=14.0,
        compartment_c=50.0,
    )
    return replace(asked, **change)


def loads(brief: Brief) -> tuple[LoadResult, ...]:
    """Running currents at the nominal voltage, what the sums of the audit come to for plain DC loads."""
    volts = brief.wishes.system_v
    return tuple(
        LoadResult(
            key=x.key, name=x.name, energy_wh=0.0, running_a=x.use.power_w * x.quantity / volts,
            running_w=x.use.power_w * x.quantity, duty_ratio=1.0, hours_per_day=1.0, bus=x.bus,
            always_live=x.always_live, shed_below_ratio=x.shed_below_ratio,
        )
        for x in brief.loads
    )  # fmt: skip


def without(raw: dict[str, Any], *kinds_or_keys: str) -> dict[str, Any]:
    """The same Brief with some kinds or parts taken out of the catalogue."""
    kept = [p for p in raw["catalogue"] if p["kind"] not in kinds_or_keys and p["key"] not in kinds_or_keys]
    return {**raw, "catalogue": kept}


def parts_of(brief: Brief) -> dict[str, Part]:
    return {p.key: p for p in brief.catalogue}
