"""The Brief: everything a design is worked out from, as plain values. JSON in, versioned.

Nothing here knows a database. Ranges refuse what cannot be; units are in the names and in the schema.
Times of day are local solar time, 0 to 24 h. Fractions are 0..1.
"""

from __future__ import annotations

import json
from typing import Annotated, Any, Literal

from pydantic import BaseModel, Field, ValidationError, model_validator

from quoting.sizing.brief_choosing import BatterySpace, KeptRole, Pick, RoofArea, Room
from quoting.sizing.brief_wiring import Body, Existing, HandChange, LaidIn, LaidOut, Sense
from quoting.sizing.errors import SizingError, shown_value
from quoting.sizing.fields import Key, Name, n
from quoting.sizing.limits import limits_of
from quoting.sizing.policy import Policy
from quoting.sizing.trace import Record

BRIEF_VERSION = "loomwright.brief/1"

Bus = Literal["house", "starter", "ac", "house12", "usb"]
"""``house`` is the house bus at the system's voltage; ``house12`` a 12 V bus behind a converter on a 24 V system;
``usb`` a USB-C outlet behind its converter; ``ac`` is behind the inverter; ``starter`` the vehicle's own."""

ROLES = ("starter", "battery", "board", "charger", "inverter", "array", "inlet", "converter")
Role = Literal["starter", "battery", "board", "charger", "inverter", "array", "inlet", "converter"]
"""What sits where in the vehicle. A converter without a place of its own sits at the board."""


class Steady(Record):
    """Runs at one power for so many hours a day, on and off within them by ``duty_ratio``."""

    way: Literal["steady"] = "steady"
    power_w: float = n("W", 0.01, 20000)
    hours_per_day: float = n("h", 0, 24)
    duty_ratio: float = n("", 0, 1, 1.0)


class Cooling(Record):
    """A compressor refrigerator, from the maker's duty at its rated ambient."""

    way: Literal["cooling"] = "cooling"
    power_w: float = n("W", 1, 2000, help="While the compressor runs.")
    rated_duty_ratio: float = n("", 0.01, 1)
    rated_ambient_c: float = n("°C", 10, 50)
    inside_c: float = n("°C", -30, 15)


class Recharge(Record):
    """Batteries of tools, drones, laptops, cameras."""

    way: Literal["recharge"] = "recharge"
    pack_wh: float = n("Wh", 0.1, 20000)
    charges_per_day: float = n("1/day", 0, 100)
    charger_efficiency_ratio: float = n("", 0.3, 1)
    power_w: float = n("W", 0.1, 20000, help="What the charger draws.")


class Event(Record):
    """Short use, so many minutes so many times a day."""

    way: Literal["event"] = "event"
    power_w: float = n("W", 0.1, 20000)
    minutes: float = n("min", 0.01, 1440)
    times_per_day: float = n("1/day", 0, 1000)

    @model_validator(mode="after")
    def _fits_a_day(self) -> Event:
        if self.minutes * self.times_per_day > 1440:
            raise ValueError("minutes x times a day is more than 1440 min, a whole day")
        return self


Use = Annotated[Steady | Cooling | Recharge | Event, Field(discriminator="way")]
WAYS = frozenset({"steady", "cooling", "recharge", "event"})
"""What ``way`` may be."""


class Load(Record):
    """One line of the power audit."""

    key: Key
    name: Name
    quantity: int = Field(default=1, ge=1, le=500)
    bus: Bus = "house"
    use: Use
    window_start_h: float = n("h", 0, 24, 0.0)
    window_end_h: float = n("h", 0, 24, 24.0, "End of the daily window; before the start, it runs over midnight.")
    power_factor: float = n("", 0.1, 1, 1.0)
    start_multiple: float = n("", 1, 12, 1.0, "Starting current over running current.")
    start_s: float = n("s", 0, 60, 0.0)
    min_voltage_v: float | None = n("V", 5, 60, None, "Lowest voltage it works at.")
    restart_voltage_v: float | None = n("V", 5, 60, None)
    essential: bool = False
    shed_below_ratio: float | None = n("", 0, 0.95, None, "State of charge under which it is let go.")
    always_live: bool = False
    critical: bool = False
    at_once: bool = Field(default=True, description="Counted in the coincident peak.")
    position: Key | None = None
    circuit: Key | None = Field(default=None, description="Loads with the same name here share one circuit.")
    channel: bool = Field(default=True, description="May hang on a switched output.")


