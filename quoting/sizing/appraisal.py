"""The Appraisal: what a Brief leads to. Frozen, JSON out, versioned.

Numbers a person sees are :class:`~quoting.sizing.trace.Figure` objects in ``figures``, keyed by dotted code; lists
(loads, stops, circuits, bill) carry their own values with units in the names. No price is in here: money is
made in ``quoting.money`` from the bill.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Field

from quoting.sizing.brief_choosing import KeptRole, Room
from quoting.sizing.outlook import TripOutlook
from quoting.sizing.trace import Figure, Finding, Record, Scalar, Step
from quoting.sizing.wiring_records import (
    AcLink,
    CablePiece,
    Changed,
    InputUse,
    OutputGroup,
    OutputModule,
    RefusedChange,
    SleeveUse,
)

APPRAISAL_VERSION = "loomwright.appraisal/1"
METHOD_VERSION = "2026.11.11"
"""Bumped whenever the same Brief may lead to another Appraisal; a golden test forces it."""

Hours = Annotated[tuple[float, ...], Field(min_length=24, max_length=24)]


class LoadResult(Record):
    """One line of the power audit, worked out at the trip's most demanding stop."""

    key: str
    name: str
    energy_wh: float
    """Per day at the battery, converter and inverter losses of its way included."""
    running_a: float
    """At the house bus while it runs, all of its quantity."""
    running_w: float
    duty_ratio: float
    hours_per_day: float
    steps: tuple[Step, ...] = ()
    own_draw: bool = False
    always_live: bool = False
    shed_below_ratio: float | None = None
    bus: str = "house"


class StopResult(Record):
    """A mean day at one stop, hour by hour, local solar time."""

    index: int
    name: str
    month: int
    days: float
    load_w: Hours
    engine_w: Hours
    mains_w: Hours
    sun_w: Hours
    """What each source could put into the battery and loads in that hour, after its own losses. [W]"""
    taken_w: Hours
    """What was taken of the three together. [W]"""
    given_w: Hours = (0.0,) * 24
    """What the loads got, on the stop's last day. [W]"""
    charge_ratio: Hours
    """State of charge at the end of each hour of the stop's last day."""
    start_ratio: float
    last_day_start_ratio: float = 1.0
    """At the start of the last day, whose hours are shown."""
    end_ratio: float
    lowest_ratio: float
    lowest_hour: int
    load_wh: float
    engine_wh: float
    mains_wh: float
    sun_wh: float
    spilled_wh: float
    """Offered and not taken, the battery being full."""
    shed_wh: float = 0.0
    """Let go on the last day, the charge being under the loads' thresholds."""
    unserved_wh: float
    """Asked and not given, the battery being at its limit, over the stop."""
    loss_wh: float
    """Lost in the battery over the stop's last day, so that the hours' energy adds up."""


class Need(Record):
    """Something the catalogue must provide, as a capability with a least size."""

    code: Literal[
        "storage",
        "engine_charging",
        "mains_charging",
        "solar_control",
        "panel",
        "inverting",
        "switching",
        "monitoring",
        "isolating",
        "conducting",
        "protecting",
        "holding",
        "residual",
        "inlet",
        "distributing",
        "terminating",
        "converting",
        "coupling",
        "sensing",
        "sensor",
        "sleeving",
    ]
    params: Annotated[dict[str, Scalar], Field(default_factory=dict)]
    """Least sizes, unit in the name (``capacity_ah``, ``output_a``)."""


class Shortfall(Record):
    """A need that nothing in the catalogue meets, with the nearest and how far it is off."""

    need: Need
    code: str
    """``none_of_kind``, ``too_small``, ``too_large``, ``wrong_voltage``, ``wrong_chemistry``, ``no_match``; the same
    with ``kept_`` before it where a part that is kept does not meet the need."""
    subject: str = ""
    """Circuit tag or role it was wanted for."""
    circuit_role: str = ""
    """``Circuit.role`` of the circuit it was wanted for; empty where it is for none."""
    params: Annotated[dict[str, Scalar], Field(default_factory=dict)]
    """``best`` (name), ``best_value``, ``asked``, ``short_by``, ``unit``; of a kept part also ``instead``, the name of
    the part that would do in its place, or nothing."""


