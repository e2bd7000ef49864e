"""Labour operations. Times are common practice for a workshop with the parts at hand; each workshop sets its own."""

from __future__ import annotations

LABOUR: list[dict[str, object]] = [
    {"code": "survey", "name": "Survey the vehicle", "unit": "job", "minutes_per_unit": 60.0},
    {"code": "fit_battery", "name": "Fit a battery and its tray", "unit": "each", "minutes_per_unit": 75.0},
    {"code": "fit_charger", "name": "Fit a charger", "unit": "each", "minutes_per_unit": 60.0},
    {"code": "fit_panel", "name": "Fit a solar panel and its gland", "unit": "each", "minutes_per_unit": 90.0},
    {"code": "fit_inverter", "name": "Fit an inverter", "unit": "each", "minutes_per_unit": 60.0},
    {"code": "run_cable_m", "name": "Run cable in conduit", "unit": "metre", "minutes_per_unit": 6.0},
    {"code": "terminate", "name": "Crimp and connect one end", "unit": "each", "minutes_per_unit": 5.0},
    {"code": "fit_device", "name": "Fit a fuse holder, breaker or isolator", "unit": "each", "minutes_per_unit": 15.0},
    {"code": "fit_board", "name": "Build and fit the distribution board", "unit": "job", "minutes_per_unit": 150.0},
    {"code": "program_settings", "name": "Enter settings", "unit": "each", "minutes_per_unit": 15.0},
    {
        "code": "label_circuit",
        "name": "Label a circuit at its ends and device",
        "unit": "each",
        "minutes_per_unit": 3.0,
    },
    {"code": "test_circuit", "name": "Test a circuit: polarity, drop, load", "unit": "each", "minutes_per_unit": 5.0},
    {"code": "test_and_handover", "name": "Test sources and hand over", "unit": "job", "minutes_per_unit": 90.0},
    {
        "code": "licensed_ac",
        "name": "230 V work: inlet, residual-current device, outlets, test",
        "unit": "job",
        "minutes_per_unit": 180.0,
        "is_licensed": True,
    },
    *[
        {"code": code, "name": name, "unit": unit, "minutes_per_unit": float(minutes)}
        for code, name, unit, minutes in (
            # before the work
            ("measure_draw", "Measure what the vehicle draws at rest", "job", 45),
            ("measure_alternator", "Measure the alternator, hot and at idle", "job", 60),
            ("protect_vehicle", "Cover seats, paint and floor", "job", 15),
            ("save_memory", "Disconnect the starter battery, memory kept", "job", 20),
            ("check_kept_part", "Look over and test a part that stays in the vehicle", "each", 20),
            ("strip_out", "Strip out an old installation", "job", 180),
            ("remove_trim", "Take trim off and put it back, one panel", "each", 20),
            ("fault_finding", "Find a fault, by the hour", "each", 60),
            # fitting
            ("fit_bank", "Join batteries of a bank with links of one length", "each", 30),
            ("fit_vent", "Vent a battery compartment to the outside", "each", 75),
            ("fit_equaliser", "Fit a battery equaliser", "each", 30),
            ("fit_monitor", "Fit a battery monitor and its shunt", "each", 45),
            ("fit_temperature_sender", "Fit a temperature sender", "each", 15),
            ("fit_multi_charger", "Fit a multi-input charger", "each", 105),
            ("fit_solar_controller", "Fit a solar controller", "each", 45),
            ("fit_panel_flexible", "Glue a flexible panel and its gland", "each", 75),
            ("fit_roof_rails", "Fit rails on a roof, sealed", "job", 120),
            ("fit_converter", "Fit a voltage converter", "each", 40),
            ("fit_switched_module", "Fit a switched-output module", "each", 75),
            ("fit_busbar", "Fit a busbar with its cover", "each", 20),
            ("fit_relay", "Fit a relay and its base", "each", 25),
            ("fit_switch", "Fit a switch in a panel", "each", 20),
            ("fit_outlet", "Fit an outlet of 12 V, 24 V or USB-C", "each", 25),
            ("fit_light", "Fit a lamp", "each", 25),
            ("fit_fan", "Fit a roof fan, hole cut and sealed", "each", 150),
            ("fit_ventilator", "Fit a compartment ventilator", "each", 40),
            ("fit_refrigerator", "Fit a compressor refrigerator and its vents", "each", 90),
            ("fit_heater_12v", "Connect the electrical side of a heater", "each", 45),
            ("fit_pump", "Connect a water pump", "each", 35),
            ("fit_tank_sender", "Fit a tank sender and take its curve", "each", 60),
            ("fit_trailer_plug", "Wire a trailer plug or socket", "each", 75),
            ("fit_high_current_coupling", "Fit a high-current coupling, both halves", "each", 50),
            ("fit_mounting", "Make and fit a bracket or tray", "each", 60),
            # cable
            ("run_conduit_m", "Run conduit and clip it", "metre", 4),
            ("pass_bulkhead", "Pass a bulkhead or roof, sealed", "each", 25),
            ("crimp_lug", "Crimp a lug of 25 mm² or more, sealed", "each", 8),
            ("label_circuits", "Label conductors, devices and shut-off", "job", 30),
            # settings, test, delivery
            ("relearn_vehicle", "Relearn windows, idle and steering after battery disconnection", "job", 30),
            ("read_fault_codes", "Read and clear fault codes, before and after", "job", 30),
            ("load_test", "Run every circuit at its load and read the drops", "job", 60),
            ("hold_before_live", "Hold point: second person checks before power is put on", "job", 30),
            ("hold_before_handover", "Hold point: readings and papers are checked before handover", "job", 30),
            ("weigh_vehicle", "Weigh the vehicle, axle by axle", "job", 30),
            ("show_owner", "Show the owner how it works", "job", 45),
            ("revisit", "Look over after the first month", "job", 60),
        )
    ],
    *[
        {"code": code, "name": name, "unit": unit, "minutes_per_unit": float(minutes), "is_licensed": True}
        for code, name, unit, minutes in (
            ("fit_shore_inlet", "Fit a shore inlet", "each", 60),
            ("fit_residual_device", "Fit a residual-current device", "each", 45),
            ("fit_ac_outlet", "Fit an outlet of mains voltage", "each", 40),
            ("fit_ac_changeover", "Fit a change-over between shore and inverter", "each", 75),
            ("test_ac", "Test and certify the mains-voltage side", "job", 90),
            ("fit_gas_heater", "Fit the gas or fuel side of a heater and certify it", "each", 180),
        )
    ],
]
