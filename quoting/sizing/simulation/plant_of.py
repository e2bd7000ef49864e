"""From chosen parts to the battery that the simulation works on: what it holds, what protects it, what is shed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from quoting.sizing.battery import OPEN_CIRCUIT, temperature_factor
from quoting.sizing.battery_volts import RESISTANCE_C, bank_ohm
from quoting.sizing.battery_wells import wells_of
from quoting.sizing.simulation.plant import Plant, ShedGroup
from quoting.sizing.system import System

if TYPE_CHECKING:
    from numpy import float64
    from numpy.typing import NDArray

    Floats = NDArray[float64]

NO_LIMIT_A = 1e6
"""Stands for the limit of a battery that states none. [A]"""


@dataclass(frozen=True, slots=True)
class Conditions:
    """What is other than planned, in every weather alike."""

    sun_ratio: float = 1.0
    worn: bool = False
    """The battery at its end of life."""
    drift: bool = False
    """The monitor drifts by the policy's rate."""


AS_PLANNED = Conditions()


def shed_groups(system: System) -> tuple[ShedGroup, ...]:
    """Loads of the house battery that go off together, the lowest threshold first."""
    off, over = system.goes_off, system.brief.policy.shed_restore_ratio
    return tuple(
        ShedGroup(
            below_ratio=level,
            restore_ratio=min(1.0, level + over),
            keys=tuple(x.key for x in system.brief.loads if off.get(x.key) == level),
        )
        for level in sorted(set(off.values()))
    )


def plant_of(
    system: System, conditions: Conditions = AS_PLANNED, start_ratio: float = 1.0, cell_c: float = RESISTANCE_C
) -> Plant | None:
    """The battery with its protection, its monitor and the groups that are shed; ``None`` without a battery.

    Parameters
    ----------
    system : System
        Chosen parts.
    conditions : Conditions
        Worn or not, monitor drifting or not.
    start_ratio : float
        State of charge to begin with.
    cell_c : float
        Of the cells, for the capacity: what is left of lead-acid in the cold, by IEEE 485. [°C]

    Notes
    -----
    Of lead-acid no more than the stated capacity is counted on at slow currents; at fast ones its two wells, fitted to
    the maker's rate and Peukert exponent, hold charge back.
    """
    import numpy as np

    capacity = system.capacity_ah
    if not system.storage or capacity is None or capacity <= 0:
        return None
    one, can = system.storage
    policy, chemistry, volts = system.brief.policy, system.chemistry_policy, system.bank_v
    left = chemistry.end_of_life_ratio if conditions.worn else 1.0
    wells, groups = wells_of(can), shed_groups(system)
    ohm = bank_ohm(can, one.series, one.parallel, left_ratio=left)
    in_series, per_12 = can.cells * one.series, system.brief.wishes.system_v / 12

    def column(value: float) -> Floats:
        return np.array([value], dtype=np.float64)

    return Plant(
        energy_wh=column(capacity * volts * left / temperature_factor(can.chemistry, cell_c)),
        charge_limit_w=column(min(system.charge_limit_a, NO_LIMIT_A) * volts),
        discharge_limit_w=column(min(system.discharge_limit_a, NO_LIMIT_A) * volts),
        charge_efficiency_ratio=column(chemistry.charge_efficiency_ratio),
        tail_h=column(chemistry.tail_h),
        nominal_v=volts,
        available_ratio=column(wells.available_ratio),
        well_rate_per_h=column(wells.rate_per_h),
        open_circuit=tuple((charge, cell * in_series) for charge, cell in OPEN_CIRCUIT[can.chemistry]),
        resistance_ohm=None if ohm is None else column(ohm),
        cutoff_v=can.cutoff_v * one.series,
        backstop_v=policy.backstop_v_per_12 * per_12 if groups else 0.0,
        backstop_restore_v=max(policy.backstop_restore_v_per_12, policy.backstop_v_per_12) * per_12,
        backstop_delay_h=policy.backstop_delay_min / 60,
        monitor_drift_per_day=policy.monitor_drift_day_ratio if conditions.drift else 0.0,
        sheds=groups,
        start_ratio=start_ratio,
    )
