"""What the loads and the trip ask of the system: the numbers that choosing and circuits start from.

Made by ``quoting.sizing.appraise`` from loads, battery, charging, sun and inverter; read by ``choice``, ``circuits``
and ``bill``. All values at the house bus unless the name says otherwise.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class BatteryNeed:
    """Asked of the bank, by chemistry."""

    capacity_ah: dict[str, float]
    """Chemistry -> capacity asked. [Ah at the maker's rate]"""
    discharge_a: float
    """Largest continuous current of all coincident loads, inverter included. [A]"""
    peak_a: float
    """Largest current with the worst start. [A]"""
    peak_s: float


@dataclass(frozen=True, slots=True)
class SolarNeed:
    """Asked of the array at the worst stop."""

    array_w: float
    """Array asked at standard test conditions. [W]"""
    cold_c: float
    """Record low that sets the cold open-circuit voltage. [°C]"""
    hot_cell_c: float
    roof_area_m2: float | None
    by_stop: tuple[tuple[float, float], ...] = ()
    """Of each stop with sun: the array asked if nothing shaded it [W], and its shade [0..1]. Empty: none has shade."""


@dataclass(frozen=True, slots=True)
class InverterNeed:
    """Asked of the inverter. ``None`` sizes mean no AC load."""

    continuous_w: float
    continuous_va: float
    surge_w: float
    surge_s: float
    compartment_c: float


@dataclass(frozen=True, slots=True)
class Behind:
    """Loads of one circuit that hang on a converter, at the converter's output."""

    key: str
    name: str
    running_a: float
    """Of the circuit by itself: what runs at once in it, or its largest load. [A]"""
    at_once_a: float
    """Share that counts at once with other circuits. [A]"""
    start_a: float
    """More than running, while its largest load starts. [A]"""
    start_s: float


@dataclass(frozen=True, slots=True)
class ConverterNeed:
    """Asked of the converters of the 12 V loads of a 24 V system."""

    circuits: tuple[Behind, ...]
    continuous_a: float
    """All of them, coincident, at the output. [A]"""
    peak_a: float
    peak_s: float
    low_v: float
    """Lowest voltage of the house bus at its input. [V]"""
    high_v: float
    compartment_c: float


@dataclass(frozen=True, slots=True)
class Needs:
    """Everything asked, before a part is chosen."""

    battery: BatteryNeed
    engine_a: float | None
    """Charging current from the engine that restores a day, at the worst stop. [A]; ``None``: not wished."""
    engine_most_a: float | None
    """Most charger output that the alternator's planned headroom feeds. [A]"""
    mains_a: float | None
    solar: SolarNeed | None
    inverter: InverterNeed | None
    house_peak_a: float
    """Coincident DC loads, inverter left out. [A]"""
    compartment_c: float
    """Air round chargers and inverter, parked. [°C]"""
    converter: ConverterNeed | None = None