class Site(Record):
    """Monthly climate of a place."""

    name: Name
    source: Annotated[str, Field(max_length=200)] = ""
    latitude_deg: float = n("°", -66.5, 66.5)
    longitude_deg: float = n("°", -180, 180)
    elevation_m: float = n("m", -450, 6000, 0.0)
    ghi_kwh_m2_day: Annotated[tuple[Annotated[float, Field(ge=0, le=12)], ...], Field(min_length=12, max_length=12)]
    tmin_c: Annotated[tuple[Annotated[float, Field(ge=-60, le=45)], ...], Field(min_length=12, max_length=12)]
    tmax_c: Annotated[tuple[Annotated[float, Field(ge=-50, le=55)], ...], Field(min_length=12, max_length=12)]
    record_low_c: float | None = n("°C", -70, 30, None)
    likely_error_ratio: float | None = n("", 0, 1, None, "Of a month's irradiation, where it is an estimate.")

    @model_validator(mode="after")
    def _warm_over_cold(self) -> Site:
        if any(low > high for low, high in zip(self.tmin_c, self.tmax_c, strict=True)):
            raise ValueError("a month's mean minimum is above its mean maximum")
        return self

    @property
    def step_mark(self) -> dict[str, Any]:
        """Parameter of a step that reads this row: an estimate is not shown as a table's value."""
        return {} if self.likely_error_ratio is None else {"estimated": True}


class Stop(Record):
    """Days in one place."""

    site: Site
    month: int = Field(ge=1, le=12)
    days: float = n("day", 0.5, 366)
    driving_h_per_day: float = n("h", 0, 24)
    driving_start_h: float = n("h", 0, 24, 8.0)
    mains_h_per_day: float = n("h", 0, 24, 0.0)
    mains_start_h: float = n("h", 0, 24, 18.0)
    shade_ratio: float = n("", 0, 1, 0.0, "Share of the panels' area in shadow while the sun shines.")
    hitched: bool = Field(default=True, description="The trailer, if there is one, is coupled to the tow vehicle.")


class Position(Record):
    """A named place in the vehicle, or in the trailer behind it."""

    key: Key
    name: Name
    ambient_c: float = n("°C", -20, 110, 50.0, "Hottest air there.")
    aired: bool = Field(default=False, description="Air passes freely: parked in the sun it is no hotter than outside.")
    engine_space: bool = False
    on_trailer: bool = False
    x_m: float | None = n("m", 0, 25, None, "Behind the front of the vehicle, or of the trailer's coupling.")
    y_m: float | None = n("m", -2, 2, None, "Right of the middle, looking forwards; left is negative.")
    usual_place: bool = Field(default=False, description="Where such a thing mostly sits; not measured here.")


class Run(Record):
    """A cable way between two positions."""

    a: Key
    b: Key
    length_m: float = n("m", 0.05, 60)
    bundled: int = Field(default=1, ge=1, le=60, description="Loaded conductors lying together.")


class Hitch(Record):
    """The electrical way across the drawbar: a cable with a coupling in it."""

    tow: Key = Field(description="Position on the tow vehicle where the socket sits.")
    trailer: Key = Field(description="Position on the trailer where its cable begins.")
    length_m: float = n("m", 0.05, 15, help="Cable between the two, one way.")
    coupling: Key | None = Field(default=None, description="Key of a part that couples; one is chosen when empty.")


