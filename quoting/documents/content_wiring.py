"""What the papers a technician builds from print, already in words and numbers: see ``content``."""

from __future__ import annotations

from dataclasses import dataclass

from quoting.documents.content import Frame, Notice


@dataclass(frozen=True, slots=True)
class DeviceWords:
    """A device of a circuit: tag, kind and rating; where it is and its shape; what it breaks, and what may flow."""

    words: str
    under: str
    breaks: str
    fault: str


@dataclass(frozen=True, slots=True)
class ScheduleRow:
    """One circuit of the schedule."""

    tag: str
    name: str
    way: str
    current: str
    peak: str
    length: str
    conductor: str
    insulation: str
    back: str
    """How the current returns. """
    drop: str
    drop_total: str
    volts: str
    """At the load, battery low. """
    ampacity: str
    left: str
    devices: tuple[DeviceWords, ...]
    clears: str
    decided: str
    marks: tuple[str, ...] = ()
    """By hand, with the number of its note; in the vehicle already. """


@dataclass(frozen=True, slots=True)
class HandNote:
    """A value that a person settled, or asked for and was refused, with the reason given."""

    no: str
    circuit: str
    words: str
    reason: str


@dataclass(frozen=True, slots=True)
class OutputRow:
    """One switched output."""

    channel: str
    tag: str
    circuit: str
    load: str
    limit: str
    group: str
    order: str


@dataclass(frozen=True, slots=True)
class ModuleBlock:
    """A part with switched outputs and what is on each."""

    name: str
    carries: str
    """Load of the whole module against its limit. """
    outputs: tuple[OutputRow, ...]


@dataclass(frozen=True, slots=True)
class ShedRow:
    """Circuits that go off together."""

    order: str
    below: str
    restore: str
    backstop: str
    circuits: str
    outputs: str


@dataclass(frozen=True, slots=True)
class InputRow:
    """One sensing input."""

    part: str
    channel: str
    sense: str
    watched: str
    circuit: str


@dataclass(frozen=True, slots=True)
class Piece:
    """One length to cut, with what is pressed on its ends."""

    circuit: str
    ends: str
    terminals: str
    length: str


@dataclass(frozen=True, slots=True)
class CableBlock:
    """Cable of one part and colour: its pieces, their sum, and what to buy."""

    size: str
    """Area and colour. """
    name: str
    pieces: tuple[Piece, ...]
    laid: str
    spare: str
    buy: str
    """Empty: nothing is bought. """


@dataclass(frozen=True, slots=True)
class TerminalRow:
    """Terminals of one size, stud and form: how many and where."""

    area: str
    stud: str
    what: str
    count: str
    where: str
    die: str = ""
    torque: str = ""


@dataclass(frozen=True, slots=True)
class SleeveRow:
    """A conduit along one way of the vehicle and how full it is."""

    way: str
    length: str
    what: str
    conductors: str
    fill: str
    limit: str
    circuits: str


@dataclass(frozen=True, slots=True)
class AcRow:
    """A way of the mains-voltage side, and what the licensed person settles of it."""

    tag: str
    name: str
    way: str
    conductors: str
    questions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class DiagramContent:
    """The single-line diagram with its schedule. The drawing is made of the appraisal itself."""

    frame: Frame
    schedule: tuple[ScheduleRow, ...]
    by_hand: tuple[HandNote, ...]
    questions: tuple[str, ...]
    notices: tuple[Notice, ...]
    cautions: tuple[str, ...]
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class WiringContent:
    """Every list that wiring is built from."""

    frame: Frame
    schedule: tuple[ScheduleRow, ...]
    by_hand: tuple[HandNote, ...]
    modules: tuple[ModuleBlock, ...]
    shedding: tuple[ShedRow, ...]
    inputs: tuple[InputRow, ...]
    cables: tuple[CableBlock, ...]
    terminals: tuple[TerminalRow, ...]
    sleeves: tuple[SleeveRow, ...]
    ac: tuple[AcRow, ...]
    questions: tuple[str, ...]
    notices: tuple[Notice, ...]
    cautions: tuple[str, ...]
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Label:
    """What stands on one label: a tag large, then lines in order of weight."""

    tag: str
    head: str
    """Beside the tag: a rating, a size. """
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class LabelsContent:
    """Labels in the order they are stuck on, and the page that says how to print them."""

    frame: Frame
    labels: tuple[Label, ...]
    steps: tuple[str, ...]
    by_hand: tuple[HandNote, ...]
    notices: tuple[Notice, ...]
    cautions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class FuseRow:
    """A device as an owner finds it."""

    tag: str
    rating: str
    what: str
    feeds: str


@dataclass(frozen=True, slots=True)
class FusePlace:
    """Devices that sit together."""

    name: str
    devices: tuple[FuseRow, ...]


@dataclass(frozen=True, slots=True)
class FuseMapContent:
    """The sheet that stays in the vehicle: what protects what, and how to turn everything off."""

    frame: Frame
    warning: str
    kill: tuple[str, ...]
    call: str
    places: tuple[FusePlace, ...]
    spares: tuple[tuple[str, str, str], ...]
    notes: tuple[str, ...]
    notices: tuple[Notice, ...]
