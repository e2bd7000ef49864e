"""The page of a job's circuits: grouped as they are built, each with what stands at it, and what is left out."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _

from quoting import words
from quoting.models import CircuitChange, Design, ExistingCircuit
from quoting.queries.circuits import CircuitRow, circuit_rows, key_in_address, position_names
from quoting.queries.findings import FindingRow, finding_row
from quoting.services import designs
from quoting.sizing.appraisal import Appraisal, Node
from quoting.sizing.brief import Brief
from quoting.sizing.brief_wiring import CHANGEABLE
from quoting.wording.settled import settled_words

SOURCES = frozenset(
    (
        "battery_main", "engine_feed", "charger_output", "solar_array", "controller_output", "mains_output",
        "inverter_feed", "negative_bond",
    )
)  # fmt: skip
CONVERTERS = frozenset({"converter_input", "converter_output"})
SIGNALS = frozenset({"sense", "control"})


@dataclass(frozen=True, slots=True)
class HandRow:
    """What a person settled for a circuit, and what became of it in the design that is shown."""

    pk: int
    key: str
    path: str
    name: str
    values: tuple[tuple[str, str], ...]
    reason: str
    by: str
    at: object
    state: str
    """``in`` the design, ``new`` since it was made, or ``refused`` by it, which a finding at the circuit explains."""


@dataclass(frozen=True, slots=True)
class CircuitAt:
    """A circuit with what stands at it on the page."""

    row: CircuitRow
    findings: tuple[FindingRow, ...] = ()
    hand: HandRow | None = None
    existing: ExistingCircuit | None = None

    @property
    def is_over(self) -> bool:
        return self.row.is_faulty

    @property
    def is_changed(self) -> bool:
        return bool(self.row.changed) or self.hand is not None

    @property
    def is_staying(self) -> bool:
        return self.row.stays

    @property
    def is_replaced(self) -> bool:
        """It lies in the vehicle already, and does not pass."""
        return self.existing is not None and not self.row.stays

    @property
    def is_refused(self) -> bool:
        return self.hand is not None and self.hand.state == "refused"


@dataclass(frozen=True, slots=True)
class CircuitGroup:
    """Circuits that are built together."""

    code: str
    title: str
    about: str
    circuits: tuple[CircuitAt, ...]


@dataclass(frozen=True, slots=True)
class AcRow:
    """A way of the AC side: asked, not decided."""

    tag: str
    name: str
    source: str
    target: str
    conductors: int
    numbers: tuple[int, ...]
    """Of the questions that the page lists."""
    more: tuple[str, ...]
    """Questions that the list has not."""


@dataclass(frozen=True, slots=True)
class Choice:
    """One way to look at the list."""

    code: str
    words: str
    count: int
    is_here: bool


@dataclass(frozen=True, slots=True)
class CircuitsPage:
    """Everything the page shows."""

    design: Design
    groups: tuple[CircuitGroup, ...]
    choices: tuple[Choice, ...]
    here: str
    ac: tuple[AcRow, ...]
    questions: tuple[str, ...]
    gone: tuple[HandRow, ...]
    """Hand changes for circuits that this design has not."""
    unused: tuple[ExistingCircuit, ...]
    """Existing circuits that no circuit of this design is."""
    count: int
    staying: int
    replaced: int

    @property
    def has_choices(self) -> bool:
        """Something but all of them can be looked at."""
        return self.here != "all" or any(choice.count for choice in self.choices if choice.code != "all")


def circuits_page(
    design: Design, changes: Sequence[CircuitChange], existing: Sequence[ExistingCircuit], show: str = ""
) -> CircuitsPage:
    """Read a kept design and what people settled since; nothing is worked out anew.

    ``show`` is a code of ``SHOWS``; anything else shows all.
    """
    appraisal, brief = designs.appraisal_of(design), designs.brief_of(design)
    rows = circuit_rows(appraisal, brief)
    hand = {change.circuit: _hand(change, brief, appraisal) for change in changes}
    lying = {one.circuit: one for one in existing}
    every = [CircuitAt(row, _findings_at(appraisal, row), hand.get(row.key), lying.get(row.key)) for row in rows]
    here = show if show in SHOWS else "all"
    chosen = [at for at in every if SHOWS[here][1](at)]
    keys = {row.key for row in rows}
    questions = tuple(words.questions_for(appraisal))
    return CircuitsPage(
        design=design,
        groups=tuple(_groups(chosen, appraisal, brief)),
        choices=tuple(
            Choice(code, str(name()), sum(map(test, every)), code == here) for code, (name, test) in SHOWS.items()
        ),
        here=here,
        ac=_ac(appraisal, questions) if here == "all" else (),
        questions=questions if here == "all" else (),
        gone=tuple(one for key, one in hand.items() if key not in keys),
        unused=tuple(one for key, one in lying.items() if key not in keys),
        count=len(rows),
        staying=sum(at.is_staying for at in every),
        replaced=sum(at.is_replaced for at in every),
    )


SHOWS: dict[str, tuple[Callable[[], str], Callable[[CircuitAt], bool]]] = {
    "all": (lambda: _("All"), lambda at: True),
    "over": (lambda: _("Over a limit"), lambda at: at.is_over),
    "changed": (lambda: _("Changed by hand"), lambda at: at.is_changed),
    "stays": (lambda: _("Stays"), lambda at: at.is_staying),
    "replaced": (lambda: _("Replaced"), lambda at: at.is_replaced),
    "refused": (lambda: _("Change refused"), lambda at: at.is_refused),
}


def _hand(change: CircuitChange, brief: Brief, appraisal: Appraisal) -> HandRow:
    """A kept change: is it in this design, refused by it, or newer than it?"""
    known = next((c for c in brief.changes if c.circuit == change.circuit), None)
    told = {name: value for name, value in change.values.items() if value is not None}
    same = known is not None and told == {
        name: getattr(known, name) for name in CHANGEABLE if getattr(known, name) is not None
    }
    refused = same and any(r.circuit == change.circuit for r in appraisal.refused)
    return HandRow(
        pk=change.pk,
        key=change.circuit,
        path=key_in_address(change.circuit),
        name=change.name,
        values=tuple(settled_words(told)),
        reason=change.reason,
        by=str(change.changed_by or ""),
        at=change.changed_at,
        state="refused" if refused else "in" if same else "new",
    )


def _findings_at(appraisal: Appraisal, row: CircuitRow) -> tuple[FindingRow, ...]:
    """What the design says of one circuit, by its tag or its key."""
    found = [f for f in appraisal.findings if f.subject and f.subject in (row.tag, row.key)]
    return tuple(dict.fromkeys(finding_row(f) for f in found))


def _groups(circuits: Iterable[CircuitAt], appraisal: Appraisal, brief: Brief) -> Iterable[CircuitGroup]:
    """Groups in the order in which a technician builds them."""
    nodes = {node.tag: node for node in appraisal.nodes}
    names = position_names(brief)
    starter = {tag for tag, node in nodes.items() if node.what == "starter_battery"}
    starter |= {c.target for c in appraisal.circuits if c.role == "starter_feed"}
    sorted_in: dict[str, list[CircuitAt]] = {}
    for at in circuits:
        sorted_in.setdefault(_group_of(at.row, starter), []).append(at)
    boards = [code for code in sorted_in if code.startswith("board ")]
    for code in ("sources", "boards", *boards, "converters", "starter", "signals"):
        if code not in sorted_in:
            continue
        title, about = _title(code, nodes, names)
        yield CircuitGroup(code.replace(" ", "-"), title, about, tuple(sorted_in[code]))


def _group_of(row: CircuitRow, starter: set[str]) -> str:
    if row.role in SOURCES:
        return "sources"
    if row.role in CONVERTERS:
        return "converters"
    if row.role in SIGNALS:
        return "signals"
    if row.role == "starter_feed" or (row.role == "load" and row.source in starter):
        return "starter"
    return "boards" if row.role == "distribution" else f"board {row.source}"


def _title(code: str, nodes: Mapping[str, Node], names: Mapping[str, str]) -> tuple[str, str]:
    if code in TITLES:
        title, about = TITLES[code]
        return str(title()), str(about())
    node = nodes.get(code.removeprefix("board "))
    name, where = (node.name, names.get(node.position, "")) if node else ("", "")
    return (name or code.removeprefix("board ")), _("Appliance circuits, from %(place)s.") % {
        "place": where or code.removeprefix("board ")
    }


TITLES: dict[str, tuple[Callable[[], str], Callable[[], str]]] = {
    "sources": (
        lambda: _("Sources and feeds"),
        lambda: _("Batteries, chargers, panels, inverter. What has a source at each end has a device at each."),
    ),
    "boards": (lambda: _("Boards"), lambda: _("From the main busbar to each board.")),
    "converters": (lambda: _("Converters"), lambda: _("In and out of each.")),
    "starter": (lambda: _("Starter bus"), lambda: _("Run from the vehicle's own battery.")),
    "signals": (lambda: _("Sensors and control"), lambda: _("Thin conductors: what is watched, what is switched.")),
}


def _ac(appraisal: Appraisal, questions: tuple[str, ...]) -> tuple[AcRow, ...]:
    names = {node.tag: node.name for node in appraisal.nodes}
    found = []
    for link in appraisal.ac:
        asked = [words.question_words(code) for code in link.questions]
        found.append(
            AcRow(
                tag=link.tag,
                name=link.name,
                source=names.get(link.source, link.source),
                target=names.get(link.target, link.target),
                conductors=link.conductors,
                numbers=tuple(sorted(questions.index(each) + 1 for each in asked if each in questions)),
                more=tuple(each for each in asked if each not in questions),
            )
        )
    return tuple(found)