class Chosen(Record):
    """A component of the system and what it is there for."""

    role: KeptRole | Literal["sensor"]
    serves: tuple[str, ...]
    """Codes of the needs it meets."""
    part: str
    """Key of the part in the Brief's catalogue."""
    name: str
    part_number: str
    quantity: int
    rating: str = ""
    series: int = 1
    parallel: int = 1
    mass_kg: float = 0.0
    setting: dict[str, Scalar] = Field(default_factory=dict)
    """Settings to enter, unit in the name (``absorption_v``, ``output_limit_a``)."""
    runner_up: str = ""
    """Name of the next cheapest that would do, if any."""
    kept: bool = False
    """In the vehicle already: it costs nothing and adds no mass."""
    by_hand: bool = False
    """A person chose it in place of what was worked out."""
    same_as: str = ""
    """Role whose pieces these are as well: one part that does both is bought, weighed and fitted once."""

    @property
    def output_limit_a(self) -> float | None:
        """Charging current it is set to; ``None`` where it is not held under its rating. [A]"""
        limit = self.setting.get("output_limit_a")
        return float(limit) if isinstance(limit, int | float) and not isinstance(limit, bool) else None


class Device(Record):
    """Protection, isolation or switching in a circuit."""

    tag: str
    """F1, Q1, K1 (fuse or breaker, isolator or breaker, switched output)."""
    what: Literal["fuse", "breaker", "isolator", "channel", "residual"]
    rating_a: float
    breaking_a: float | None = None
    fault_a: float | None = None
    """Prospective current just behind it. [A]"""
    end: Literal["source", "load"] = "source"
    part: str = ""
    name: str = ""
    position: str = ""
    distance_m: float = 0.0
    """From what feeds it. [m]"""
    series: str = ""
    """Of a fuse-link: what its holder and its spare must be."""
    stays: bool = False
    """In the vehicle already."""


class Circuit(Record):
    """One circuit from node to node, designed."""

    tag: str
    """W-numbers for feeds, C-numbers for appliance circuits."""
    name: str
    role: Literal[
        "battery_main",
        "engine_feed",
        "charger_output",
        "solar_array",
        "controller_output",
        "mains_output",
        "inverter_feed",
        "distribution",
        "load",
        "sense",
        "negative_bond",
        "converter_input",
        "converter_output",
        "starter_feed",
        "control",
    ]
    source: str
    """Tag of the node it starts from."""
    target: str
    """Tag of the node it ends at."""
    from_position: str
    to_position: str
    loads: tuple[str, ...] = ()
    group: Literal["always_live", "away", "none"] = "none"
    current_a: float
    """Design current. [A]"""
    peak_a: float = 0.0
    run_m: float
    area_mm2: float
    conductor: str
    """Key of the conductor part."""
    insulation_c: float
    ambient_c: float
    bundled: int
    ampacity_a: float
    """After every correction. [A]"""
    drop_v: float
    """Of this circuit alone at its design current, both conductors, devices and joints. [V]"""
    drop_total_v: float
    """From the battery post, shared feeders included. [V]"""
    drop_ratio: float
    drop_limit_ratio: float
    voltage_v: float
    """At the load, at the policy's low battery voltage. [V]"""
    drop_iso_v: float
    """By ISO 10133's own formula, for comparison. [V]"""
    fault_a: float | None = None
    fault_end_a: float | None = None
    """At the far end, hot, battery low. [A]"""
    clears_s: float | None = None
    devices: tuple[Device, ...] = ()
    colour: str = "red"
    decided_by: str
    """Code of the rule that set the conductor (``ampacity``, ``drop``, ``device``, ``least`` ...; ``words.RULE``)."""
    steps: tuple[Step, ...] = ()
    crosses_hitch: bool = False
    pin_pairs: int = 0
    """Pairs of the coupling's pins that it takes, feed and return. 0 where no coupling is chosen yet."""
    pins_a: float | None = None
    """What those pins carry; neither the current nor a device is over it. [A]"""
    coupling_v: float = 0.0
    """Lost in those pins at the design current, part of ``drop_v``. [V]"""
    key: str = ""
    """Stays the same while other circuits come and go: what a hand change, an output or an existing circuit names."""
    passes: tuple[str, ...] = ()
    """Positions along the way, both ends included."""
    surveyed_bundled: int = 1
    """Loaded conductors together as surveyed; ``bundled`` also counts those that this design lays there."""
    drop_a: float | None = None
    """Current that the drop is reckoned at, where it is not the design current. [A]"""
    negative: str = ""
    """Key of the return conductor's part; empty: none is laid, or the catalogue has none."""
    negative_colour: str = ""
    return_by: Literal["conductor", "chassis"] = "conductor"
    changed: tuple[Changed, ...] = ()
    stays: bool = False
    """Its conductors lie in the vehicle already."""
    stays_source: str = ""
    dead_unhitched: bool = False
    """No battery reaches it while the trailer stands alone. Of one over the hitch the half away from its source."""

    @property
    def left_a(self) -> float:
        """Ampacity that the design current leaves. [A]"""
        return self.ampacity_a - self.current_a


