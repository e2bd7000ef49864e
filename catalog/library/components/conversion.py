"""Inverters, voltage converters and the mains side."""

# ruff: noqa: E501  (a table reads best with one entry on one line)

from __future__ import annotations

from typing import Any

from catalog.library.components.making import HALT, INVERTER_HEAT, part


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
    return part(
        "inverter", "Corrie", code, HALT, cost, mass, stock, 6,
        continuous_w=watts, continuous_va=watts, surge_w=surge, surge_s=5.0, nominal_v=nominal, output_v=out[0], output_hz=out[1],
        no_load_w=idle, efficiency_half_ratio=0.92, efficiency_full_ratio=0.88, cutoff_v=10.5 * nominal / 12,
        derating_ratio=INVERTER_HEAT, own_asleep_w=0.0, stud_mm=6.0 if watts < 1000 else 8.0 if watts < 3000 else 10.0,
    )  # fmt: skip


def _converter(
    code: str,
    cost: str,
    mass: float,
    stock: int,
    amps: float,
    vin: int,
    vout: float,
    idle: float,
    *,
    isolated: bool = False,
) -> dict[str, Any]:
    """Its output is held at ``vout`` whatever its input does within the range."""
    return part(
        "voltage_converter", "Corrie", code, HALT, cost, mass, stock, 6,
        continuous_a=amps, peak_a=round(1.4 * amps, 1), peak_s=3.0, input_nominal_v=vin, input_min_v=vin * 0.75, input_max_v=vin * 1.45,
        output_v=vout, efficiency_ratio=0.88 if isolated else 0.93, no_load_w=idle, isolated=isolated,
        derating_ratio=[[40.0, 1.0], [50.0, 0.85], [60.0, 0.6]],
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
    part("residual_current_device", "Quoin", "RD-16-30", HALT, "68.00", 0.24, 6, 3, rated_a=16.0, sensitivity_ma=30, poles=2, type="a", overcurrent=True, breaking_a=6000.0),
    part("residual_current_device", "Quoin", "RD-25-30", HALT, "74.00", 0.24, 4, 3, rated_a=25.0, sensitivity_ma=30, poles=2, type="a", overcurrent=False, breaking_a=6000.0),
    part("residual_current_device", "Quoin", "RD-16-10", HALT, "96.00", 0.24, 1, 6, rated_a=16.0, sensitivity_ma=10, poles=2, type="a", overcurrent=True, breaking_a=6000.0),
    part("shore_inlet", "Quoin", "SI-10", HALT, "38.00", 0.3, 3, 3, rated_a=10.0, rated_v=240.0),
    part("shore_inlet", "Quoin", "SI-15", HALT, "44.00", 0.35, 5, 3, rated_a=15.0, rated_v=240.0),
    part("shore_inlet", "Quoin", "SI-32", HALT, "92.00", 0.6, 1, 6, rated_a=32.0, rated_v=250.0),
    _inverter("PS-150", "148.00", 1.3, 2, 150, 300, 3.5, 12),
    _inverter("PS-1500", "748.00", 6.6, 1, 1500, 3000, 11.0, 12),
    _inverter("PS-24-300", "226.00", 2.1, 1, 300, 600, 5.0, 24),
    _inverter("PS-24-600", "352.00", 3.2, 1, 600, 1200, 7.0, 24),
    _inverter("PS-24-1500", "772.00", 6.6, 1, 1500, 3000, 11.0, 24),
    _inverter("PS-24-5000", "2460.00", 21.0, 0, 5000, 10000, 28.0, 24),
    _inverter("PS-300N", "222.00", 2.1, 0, 300, 600, 5.0, 12, out=(120.0, 60.0)),
    _inverter("PS-2000N", "998.00", 9.0, 0, 2000, 4000, 14.0, 12, out=(120.0, 60.0)),
    _inverter("PS-3000N", "1496.00", 13.6, 0, 3000, 6000, 20.0, 12, out=(120.0, 60.0)),
    _inverter("PS-24-2000N", "1024.00", 8.9, 0, 2000, 4000, 14.0, 24, out=(120.0, 60.0)),
    _converter("CV-5", "44.00", 0.2, 4, 5.0, 24, 12.5, 0.4),
    _converter("CV-10", "68.00", 0.4, 4, 10.0, 24, 12.5, 0.5),
    _converter("CV-20", "112.00", 0.7, 3, 20.0, 24, 12.5, 0.7),
    _converter("CV-30", "168.00", 1.1, 2, 30.0, 24, 12.5, 0.9),
    _converter("CV-40", "214.00", 1.4, 2, 40.0, 24, 12.5, 1.2),
    _converter("CV-60", "326.00", 2.2, 1, 60.0, 24, 12.5, 1.6),
    _converter("CV-100", "548.00", 3.8, 0, 100.0, 24, 12.5, 2.4),
    _converter("CV-10I", "118.00", 0.6, 2, 10.0, 24, 12.5, 0.8, isolated=True),
    _converter("CV-30I", "262.00", 1.7, 1, 30.0, 24, 12.5, 1.6, isolated=True),
    _converter("CV-12-10", "92.00", 0.5, 2, 10.0, 12, 12.5, 0.7, isolated=True),
    _converter("CV-UP-8", "138.00", 0.8, 1, 8.0, 12, 24.0, 0.9),
    _converter("CV-UP-20", "286.00", 1.8, 0, 20.0, 12, 24.0, 1.8),
    _converter("CV-5V-12", "38.00", 0.1, 3, 6.0, 12, 5.1, 0.2),
    part("residual_current_device", "Quoin", "RD-40-30", HALT, "98.00", 0.26, 2, 6, rated_a=40.0, sensitivity_ma=30, poles=2, type="a", overcurrent=False, breaking_a=6000.0),
    part("residual_current_device", "Quoin", "RD-25-30B", HALT, "312.00", 0.36, 0, 12, rated_a=25.0, sensitivity_ma=30, poles=2, type="b", overcurrent=False, breaking_a=6000.0),
    part("shore_inlet", "Quoin", "SI-16", HALT, "48.00", 0.36, 3, 3, rated_a=16.0, rated_v=250.0),
]  # fmt: skip
