"""What is printed, already in words and numbers: frozen dataclasses between snapshot and page.

Builders make them, the papers turn them into flowables; tests compare them. A figure and its unit stand apart where
a table sets them apart. Strings may carry the marks of ``text.strong`` and ``text.quiet``, nothing else.
"""

from __future__ import annotations

from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class Fact:
    """One of the four blocks under the title."""

    label: str
    lines: tuple[str, ...]
    price: str = ""


@dataclass(frozen=True, slots=True)
class Frame:
    """What stands round every page of a paper: who, what, when, which frozen figures."""

    language: str
    workshop: str
    address: tuple[str, ...]
    reach: tuple[str, ...]
    title: str
    lead: str
    running: str
    mark: str
    """Number and revision, for the foot. """
    dated: str
    checksum: str
    covers: str
    page_words: str
    """``page {page} of {pages}``"""
    facts: tuple[Fact, ...] = ()


@dataclass(frozen=True, slots=True)
class Notice:
    """A finding of the design: how grave, what, and what to do."""

    grave: str
    """``danger``, ``warning`` or ``info`` in words."""
    title: str
    sentence: str
    level: str = "info"


@dataclass(frozen=True, slots=True)
class Named:
    """A heading with a few sentences."""

    heading: str
    sentences: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Use:
    """A line of the power audit."""

    name: str
    use: str
    energy: str


@dataclass(frozen=True, slots=True)
class Priced:
    """A line of the offer."""

    name: str
    quantity: str
    unit: str
    each: str
    amount: str


@dataclass(frozen=True, slots=True)
class PriceGroup:
    """Lines of one part of the work with their sum."""

    name: str
    lines: tuple[Priced, ...]
    total: str


@dataclass(frozen=True, slots=True)
class Sum:
    """A line under the offer: net, tax, to pay."""

    words: str
    amount: str
    strong: bool = False
    due: bool = False


@dataclass(frozen=True, slots=True)
class Compared:
    """Offers side by side: their names, and rows of what each comes to."""

    names: tuple[str, ...]
    rows: tuple[tuple[str, tuple[str, ...]], ...]
    parts: tuple[tuple[str, tuple[str, ...]], ...]
    """What each is made of, by role; in words."""


@dataclass(frozen=True, slots=True)
class OtherOffer:
    """An offer beside the one that leads, line by line."""

    title: str
    groups: tuple[PriceGroup, ...]
    sums: tuple[Sum, ...]


@dataclass(frozen=True, slots=True)
class Field:
    """A line to write on, and what is already there."""

    label: str
    value: str = ""
    start: int = 1
    """First of the twelve columns. """
    span: int = 3


@dataclass(frozen=True, slots=True)
class SpreadStop:
    """A stop on the axis of the charge: its name, and how many points are its own."""

    name: str
    points: int


@dataclass(frozen=True, slots=True)
class SpreadChart:
    """The charge over the trip with its spread over the weathers, and what that shows."""

    words: str
    stops: tuple[SpreadStop, ...]
    low: tuple[float, ...]
    median: tuple[float, ...]
    high: tuple[float, ...]
    step_h: float
    levels: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class QuoteContent:
    """A quote: what was assumed, what it will and will not run, what it costs, what is agreed."""

    frame: Frame
    assumed: tuple[str, ...]
    uses: tuple[Use, ...]
    uses_total: Use
    runs: tuple[str, ...]
    runs_not: tuple[str, ...]
    notices: tuple[Notice, ...]
    note: str
    lines_title: str
    currency: str
    groups: tuple[PriceGroup, ...]
    sums: tuple[Sum, ...]
    conditions: tuple[Named, ...]
    acceptance: str
    fields: tuple[tuple[Field, ...], ...]
    found: tuple[Named, ...] = ()
    """Parts that were in the vehicle, by what becomes of them. """
    defects: tuple[Notice, ...] = ()
    is_fault: bool = False
    """Mended, not designed: no use, no figures of a design. """
    expected: tuple[str, ...] = ()
    spread: SpreadChart | None = None
    """What many weathers make of the trip; snapshots from before have neither. """
    compared: Compared | None = None
    others: tuple[OtherOffer, ...] = ()
    choices: tuple[str, ...] = ()
    """Offers to tick one of; empty where there is one. """
    leading: str = ""
    """Name of the offer that the figures are of, where there are several. """