class Node(Record):
    """A thing on the single-line diagram."""

    tag: str
    what: Literal[
        "alternator",
        "starter_battery",
        "battery",
        "panel",
        "inlet",
        "charger",
        "controller",
        "mains_charger",
        "inverter",
        "busbar",
        "board",
        "load",
        "outlet",
        "monitor",
        "body",
        "converter",
        "residual",
        "changeover",
        "sensor",
        "module",
    ]
    name: str
    position: str = ""
    params: dict[str, Scalar] = Field(default_factory=dict)


class BillUse(Record):
    """So much of a line of the bill at one step of the build and one place."""

    step: str
    """Code of ``wording.building``."""
    position: str = ""
    """Key of a position; empty where it lies along a way, or nobody said where."""
    quantity: float
    """In the line's unit."""


class BillLine(Record):
    """One line of the bill of materials: a part, or labour by its operation's code, or a sundry."""

    group: str
    """``storage``, ``charging``, ``ac``, ``distribution``, ``conductors``, ``labour``."""
    part: str = ""
    labour: str = ""
    """``fit_battery``, ``run_cable`` ... ; matched to the workshop's labour operations."""
    name: str
    quantity: float
    unit: str
    """``each``, ``m``, ``h``; ``pack``: a share of one, of what is used up."""
    mass_kg: float = 0.0
    rule: str
    """Code of the rule that put it there."""
    circuits: tuple[str, ...] = ()
    kept: bool = False
    """In the vehicle already: no cost, no mass."""
    step: str = ""
    """Code of the first step of the build that uses it (``wording.building``); empty in records from before."""
    uses: tuple[BillUse, ...] = ()
    """Where it goes; they add up to the quantity. Empty in records from before."""
    params: dict[str, Scalar] = Field(default_factory=dict)
    """What the rule counted, units in the names (``wording.rules_bill``)."""


class PanelPlace(Record):
    """A panel on a roof area, its gaps not counted in."""

    area: str
    """Key of the roof area."""
    x_m: float
    """From the area's front edge. [m]"""
    y_m: float
    """From its left edge. [m]"""
    length_m: float
    """Along the vehicle. [m]"""
    width_m: float


class BatteryPlace(Record):
    """A battery in a battery space, seen from above."""

    space: str
    x_mm: float
    y_mm: float
    length_mm: float
    width_mm: float


