"""Chargers from the engine, the mains and the sun, panels and their controllers."""

# ruff: noqa: E501  (a table reads best with one entry on one line)

from __future__ import annotations

from typing import Any

from catalog.library.components.making import ALL_PROFILES, HALT, HEAT, SORREL, WICK, part


def _stud_mm(amps: float) -> float | None:
    """Small chargers clamp their conductors, larger ones have studs."""
    return None if amps < 40 else 6.0 if amps < 80 else 8.0


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
    return part(
        "dcdc_charger", "Pellow", code, SORREL, cost, mass, stock, 9,
        output_a=amps, input_nominal_v=vin, output_nominal_v=vout, efficiency_ratio=eff, stop_below_v=11.0 * vin / 12,
        limit_steps_a=steps, smart_alternator=True, profiles=ALL_PROFILES, derating_ratio=HEAT, own_asleep_w=0.05,
        stud_mm=_stud_mm(amps),
    )  # fmt: skip


def _mains(
    code: str, cost: str, mass: float, stock: int, amps: float, vout: int, volts: float = 230.0
) -> dict[str, Any]:
    return part(
        "mains_charger", "Quoin", code, HALT, cost, mass, stock, 6,
        output_a=amps, output_nominal_v=vout, mains_v=volts, efficiency_ratio=0.91, power_factor=0.95, profiles=ALL_PROFILES,
        derating_ratio=HEAT, own_asleep_w=0.0, stud_mm=_stud_mm(amps),
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
    return part(
        "solar_panel", "Harrowell", code, WICK, cost, mass, stock, 4,
        power_w=watts, vmp_v=vmp, imp_a=imp, voc_v=voc, isc_a=round(imp * 1.065, 2), power_per_k=-0.0036, voc_per_k=-0.0028,
        max_series_fuse_a=20.0 if imp < 13 else 25.0, max_system_v=600.0, length_m=size[0], width_m=size[1], flexible=flexible,
    )  # fmt: skip


def _sun(
    code: str, cost: str, mass: float, stock: int, method: str, amps: float, voc: float, isc: float
) -> dict[str, Any]:
    return part(
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
    part(
        "multi_charger", "Pellow", "MC-30", SORREL, "598.00", 2.1, 2, 9,
        output_a=30.0, output_nominal_v=12, has_engine_input=True, engine_a=30.0, input_nominal_v=12, stop_below_v=11.0,
        engine_efficiency_ratio=0.88, limit_steps_a=[10.0, 20.0], smart_alternator=True, has_solar_input=True, solar_method="mppt",
        solar_a=30.0, max_voc_v=50.0, max_isc_a=32.0, start_margin_v=4.0, solar_efficiency_ratio=0.95, profiles=ALL_PROFILES,
        derating_ratio=HEAT, own_asleep_w=0.2, stud_mm=6.0,
    ),
    part(
        "multi_charger", "Pellow", "MC-50", SORREL, "1240.00", 5.4, 1, 12,
        output_a=50.0, output_nominal_v=12, has_engine_input=True, engine_a=50.0, input_nominal_v=12, stop_below_v=11.0,
        engine_efficiency_ratio=0.89, limit_steps_a=[15.0, 30.0], smart_alternator=True, has_mains_input=True, mains_a=40.0,
        mains_v=230.0, power_factor=0.95, mains_efficiency_ratio=0.9, has_solar_input=True, solar_method="mppt", solar_a=40.0,
        max_voc_v=60.0, max_isc_a=40.0, start_margin_v=4.0, solar_efficiency_ratio=0.95, stud_mm=8.0, profiles=ALL_PROFILES,
        derating_ratio=HEAT, own_asleep_w=0.3,
    ),
    part(
        "multi_charger", "Pellow", "MC-24-30", SORREL, "1390.00", 5.6, 1, 12,
        output_a=30.0, output_nominal_v=24, has_engine_input=True, engine_a=30.0, input_nominal_v=24, stop_below_v=22.0,
        engine_efficiency_ratio=0.9, limit_steps_a=[10.0, 20.0], smart_alternator=True, running_signal=True, has_solar_input=True, solar_method="mppt",
        solar_a=30.0, max_voc_v=100.0, max_isc_a=32.0, start_margin_v=4.0, solar_efficiency_ratio=0.95, profiles=ALL_PROFILES,
        derating_ratio=HEAT, own_asleep_w=0.3, stud_mm=6.0,
    ),
    _panel("TM-60", "104.00", 4.1, 3, 60, 18.2, 22.0, (0.67, 0.54)),
    _panel("TM-100", "158.00", 6.3, 5, 100, 18.6, 22.5, (1.02, 0.51)),
    _panel("TM-190", "262.00", 10.8, 8, 190, 20.2, 24.3, (1.48, 0.67)),
    _panel("TM-260", "338.00", 14.2, 4, 260, 30.6, 37.2, (1.35, 0.99)),
    _panel("TM-410", "452.00", 21.2, 2, 410, 31.2, 37.5, (1.72, 1.13)),
    _panel("TF-120", "296.00", 2.4, 3, 120, 18.9, 22.8, (1.12, 0.55), flexible=True),
    _sun("TC-P20", "88.00", 0.4, 3, "pwm", 20, 50, 20),
    _sun("TC-15", "148.00", 0.6, 4, "mppt", 15, 75, 15),
    _sun("TC-30", "236.00", 1.3, 4, "mppt", 30, 100, 35),
    _sun("TC-50", "388.00", 2.0, 2, "mppt", 50, 150, 60),
    _dcdc("EC-15", "226.00", 0.8, 3, 15, 12, 12, [10.0]),
    _dcdc("EC-80", "968.00", 3.6, 0, 80, 12, 12, [20.0, 40.0, 60.0], 0.91),
    _dcdc("EC-1224-10", "362.00", 1.5, 1, 10, 12, 24, [5.0]),
    _dcdc("EC-1224-35", "842.00", 3.4, 0, 35, 12, 24, [10.0, 20.0]),
    _dcdc("EC-24-10", "328.00", 1.4, 1, 10, 24, 24, [5.0], 0.90),
    _dcdc("EC-24-60", "1080.00", 4.2, 0, 60, 24, 24, [20.0, 40.0], 0.92),
    _dcdc("EC-2412-20", "322.00", 1.4, 1, 20, 24, 12, [10.0], 0.90),
    _dcdc("EC-2412-60", "742.00", 2.8, 0, 60, 24, 12, [20.0, 40.0], 0.91),
    _mains("SC-10", "186.00", 1.2, 2, 10, 12),
    _mains("SC-100", "1190.00", 7.6, 0, 100, 12),
    _mains("SC-130", "1480.00", 9.4, 0, 130, 12),
    _mains("SC-24-10", "268.00", 1.8, 1, 10, 24),
    _mains("SC-24-70", "1360.00", 8.4, 0, 70, 24),
    _mains("SC-30N", "392.00", 2.7, 0, 30, 12, 120.0),
    _mains("SC-60N", "734.00", 4.8, 0, 60, 12, 120.0),
    _mains("SC-24-20N", "420.00", 2.9, 0, 20, 24, 120.0),
    _mains("SC-24-40N", "796.00", 5.1, 0, 40, 24, 120.0),
    part(
        "multi_charger", "Dunmallow", "DX-80", SORREL, "2180.00", 8.2, 0, 15,
        output_a=80.0, output_nominal_v=12, has_engine_input=True, engine_a=80.0, input_nominal_v=12, stop_below_v=11.0,
        engine_efficiency_ratio=0.91, limit_steps_a=[20.0, 40.0, 60.0], smart_alternator=True, has_mains_input=True, mains_a=80.0,
        mains_v=230.0, power_factor=0.98, mains_efficiency_ratio=0.92, has_solar_input=True, solar_method="mppt", solar_a=60.0,
        max_voc_v=100.0, max_isc_a=60.0, start_margin_v=4.0, solar_efficiency_ratio=0.96, profiles=ALL_PROFILES,
        derating_ratio=HEAT, own_asleep_w=0.3, channel_limits_a=[10.0, 10.0, 5.0, 5.0], channels_total_a=20.0, channels_shed=True,
        voltage_inputs=1, resistance_inputs=4, temperature_inputs=2,
    ),
    part(
        "multi_charger", "Dunmallow", "DX-24-50", SORREL, "2460.00", 8.8, 0, 15,
        output_a=50.0, output_nominal_v=24, has_engine_input=True, engine_a=50.0, input_nominal_v=24, stop_below_v=22.0,
        engine_efficiency_ratio=0.92, limit_steps_a=[15.0, 30.0], smart_alternator=True, has_mains_input=True, mains_a=50.0,
        mains_v=230.0, power_factor=0.98, mains_efficiency_ratio=0.93, has_solar_input=True, solar_method="mppt", solar_a=50.0,
        max_voc_v=150.0, max_isc_a=50.0, start_margin_v=4.0, solar_efficiency_ratio=0.96, profiles=ALL_PROFILES,
        derating_ratio=HEAT, own_asleep_w=0.3, voltage_inputs=1, resistance_inputs=2, temperature_inputs=2,
    ),
    _panel("TM-80", "136.00", 5.2, 3, 80, 18.4, 22.2, (0.84, 0.54)),
    _panel("TM-150", "226.00", 9.0, 3, 150, 19.2, 23.2, (1.34, 0.66)),
    _panel("TM-330", "412.00", 17.6, 1, 330, 31.0, 37.4, (1.69, 1.00)),
    _panel("TF-60", "172.00", 1.3, 2, 60, 18.6, 22.6, (0.62, 0.54), flexible=True),
    _panel("TF-200", "468.00", 3.9, 1, 200, 20.0, 24.0, (1.51, 0.68), flexible=True),
    _sun("TC-P10", "54.00", 0.3, 3, "pwm", 10, 50, 10),
    _sun("TC-P30", "126.00", 0.6, 2, "pwm", 30, 50, 30),
    _sun("TC-70", "612.00", 3.6, 1, "mppt", 70, 150, 80),
    _sun("TC-100", "868.00", 4.8, 0, "mppt", 100, 250, 100),
]  # fmt: skip
