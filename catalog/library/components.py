"""An invented component catalogue. Makers, part numbers and prices are made up; nothing here can be bought.

Each entry: kind, name, maker, part_number, supplier, cost, mass_kg, stock, lead_days, spec.
"""

# ruff: noqa: E501  (a table reads best with one entry on one line)

from __future__ import annotations

from typing import Any

SORREL, HALT, WICK = "Sorrel Supplies", "Halt & Marrow", "Wick & Daughter"

SUPPLIERS: list[dict[str, Any]] = [
    {
        "name": SORREL,
        "contact": "Ilse Sorrel",
        "email": "orders@sorrel.example",
        "phone": "(08) 5550 0114",
        "closes_at": "16:30",
    },
    {
        "name": HALT,
        "contact": "Counter",
        "email": "counter@haltmarrow.example",
        "phone": "(08) 5550 0127",
        "closes_at": "17:00",
    },
    {"name": WICK, "contact": "Nan Wick", "email": "nan@wick.example", "phone": "(08) 5550 0138", "closes_at": "15:00"},
]

ALL_PROFILES = ["lifepo4", "agm", "gel", "flooded"]
HEAT = [[25.0, 1.0], [40.0, 0.93], [50.0, 0.82], [60.0, 0.65]]
"""Derating of chargers."""
INVERTER_HEAT = [[30.0, 1.0], [45.0, 0.92], [50.0, 0.85], [60.0, 0.6]]


def _part(
    kind: str, maker: str, code: str, supplier: str, cost: str, mass_kg: float, stock: int, lead_days: int, **spec: Any
) -> dict[str, Any]:
    return {
        "kind": kind,
        "name": f"{maker} {code}",
        "maker": maker,
        "part_number": code,
        "supplier": supplier,
        "cost": cost,
        "mass_kg": mass_kg,
        "stock": stock,
        "lead_days": lead_days,
        "spec": spec,
    }


def _lifepo4(
    code: str,
    cost: str,
    mass_kg: float,
    stock: int,
    ah: float,
    charge: float,
    discharge: float,
    peak: float,
    mohm: float,
    *,
    volts: float = 12.8,
    parallel: int = 4,
    heater_w: float = 0.0,
) -> dict[str, Any]:
    cells = round(volts / 3.2)
    return _part(
        "battery", "Larkham", code, SORREL, cost, mass_kg, stock, 9,
        chemistry="lifepo4", nominal_v=volts, cells=cells, capacity_ah=ah, rate_h=5.0, peukert=1.02,
        resistance_ohm=mohm / 1000, max_charge_a=charge, max_discharge_a=discharge, peak_a=peak, peak_s=10.0,
        cutoff_v=2.6 * cells, absorption_v=3.55 * cells, float_v=3.375 * cells, compensation_mv_per_cell_k=0.0,
        max_series=2 if volts < 20 else 1, max_parallel=parallel, min_charge_c=0.0, max_charge_c=45.0, heater_w=heater_w,
        cycles=[[0.5, 6000.0], [0.8, 3500.0], [1.0, 2200.0]], own_awake_w=0.2, own_asleep_w=0.05,
    )  # fmt: skip


LEAD: dict[str, dict[str, Any]] = {
    "agm": {
        "peukert": 1.12,
        "absorption": 2.40,
        "float": 2.27,
        "mv": -4.0,
        "cycles": [[0.3, 1500.0], [0.5, 800.0], [0.8, 400.0]],
    },
    "gel": {
        "peukert": 1.14,
        "absorption": 2.37,
        "float": 2.30,
        "mv": -4.0,
        "cycles": [[0.3, 1800.0], [0.5, 1000.0], [0.8, 550.0]],
    },
    "flooded": {
        "peukert": 1.22,
        "absorption": 2.47,
        "float": 2.25,
        "mv": -5.0,
        "cycles": [[0.3, 1400.0], [0.5, 900.0], [0.8, 500.0]],
    },
}


