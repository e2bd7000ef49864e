"""Senders, mountings, heaters, ventilators, labels and what is used up."""

# ruff: noqa: E501  (a table reads best with one entry on one line)

from __future__ import annotations

from catalog.library.components.making import HALT, SORREL, WICK, part

FALLING = [[0.0, 240.0], [0.25, 164.0], [0.5, 103.0], [0.75, 65.0], [1.0, 33.0]]
RISING = [[0.0, 10.0], [0.25, 52.0], [0.5, 92.0], [0.75, 136.0], [1.0, 180.0]]
"""The two families of resistance senders that are common, one falling as the tank fills, one rising. Common practice."""
NTC_10K = [[-20.0, 97070.0], [0.0, 32650.0], [25.0, 10000.0], [50.0, 3603.0], [80.0, 1255.0]]
"""A 10 kΩ negative-temperature-coefficient resistor of beta about 3950 K. [°C, Ω] Common practice."""

SENSING = [
    *[
        part("tank_sender", "Stannick", code, SORREL, cost, mass, stock, 6, fluid=fluid, level_curve_ohm=curve, way=way, depth_mm=depth)
        for code, cost, mass, stock, fluid, curve, way, depth in (
            ("TS-F200", "38.00", 0.15, 4, "fresh", FALLING, "tube", 200.0),
            ("TS-F350", "44.00", 0.2, 4, "fresh", FALLING, "tube", 350.0),
            ("TS-F500", "52.00", 0.25, 2, "fresh", RISING, "float", 500.0),
            ("TS-W300", "64.00", 0.25, 2, "waste", FALLING, "outside", 300.0),
            ("TS-D400", "58.00", 0.25, 2, "fuel", RISING, "float", 400.0),
        )
    ],
    part("temperature_sender", "Pellow", "TT-R8", SORREL, "18.50", 0.04, 8, 6, signal="resistance", min_c=-30.0, max_c=100.0, temperature_curve_ohm=NTC_10K, sits="ring", lead_m=3.0),
    part("temperature_sender", "Pellow", "TT-C", SORREL, "14.00", 0.03, 6, 6, signal="resistance", min_c=-30.0, max_c=100.0, temperature_curve_ohm=NTC_10K, sits="case", lead_m=2.0),
    part("temperature_sender", "Dunmallow", "DT-P", SORREL, "22.00", 0.05, 3, 6, signal="voltage", min_c=-40.0, max_c=125.0, slope_mv_per_k=10.0, sits="probe", lead_m=2.0),
    part("temperature_sender", "Dunmallow", "DT-D", SORREL, "16.00", 0.03, 3, 6, signal="digital", min_c=-40.0, max_c=110.0, sits="clamp", lead_m=2.0),
]  # fmt: skip

HOLDING = [
    *[
        part("mounting", "Stannick", code, WICK, cost, mass, stock, 4, what=what, carries_kg=carries, length_mm=length, width_mm=width, height_mm=height)
        for code, cost, mass, stock, what, carries, length, width, height in (
            ("MT-B-S", "68.00", 2.1, 4, "battery", 20.0, 330.0, 175.0, 230.0),
            ("MT-B-M", "92.00", 3.0, 4, "battery", 35.0, 410.0, 180.0, 240.0),
            ("MT-B-L", "138.00", 5.2, 2, "battery", 80.0, 540.0, 290.0, 260.0),
            ("MT-B-T", "104.00", 3.8, 3, "battery", 60.0, 310.0, 190.0, 430.0),
            ("MT-B-X", "178.00", 7.4, 1, "battery", 90.0, 640.0, 370.0, 320.0),
            ("MT-P-Z", "36.00", 0.8, 6, "panel", 15.0, 1700.0, 1000.0, None),
            ("MT-P-R", "124.00", 3.4, 3, "panel", 30.0, 1800.0, 1200.0, None),
            ("MT-I", "42.00", 1.2, 3, "inverter", 15.0, 450.0, 250.0, None),
            ("MT-I-L", "58.00", 2.0, 2, "inverter", 30.0, 620.0, 360.0, None),
            ("MT-N", "58.00", 1.8, 3, "board", 12.0, 600.0, 400.0, None),
            ("MT-T", "88.00", 2.6, 2, "tank", 120.0, 900.0, 450.0, 350.0),
        )
    ],
]  # fmt: skip

SHIELDING = [
    *[
        part("insulating_cover", "Ambry", code, SORREL, cost, mass, stock, 3, over=over, stud_mm=stud, studs=studs)
        for code, cost, mass, stock, over, stud, studs in (
            ("IB-6", "9.80", 0.04, 10, "bar", 10.0, 6),
            ("IB-8", "12.40", 0.06, 8, "bar", 10.0, 8),
            ("IB-12", "16.80", 0.09, 6, "bar", 10.0, 12),
            ("IB-16", "22.50", 0.13, 3, "bar", 10.0, 16),
            ("IB-24", "24.00", 0.14, 3, "bar", 8.0, 24),
            ("IB-48", "41.00", 0.26, 1, "bar", 8.0, 48),
            ("IP-8", "1.90", 0.01, 40, "post", 8.0, 1),
            ("IP-10", "2.20", 0.012, 40, "post", 10.0, 1),
            ("IP-20", "3.40", 0.02, 20, "post", 20.0, 1),
        )
    ],
]  # fmt: skip
"""Over what is live. ``IP-20`` goes over a tapered post with its clamp."""

