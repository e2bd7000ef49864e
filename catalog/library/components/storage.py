"""Batteries of every chemistry, what counts them and what keeps them equal."""

# ruff: noqa: E501  (a table reads best with one entry on one line)

from __future__ import annotations

from typing import Any

from catalog.library.components.making import SORREL, part

SIZES_LIFEPO4 = (
    (400, (195.0, 130.0, 170.0)),
    (700, (198.0, 166.0, 171.0)),
    (1000, (229.0, 138.0, 212.0)),
    (1400, (330.0, 172.0, 215.0)),
    (2100, (485.0, 170.0, 242.0)),
    (2800, (522.0, 240.0, 218.0)),
    (4000, (520.0, 269.0, 222.0)),
    (5500, (520.0, 269.0, 300.0)),
    (8000, (620.0, 360.0, 275.0)),
)
"""Energy up to which a case goes [Wh], and its length, width and height [mm]."""

SIZES_LEAD = (
    (35, (195.0, 130.0, 168.0)),
    (55, (229.0, 138.0, 212.0)),
    (80, (260.0, 168.0, 212.0)),
    (110, (330.0, 173.0, 220.0)),
    (150, (485.0, 171.0, 240.0)),
    (210, (522.0, 240.0, 222.0)),
    (270, (520.0, 269.0, 226.0)),
)
SIZES_LEAD_6_V = ((230, (260.0, 181.0, 280.0)), (340, (296.0, 178.0, 366.0)), (420, (296.0, 178.0, 425.0)))
"""Capacity up to which a case goes [Ah], and its length, width and height [mm]."""

Cases = tuple[tuple[int, tuple[float, float, float]], ...]


def _case(sizes: Cases, wanted: float) -> dict[str, float]:
    size = next(size for most, size in sizes if wanted <= most)
    return dict(zip(("length_mm", "width_mm", "height_mm"), size, strict=True))


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
    maker: str = "Larkham",
    cycles: float = 1.0,
) -> dict[str, Any]:
    cells = round(volts / 3.2)
    return part(
        "battery", maker, code, SORREL, cost, mass_kg, stock, 9,
        chemistry="lifepo4", nominal_v=volts, cells=cells, capacity_ah=ah, rate_h=5.0, peukert=1.02,
        resistance_ohm=mohm / 1000, max_charge_a=charge, max_discharge_a=discharge, peak_a=peak, peak_s=10.0,
        cutoff_v=2.6 * cells, absorption_v=3.55 * cells, float_v=3.375 * cells, compensation_mv_per_cell_k=0.0,
        max_series=2 if volts < 20 else 1, max_parallel=parallel, min_charge_c=0.0, max_charge_c=45.0, heater_w=heater_w,
        cycles=[[0.5, 6000.0 * cycles], [0.8, 3500.0 * cycles], [1.0, 2200.0 * cycles]], own_awake_w=0.2, own_asleep_w=0.05,
        stud_mm=6.0 if ah < 60 else 8.0, **_case(SIZES_LIFEPO4, volts * ah),
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
    maker: str = "Larkham",
) -> dict[str, Any]:
    of = LEAD[chemistry]
    cells = round(volts / 2)
    return part(
        "battery", maker, code, SORREL, cost, mass_kg, stock, 6,
        chemistry=chemistry, nominal_v=volts, cells=cells, capacity_ah=ah, rate_h=20.0, peukert=of["peukert"],
        resistance_ohm=mohm / 1000, max_charge_a=round(0.25 * ah, 1), max_discharge_a=round(0.6 * ah, 1), peak_a=round((4.0 if volts > 6 else 2.5) * ah, 1),
        peak_s=5.0, cutoff_v=1.75 * cells, absorption_v=round(of["absorption"] * cells, 2), float_v=round(of["float"] * cells, 2),
        compensation_mv_per_cell_k=of["mv"], max_series=24 // round(volts), max_parallel=parallel, min_charge_c=-15.0, max_charge_c=45.0,
        cycles=of["cycles"], needs_venting=chemistry == "flooded", engine_bay_allowed=chemistry == "flooded",
        stud_mm=6.0 if ah < 60 else 8.0, **_case(SIZES_LEAD if volts > 6 else SIZES_LEAD_6_V, ah),
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
    _lifepo4("LF-30", "296.00", 4.1, 4, 30, 30, 30, 60, 9.0),
    _lifepo4("LF-400", "2790.00", 41.0, 1, 400, 200, 250, 500, 1.5, parallel=2),
    _lifepo4("LF-24-50", "890.00", 11.9, 2, 50, 40, 50, 110, 14.0, volts=25.6),
    _lifepo4("LF-24-150", "2290.00", 32.5, 1, 150, 80, 150, 300, 6.0, volts=25.6),
    _lifepo4("LF-24-300", "4260.00", 62.0, 0, 300, 150, 250, 500, 3.4, volts=25.6),
    *[
        _lifepo4(
            code,
            cost,
            mass,
            stock,
            ah,
            0.8 * ah,
            1.2 * ah,
            2.5 * ah,
            mohm,
            heater_w=heat,
            maker="Tidewell",
            cycles=1.3,
            volts=volts,
        )
        for code, cost, mass, stock, ah, mohm, heat, volts in (
            ("TW-60", "712.00", 7.6, 3, 60, 4.5, 30.0, 12.8),
            ("TW-105", "1176.00", 12.4, 3, 105, 2.9, 50.0, 12.8),
            ("TW-150", "1598.00", 17.2, 2, 150, 2.2, 70.0, 12.8),
            ("TW-210", "2088.00", 23.0, 2, 210, 1.7, 90.0, 12.8),
            ("TW-280", "2740.00", 29.8, 1, 280, 1.4, 120.0, 12.8),
            ("TW-24-105", "2240.00", 24.2, 1, 105, 5.6, 100.0, 25.6),
            ("TW-24-210", "4080.00", 45.0, 0, 210, 3.2, 180.0, 25.6),
        )
    ],
    _lead("agm", "PB-35", "148.00", 11.2, 3, 35, 9.5),
    _lead("agm", "PB-75", "292.00", 23.0, 3, 75, 5.8),
    _lead("agm", "PB-130", "498.00", 38.5, 2, 130, 3.8),
    _lead("agm", "PB-260", "968.00", 74.0, 1, 260, 2.3, parallel=4),
    _lead("agm", "PB-6-220", "402.00", 31.0, 2, 220, 2.0, volts=6.0, parallel=2),
    _lead("agm", "TG-110", "536.00", 32.8, 2, 110, 3.4, maker="Tidewell"),
    _lead("agm", "TG-210", "992.00", 61.0, 1, 210, 2.2, maker="Tidewell", parallel=4),
    _lead("gel", "PG-60", "268.00", 20.0, 2, 60, 7.5),
    _lead("gel", "PG-110", "462.00", 35.0, 2, 110, 4.8),
    _lead("gel", "PG-210", "846.00", 64.0, 1, 210, 3.0, parallel=4),
    _lead("gel", "PG-265", "1078.00", 78.0, 0, 265, 2.6, parallel=4),
    _lead("gel", "PG-6-200", "398.00", 32.0, 2, 200, 2.4, volts=6.0, parallel=2),
    _lead("flooded", "PW-75", "178.00", 19.5, 3, 75, 6.2),
    _lead("flooded", "PW-150", "352.00", 38.0, 2, 150, 3.6),
    _lead("flooded", "PW-230", "528.00", 57.0, 1, 230, 2.6, parallel=4),
    _lead("flooded", "PW-6-330", "468.00", 42.0, 2, 330, 1.7, volts=6.0, parallel=2),
    _lead("flooded", "PW-6-420", "612.00", 54.0, 0, 420, 1.4, volts=6.0, parallel=3),
]