def _lead(
    chemistry: str,
    code: str,
    cost: str,
    mass_kg: float,
    stock: int,
    ah: float,
    mohm: float,
    *,
    volts: float = 12.0,
    parallel: int = 3,
) -> dict[str, Any]:
    of = LEAD[chemistry]
    cells = round(volts / 2)
    return _part(
        "battery", "Larkham", code, SORREL, cost, mass_kg, stock, 6,
        chemistry=chemistry, nominal_v=volts, cells=cells, capacity_ah=ah, rate_h=20.0, peukert=of["peukert"],
        resistance_ohm=mohm / 1000, max_charge_a=round(0.25 * ah, 1), max_discharge_a=round(0.6 * ah, 1), peak_a=round(4.0 * ah, 1),
        peak_s=5.0, cutoff_v=1.75 * cells, absorption_v=round(of["absorption"] * cells, 2), float_v=round(of["float"] * cells, 2),
        compensation_mv_per_cell_k=of["mv"], max_series=24 // round(volts), max_parallel=parallel, min_charge_c=-15.0, max_charge_c=45.0,
        cycles=of["cycles"], needs_venting=chemistry == "flooded", engine_bay_allowed=chemistry == "flooded",
    )  # fmt: skip


BATTERIES = [
    _lifepo4("LF-50", "428.00", 6.4, 4, 50, 40, 50, 100, 6.0),
    _lifepo4("LF-100", "798.00", 11.2, 5, 100, 60, 100, 200, 4.0),
    _lifepo4("LF-100H", "894.00", 11.8, 2, 100, 60, 100, 200, 4.0, heater_w=60.0),
    _lifepo4("LF-160", "1186.00", 17.4, 3, 160, 80, 120, 260, 3.0),
    _lifepo4("LF-200", "1440.00", 21.5, 2, 200, 100, 200, 400, 2.4),
    _lifepo4("LF-300", "2080.00", 31.0, 1, 300, 150, 200, 450, 1.8, parallel=2),
    _lifepo4("LF-24-100", "1610.00", 22.6, 2, 100, 60, 100, 220, 8.0, volts=25.6),
    _lifepo4("LF-24-200", "2890.00", 42.0, 1, 200, 100, 200, 400, 4.5, volts=25.6),
    _lead("agm", "PB-55", "212.00", 17.0, 4, 55, 7.0),
    _lead("agm", "PB-105", "389.00", 31.5, 3, 105, 4.5),
    _lead("agm", "PB-200", "726.00", 59.0, 1, 200, 2.8),
    _lead("gel", "PG-80", "344.00", 25.5, 2, 80, 6.0),
    _lead("gel", "PG-150", "612.00", 46.0, 1, 150, 3.8),
    _lead("flooded", "PW-110", "268.00", 27.0, 3, 110, 4.8),
    _lead("flooded", "PW-6-225", "318.00", 28.5, 4, 225, 2.2, volts=6.0, parallel=2),
]


def _dcdc(
    code: str,
    cost: str,
    mass: float,
    stock: int,
    amps: float,
    vin: int,
    vout: int,
    steps: list[float],
    eff: float = 0.88,
) -> dict[str, Any]:
    return _part(
        "dcdc_charger", "Pellow", code, SORREL, cost, mass, stock, 9,
        output_a=amps, input_nominal_v=vin, output_nominal_v=vout, efficiency_ratio=eff, stop_below_v=11.0 * vin / 12,
        limit_steps_a=steps, smart_alternator=True, profiles=ALL_PROFILES, derating_ratio=HEAT, own_asleep_w=0.05,
    )  # fmt: skip


def _mains(
    code: str, cost: str, mass: float, stock: int, amps: float, vout: int, volts: float = 230.0
) -> dict[str, Any]:
    return _part(
        "mains_charger", "Quoin", code, HALT, cost, mass, stock, 6,
        output_a=amps, output_nominal_v=vout, mains_v=volts, efficiency_ratio=0.91, power_factor=0.95, profiles=ALL_PROFILES,
        derating_ratio=HEAT, own_asleep_w=0.0,
    )  # fmt: skip