@dataclass(frozen=True, slots=True)
class Check:
    """One reading: number in the sheet, what, what is expected, what was read."""

    no: str
    words: str
    expected: str
    measured: str
    unit: str
    passed: bool | None
    by: str = ""
    by_hand: str = ""
    """What a person settled for its circuit, and why. """


@dataclass(frozen=True, slots=True)
class CheckGroup:
    """Readings that belong together; the licensed ones are tinted."""

    name: str
    checks: tuple[Check, ...]
    licensed: bool = False


@dataclass(frozen=True, slots=True)
class InstrumentRow:
    name: str
    serial: str
    calibrated: str


@dataclass(frozen=True, slots=True)
class SettingRow:
    """One setting of one component: what the design asks, what was entered."""

    component: str
    setting: str
    asked: str
    entered: str
    unit: str


@dataclass(frozen=True, slots=True)
class TestContent:
    """The test sheet, blank to fill by hand or with the readings taken."""

    frame: Frame
    filled: bool
    instruments: tuple[InstrumentRow, ...]
    groups: tuple[CheckGroup, ...]
    licensed: tuple[CheckGroup, ...]
    licensed_fields: tuple[tuple[Field, ...], ...]
    settings: tuple[SettingRow, ...]
    result: str
    fields: tuple[tuple[Field, ...], ...]
    questions: tuple[str, ...]
    notices: tuple[Notice, ...]
    cautions: tuple[str, ...]
    notes: tuple[str, ...]
    by_hand: tuple[str, ...] = ()
    """Circuits settled by hand of which nothing is read. """

    __test__ = False


@dataclass(frozen=True, slots=True)
class FittedRow:
    name: str
    part_number: str
    serial: str


@dataclass(frozen=True, slots=True)
class Bar:
    """How long one set of loads runs, worn and new."""

    name: str
    condition: str
    worn_h: float
    new_h: float


@dataclass(frozen=True, slots=True)
class BarChart:
    """Bars on one scale."""

    title: str
    bars: tuple[Bar, ...]


@dataclass(frozen=True, slots=True)
class SourceRow:
    source: str
    full: str
    full_unit: str
    adds: str
    adds_unit: str
    see: str


@dataclass(frozen=True, slots=True)
class ShedStep:
    """What goes off under which charge."""

    ratio: float
    names: str


@dataclass(frozen=True, slots=True)
class HandoverContent:
    """How to live with the system, for its owner."""

    frame: Frame
    opening: tuple[str, ...]
    fitted: tuple[FittedRow, ...]
    lasting_words: str
    charts: tuple[BarChart, ...]
    limits: tuple[Named, ...]
    sources: tuple[SourceRow, ...]
    sources_note: str
    shedding_words: str
    shedding: tuple[ShedStep, ...]
    parked: tuple[Named, ...]
    trouble: tuple[Named, ...]
    care: tuple[Named, ...]
    spares: tuple[tuple[str, str, str], ...]
    settings: tuple[SettingRow, ...]
    notices: tuple[Notice, ...]
    papers: tuple[Named, ...]
    emergency: tuple[Named, ...]
    emergency_words: str
    cautions: tuple[str, ...] = field(default=())
    found: tuple[Named, ...] = ()
    defects: tuple[Notice, ...] = ()
    living: tuple[Named, ...] = ()
    off_and_on: tuple[Named, ...] = ()
    """What many weathers make of it, and when what was let go comes back; snapshots from before have neither. """


@dataclass(frozen=True, slots=True)
class MendedContent:
    """What was found, mended and left in a fault job, for the owner."""

    frame: Frame
    dangers: tuple[Notice, ...]
    defects: tuple[Notice, ...]
    found: tuple[Named, ...]
    fitted: tuple[FittedRow, ...]
    readings: tuple[CheckGroup, ...]
    watch: tuple[Named, ...]
    emergency: tuple[Named, ...]
    emergency_words: str
    cautions: tuple[str, ...]
