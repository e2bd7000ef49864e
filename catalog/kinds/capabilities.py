"""What parts can do. Sizing asks for a capability and never for a kind's name.

Pure and frozen; every number carries its unit in its name, fractions are 0..1. ``None`` always means
"not stated by the maker", never zero: a safety-relevant figure that is ``None`` is asked for or refused.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass, field

CHEMISTRIES = (("lifepo4", "lithium iron phosphate"), ("agm", "AGM"), ("gel", "gel"), ("flooded", "flooded lead-acid"))
"""The chemistries of an auxiliary battery that the sizing knows, with the trade's names."""

Curve = tuple[tuple[float, float], ...]


def at(curve: Curve, x: float, default: float = 1.0) -> float:
    """Read a curve at ``x``: straight lines between its points, flat beyond its ends."""
    if not curve:
        return default
    i = bisect_right([p[0] for p in curve], x)
    if i == 0:
        return curve[0][1]
    if i == len(curve):
        return curve[-1][1]
    (x0, y0), (x1, y1) = curve[i - 1], curve[i]
    return y0 + (y1 - y0) * (x - x0) / (x1 - x0)


@dataclass(frozen=True, slots=True)
class OwnDraw:
    """What a part takes for itself at the house bus. [W]"""

    awake_w: float = 0.0
    asleep_w: float = 0.0


@dataclass(frozen=True, slots=True)
class Capability:
    """Base of everything a part can do."""


@dataclass(frozen=True, slots=True)
class Storage(Capability):
    """Stores energy: one battery."""

    chemistry: str
    nominal_v: float
    cells: int
    """Cells in series inside one battery."""
    capacity_ah: float
    rate_h: float
    """Hours of the discharge at which the capacity is stated."""
    peukert: float
    resistance_ohm: float | None
    """Internal resistance of one battery, new, at 25 °C. ``None``: not stated."""
    max_charge_a: float
    max_discharge_a: float
    peak_a: float
    peak_s: float
    cutoff_v: float
    """Where its own protection opens, or below which it must not be taken."""
    absorption_v: float
    float_v: float
    compensation_mv_per_cell_k: float
    max_series: int
    max_parallel: int
    min_charge_c: float
    max_charge_c: float
    heater_w: float = 0.0
    cycles: Curve = ()
    """Depth of discharge (0..1) against cycles to the end of life."""
    needs_venting: bool = False
    engine_bay_allowed: bool = False
    length_mm: float | None = None
    """Over all; ``None``: not stated. [mm]"""
    width_mm: float | None = None
    height_mm: float | None = None


@dataclass(frozen=True, slots=True)
class EngineCharging(Capability):
    """Charges the auxiliary battery from the starter bus, DC to DC."""

    input_nominal_v: float
    output_nominal_v: float
    output_a: float
    efficiency_ratio: float
    stop_below_v: float
    """Input voltage under which it stops."""
    limit_steps_a: tuple[float, ...] = ()
    """Outputs it can be set to, besides the full one."""
    profiles: tuple[str, ...] = ()
    derating: Curve = ()
    """Compartment °C against what is left of the output, 0..1."""
    smart_alternator: bool = True
    shares_output: bool = False
    """One output shared with the part's other inputs: their sum is held to ``output_a``."""
    running_signal: bool = False
    """Takes a wire that says that the engine runs."""


@dataclass(frozen=True, slots=True)
class MainsCharging(Capability):
    """Charges the auxiliary battery from a mains outlet or shore inlet."""

    output_nominal_v: float
    output_a: float
    efficiency_ratio: float
    power_factor: float
    mains_v: float
    profiles: tuple[str, ...] = ()
    derating: Curve = ()
    shares_output: bool = False


@dataclass(frozen=True, slots=True)
class SolarControl(Capability):
    """Charges the auxiliary battery from panels."""

    method: str
    """``mppt`` or ``pwm``."""
    output_nominal_v: tuple[float, ...]
    output_a: float
    efficiency_ratio: float
    max_voc_v: float
    max_isc_a: float
    start_margin_v: float = 0.0
    """Panel voltage above battery voltage that it wants before it starts."""
    profiles: tuple[str, ...] = ()
    derating: Curve = ()
    shares_output: bool = False