def _panel(
    code: str,
    cost: str,
    mass: float,
    stock: int,
    watts: float,
    vmp: float,
    voc: float,
    size: tuple[float, float],
    *,
    flexible: bool = False,
) -> dict[str, Any]:
    imp = round(watts / vmp, 2)
    return _part(
        "solar_panel", "Harrowell", code, WICK, cost, mass, stock, 4,
        power_w=watts, vmp_v=vmp, imp_a=imp, voc_v=voc, isc_a=round(imp * 1.065, 2), power_per_k=-0.0036, voc_per_k=-0.0028,
        max_series_fuse_a=20.0 if imp < 13 else 25.0, max_system_v=600.0, length_m=size[0], width_m=size[1], flexible=flexible,
    )  # fmt: skip


def _sun(
    code: str, cost: str, mass: float, stock: int, method: str, amps: float, voc: float, isc: float
) -> dict[str, Any]:
    return _part(
        "solar_controller", "Corrie", code, HALT, cost, mass, stock, 6,
        method=method, output_a=amps, output_nominal_v=["12", "24"], efficiency_ratio=0.96 if method == "mppt" else 0.98, max_voc_v=voc,
        max_isc_a=isc, start_margin_v=5.0 if method == "mppt" else 0.0, profiles=ALL_PROFILES, derating_ratio=HEAT, own_asleep_w=0.15,
    )  # fmt: skip