def _monitor(
    code: str, cost: str, stock: int, shunt_a: float, max_v: float, maker: str = "Pellow", **more: Any
) -> dict[str, Any]:
    return part(
        "battery_monitor", maker, code, SORREL, cost, 0.5, stock, 6,
        shunt_a=shunt_a, shunt_ohm=round(0.05 / shunt_a, 8), max_v=max_v, voltage_inputs=1, temperature_inputs=1,
        own_awake_w=0.3, own_asleep_w=0.06, stud_mm=8.0 if shunt_a < 500 else 10.0, **more,
    )  # fmt: skip


WATCHING = [
    _monitor("BM-1000", "318.00", 1, 1000.0, 70.0),
    _monitor(
        "DM-500",
        "342.00",
        2,
        500.0,
        70.0,
        "Dunmallow",
        channel_limits_a=[5.0, 5.0],
        channels_total_a=8.0,
        channels_shed=True,
        resistance_inputs=2,
        digital_inputs=1,
    ),
    _monitor(
        "DM-1000",
        "468.00",
        1,
        1000.0,
        70.0,
        "Dunmallow",
        channel_limits_a=[5.0, 5.0],
        channels_total_a=8.0,
        channels_shed=True,
        resistance_inputs=4,
        digital_inputs=2,
    ),
    *[
        part(
            "battery_equaliser",
            "Dunmallow",
            code,
            SORREL,
            cost,
            mass,
            stock,
            6,
            current_a=amps,
            nominal_v=volts,
            starts_at_v=starts,
            chemistries=kinds,
            own_asleep_w=0.05,
        )
        for code, cost, mass, stock, amps, volts, starts, kinds in (
            ("DE-6-5", "96.00", 0.3, 2, 5.0, 12, 0.01, ["agm", "gel", "flooded"]),
            ("DE-5", "118.00", 0.4, 4, 5.0, 24, 0.01, ["agm", "gel", "flooded"]),
            ("DE-10", "176.00", 0.6, 3, 10.0, 24, 0.01, ["lifepo4", "agm", "gel", "flooded"]),
            ("DE-40", "428.00", 1.6, 1, 40.0, 24, 0.02, ["lifepo4", "agm", "gel", "flooded"]),
        )
    ],
]