@dataclass(frozen=True, slots=True)
class Panel(Capability):
    """Turns sun into direct current: one panel at standard test conditions."""

    power_w: float
    vmp_v: float
    imp_a: float
    voc_v: float
    isc_a: float
    power_per_k: float
    """Relative change of power per kelvin, negative."""
    voc_per_k: float
    max_series_fuse_a: float
    max_system_v: float
    length_m: float
    width_m: float
    bypass_groups: int | None = None
    """Groups of cells with a bypass diode each. ``None``: the maker does not say."""
    flexible: bool = False
    """Glued flat, without a frame."""


@dataclass(frozen=True, slots=True)
class Inverting(Capability):
    """Makes mains-like AC from the house bus."""

    nominal_v: float
    continuous_w: float
    continuous_va: float
    surge_w: float
    surge_s: float
    no_load_w: float
    efficiency_half_ratio: float
    """At half the continuous power."""
    efficiency_full_ratio: float
    cutoff_v: float
    output_v: float
    output_hz: float
    derating: Curve = ()


@dataclass(frozen=True, slots=True)
class Conducting(Capability):
    """A single-core conductor, sold by the metre."""

    area_mm2: float
    insulation_c: float
    colour: str
    ohm_per_km_20c: float
    outside_mm: float | None = None
    """Over the insulation; ``None`` where the maker does not state it."""


@dataclass(frozen=True, slots=True)
class Protecting(Capability):
    """Opens on overcurrent: a fuse-link or a circuit breaker."""

    form: str
    """``fuse`` or ``breaker``."""
    series: str
    """Fits holders of the same series."""
    rating_a: float
    breaking_a: float | None
    max_v: float
    resistance_ohm: float
    min_melting_s_at_2x: float = 0.0
    """Shortest time to open at twice its rating, for inrush."""
    needs_holder: bool = True


@dataclass(frozen=True, slots=True)
class Holding(Capability):
    """Holds fuse-links of one series."""

    series: str
    max_rating_a: float
    ways: int
    max_v: float


@dataclass(frozen=True, slots=True)
class Isolating(Capability):
    """Parts a circuit by hand, all of it."""

    rating_a: float
    max_v: float
    poles: int
    resistance_ohm: float = 0.0002


@dataclass(frozen=True, slots=True)
class Switching(Capability):
    """Switches loads: generic output channels with limits, whatever part has them."""

    channel_limits_a: tuple[float, ...]
    total_a: float
    nominal_v: tuple[float, ...]
    sheds: bool
    """Can let go by state of charge or voltage."""
    protects: bool
    """Each channel protects its own circuit (rating is the channel's limit)."""
    breaking_a: float | None = None
    """What a protecting channel can break. ``None``: not stated."""


@dataclass(frozen=True, slots=True)
class Sensing(Capability):
    """Reads the system: generic input channels."""

    inputs: tuple[tuple[str, int], ...]
    """(``voltage`` | ``resistance`` | ``temperature`` | ``current`` | ``digital``, how many)."""


@dataclass(frozen=True, slots=True)
class Monitoring(Capability):
    """Counts charge in and out of the battery through a shunt."""

    shunt_a: float
    max_v: float
    shunt_ohm: float


@dataclass(frozen=True, slots=True)
class ResidualProtection(Capability):
    """Opens on residual current, AC side. For licensed people."""

    rated_a: float
    sensitivity_ma: float
    poles: int
    type: str
    overcurrent: bool
    """Opens on overcurrent as well."""


@dataclass(frozen=True, slots=True)
class Inlet(Capability):
    """Takes the shore lead. For licensed people."""

    rated_a: float
    rated_v: float


@dataclass(frozen=True, slots=True)
class Distributing(Capability):
    """A busbar with studs."""

    rating_a: float
    studs: int
    stud_mm: float
    max_v: float


@dataclass(frozen=True, slots=True)
class Landing(Capability):
    """Has studs that conductors land on."""

    stud_mm: float


@dataclass(frozen=True, slots=True)
class Guarded(Capability):
    """Its maker says which devices may stand in its direct-current leads."""

    least_a: float
    """0: none is stated. [A]"""
    most_a: float | None
    """[A]"""


@dataclass(frozen=True, slots=True)
class Terminating(Capability):
    """A crimp terminal for one conductor size and stud."""

    area_mm2: float
    stud_mm: float
    form: str = field(default="ring")