class Vehicle(Record):
    """What the survey found; with a hitch, tow vehicle and trailer as one."""

    name: Name
    nominal_v: Literal[12, 24]
    alternator_control: Literal["fixed", "smart", "none"]
    alternator_a: float | None = n("A", 20, 600, None)
    hot_idle_a: float | None = n("A", 0, 600, None, "Alternator output at hot idle, measured.")
    hot_idle_v: float | None = n("V", 10, 32, None, "At the starter battery at hot idle, everything on, measured.")
    own_draw_a: float | None = n("A", 0, 300, None, "The vehicle's own draw under way, measured.")
    standing_draw_a: float | None = n("A", 0, 5, None, "With everything asleep, measured.")
    starter_ah: float | None = n("Ah", 10, 600, None)
    starter_ohm: float | None = n("ohm", 0.0005, 0.1, None, "Internal resistance of the starter battery.")
    cranking_v: float | None = n("V", 5, 30, None, "Lowest voltage while cranking, measured.")
    idle_stop: bool = False
    hybrid: bool = False
    roof_length_m: float | None = n("m", 0, 20, None)
    roof_width_m: float | None = n("m", 0, 5, None)
    payload_left_kg: float | None = n("kg", 0, 20000, None)
    length_m: float | None = n("m", 1, 25, None, "Over all, for the plan.")
    width_m: float | None = n("m", 0.5, 3, None, "Over all, without mirrors, for the plan.")
    body: Body = "unknown"
    trailer_length_m: float | None = n("m", 1, 25, None, "Drawbar included.")
    trailer_width_m: float | None = n("m", 0.5, 3, None)
    trailer_body: Body = "unknown"
    is_trailer: bool = Field(default=False, description="It is itself towed: drawn with its drawbar.")
    usual_length_m: float | None = n("m", 1, 25, None, "Of such a body, for the plan where nobody measured.")
    usual_width_m: float | None = n("m", 0.5, 3, None)
    usual_trailer_length_m: float | None = n("m", 1, 25, None)
    usual_trailer_width_m: float | None = n("m", 0.5, 3, None)
    positions: Annotated[tuple[Position, ...], Field(min_length=1, max_length=200)]
    runs: Annotated[tuple[Run, ...], Field(max_length=1000)] = ()
    places: dict[Role, Key] = Field(default_factory=dict)
    hitch: Hitch | None = None
    roof: Annotated[tuple[RoofArea, ...], Field(max_length=20)] = ()
    """Free areas; they hold in place of ``roof_length_m`` and ``roof_width_m`` where there are any."""
    battery_spaces: Annotated[tuple[BatterySpace, ...], Field(max_length=10)] = ()

    @model_validator(mode="after")
    def _one_way_across(self) -> Vehicle:
        side = {p.key: p.on_trailer for p in self.positions}
        for run in self.runs:
            if run.a in side and run.b in side and side[run.a] != side[run.b]:
                raise ValueError(f"the run from {run.a!r} to {run.b!r} leads over the hitch; give it as the hitch")
        if self.hitch is None:
            return self
        for key, on_trailer, where in ((self.hitch.tow, False, "tow vehicle"), (self.hitch.trailer, True, "trailer")):
            if side.get(key) is not on_trailer:
                raise ValueError(f"the hitch's end {key!r} is not a position on the {where}")
        return self


class Wishes(Record):
    """What the owner asked for beside the loads."""

    system_v: Literal[12, 24] = 12
    autonomy_days: float = n("day", 0.1, 30, 1.5, "Days the loads run with no charging.")
    chemistries: tuple[str, ...] = ("lifepo4",)
    engine_charging: bool = True
    mains_charging: bool = True
    solar_charging: bool = True
    solar_share_ratio: float = n("", 0, 3, 1.0, "Share of the day's use that the sun should give at the worst stop.")
    shore_inlet: bool = True
    panel_tilt_deg: float = n("°", 0, 60, 0.0, "Panels over the horizontal; flat on the roof when 0.")
    panel_azimuth_deg: float | None = n(
        "°", 0, 360, None, "Where tilted panels face, clockwise from north; towards the equator when empty."
    )
    pinned: tuple[str, ...] = ()
    banned: tuple[str, ...] = ()