CHARGING = [
    _dcdc("EC-25", "318.00", 1.1, 4, 25, 12, 12, [10.0]),
    _dcdc("EC-40", "446.00", 1.9, 3, 40, 12, 12, [10.0, 15.0, 20.0, 25.0, 30.0, 35.0]),
    _dcdc("EC-60", "690.00", 2.6, 1, 60, 12, 12, [20.0, 40.0]),
    _dcdc("EC-1224-20", "520.00", 2.2, 1, 20, 12, 24, [10.0]),
    _dcdc("EC-24-20", "498.00", 2.0, 2, 20, 24, 24, [10.0], 0.90),
    _dcdc("EC-24-40", "760.00", 2.9, 1, 40, 24, 24, [10.0, 15.0, 20.0, 25.0, 30.0, 35.0], 0.90),
    _dcdc("EC-2412-40", "468.00", 2.0, 1, 40, 24, 12, [20.0], 0.90),
    _mains("SC-15", "238.00", 1.6, 3, 15, 12),
    _mains("SC-30", "384.00", 2.7, 2, 30, 12),
    _mains("SC-60", "720.00", 4.8, 1, 60, 12),
    _mains("SC-24-20", "412.00", 2.9, 2, 20, 24),
    _mains("SC-24-40", "780.00", 5.1, 1, 40, 24),
    _part(
        "multi_charger", "Pellow", "MC-30", SORREL, "598.00", 2.1, 2, 9,
        output_a=30.0, output_nominal_v=12, has_engine_input=True, engine_a=30.0, input_nominal_v=12, stop_below_v=11.0,
        engine_efficiency_ratio=0.88, limit_steps_a=[10.0, 20.0], smart_alternator=True, has_solar_input=True, solar_method="mppt",
        solar_a=30.0, max_voc_v=50.0, max_isc_a=32.0, start_margin_v=4.0, solar_efficiency_ratio=0.95, profiles=ALL_PROFILES,
        derating_ratio=HEAT, own_asleep_w=0.2,
    ),
    _part(
        "multi_charger", "Pellow", "MC-50", SORREL, "1240.00", 5.4, 1, 12,
        output_a=50.0, output_nominal_v=12, has_engine_input=True, engine_a=50.0, input_nominal_v=12, stop_below_v=11.0,
        engine_efficiency_ratio=0.89, limit_steps_a=[15.0, 30.0], smart_alternator=True, has_mains_input=True, mains_a=40.0,
        mains_v=230.0, power_factor=0.95, mains_efficiency_ratio=0.9, has_solar_input=True, solar_method="mppt", solar_a=40.0,
        max_voc_v=60.0, max_isc_a=40.0, start_margin_v=4.0, solar_efficiency_ratio=0.95, profiles=ALL_PROFILES,
        derating_ratio=HEAT, own_asleep_w=0.3,
    ),
    _part(
        "multi_charger", "Pellow", "MC-24-30", SORREL, "1390.00", 5.6, 1, 12,
        output_a=30.0, output_nominal_v=24, has_engine_input=True, engine_a=30.0, input_nominal_v=24, stop_below_v=22.0,
        engine_efficiency_ratio=0.9, limit_steps_a=[10.0, 20.0], smart_alternator=True, has_solar_input=True, solar_method="mppt",
        solar_a=30.0, max_voc_v=100.0, max_isc_a=32.0, start_margin_v=4.0, solar_efficiency_ratio=0.95, profiles=ALL_PROFILES,
        derating_ratio=HEAT, own_asleep_w=0.3,
    ),
    _panel("TM-60", "104.00", 4.1, 3, 60, 18.2, 22.0, (0.67, 0.54)),
    _panel("TM-100", "158.00", 6.3, 5, 100, 18.6, 22.5, (1.02, 0.51)),
    _panel("TM-190", "262.00", 10.8, 8, 190, 20.2, 24.3, (1.48, 0.67)),
    _panel("TM-260", "338.00", 14.2, 4, 260, 30.6, 37.2, (1.66, 0.99)),
    _panel("TM-410", "452.00", 21.2, 2, 410, 31.2, 37.5, (1.72, 1.13)),
    _panel("TF-120", "296.00", 2.4, 3, 120, 18.9, 22.8, (1.12, 0.55), flexible=True),
    _sun("TC-P20", "88.00", 0.4, 3, "pwm", 20, 50, 20),
    _sun("TC-15", "148.00", 0.6, 4, "mppt", 15, 75, 15),
    _sun("TC-30", "236.00", 1.3, 4, "mppt", 30, 100, 35),
    _sun("TC-50", "388.00", 2.0, 2, "mppt", 50, 150, 60),
]  # fmt: skip


def _inverter(
    code: str,
    cost: str,
    mass: float,
    stock: int,
    watts: float,
    surge: float,
    idle: float,
    nominal: int,
    *,
    out: tuple[float, float] = (230.0, 50.0),
) -> dict[str, Any]:
    return _part(
        "inverter", "Corrie", code, HALT, cost, mass, stock, 6,
        continuous_w=watts, continuous_va=watts, surge_w=surge, surge_s=5.0, nominal_v=nominal, output_v=out[0], output_hz=out[1],
        no_load_w=idle, efficiency_half_ratio=0.92, efficiency_full_ratio=0.88, cutoff_v=10.5 * nominal / 12,
        derating_ratio=INVERTER_HEAT, own_asleep_w=0.0,
    )  # fmt: skip


