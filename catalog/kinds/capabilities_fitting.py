"""What fittings can do: hold, cover, air, warm, name, be used up. Asked for by capability, never by a kind's name."""

from __future__ import annotations

from dataclasses import dataclass

from catalog.kinds.capabilities import Capability


@dataclass(frozen=True, slots=True)
class Mounting(Capability):
    """Holds a part in place."""

    what: str
    """``battery``, ``panel``, ``inverter``, ``board`` or ``tank``."""
    carries_kg: float
    length_mm: float
    """Of what it holds, at most. [mm]"""
    width_mm: float
    height_mm: float | None = None


@dataclass(frozen=True, slots=True)
class Insulating(Capability):
    """Covers live metal, so that no tool bridges it."""

    over: str
    """``bar`` or ``post``."""
    stud_mm: float
    """Largest stud or post that it goes over. [mm]"""
    studs: int = 1
    """Of a bar, at most."""


@dataclass(frozen=True, slots=True)
class Airing(Capability):
    """Lets air through a wall by itself: a vent to the outside."""

    free_cm2: float
    """Free area, grille and mesh taken off. [cm²]"""


@dataclass(frozen=True, slots=True)
class Heating(Capability):
    """Warms air or water."""

    fuel: str
    """``diesel``, ``gas`` or ``electric``."""
    heat_w: float
    """Heat given off at full power. [W]"""
    power_w: float
    """Electric power while it runs. [W]"""
    start_a: float
    """While it starts, such as a glow plug. [A]"""
    start_s: float


@dataclass(frozen=True, slots=True)
class Ventilating(Capability):
    """Moves air out of a compartment."""

    air_m3_h: float
    power_w: float
    max_c: float
    """Hottest air it may move. [°C]"""


@dataclass(frozen=True, slots=True)
class Labelling(Capability):
    """Says what a conductor, a device or a hazard is."""

    text: str
    """What it says; empty where it is written on the job."""
    length_mm: float
    width_mm: float
    purpose: str = ""
    """``warning``, ``shut_off``, ``device``, ``circuit`` (the list of them) or ``conductor``."""
    hazard: str = ""
    """Of a warning: ``two_sources``, ``daylight``, ``hydrogen``, ``battery`` or ``mains``; empty: none is stated."""
    pack: int = 1


@dataclass(frozen=True, slots=True)
class Consuming(Capability):
    """Is used up in the work."""

    what: str
    pack: float
    """How many of ``unit`` are in a pack."""
    unit: str
    """``pieces``, ``m``, ``ml`` or ``kg``."""
    most_mm: float | None = None
    """Of ties and clips: the thickest that they hold."""
