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
    {"code": "test_and_handover", "name": "Test and hand over", "unit": "job", "minutes_per_unit": 150.0},
    {
        "code": "licensed_ac",
        "name": "230 V work: inlet, residual-current device, outlets, test",
        "unit": "job",
        "minutes_per_unit": 180.0,
        "is_licensed": True,
    },
]