CONVERSION = [
    _inverter("PS-300", "214.00", 2.1, 3, 300, 600, 5.0, 12),
    _inverter("PS-600", "338.00", 3.2, 2, 600, 1200, 7.0, 12),
    _inverter("PS-1000", "512.00", 4.6, 2, 1000, 2000, 9.0, 12),
    _inverter("PS-2000", "986.00", 8.9, 2, 2000, 4000, 14.0, 12),
    _inverter("PS-3000", "1480.00", 13.5, 1, 3000, 6000, 20.0, 12),
    _inverter("PS-24-1000", "538.00", 4.6, 1, 1000, 2000, 9.0, 24),
    _inverter("PS-24-2000", "1010.00", 8.8, 1, 2000, 4000, 14.0, 24),
    _inverter("PS-24-3500", "1690.00", 15.0, 1, 3500, 7000, 22.0, 24),
    _inverter("PS-1000N", "524.00", 4.7, 0, 1000, 2000, 9.0, 12, out=(120.0, 60.0)),
    _part("residual_current_device", "Quoin", "RD-16-30", HALT, "68.00", 0.24, 6, 3, rated_a=16.0, sensitivity_ma=30, poles=2, type="a", overcurrent=True, breaking_a=6000.0),
    _part("residual_current_device", "Quoin", "RD-25-30", HALT, "74.00", 0.24, 4, 3, rated_a=25.0, sensitivity_ma=30, poles=2, type="a", overcurrent=False, breaking_a=6000.0),
    _part("residual_current_device", "Quoin", "RD-16-10", HALT, "96.00", 0.24, 1, 6, rated_a=16.0, sensitivity_ma=10, poles=2, type="a", overcurrent=True, breaking_a=6000.0),
    _part("shore_inlet", "Quoin", "SI-10", HALT, "38.00", 0.3, 3, 3, rated_a=10.0, rated_v=240.0),
    _part("shore_inlet", "Quoin", "SI-15", HALT, "44.00", 0.35, 5, 3, rated_a=15.0, rated_v=240.0),
    _part("shore_inlet", "Quoin", "SI-32", HALT, "92.00", 0.6, 1, 6, rated_a=32.0, rated_v=250.0),
]  # fmt: skip

DISTRIBUTION = [
    _part("switched_output_module", "Pellow", "SO-6", SORREL, "312.00", 0.6, 2, 9, channel_limits_a=[30.0, 15.0, 15.0, 10.0, 10.0, 10.0], total_a=60.0, nominal_v=["12", "24"], sheds=True, protects=False, voltage_inputs=1, resistance_inputs=2, temperature_inputs=1, current_inputs=0, own_awake_w=1.2, own_asleep_w=0.15),
    _part("switched_output_module", "Pellow", "SO-12", SORREL, "540.00", 1.1, 1, 9, channel_limits_a=[30.0, 30.0, 20.0, 20.0, 15.0, 15.0, 10.0, 10.0, 10.0, 10.0, 5.0, 5.0], total_a=120.0, nominal_v=["12", "24"], sheds=True, protects=True, breaking_a=1000.0, voltage_inputs=2, resistance_inputs=4, temperature_inputs=2, current_inputs=0, own_awake_w=2.4, own_asleep_w=0.25),
    _part("battery_monitor", "Pellow", "BM-300", SORREL, "148.00", 0.4, 4, 6, shunt_a=300.0, shunt_ohm=0.00016667, max_v=35.0, voltage_inputs=1, temperature_inputs=1, own_awake_w=0.3, own_asleep_w=0.06),
    _part("battery_monitor", "Pellow", "BM-500", SORREL, "196.00", 0.6, 3, 6, shunt_a=500.0, shunt_ohm=0.0001, max_v=70.0, voltage_inputs=1, temperature_inputs=1, own_awake_w=0.3, own_asleep_w=0.06),
    _part("busbar", "Ambry", "BB-150", SORREL, "24.00", 0.18, 8, 3, rating_a=150.0, studs=6, stud_mm=6.0, max_v=60.0),
    _part("busbar", "Ambry", "BB-250", SORREL, "38.00", 0.32, 6, 3, rating_a=250.0, studs=6, stud_mm=8.0, max_v=60.0),
    _part("busbar", "Ambry", "BB-400", SORREL, "62.00", 0.55, 3, 3, rating_a=400.0, studs=8, stud_mm=10.0, max_v=60.0),
    _part("busbar", "Ambry", "BB-600", SORREL, "88.00", 0.8, 2, 3, rating_a=600.0, studs=8, stud_mm=10.0, max_v=60.0),
    _part("isolator", "Ambry", "IS-100", SORREL, "32.00", 0.22, 5, 3, rating_a=100.0, max_v=48.0, poles=1, resistance_ohm=0.0004),
    _part("isolator", "Ambry", "IS-200", SORREL, "48.00", 0.34, 4, 3, rating_a=200.0, max_v=48.0, poles=1, resistance_ohm=0.0002),
    _part("isolator", "Ambry", "IS-300", SORREL, "68.50", 0.42, 6, 3, rating_a=300.0, max_v=48.0, poles=1, resistance_ohm=0.00015),
    _part("isolator", "Ambry", "IS-500", SORREL, "112.00", 0.9, 2, 6, rating_a=500.0, max_v=48.0, poles=1, resistance_ohm=0.0001),
    _part("isolator", "Ambry", "IS-2-32", SORREL, "54.00", 0.3, 3, 6, rating_a=32.0, max_v=500.0, poles=2, resistance_ohm=0.002),
]  # fmt: skip


