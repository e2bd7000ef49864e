"""Records of an Appraisal's wiring: pieces of cable and their ends, outputs, inputs, conduits, the AC side."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from quoting.sizing.trace import Record, Scalar

Polarity = Literal["positive", "negative", "signal", "bond"]


class Changed(Record):
    """A value of a circuit that a person settled, with what was worked out before and why it was changed."""

    field: str
    """One of ``brief_wiring.CHANGEABLE``."""
    before: Scalar
    after: Scalar
    reason: str
    by: str = ""


class RefusedChange(Record):
    """A hand change that the design did not take, by which rule. The circuit stands as worked out."""

    circuit: str
    """``Circuit.key``."""
    tag: str = ""
    name: str = ""
    field: str = ""
    code: str
    """Rule that nothing overrides: ``device_over_cable``, ``breaking``, ``adiabatic``, ``disconnection``, ``ampacity``,
    ``pins``, ``return_not_allowed``, ``not_in_catalogue``, ``no_such_circuit`` ... (``wording.hand``)."""
    params: Annotated[dict[str, Scalar], Field(default_factory=dict)]
    """With units in the names: ``asked_a``, ``limit_a``."""
    reason: str = ""


class CableEnd(Record):
    """One end of a piece: what it lands on and the terminal pressed on it."""

    at: str
    """Tag of the node or device it lands on: ``W1``, ``F3``, ``N1``."""
    position: str = ""
    stud_mm: float | None = None
    """``None``: no stud, or not known."""
    terminal: str = ""
    """Key of the part; empty where the catalogue has none that fits (a shortfall says so) or the end stays bare."""
    name: str = ""
    form: str = ""


class CablePiece(Record):
    """One length to cut."""

    circuit: str
    """Tag."""
    polarity: Polarity
    part: str = ""
    name: str = ""
    area_mm2: float
    colour: str
    length_m: float
    """As laid, without spare. [m]"""
    ends: tuple[CableEnd, CableEnd]
    stays: bool = False
    """Lies in the vehicle already: nothing is cut or bought."""


class OutputModule(Record):
    """One part with switched outputs, as it is loaded."""

    number: int
    """From 1, as ``LaidOut.module``."""
    part: str
    name: str
    position: str = ""
    limits_a: tuple[float, ...]
    total_a: float
    load_a: float
    """Sum of the design currents of everything on it. [A]"""
    sheds: bool = False
    protects: bool = False
    free: tuple[int, ...] = ()
    """Channels with nothing on them, from 1."""


class OutputGroup(Record):
    """Circuits that go off together, in the order in which they go."""

    order: int
    below_ratio: float
    restore_ratio: float
    backstop_v: float
    backstop_restore_v: float
    backstop_delay_min: float
    circuits: tuple[str, ...]
    """Tags."""
    outputs: tuple[str, ...] = ()
    """Tags of their switched outputs (K1 ...)."""


class InputUse(Record):
    """A sensing input and what is on it."""

    unit: int
    """From 1, as ``LaidIn.unit``."""
    part: str
    name: str
    sense: str
    """Kind of input: ``resistance``, ``voltage`` ..."""
    channel: int
    key: str = ""
    """Of the ``Sense``; empty: spare."""
    watched: str = ""
    """Name of what is watched."""
    tag: str = ""
    """Of the node that is watched or of the sensor (S1 ...)."""
    circuit: str = ""
    """Tag of its wiring."""
    laid: bool = False
    """Given by a person."""


class SleeveUse(Record):
    """A conduit along one cable way of the vehicle, and how full it is."""

    a: str
    b: str
    """Positions."""
    length_m: float
    circuits: tuple[str, ...]
    """Tags."""
    conductors: int
    """Loaded or not, both polarities."""
    conductors_mm2: float
    """Of all outer diameters. [mm²]"""
    part: str = ""
    name: str = ""
    inner_mm: float | None = None
    count: int = 1
    """Conduits side by side."""
    fill_ratio: float | None = None
    limit_ratio: float
    estimated: bool = False
    """An outer diameter is not stated by its maker and was estimated from the area."""
    hottest_c: float | None = None
    """Of the conductors in it, at their design currents; what it must stand. [°C]"""
    alone: bool = False
    """A circuit of large conductors, laid apart from the others of this way."""
    grommet: str = ""
    """Key of the part where it passes the wall of the engine space; empty: it passes none, or none fits."""
    grommet_name: str = ""
    passes_wall: bool = False
    """It leads out of the engine space."""
    wall: str = ""
    """Sheet metal that it passes: ``engine_space``, or ``hitch`` where it leaves the drawbar's end; empty: none."""
    passes_at: str = ""
    """The position on the outer side of it."""


class AcLink(Record):
    """A way of the AC side. Nothing of it is decided here: it asks the licensed person."""

    tag: str
    source: str
    target: str
    name: str
    conductors: int = 3
    questions: tuple[str, ...] = ()
    """Codes of ``words.QUESTION``."""