class Part(Record):
    """A component the workshop can get, as the catalogue describes it."""

    key: Key
    kind: Key
    name: Name
    part_number: Annotated[str, Field(max_length=120)] = ""
    spec: dict[str, Any]
    cost: Annotated[str, Field(pattern=r"^\d{1,9}(\.\d{1,4})?$", description="What the workshop pays, without tax.")]
    mass_kg: float = n("kg", 0, 2000, 0.0)
    lead_days: int = Field(default=0, ge=0, le=720)


class Kept(Record):
    """A part that is in the vehicle already and stays: it is the choice for its role, at no cost."""

    part: Key = Field(description="Key of a part of the catalogue.")
    quantity: int = Field(default=1, ge=1, le=200)
    role: KeptRole


class Brief(Record):
    """One job, ready to be worked out."""

    version: Literal["loomwright.brief/1"] = "loomwright.brief/1"
    title: Name
    vehicle: Vehicle
    loads: Annotated[tuple[Load, ...], Field(min_length=1, max_length=500)]
    trip: Annotated[tuple[Stop, ...], Field(min_length=1, max_length=60)]
    wishes: Wishes = Field(default_factory=Wishes)
    policy: Policy = Field(default_factory=Policy)
    catalogue: Annotated[tuple[Part, ...], Field(max_length=20000)] = ()
    kept: Annotated[tuple[Kept, ...], Field(max_length=60)] = ()
    senses: Annotated[tuple[Sense, ...], Field(max_length=100)] = ()
    changes: Annotated[tuple[HandChange, ...], Field(max_length=600)] = ()
    layout: Annotated[tuple[LaidOut, ...], Field(max_length=600)] = ()
    inputs: Annotated[tuple[LaidIn, ...], Field(max_length=100)] = ()
    existing: Annotated[tuple[Existing, ...], Field(max_length=600)] = ()
    picks: Annotated[tuple[Pick, ...], Field(max_length=40)] = ()
    """Parts settled by role; a kept part goes before a pick for the same role."""
    room: Room | None = None
    """What the offer asks over the bare need; ``None``: the need itself, with the policy's spares."""

    @model_validator(mode="after")
    def _hangs_together(self) -> Brief:
        keys = [load.key for load in self.loads]
        if len(set(keys)) != len(keys):
            raise ValueError("two loads have the same key")
        places = {p.key for p in self.vehicle.positions}
        if len(places) != len(self.vehicle.positions):
            raise ValueError("two positions have the same key")
        named = [r.a for r in self.vehicle.runs] + [r.b for r in self.vehicle.runs]
        named += list(self.vehicle.places.values()) + [x.position for x in self.loads if x.position]
        named += [x.position for x in self.senses]
        for key in named:
            if key not in places:
                raise ValueError(f"position {key!r} is not one of the vehicle's")
        if self.kept:
            self._check_kept()
        if self.picks:
            self._check_picks()
        for what, said in (
            ("senses have the key", [x.key for x in self.senses]),
            ("changes are for", [x.circuit for x in self.changes]),
            ("outputs are given to", [x.circuit for x in self.layout]),
            ("inputs are given to", [x.sense for x in self.inputs]),
            ("existing circuits are", [x.circuit for x in self.existing]),
            ("roof areas have the key", [x.key for x in self.vehicle.roof]),
            ("battery spaces have the key", [x.key for x in self.vehicle.battery_spaces]),
        ):
            twice = next((key for key in said if said.count(key) > 1), None)
            if twice is not None:
                raise ValueError(f"two {what} {twice!r}")
        return self

    @property
    def spare_outputs(self) -> int:
        """Switched outputs to be kept free: the offer's, or the policy's where none is being made."""
        return self.policy.spare_outputs if self.room is None else self.room.spare_outputs

    @property
    def dark_chance_ratio(self) -> float:
        """Chance of going dark on the trip that is allowed: the offer's, or the policy's."""
        return self.policy.dark_chance_ratio if self.room is None else self.room.dark_chance_ratio

    def _check_picks(self) -> None:
        roles = [pick.role for pick in self.picks]
        twice = next((role for role in roles if roles.count(role) > 1), None)
        if twice is not None:
            raise ValueError(f"two parts are picked as {twice!r}; one model fills a role")
        known = {part.key for part in self.catalogue}
        for pick in self.picks:
            if pick.part not in known:
                raise ValueError(f"the picked part {pick.part!r} is not in the catalogue")

    def _check_kept(self) -> None:
        roles = [k.role for k in self.kept]
        for role in roles:
            if roles.count(role) > 1:
                raise ValueError(f"two parts are kept as {role!r}; one model fills a role")
        known = {part.key for part in self.catalogue}
        for one in self.kept:
            if one.part not in known:
                raise ValueError(f"the kept part {one.part!r} is not in the catalogue")