def _fuses(
    series: str,
    prefix: str,
    ratings: tuple[float, ...],
    breaking_a: float,
    max_v: float,
    drop_v: float,
    opens_s: float,
    cost: float,
    mass: float,
) -> list[dict[str, Any]]:
    """One series; the cold resistance follows from the drop at rated current."""
    return [
        _part(
            "fuse", "Ambry", f"{prefix}-{rating:g}", SORREL, f"{cost * (1 + rating / 400):.2f}", mass, 0 if breaking_a > 6000 and rating == 200 else 6, 3,
            rating_a=float(rating), breaking_a=breaking_a, series=series, max_v=max_v, resistance_ohm=round(0.7 * drop_v / rating, 7),
            min_opening_s_at_2x=opens_s,
        )
        for rating in ratings
    ]  # fmt: skip


PROTECTION = [
    *_fuses("blade_c", "FB", (1, 2, 3, 5, 7.5, 10, 15, 20, 25, 30, 40), 1000.0, 32.0, 0.11, 0.15, 0.60, 0.002),
    *_fuses("blade_e", "FX", (20, 30, 40, 50, 60, 70, 80), 1000.0, 32.0, 0.09, 2.0, 2.80, 0.008),
    *_fuses("strip_51", "FS", (40, 50, 60, 80, 100, 125, 150, 175, 200, 225, 250, 300), 2000.0, 32.0, 0.07, 1.0, 6.40, 0.02),
    *_fuses("stud", "FT", (30, 40, 50, 60, 80, 100, 125, 150, 175, 200, 225, 250, 300), 6000.0, 32.0, 0.07, 1.0, 14.00, 0.03),
    *_fuses("class_t", "HF", (20, 30, 40, 50, 60, 80, 100, 125, 150, 175, 200, 225, 250, 300, 350, 400), 20000.0, 125.0, 0.06, 1.0, 28.00, 0.18),
    _part("fuse_holder", "Ambry", "HB-1", SORREL, "3.40", 0.02, 30, 3, series="blade_c", max_rating_a=40.0, ways=1, max_v=32.0),
    _part("fuse_holder", "Ambry", "HB-6", SORREL, "28.00", 0.2, 6, 3, series="blade_c", max_rating_a=30.0, ways=6, max_v=32.0),
    _part("fuse_holder", "Ambry", "HB-12", SORREL, "46.00", 0.35, 5, 3, series="blade_c", max_rating_a=30.0, ways=12, max_v=32.0),
    _part("fuse_holder", "Ambry", "HX-1", SORREL, "9.80", 0.06, 10, 3, series="blade_e", max_rating_a=80.0, ways=1, max_v=32.0),
    _part("fuse_holder", "Ambry", "HS-1", SORREL, "19.50", 0.12, 10, 3, series="strip_51", max_rating_a=300.0, ways=1, max_v=32.0),
    _part("fuse_holder", "Ambry", "HT-1", SORREL, "22.00", 0.1, 8, 3, series="stud", max_rating_a=300.0, ways=1, max_v=32.0),
    _part("fuse_holder", "Ambry", "HF-B200", SORREL, "46.00", 0.4, 4, 3, series="class_t", max_rating_a=200.0, ways=1, max_v=125.0),
    _part("fuse_holder", "Ambry", "HF-B400", SORREL, "58.00", 0.55, 3, 3, series="class_t", max_rating_a=400.0, ways=1, max_v=125.0),
    *[
        _part("circuit_breaker", "Ambry", f"CB-{rating}", SORREL, f"{16 + rating * 0.2:.2f}", 0.06, 6, 3, rating_a=float(rating), breaking_a=1500.0, max_v=32.0, poles=1, resistance_ohm=round(0.12 / rating, 6), min_opening_s_at_2x=2.0, isolates=False)
        for rating in (5, 10, 15, 20, 25, 30, 40, 50)
    ],
    *[
        _part("circuit_breaker", "Ambry", f"CH-{rating}", SORREL, f"{48 + rating * 0.5:.2f}", 0.25, 3, 6, rating_a=float(rating), breaking_a=5000.0, max_v=80.0, poles=1, resistance_ohm=round(0.09 / rating, 6), min_opening_s_at_2x=4.0, isolates=True)
        for rating in (60, 80, 100, 125, 150)
    ],
    *[
        _part("circuit_breaker", "Ambry", f"CP-{rating}", SORREL, "38.00", 0.22, 3, 6, rating_a=float(rating), breaking_a=6000.0, max_v=250.0, poles=2, resistance_ohm=round(0.2 / rating, 6), min_opening_s_at_2x=4.0, isolates=True)
        for rating in (10, 16, 20, 25, 32)
    ],
]  # fmt: skip

