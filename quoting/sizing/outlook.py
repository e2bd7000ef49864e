"""The part of an Appraisal that the trip simulation makes: how the trip goes over many weathers. Frozen, JSON out."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from quoting.sizing.brief import Load
from quoting.sizing.fields import n
from quoting.sizing.trace import Finding, Record

Points = tuple[float, ...]


class StopSpan(Record):
    """Where a stop lies on the trip's time axis, and its energy over a mean of its days and of the weathers."""

    index: int
    name: str
    month: int
    first_point: int
    points: int
    days: float
    """Worked out step by step; a long stop's tail that only repeats is left out and said."""
    load_wh_day: float
    given_wh_day: float
    engine_wh_day: float
    mains_wh_day: float
    sun_wh_day: float
    """Taken from each source, shared in the measure of what each offered."""
    spilled_wh_day: float
    """Offered and not taken."""
    sun_spilled_wh_day: float
    loss_wh_day: float
    shed_wh_day: float
    unserved_wh_day: float
    heater_wh_day: float = 0.0
    own_wh_day: float = 0.0
    """The parts' own draw, the inverter's and converters' losses not among it."""
    grey_day_ah: float = 0.0
    """What one grey day (the policy's percentile) costs against a mean one. [Ah]"""
    sun_low_wh_day: float = 0.0
    """What the sun offers on such a grey day. [Wh]"""


class OffSpan(Record):
    """A time in which a shed group is off, hours from the trip's start, in the typical weather."""

    start_h: float
    end_h: float


class ShedOutlook(Record):
    """What becomes of one shed group."""

    below_ratio: float
    restore_ratio: float
    keys: tuple[str, ...]
    names: tuple[str, ...]
    chance_ratio: float
    """Share of the weathers in which it goes off at least once."""
    hours_mean: float
    hours_high: float
    """Off over the trip, mean and the bad percentile. [h]"""
    typical: tuple[OffSpan, ...] = ()


class Darkness(Record):
    """The chance that an essential load goes dark during the trip."""

    chance_ratio: float
    by_charge_ratio: float
    """The battery is empty or at its current limit, or so low that an essential load is shed."""
    by_voltage_ratio: float
    """The voltage under load is below an essential appliance's cut-out, or the battery's own protection is open."""
    draws_dark: int
    chance_high_ratio: float
    """Upper end of the 95 % interval of Wilson (1927) for so many draws."""
    hours_mean: float
    first_h: float | None = None
    """Hours from the start until half of the weathers that go dark have; ``None`` when none does."""


class StarterOutlook(Record):
    """The starter battery over the trip, simulated beside the auxiliary one."""

    lowest_ratio: float
    end_ratio: float
    no_crank: bool
    """It falls under the charge at which it may not crank."""
    idle_deficit_ah_day: float
    """Taken from it at idle on a day's drive, before it is put back at speed. [Ah]"""
    days_parked: float | None = None


class MonthOutlook(Record):
    """One month of the year at the home site."""

    month: int
    load_wh_day: float
    sun_wh_day: float
    """Mean that the array offers. [Wh]"""
    lowest_median_ratio: float
    lowest_low_ratio: float
    dark_chance_ratio: float
    shed_chance_ratio: float
    holds: bool
    """The chance of going dark is not over the policy's."""


class CutOut(Record):
    """Where an appliance's own voltage cut-out stands against the battery's sag."""

    key: str
    name: str
    cutout_v: float
    drop_v: float
    """Of its circuits, at its running current. [V]"""
    stops_at_ratio: float | None
    """State of charge under which it cuts out running; ``None``: never while the battery gives."""
    start_stops_at_ratio: float | None
    """The same while it starts."""


class TripOutlook(Record):
    """The trip over many weathers."""

    draws: int
    seed: int
    low_ratio: float
    """The policy's percentile, 0.05; ``high`` is as far from the other end."""
    step_h: float
    """Hours between points."""
    charge_median: Points
    charge_low: Points
    charge_high: Points
    """State of charge at the end of each step."""
    charge_typical: Points
    """Of the typical weather: the draw whose lowest charge is the median one."""
    load_w: Points
    engine_w: Points
    mains_w: Points
    sun_w: Points
    """Taken, mean over the weathers; loads as asked. [W]"""
    stops: tuple[StopSpan, ...]
    sheds: tuple[ShedOutlook, ...]
    dark: Darkness
    lowest_median_ratio: float
    lowest_low_ratio: float
    end_median_ratio: float
    flat_days: float | None
    """From full to flat where loads and cold leave the fewest days, nothing charging, groups shed as they go.

    ``None``: over a year.
    """
    cutouts: tuple[CutOut, ...] = ()
    starter: StarterOutlook | None = None
    year: tuple[MonthOutlook, ...] = ()
    """Months at the home site, the trip's first stop, parked and used as its stops are on average."""
    first_failing_month: int | None = None
    """The month that fails first: of those that do not hold, the one with the greatest chance of going dark; if all
    hold ``None``."""
    weakest_month: int | None = None


class Trial(Record):
    """What somebody tries on the design page, with the system as it was chosen. Empty: as it is."""

    stop: int | None = Field(default=None, ge=0, le=59, description="Index of the stop it is tried at; all when empty.")
    days: float | None = n("day", 0.5, 60, None)
    month: int | None = Field(default=None, ge=1, le=12)
    shade_ratio: float | None = n("", 0, 1, None)
    driving_h_per_day: float | None = n("h", 0, 24, None)
    mains_h_per_day: float | None = n("h", 0, 24, None)
    sun_ratio: float | None = n("", 0, 1.5, None, "All days' sun times this.")
    warmer_k: float | None = n("K", -30, 30, None, "All days' air warmer by this.")
    added: tuple[Load, ...] = Field(default=(), max_length=5)
    worn: bool = Field(default=False, description="The battery at its end of life.")
    drift: bool = Field(default=False, description="The battery monitor drifts by the policy's rate.")


class Moved(Record):
    """One result before and after."""

    code: Literal[
        "lowest_low",
        "lowest_median",
        "end_median",
        "dark_chance",
        "flat_days",
        "shed_hours",
        "load_wh_day",
        "sun_wh_day",
        "spilled_wh_day",
        "starter_lowest",
    ]
    unit: str
    before: float | None
    after: float | None
    better: bool | None
    """``None``: no change that counts, or a flow of energy that is neither good nor bad by itself."""


class TrialResult(Record):
    """What a trial leads to."""

    trial: Trial
    after: TripOutlook
    moved: tuple[Moved, ...]
    findings: tuple[Finding, ...] = ()


class Bar(Record):
    """One bar of a tornado: an input moved down and up, and what the result does."""

    code: str
    """``words.STEP`` code of the input, or one of the trip's inputs (``words.INPUT``)."""
    params: dict[str, str | float | int | bool | None] = Field(default_factory=dict)
    unit: str
    input_low: float
    input_base: float
    input_high: float
    value_low: float
    """The result with the input at ``input_low``."""
    value_high: float
    origin: str = "derived"


class Tornado(Record):
    """Which inputs a figure is most sensitive to, the largest swing first."""

    code: str
    unit: str
    base: float
    bars: tuple[Bar, ...]
    moved_by_ratio: float | None = None
    """Every input moved by this share of itself; ``None`` when each by a range of its own."""