def read(raw: str | bytes | dict[str, Any]) -> Brief:
    """Make a Brief of JSON, or raise :class:`SizingError` for the first thing wrong with it."""
    try:
        return Brief.model_validate_json(json.dumps(raw) if isinstance(raw, dict) else raw)
    except ValidationError as error:
        raise from_validation(error) from None


def from_validation(error: ValidationError, model: type[BaseModel] | None = None) -> SizingError:
    """Turn the first fault pydantic found into a refusal with field, value, range and unit.

    ``model`` is the record that was being read; without it, it is found by the name in the error.
    """
    first = error.errors(include_url=False)[0]
    where, value = _path(first["loc"]), first.get("input")
    found = limits_of(model or _record(error.title), first["loc"])
    unit = found.unit or _unit_of(where)
    low, high = found.minimum, found.maximum
    if first["type"] == "missing":
        return SizingError(where, code="missing", minimum=low, maximum=high, unit=unit)
    if not isinstance(value, str | int | float | bool | None):
        value = type(value).__name__
    if found.is_number and (low is not None or high is not None):
        is_out = first["type"] in ("greater_than_equal", "less_than_equal", "greater_than", "less_than")
        code = "out_of_range" if is_out else "not_a_number"
        return SizingError(where, value=value, minimum=low, maximum=high, unit=unit, code=code)
    if found.choices:
        said = f"choose among {', '.join(map(str, found.choices))} (got {shown_value(value)})"
        return SizingError(where, value=value, unit=unit, code="not_a_choice", message=said)
    said = f"{first['msg']} (got {shown_value(value)})"
    if first["type"] == "value_error":  # a sentence of our own, which names what it found
        said = str(first["ctx"]["error"])
    return SizingError(where or error.title.lower(), value=value, unit=unit, code="conflict", message=said)


def _record(name: str) -> type[BaseModel]:
    """The record of this name; the Brief where there is none."""
    waiting = [Record]
    while waiting:
        one = waiting.pop()
        if one.__name__ == name:
            return one
        waiting.extend(one.__subclasses__())
    return Brief


def _path(loc: tuple[int | str, ...]) -> str:
    """Dotted place of a value in the JSON: a union's tag, which pydantic puts into its places, is none."""
    kept = [p for i, p in enumerate(loc) if not (i and loc[i - 1] == "use" and p in WAYS)]
    return "".join(f"[{p}]" if isinstance(p, int) else f".{p}" for p in kept).lstrip(".")


def _unit_of(where: str) -> str:
    suffix = where.rsplit(".", 1)[-1].split("[")[0]
    for ending, unit in UNITS.items():
        if suffix.endswith(ending):
            return unit
    return ""


UNITS = {
    "_h_per_day": "h",
    "hours_per_day": "h",
    "_kwh_m2_day": "kWh/m²/day",
    "_w": "W",
    "_wh": "Wh",
    "_ah": "Ah",
    "_a": "A",
    "_v": "V",
    "_ohm": "Ω",
    "_mm2": "mm²",
    "_m": "m",
    "_kg": "kg",
    "_c": "°C",
    "_k": "K",
    "_h": "h",
    "_s": "s",
    "_deg": "°",
    "days": "day",
    "minutes": "min",
}
"""Endings of names and the unit each means; the longest match is listed first."""