COMFORT = [
    *[
        part("vent", "Stannick", code, HALT, cost, mass, stock, 4, free_cm2=free, hole_mm=hole, rainproof=True)
        for code, cost, mass, stock, free, hole in (
            ("VG-10", "9.50", 0.05, 8, 10.0, 50.0),
            ("VG-40", "16.50", 0.1, 6, 40.0, 100.0),
            ("VG-120", "34.00", 0.25, 2, 120.0, 180.0),
        )
    ],
    *[
        part("heater", "Stannick", code, HALT, cost, mass, stock, 9, fuel=fuel, warms=warms, heat_w=heat, nominal_v=volts, power_w=power, start_a=start, start_s=seconds)
        for code, cost, mass, stock, fuel, warms, heat, volts, power, start, seconds in (
            ("DH-2", "890.00", 2.7, 1, "diesel", "air", 2000.0, 12, 29.0, 9.5, 90.0),
            ("DH-4", "1180.00", 4.6, 1, "diesel", "air", 4000.0, 12, 40.0, 10.0, 90.0),
            ("DH-24-4", "1220.00", 4.6, 0, "diesel", "air", 4000.0, 24, 40.0, 5.5, 90.0),
            ("DH-W5", "1460.00", 5.4, 0, "diesel", "both", 5000.0, 12, 55.0, 12.0, 120.0),
            ("GH-2", "980.00", 5.2, 0, "gas", "air", 2200.0, 12, 22.0, 2.2, 5.0),
            ("EH-B", "48.00", 0.3, 3, "electric", "air", 60.0, 12, 60.0, 5.5, 1.0),
        )
    ],
    *[
        part("ventilator", "Stannick", code, HALT, cost, mass, stock, 4, air_m3_h=air, nominal_v=volts, power_w=power, max_c=hot, spark_free=clean, hole_mm=hole)
        for code, cost, mass, stock, air, volts, power, hot, clean, hole in (
            ("VT-40", "28.00", 0.1, 6, 42.0, ["12"], 1.6, 70.0, True, 85.0),
            ("VT-24-40", "30.00", 0.1, 3, 42.0, ["24"], 1.6, 70.0, True, 85.0),
            ("VT-90", "46.00", 0.25, 4, 95.0, ["12", "24"], 4.2, 70.0, True, 125.0),
            ("VT-ROOF", "268.00", 4.5, 1, 1400.0, ["12"], 42.0, 60.0, False, 400.0),
        )
    ],
]  # fmt: skip

NAMING = [
    *[
        part("label", "Pimbury", code, WICK, cost, 0.01, stock, 2, purpose=purpose, hazard=hazard, text=text, length_mm=length, width_mm=width, in_pack=pack, max_c=hot)
        for code, cost, stock, purpose, hazard, text, length, width, pack, hot in (
            ("LB-OFF", "2.40", 20, "shut_off", "none", "Battery isolator", 60.0, 25.0, 1, 80.0),
            ("LB-TWO", "2.90", 20, "warning", "two_sources", "Two power sources: switch both off before working", 90.0, 40.0, 1, 80.0),
            ("LB-SUN", "2.90", 20, "warning", "daylight", "Solar conductors are live in daylight", 90.0, 40.0, 1, 100.0),
            ("LB-GAS", "2.40", 12, "warning", "hydrogen", "Battery gives off hydrogen: keep vent clear, no flame", 90.0, 40.0, 1, 80.0),
            ("LB-BAT", "2.40", 20, "warning", "battery", "Battery: no tool across the posts, no flame", 90.0, 40.0, 1, 80.0),
            ("LB-AC", "2.40", 20, "warning", "mains", "Mains voltage: licensed people only", 90.0, 40.0, 1, 80.0),
            ("LB-LIST", "1.80", 20, "circuit", "none", "", 150.0, 100.0, 1, 80.0),
            ("LB-DEV", "9.60", 10, "device", "none", "", 25.0, 12.0, 50, 80.0),
            ("LB-WIRE", "12.40", 10, "conductor", "none", "", 30.0, 12.0, 100, 105.0),
        )
    ],
    *[
        part("consumable", "Pimbury", code, WICK, cost, mass, stock, 2, what=what, size=size, most_mm=most, keeps_months=months, **pack)
        for code, cost, mass, stock, what, size, most, months, pack in (
            ("CT-200", "8.40", 0.15, 12, "tie", "4.8 × 200 mm", 50.0, None, {"pieces": 100}),
            ("CT-370", "14.20", 0.3, 8, "tie", "7.6 × 370 mm", 100.0, None, {"pieces": 100}),
            ("TA-19", "3.20", 0.1, 20, "tape", "19 mm, insulating", None, None, {"length_m": 20.0}),
            ("TA-CL", "9.80", 0.15, 10, "tape", "19 mm, cloth for looms", None, None, {"length_m": 25.0}),
            ("SE-310", "16.50", 0.45, 10, "sealant", "roof and glands", None, 12.0, {"content_ml": 310.0}),
            ("AD-290", "19.80", 0.45, 8, "adhesive", "brackets and panels", None, 12.0, {"content_ml": 290.0}),
            ("FA-M6", "12.60", 0.6, 6, "fastener", "M6 × 20, stainless", None, None, {"pieces": 50}),
            ("FA-M8", "16.80", 0.9, 6, "fastener", "M8 × 25, stainless", None, None, {"pieces": 50}),
            ("CL-P", "11.20", 0.2, 6, "clip", "P-clip, 10 mm", 10.0, None, {"pieces": 50}),
            ("GR-C", "13.40", 0.1, 4, "grease", "for contacts", None, 36.0, {"content_kg": 0.05}),
            ("CL-I", "9.40", 0.5, 6, "cleaner", "degreaser", None, 24.0, {"content_ml": 500.0}),
            ("SO-1", "18.00", 0.25, 3, "solder", "1 mm, lead-free", None, None, {"content_kg": 0.25}),
        )
    ],
]  # fmt: skip