@dataclass(frozen=True, slots=True)
class Converting(Capability):
    """Makes one direct voltage from another, such as 12 V from a 24 V house bus."""

    input_nominal_v: float
    input_min_v: float
    input_max_v: float
    output_v: float
    continuous_a: float
    """At the output, for as long as it takes, at 25 °C. [A]"""
    peak_a: float
    peak_s: float
    """How long it gives the peak current. [s]"""
    efficiency_ratio: float
    no_load_w: float
    """What it takes at its input with nothing connected, while it is on. [W]"""
    isolated: bool = False
    """Output and input share no conductor inside."""
    derating: Curve = ()
    """Compartment °C against what is left of the continuous current, 0..1."""


@dataclass(frozen=True, slots=True)
class Equalising(Capability):
    """Moves charge between two batteries in series until their voltages agree."""

    nominal_v: float
    """Of the two in series. [V]"""
    current_a: float
    """The most that it moves from one to the other. [A]"""
    chemistries: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Coupling(Capability):
    """Joins a towing vehicle to its trailer: plug and socket, mated."""

    pins: int
    """Current-carrying pairs, feed and return, that may carry charge."""
    pin_a: float
    """Most continuous current of one pin. [A]"""
    pin_ohm: float
    """One mated contact, as it is after some use. [Ω]"""
    max_v: float
    form: str
    """``plug`` (many pins, with the lamps) or ``high_current`` (its own connector for charging)."""
    dead_unhitched: tuple[str, ...] = ()
    """What has no power while unhitched: ``lamps``, ``charging``, ``brakes``, ``reversing``, ``fridge_feed``."""


@dataclass(frozen=True, slots=True)
class Relaying(Capability):
    """Switches one circuit by another's small current."""

    coil_v: float
    contact_a: float
    """Continuous, resistive load. [A]"""
    max_v: float
    poles: int
    hold_w: float
    """What the coil takes while it holds; 0 when it latches. [W]"""


@dataclass(frozen=True, slots=True)
class Sleeving(Capability):
    """Covers conductors: conduit, sleeve, heat-shrink, grommet."""

    inner_mm: float
    form: str
    """``conduit``, ``sleeve``, ``heat_shrink`` or ``grommet``."""
    max_c: float
    outside_mm: float | None = None
    """Of a conduit, where it is stated; of a grommet nothing."""
    shrunk_mm: float | None = None
    """Inside after shrinking, of heat-shrink."""
    watertight: bool = False
    """Of a grommet: a gland that keeps spray out."""
    ways: int = 1
    """Of a grommet: how many of ``inner_mm`` it passes, each by itself."""


@dataclass(frozen=True, slots=True)
class TankSensing(Capability):
    """Tells how full a tank is by its resistance."""

    curve: Curve
    """Level (0..1) against resistance [Ω], rising or falling all the way."""
    fluid: str = "any"
    """What it may stand in: ``fresh``, ``waste``, ``fuel`` or ``any``."""


@dataclass(frozen=True, slots=True)
class CurrentSensing(Capability):
    """Tells a direct current by the voltage across a resistor in its way."""

    most_a: float
    """Continuous. [A]"""
    ohm: float
    """In the way of the current. [Ω]"""
    max_v: float


@dataclass(frozen=True, slots=True)
class TemperatureSensing(Capability):
    """Tells a temperature."""

    form: str
    """``resistance``, ``voltage`` or ``digital``."""
    min_c: float
    max_c: float
    curve: Curve = ()
    """Temperature [°C] against resistance [Ω], for the form ``resistance``."""


@dataclass(frozen=True, slots=True)
class HandSwitching(Capability):
    """Switches a circuit by hand in daily use."""

    rating_a: float
    max_v: float
    """Direct current. [V]"""
    poles: int
    ways: int
    """Positions that connect something: 1 for on and off, 2 for a change-over."""


@dataclass(frozen=True, slots=True)
class Outletting(Capability):
    """Lets people plug appliances in."""

    bus: str
    """``house``, ``house12``, ``usb`` or ``ac``: a bus of the audit."""
    rating_a: float
    """Of one way, at ``rated_v``. [A]"""
    rated_v: float
    power_w: float | None = None
    """All ways together, where the maker states a limit. [W]"""
    ways: int = 1
    no_load_w: float = 0.0
    """What it takes with nothing plugged in. [W]"""
