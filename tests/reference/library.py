"""The general-purpose battery models that ours are held against: NREL-PySAM and PyBaMM, from the package index.

Where one cannot be imported the tests that want it say so and are skipped; with ``REQUIRE_SERVICES=1`` they fail.
"""

from __future__ import annotations

import os
from importlib import import_module
from typing import Any

import numpy as np

from tests.needs import need

PLAIN_C = ((-40.0, 100.0), (60.0, 100.0))
"""Capacity against temperature [°C, %], flat: the simulation works at one temperature."""
KINETIC_Q20, KINETIC_Q10, KINETIC_Q1 = 100.0, 93.2, 58.12
"""Charge of the lead-acid battery at 20 h, 10 h and 1 h. [Ah]"""
LITHIUM = {
    "Vnom_default": 3.2, "Vfull": 3.50, "Vexp": 3.33, "Vnom": 3.20, "Vcut": 2.5, "Qfull": 100, "Qexp": 2, "Qnom": 85,
    "C_rate": 0.2, "resistance": 0.0005,
}  # fmt: skip
"""The library's lithium cell with the voltages of lithium iron phosphate in place of its own, which are another's."""


def imported(name: str) -> Any:
    """A module of a library, or the reason why these tests are not run."""
    os.environ.setdefault("PYBAMM_DISABLE_TELEMETRY", "true")
    try:
        found: Any = import_module(name)
    except (ImportError, OSError) as error:
        found = None
        need(None, f"{name} cannot be imported here ({error}); tests/requirements.txt names it")
    return found


def lead_acid(*, by: str = "current", step_h: float = 1.0, flat: bool = True) -> Any:
    """A 12 V, 100 Ah lead-acid battery of PySAM, full; driven by current [A] or by power [kW]."""
    battery = imported("PySAM.BatteryStateful").default("LeadAcid")
    cell = battery.ParamsCell
    cell.leadacid_q20, cell.leadacid_q10, cell.leadacid_qn, cell.leadacid_tn = KINETIC_Q20, KINETIC_Q10, KINETIC_Q1, 1
    cell.Qfull, cell.resistance = 100, 0.0008
    battery.ParamsPack.nominal_voltage, battery.ParamsPack.nominal_energy = 12, 1.2
    return _ready(battery, by, step_h, flat)


def lithium(*, by: str = "power", step_h: float = 1.0, flat: bool = True) -> Any:
    """A 12.8 V, 100 Ah lithium iron phosphate battery of PySAM, full; driven by current [A] or by power [kW]."""
    battery = imported("PySAM.BatteryStateful").default("LFPGraphite")
    for name, value in LITHIUM.items():
        setattr(battery.ParamsCell, name, value)
    battery.ParamsPack.nominal_voltage, battery.ParamsPack.nominal_energy = 12.8, 1.28
    return _ready(battery, by, step_h, flat)


def _ready(battery: Any, by: str, step_h: float, flat: bool) -> Any:
    cell, control = battery.ParamsCell, battery.Controls
    cell.initial_SOC, cell.minimum_SOC, cell.maximum_SOC = 100, 0, 100
    if flat:
        battery.ParamsPack.cap_vs_temp = PLAIN_C
    control.control_mode, control.dt_hr = (0 if by == "current" else 1), step_h
    if by == "current":
        control.input_current = 0
    else:
        control.input_power = 0
    battery.setup()
    return battery


def run_w(battery: Any, net_w: Any) -> tuple[Any, Any]:
    """Power that came of the asked one [W], discharge positive, and the state of charge [0..1] after each step."""
    control, state = battery.Controls, battery.StatePack
    power, charge = [], []
    for watts in net_w:
        control.input_power = float(watts) / 1000
        battery.execute(0)
        power.append(state.P * 1000)
        charge.append(state.SOC / 100)
    return np.array(power), np.array(charge)


def run_a(battery: Any, net_a: Any) -> tuple[Any, Any]:
    """Current that came of the asked one [A], discharge positive, and the state of charge [0..1] after each step."""
    control, state = battery.Controls, battery.StatePack
    current, charge = [], []
    for amps in net_a:
        control.input_current = float(amps)
        battery.execute(0)
        current.append(state.I)
        charge.append(state.SOC / 100)
    return np.array(current), np.array(charge)
