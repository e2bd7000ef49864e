"""What a Brief says about wiring beside the loads: what is watched, what a person settled, what is there already."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, field_validator, model_validator

from quoting.sizing.fields import Key, Name, n
from quoting.sizing.trace import Record

CircuitKey = Annotated[str, Field(min_length=1, max_length=80)]
"""``Circuit.key``: stays the same while loads come and go, unlike a tag."""
Watched = Literal["tank", "temperature", "voltage", "current", "digital"]
"""What is watched: a level, a temperature, a voltage, a current through a shunt of its own, something on or off."""
Form = Literal["fuse", "breaker"]
Return = Literal["conductor", "chassis"]
Body = Literal["unknown", "steel", "aluminium", "composite"]
"""What carries the floor. Only steel may be a return, and only where policy allows."""

INPUT_OF: dict[Watched, str] = {
    "tank": "resistance",
    "temperature": "temperature",
    "voltage": "voltage",
    "current": "current",
    "digital": "digital",
}
"""The sensing input each takes (``catalog.kinds.channels.SENSES``)."""


LEAST_REASON = 3
"""Characters of a reason that can be seen."""


def says_something(reason: str) -> bool:
    """Whether a reason is more than spaces and marks that nobody sees."""
    return sum(c.isprintable() and not c.isspace() for c in reason) >= LEAST_REASON


class Sense(Record):
    """Something that is to be watched."""

    key: Key
    name: Name
    what: Watched
    position: Key
    part: Key | None = Field(default=None, description="Key of a sensor of the catalogue; one is chosen when empty.")


class HandChange(Record):
    """What a person settled for one circuit, with the reason; what is empty stays as worked out.

    Nothing here overrides protection: the design refuses what would.
    """

    circuit: CircuitKey
    area_mm2: float | None = n("mm²", 0.35, 300, None, "Conductor.")
    insulation_c: float | None = n("°C", 60, 200, None, "Insulation class of the conductor.")
    rating_a: float | None = n("A", 0.5, 1000, None, "Device at every end that has one.")
    form: Form | None = Field(default=None, description="Fuse or breaker.")
    run_m: float | None = n("m", 0.1, 100, None, "One way, measured along the way it is laid.")
    drop_limit_ratio: float | None = n("", 0.005, 0.15, None, "Instead of the policy's limit.")
    return_by: Return | None = None
    reason: Annotated[str, Field(min_length=3, max_length=300)]
    by: Annotated[str, Field(max_length=120)] = ""

    @field_validator("reason")
    @classmethod
    def _says_why(cls, reason: str) -> str:
        if not says_something(reason):
            raise ValueError(f"a reason has {LEAST_REASON} letters at least")
        return reason

    @model_validator(mode="after")
    def _changes_something(self) -> HandChange:
        if all(getattr(self, name) is None for name in CHANGEABLE):
            raise ValueError(f"the change to {self.circuit!r} changes nothing")
        return self


CHANGEABLE = ("area_mm2", "insulation_c", "rating_a", "form", "run_m", "drop_limit_ratio", "return_by")
"""Values of a hand change that say something."""


class LaidOut(Record):
    """A circuit on a switched output that a person gave it; counted from 1."""

    circuit: CircuitKey
    module: int = Field(ge=1, le=40)
    channel: int = Field(ge=1, le=64)


class LaidIn(Record):
    """Something watched on a sensing input that a person gave it; counted from 1, inputs of its sense alone."""

    sense: Key
    unit: int = Field(ge=1, le=40, description="Which of the parts that sense, in their order.")
    channel: int = Field(ge=1, le=64)


class Existing(Record):
    """A circuit that lies in the vehicle already. It stays if it passes every rule; else it is replaced, and said so.

    A breaking capacity that nobody knows stays empty, and is never taken as enough.
    """

    circuit: CircuitKey
    name: Name
    area_mm2: float = n("mm²", 0.35, 300)
    insulation_c: float = n("°C", 60, 200, 70.0)
    run_m: float | None = n("m", 0.1, 100, None, "Measured; the survey's length when empty.")
    form: Form = "fuse"
    series: Annotated[str, Field(max_length=40)] = ""
    rating_a: float = n("A", 0.5, 1000)
    breaking_a: float | None = n("A", 10, 200000, None)
    max_v: float | None = n("V", 6, 1500, None)
    distance_m: float | None = n("m", 0, 10, None, "From what feeds it to its device; never taken as near enough.")
    both_ends: bool = Field(default=False, description="A device like it stands at the far end too.")
    device_ohm: float | None = n("Ω", 0, 1, None, "Of one device, cold; without it none is counted against a fault.")
    melting_s_at_2x: float | None = n("s", 0, 600, None, "Shortest time in which its device opens at twice its rating.")
    ohm_per_km_20c: float | None = n("Ω/km", 0.01, 100, None, "Of its conductor; class 5 of IEC 60228 when empty.")
    source: Annotated[str, Field(max_length=200)] = Field(
        default="", description="Where it is known from: an earlier job, what was found."
    )
