"""Switched outputs, monitors, busbars, isolators, relays, switches, outlets and trailer couplings."""

# ruff: noqa: E501  (a table reads best with one entry on one line)

from __future__ import annotations

from catalog.library.components.making import HALT, SORREL, part

DISTRIBUTION = [
    part("switched_output_module", "Pellow", "SO-6", SORREL, "312.00", 0.6, 2, 9, channel_limits_a=[30.0, 15.0, 15.0, 10.0, 10.0, 10.0], total_a=60.0, nominal_v=["12", "24"], sheds=True, protects=False, voltage_inputs=1, resistance_inputs=2, temperature_inputs=1, current_inputs=0, own_awake_w=1.2, own_asleep_w=0.15),
    part("switched_output_module", "Pellow", "SO-12", SORREL, "540.00", 1.1, 1, 9, channel_limits_a=[30.0, 30.0, 20.0, 20.0, 15.0, 15.0, 10.0, 10.0, 10.0, 10.0, 5.0, 5.0], total_a=120.0, nominal_v=["12", "24"], sheds=True, protects=True, breaking_a=1000.0, voltage_inputs=2, resistance_inputs=4, temperature_inputs=2, current_inputs=0, own_awake_w=2.4, own_asleep_w=0.25),
    part("battery_monitor", "Pellow", "BM-300", SORREL, "148.00", 0.4, 4, 6, shunt_a=300.0, shunt_ohm=0.00016667, max_v=35.0, voltage_inputs=1, temperature_inputs=1, own_awake_w=0.3, own_asleep_w=0.06, stud_mm=8.0),
    part("battery_monitor", "Pellow", "BM-500", SORREL, "196.00", 0.6, 3, 6, shunt_a=500.0, shunt_ohm=0.0001, max_v=70.0, voltage_inputs=1, temperature_inputs=1, own_awake_w=0.3, own_asleep_w=0.06, stud_mm=10.0),
    part("busbar", "Ambry", "BB-150", SORREL, "24.00", 0.18, 8, 3, rating_a=150.0, studs=6, stud_mm=6.0, max_v=60.0),
    part("busbar", "Ambry", "BB-250", SORREL, "38.00", 0.32, 6, 3, rating_a=250.0, studs=6, stud_mm=8.0, max_v=60.0),
    part("busbar", "Ambry", "BB-400", SORREL, "62.00", 0.55, 3, 3, rating_a=400.0, studs=8, stud_mm=10.0, max_v=60.0),
    part("busbar", "Ambry", "BB-600", SORREL, "88.00", 0.8, 2, 3, rating_a=600.0, studs=8, stud_mm=10.0, max_v=60.0),
    part("isolator", "Ambry", "IS-100", SORREL, "32.00", 0.22, 5, 3, rating_a=100.0, max_v=48.0, poles=1, resistance_ohm=0.0004, stud_mm=8.0),
    part("isolator", "Ambry", "IS-200", SORREL, "48.00", 0.34, 4, 3, rating_a=200.0, max_v=48.0, poles=1, resistance_ohm=0.0002, stud_mm=8.0),
    part("isolator", "Ambry", "IS-300", SORREL, "68.50", 0.42, 6, 3, rating_a=300.0, max_v=48.0, poles=1, resistance_ohm=0.00015, stud_mm=10.0),
    part("isolator", "Ambry", "IS-500", SORREL, "112.00", 0.9, 2, 6, rating_a=500.0, max_v=48.0, poles=1, resistance_ohm=0.0001, stud_mm=10.0),
    part("isolator", "Ambry", "IS-2-32", SORREL, "54.00", 0.3, 3, 6, rating_a=32.0, max_v=500.0, poles=2, resistance_ohm=0.002),
    part("switched_output_module", "Pellow", "SO-24", SORREL, "960.00", 1.9, 0, 12, channel_limits_a=[40.0] * 2 + [30.0] * 2 + [20.0] * 4 + [15.0] * 8 + [5.0] * 8, total_a=200.0, nominal_v=["12", "24"], sheds=True, protects=True, breaking_a=1000.0, voltage_inputs=4, resistance_inputs=4, temperature_inputs=4, current_inputs=1, digital_inputs=4, own_awake_w=4.0, own_asleep_w=0.3),
    part("switched_output_module", "Dunmallow", "DS-8", SORREL, "598.00", 0.8, 2, 6, channel_limits_a=[40.0, 40.0, 25.0, 25.0, 15.0, 15.0, 10.0, 10.0], total_a=140.0, nominal_v=["12", "24"], sheds=True, protects=True, breaking_a=2000.0, voltage_inputs=2, resistance_inputs=2, temperature_inputs=2, digital_inputs=4, own_awake_w=1.8, own_asleep_w=0.2),
    *[part("busbar", "Ambry", code, SORREL, cost, mass, stock, 3, rating_a=amps, studs=studs, stud_mm=stud, max_v=60.0) for code, cost, mass, stock, amps, studs, stud in (("BB-150-12", "66.00", 0.34, 4, 150.0, 12, 6.0), ("BB-800", "126.00", 1.2, 0, 800.0, 8, 10.0), ("BB-250-12", "88.00", 0.6, 3, 250.0, 12, 8.0), ("BB-400-12", "118.00", 0.9, 2, 400.0, 12, 10.0), ("BB-600-16", "172.00", 1.5, 1, 600.0, 16, 10.0), ("BB-200-24", "132.00", 0.8, 2, 200.0, 24, 6.0), ("BB-300-48", "238.00", 1.7, 0, 300.0, 48, 6.0))],
    part("isolator", "Ambry", "IS-700", SORREL, "168.00", 1.3, 0, 6, rating_a=700.0, max_v=48.0, poles=1, resistance_ohm=0.00008, stud_mm=10.0),
    *[
        part("relay", "Ambry", code, SORREL, cost, mass, stock, 3, contact_a=amps, coil_v=coil, max_v=max_v, contacts=contacts, poles=1, hold_w=hold, latching=hold == 0.0, by_voltage=by_voltage)
        for code, cost, mass, stock, amps, coil, max_v, contacts, hold, by_voltage in (
            ("RL-40", "9.80", 0.04, 20, 40.0, 12, 32.0, "change_over", 1.6, False),
            ("RL-24-20", "10.40", 0.04, 12, 20.0, 24, 32.0, "change_over", 1.6, False),
            ("RL-70", "18.50", 0.06, 8, 70.0, 12, 32.0, "make", 2.2, False),
            ("RL-140V", "86.00", 0.35, 3, 140.0, 12, 32.0, "make", 3.6, True),
            ("RL-24-120V", "94.00", 0.35, 2, 120.0, 24, 36.0, "make", 3.6, True),
            ("RL-200L", "128.00", 0.42, 2, 200.0, 12, 60.0, "make", 0.0, False),
            ("RL-24-200L", "134.00", 0.42, 1, 200.0, 24, 60.0, "make", 0.0, False),
        )
    ],
    *[
        part("switch", "Stannick", code, SORREL, cost, 0.03, stock, 3, form=form, rating_a=amps, max_v=max_v, poles=1, ways=ways, momentary=momentary, hole_mm=hole)
        for code, cost, stock, form, amps, max_v, ways, momentary, hole in (
            ("SW-R16", "6.40", 12, "rocker", 16.0, 28.0, 1, False, 37.0),
            ("SW-R16-2", "7.90", 8, "rocker", 16.0, 28.0, 2, False, 37.0),
            ("SW-P3", "8.60", 10, "push", 3.0, 28.0, 1, True, 16.0),
            ("SW-T20", "9.20", 6, "toggle", 20.0, 28.0, 1, False, 12.0),
            ("SW-D1", "24.00", 4, "rotary", 1.0, 28.0, 4, False, 20.0),
        )
    ],
    *[
        part("outlet", "Stannick", code, HALT, cost, mass, stock, 3, bus=bus, rating_a=amps, rated_v=volts, ways=ways, power_w=power, no_load_w=idle, hole_mm=hole)
        for code, cost, mass, stock, bus, amps, volts, ways, power, idle, hole in (
            ("OS-12", "11.50", 0.05, 10, "house12", 10.0, 12.0, 1, None, 0.0, 28.0),
            ("OS-12-21", "14.80", 0.06, 8, "house", 16.0, 12.0, 1, None, 0.0, 21.0),
            ("OS-24", "15.60", 0.06, 4, "house", 16.0, 24.0, 1, None, 0.0, 21.0),
            ("OS-50", "19.80", 0.12, 6, "house", 50.0, 12.0, 1, None, 0.0, 60.0),
            ("OS-C30", "28.00", 0.05, 8, "usb", 3.0, 15.0, 1, 30.0, 0.05, 28.0),
            ("OS-C65", "46.00", 0.06, 8, "usb", 3.25, 20.0, 2, 65.0, 0.08, 28.0),
            ("OS-C100", "64.00", 0.08, 4, "usb", 5.0, 20.0, 2, 100.0, 0.1, 28.0),
            ("OS-AC1", "18.50", 0.09, 6, "ac", 10.0, 230.0, 1, None, 0.0, 68.0),
            ("OS-AC2", "27.00", 0.15, 6, "ac", 10.0, 230.0, 2, None, 0.0, 115.0),
        )
    ],
    *[
        part("trailer_coupling", "Dunmallow", code, SORREL, cost, mass, stock, 6, form=form, contacts=contacts, pins=pairs, pin_a=amps, pin_ohm=mohm / 1000, max_v=max_v, largest_mm2=area, dead_unhitched=dead)
        for code, cost, mass, stock, form, contacts, pairs, amps, mohm, max_v, area, dead in (
            ("TP-7", "22.00", 0.2, 8, "plug", 7, 1, 15.0, 3.0, 30.0, 2.5, ["lamps", "charging"]),
            ("TP-12", "38.00", 0.35, 6, "plug", 12, 1, 35.0, 1.5, 30.0, 6.0, ["lamps", "brakes", "charging", "fridge_feed"]),
            ("TP-13", "42.00", 0.4, 6, "plug", 13, 2, 20.0, 2.0, 30.0, 2.5, ["lamps", "reversing", "charging", "fridge_feed"]),
            ("TP-15-24", "58.00", 0.5, 2, "plug", 15, 2, 20.0, 2.0, 30.0, 2.5, ["lamps", "brakes", "reversing", "charging"]),
            ("HC-50", "24.00", 0.1, 12, "high_current", 2, 1, 50.0, 0.4, 120.0, 16.0, ["charging"]),
            ("HC-120", "48.00", 0.2, 8, "high_current", 2, 1, 120.0, 0.25, 120.0, 35.0, ["charging"]),
            ("HC-175", "72.00", 0.35, 4, "high_current", 2, 1, 175.0, 0.15, 120.0, 50.0, ["charging"]),
            ("HC-2-50", "58.00", 0.3, 4, "high_current", 4, 2, 50.0, 0.4, 120.0, 16.0, ["charging"]),
            ("HC-3-80", "118.00", 0.6, 2, "high_current", 6, 3, 80.0, 0.3, 120.0, 35.0, ["charging"]),
            ("HC-2-175", "164.00", 0.9, 1, "high_current", 4, 2, 175.0, 0.15, 120.0, 50.0, ["charging"]),
        )
    ],
    *[
        part("sensing_module", "Pellow", code, SORREL, cost, mass, stock, 6, voltage_inputs=volts, resistance_inputs=ohms, temperature_inputs=warm, current_inputs=amps, digital_inputs=on_off, own_awake_w=0.4, own_asleep_w=0.05)
        for code, cost, mass, stock, volts, ohms, warm, amps, on_off in (
            ("SM-6", "118.00", 0.2, 3, 2, 2, 2, 0, 0),
            ("SM-16", "236.00", 0.35, 2, 4, 4, 4, 2, 2),
        )
    ],
    *[
        part("shunt", "Pellow", f"SH-{rating}", SORREL, cost, mass, stock, 6, most_a=float(rating), ohm=round(0.05 / rating, 8), max_v=70.0)
        for rating, cost, mass, stock in ((50, "24.00", 0.1, 4), (100, "28.00", 0.12, 4), (300, "39.00", 0.25, 2), (500, "52.00", 0.4, 2), (1000, "96.00", 0.9, 0))
    ],
]  # fmt: skip