CLASS_5 = (
    (1.5, 13.3),
    (2.5, 7.98),
    (4, 4.95),
    (6, 3.30),
    (10, 1.91),
    (16, 1.21),
    (25, 0.780),
    (35, 0.554),
    (50, 0.386),
    (70, 0.272),
    (95, 0.206),
)
"""Area [mm²] and resistance at 20 °C [Ω/km]: IEC 60228 class 5, plain copper."""


def _cable(area: float, ohm: float, colour: str, letter: str) -> dict[str, Any]:
    return _part(
        "cable", "Ossery", f"C5-{area:g}{letter}", WICK, f"{0.6 + 0.39 * area:.2f}", round(0.0111 * area + 0.004, 3), 50, 2,
        area_mm2=float(area), insulation_c=105.0, colour=colour, ohm_per_km_20c=ohm, outside_mm=round(2 * (area**0.5) * 0.75 + 1.4, 1),
    )  # fmt: skip


def _terminals() -> list[dict[str, Any]]:
    made = []
    for area, _ohm in CLASS_5:
        studs = (4, 5, 6, 8, 10) if area <= 6 else (6, 8, 10)
        made += [
            _part("terminal", "Ossery", f"RT-{area:g}-{stud}", WICK, f"{0.35 + 0.045 * area:.2f}", round(0.001 + 0.0004 * area, 4), 60, 2, area_mm2=float(area), stud_mm=float(stud), form="ring")
            for stud in studs
        ]  # fmt: skip
        if area <= 6:
            made.append(_part("terminal", "Ossery", f"BT-{area:g}", WICK, "0.40", 0.001, 80, 2, area_mm2=float(area), stud_mm=0.0, form="blade"))  # fmt: skip
    return made


CONDUCTORS = [
    *[_cable(area, ohm, colour, letter) for area, ohm in CLASS_5 for colour, letter in (("red", "R"), ("black", "B"))],
    *[_cable(area, ohm, "green_yellow", "G") for area, ohm in CLASS_5 if area in (2.5, 6, 16)],
    *_terminals(),
]

COMPONENTS: list[dict[str, Any]] = [*BATTERIES, *CHARGING, *CONVERSION, *DISTRIBUTION, *PROTECTION, *CONDUCTORS]