class Expectation(Record):
    """A reading the technician takes, with what it should be."""

    key: str
    group: Literal["vehicle", "drop", "circuits", "watched", "sources", "mains"]
    code: str
    """Worded by ``words.READING``."""
    params: dict[str, Scalar] = Field(default_factory=dict)
    unit: str = ""
    minimum: float | None = None
    maximum: float | None = None
    safety: bool = False
    """Delivery is refused while it is missing or fails."""
    licensed: bool = False
    """To be taken and signed by a licensed person."""
    answer: Literal["number", "yes"] = "number"


class Lasting(Record):
    """How long a set of loads runs from full, with no charging."""

    key: str
    """``everything``, ``without_inverter``, ``always_live``, ``essential`` or ``load:<key>``."""
    name: str = ""
    power_w: float
    """Mean over the day."""
    new_h: float
    worn_h: float
    until: str
    """Code of what ends it: ``shed``, ``empty``."""
    until_ratio: float


class SourceSummary(Record):
    """How one source charges the battery, as an owner sees it."""

    source: Literal["engine", "mains", "sun", "together"]
    current_a: float
    hours_to_full: float | None
    """From the policy's reserve to full, nothing else drawing. ``None``: never at this rate."""
    energy_wh_day: float
    unit_name: str = ""
    stop_index: int | None = None
    """The stop whose mean day ``energy_wh_day`` is of: the most demanding one. ``None``: in records from before."""


class DeadUnhitched(Record):
    """Something that has no power once the trailer stands alone: it is not on the auxiliary battery's side."""

    what: Literal["load", "source"]
    key: str
    """Key of a load, or ``engine``, ``mains``, ``sun``."""
    name: str = ""
    essential: bool = False


class Appraisal(Record):
    """Everything worked out from one Brief."""

    version: Literal["loomwright.appraisal/1"] = "loomwright.appraisal/1"
    method_version: str = METHOD_VERSION
    brief_sha256: str
    system_v: Literal[12, 24]
    figures: dict[str, Figure]
    loads: tuple[LoadResult, ...]
    profile_w: Hours
    """Mean day at the battery, all loads, the most demanding stop. [W]"""
    stops: tuple[StopResult, ...]
    chosen: tuple[Chosen, ...] = ()
    nodes: tuple[Node, ...] = ()
    circuits: tuple[Circuit, ...] = ()
    channels: tuple[dict[str, Any], ...] = ()
    """Switched outputs: part, channel, circuit tag, limit_a, load_a, shed order."""
    bill: tuple[BillLine, ...] = ()
    mass_kg: float = 0.0
    room: Room | None = None
    """What the offer asked over the bare need."""
    panels: tuple[PanelPlace, ...] = ()
    """Where each panel lies on the roof areas; empty where none were given."""
    batteries: tuple[BatteryPlace, ...] = ()
    """Where each battery stands in the spaces; empty where none were given, or a battery's size is not stated."""
    shortfalls: tuple[Shortfall, ...] = ()
    findings: tuple[Finding, ...] = ()
    expectations: tuple[Expectation, ...] = ()
    lasting: tuple[Lasting, ...] = ()
    sources: tuple[SourceSummary, ...] = ()
    questions: tuple[str, ...] = ()
    """Codes of questions for the licensed person (``words.QUESTION``)."""
    dead_unhitched: tuple[DeadUnhitched, ...] = ()
    """Loads and sources without a way to the auxiliary battery while the trailer is unhitched."""
    outlook: TripOutlook | None = None
    """The trip over many weathers; ``None`` where no battery could be chosen, and in records from before."""
    refused: tuple[RefusedChange, ...] = ()
    modules: tuple[OutputModule, ...] = ()
    shed_groups: tuple[OutputGroup, ...] = ()
    inputs: tuple[InputUse, ...] = ()
    pieces: tuple[CablePiece, ...] = ()
    """Every length to cut with its ends; what the bill's cable and terminals are counted from."""
    sleeves: tuple[SleeveUse, ...] = ()
    ac: tuple[AcLink, ...] = ()

    def figure(self, code: str) -> Figure:
        return self.figures[code]

    def value(self, code: str) -> float:
        return self.figures[code].value
