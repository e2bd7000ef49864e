"""One sheet in the making: symbols and wires are drawn at once, texts wait until everything else stands."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache
from typing import Any

from quoting.drawings import wording
from quoting.drawings.pen import HAIR, HAIRLINE, HEAVY, LINK, MM, TAG_PT, THIN, Pen, Point, Run, bold, plain_text
from quoting.drawings.placing import Rect, Register, TextBox
from quoting.drawings.plan import Mention
from quoting.drawings.ports import Known, Port, Reference
from quoting.drawings.symbols import DEVICES, LOADS, Symbol
from quoting.sizing.appraisal import Circuit, Node
from quoting.sizing.trace import Scalar

Token = tuple[Run, ...]
"""Runs that stay together at a line end."""

CHAIN = (4, 1.6, 0.8, 1.6)
"""Dashes of a chain line. [pt]"""
HIDDEN = frozenset({"current_a", "isc_a", "vmp_v", "least_v"})
"""Facts of a node that a diagram leaves to the schedule: a rating stands there, not what flows."""
FIRST = ("nominal_v", "capacity_ah", "power_w", "rating_a", "output_a")
"""Facts of a node that lead, in order; a frozen record gives them by their names' alphabet, a design as they arose."""
LINE_MM = 3.35
"""Leading of the texts on a drawing. [mm] 9.5 pt."""


@dataclass(frozen=True, slots=True)
class Piece:
    """One line of text at a place; ``anchor`` is start, middle or end."""

    runs: tuple[Run, ...]
    x: float
    y: float
    anchor: str = "start"


Place = tuple[Piece, ...]


@dataclass(frozen=True, slots=True)
class Sheet:
    """A drawing, what could not be placed on it (nothing, or the paper is refused), and where every text stands."""

    drawing: Any
    unplaced: tuple[str, ...]
    texts: tuple[TextBox, ...]
    width_mm: float
    height_mm: float
    references: tuple[Reference, ...] = ()
    """Ends of interrupted lines on this sheet, each with where it says that it goes on."""
    spots: Mapping[str, str] = field(default_factory=dict)
    """Field of the frame by the tag of each node drawn on this sheet."""
    noted: tuple[str, ...] = ()
    """Texts that found no place beside their thing; the sheet of notes has them by number."""


@dataclass(slots=True)
class Canvas:
    """Draws and registers; texts are settled by :meth:`settle`, in order of weight."""

    pen: Pen
    register: Register
    words: wording.Words = wording.english
    waiting: list[tuple[int, list[Place]]] = field(default_factory=list)
    used: set[str] = field(default_factory=set)
    known: Known = field(default_factory=Known)
    mentions: Mapping[str, tuple[Mention, ...]] = field(default_factory=dict)
    stays: frozenset[str] = frozenset()
    colours: tuple[str, str] = ("", "")
    trailer: frozenset[str] = frozenset()
    couplings: dict[str, float] = field(default_factory=dict)
    """Where each crossing circuit's coupling stands. [mm]"""
    noted: list[str] = field(default_factory=list)
    broken: dict[tuple[str, str, float], list[tuple[Run, ...]]] = field(default_factory=dict)
    """Lines of texts by kind, tag and width, broken once."""

    # --- symbols and wires ---------------------------------------------------------------------------------------

    def symbol(self, symbol: Symbol, x: float, y: float) -> Rect:
        rect = symbol(self.pen, x, y)
        self.register.add("symbol", rect)
        return rect

    def device(self, what: str, x: float, y: float) -> Rect:
        self.used.add(what)
        return self.symbol(DEVICES[what][0], x, y)

    def load(self, kind: str, x: float, y: float) -> Rect:
        self.used.add(kind)
        return self.symbol(LOADS[kind], x, y)

    def wire(self, points: Sequence[Point], weight: float = THIN) -> None:
        self.pen.line(points, weight)
        self.register.wire(points, weight / MM)

    def bar(self, x: float, y0: float, y1: float, weight: float) -> None:
        self.pen.line([(x, y0), (x, y1)], weight)
        self.register.add("symbol", Rect(x - weight / MM / 2, y0, x + weight / MM / 2, y1))

    def signal(self, points: Sequence[Point]) -> None:
        """A lead that carries a signal: thin and broken."""
        self.used.add("signal")
        self.pen.line(points, LINK + 0.1, dash=(2.2, 1.4))
        self.register.wire(points, LINK / MM)

    def arrow(self, x: float, y: float, into: bool = False) -> None:
        """Open arrow at the end of an interrupted line."""
        tip, foot = (x - 2.2, x) if into else (x, x - 2.2)
        if into:
            tip, foot = x, x - 2.2
        self.pen.line([(foot, y - 1.1), (tip, y), (foot, y + 1.1)], LINK + 0.1, closed=True)
        self.register.add("symbol", Rect(x - 2.2, y - 1.1, x, y + 1.1))
        self.used.add("arrow")

    def outline(self, rect: Rect) -> None:
        """A chain line round what sits in one housing; its edges are kept clear like wires."""
        self.pen.box(rect, 0.5, dash=CHAIN)
        corners = [(rect.x0, rect.y0), (rect.x1, rect.y0), (rect.x1, rect.y1), (rect.x0, rect.y1), (rect.x0, rect.y0)]
        self.register.wire(corners, 0.2)

    # --- texts ---------------------------------------------------------------------------------------------------

    def text(self, weight: int, places: Sequence[Place]) -> None:
        """Ask for a text; lower weights choose first."""
        self.waiting.append((weight, list(places)))

    def settle(self) -> None:
        """Set every text that waits."""
        late: list[list[Place]] = []
        for _, places in sorted(self.waiting, key=lambda entry: entry[0]):
            if not self._set(places):
                late.append(places)
        self.waiting.clear()
        for places in late:
            if not self._set_apart(places[0]) and not self._set(_beside(places[0], 60.0)):
                self._note(places[0])

    def _set(self, places: Iterable[Place]) -> bool:
        """Set a text at the first of its places that is free."""
        for place in places:
            rects = [self.pen.rect_of(p.runs, p.x, p.y, p.anchor) for p in place]
            if all(self.register.is_free(rect) for rect in rects):
                self._put(place, rects)
                return True
        return False

    def _put(self, place: Place, rects: Sequence[Rect]) -> None:
        said = " ".join(plain_text(piece.runs) for piece in place)
        self.register.take(said, rects)
        for piece in place:
            self.pen.text(piece.runs, piece.x, piece.y, piece.anchor)

    def _set_apart(self, wish: Place) -> bool:
        """Set a text where there is room nearby, with a hairline back to where it belongs."""
        rects = [self.pen.rect_of(p.runs, p.x, p.y, p.anchor) for p in wish]
        home = _hull(rects)
        start = ((home.x0 + home.x1) / 2, (home.y0 + home.y1) / 2)
        for place in _beside(wish, 32.0):
            moved = [self.pen.rect_of(p.runs, p.x, p.y, p.anchor) for p in place]
            if not all(self.register.is_free(rect) for rect in moved):
                continue
            hull = _hull(moved)
            end = (min(max(start[0], hull.x0), hull.x1), min(max(start[1], hull.y0), hull.y1))
            if not self.register.crosses_text(start, end):
                self._put(place, moved)
                self.pen.line([start, end], HAIRLINE, HAIR)
                self.register.slanted(start, end)
                return True
        return False

    def _note(self, place: Place) -> None:
        """Give a text a number here; the sheet of notes has the words."""
        self.noted.append(" ".join(plain_text(piece.runs) for piece in place))
        first = place[0]
        mark = (Run(self.say("drawing.note", number=len(self.noted)), second=True),)
        self._set(_beside((Piece(mark, first.x, first.y, first.anchor),), 60.0))

    # --- interrupted lines ---------------------------------------------------------------------------------------

    def stand(self, node: Node, x: float, y: float) -> None:
        """Note where a node stands, and with it the ends of the interrupted lines it speaks of."""
        self.known.stand(node.tag, x, y)
        for mention in self.mentions.get(node.tag, ()):
            for name in self.known.parts(mention.port):
                self.known.mark(Port(name, "node"), x, y)

    def goes_on(self, port: Port) -> Token:
        """Where the other end of an interrupted line is."""
        sheet, zone = self.known.other(port)
        code = "drawing.here" if sheet == self.known.sheet else "drawing.there"
        return (Run(self.say(code, sheet=sheet, field=zone), second=True),)

    def onward(self, port: Port, tag: str = "") -> Token:
        """An arrow, the tag of what is there, and where that is."""
        (place,) = self.goes_on(port)
        named = (Run(tag, bold=True, gap_mm=0.6),) if tag else ()
        return (Run("\u2192", second=True), *named, replace(place, gap_mm=0.8))

    def mentioned(self, node: Node) -> list[Token]:
        """What a node says of its interrupted lines."""
        made: list[Token] = []
        for mention in self.mentions.get(node.tag, ()):
            said = self.say(mention.code) if mention.code else mention.tags
            made.append((Run("\u2192", second=True), Run(said, gap_mm=0.6)))
            made += [self.goes_on(Port(name, "node")) for name in self.known.parts(mention.port)]
        return made

    def sheet(self) -> Sheet:
        """Set what waits and hand the drawing over."""
        self.settle()
        register, known = self.register, self.known
        return Sheet(
            self.pen.drawing,
            tuple(register.unplaced),
            tuple(register.texts),
            self.pen.width_mm,
            self.pen.height_mm,
            known.references(),
            dict(known.here),
            tuple(self.noted),
        )

    # --- words ---------------------------------------------------------------------------------------------------

    def say(self, code: str, **params: Scalar) -> str:
        return self.words(code, **params)

    def quantity(self, value: float, unit: str, most: int = 1, strong: bool = False, fixed: bool = False) -> Token:
        """A number and its unit, the unit in the second ink."""
        digits = most if fixed else wording.digits_for(value, most)
        return (
            Run(self.words("number", value=value, digits=digits), bold=strong),
            Run(unit, second=True, gap_mm=0.45),
        )

    def tokens(self, tag: str, name: str, params: dict[str, Scalar] | None = None, strong: bool = False) -> list[Token]:
        """Tag, name word by word, then quantities."""
        made: list[Token] = [self.tagged(tag)] if tag else []
        made += [(Run(word, bold=strong, size_pt=TAG_PT if strong else 7.0),) for word in name.split()]
        for key, value in sorted((params or {}).items(), key=_place_of):
            unit = "" if key in HIDDEN else wording.unit_of(key)
            if unit and isinstance(value, int | float) and not isinstance(value, bool):
                made.append(self.quantity(float(value), unit))
        return made

    def tagged(self, tag: str, size_pt: float = TAG_PT) -> Token:
        """A tag; in brackets when what it names is in the vehicle already."""
        if tag not in self.stays:
            return (bold(tag, size_pt),)
        self.used.add("stays")
        return (Run("(", size_pt=size_pt), bold(tag, size_pt), Run(")", size_pt=size_pt))

    def colour_of(self, circuit: Circuit) -> Token:
        """Colour of a conductor, where it is not the usual one of this drawing."""
        if not circuit.colour or circuit.colour == self.colours[0]:
            return ()
        return (Run(wording.colour_code(circuit.colour), gap_mm=0.9, second=True),)

    def wrapped(self, tokens: Sequence[Token], width_mm: float) -> list[tuple[Run, ...]]:
        """Break tokens into lines no wider than ``width_mm``; a word that is too wide by itself is cut with care."""
        lines: list[tuple[Run, ...]] = []
        line: tuple[Run, ...] = ()
        for token in (part for whole in tokens for part in self._cut(whole, width_mm)):
            gap = 1.6 if len(token) > 1 else 0.75
            spaced = (replace(token[0], gap_mm=gap), *token[1:])
            if line and self.pen.width_of((*line, *spaced)) > width_mm:
                lines.append(line)
                line = token
            else:
                line = (*line, *spaced) if line else token
        return [*lines, line] if line else lines

    def _cut(self, token: Token, width_mm: float) -> list[Token]:
        if len(token) > 1 or self.pen.width_of(token) <= width_mm:
            return [token]
        run, cuts, start = token[0], [], 0
        for end in range(1, len(run.text) + 1):
            piece = replace(run, text=run.text[start:end], gap_mm=0.0)
            if self.pen.width_of((piece,)) > width_mm and end - 1 > start:
                cuts.append((replace(run, text=run.text[start : end - 1], gap_mm=0.0),))
                start = end - 1
        return [*cuts, (replace(run, text=run.text[start:], gap_mm=0.0),)]

    def lines_once(
        self, kind: str, tag: str, width_mm: float, make: Callable[[], list[tuple[Run, ...]]]
    ) -> list[tuple[Run, ...]]:
        """Lines made before on this canvas for the same thing and width, or made now."""
        key = (kind, tag, round(width_mm, 3))
        if key not in self.broken:
            self.broken[key] = make()
        return self.broken[key]

    def node_lines(self, node: Node, width_mm: float) -> list[tuple[Run, ...]]:
        """Tag, name, facts and interrupted lines of a node."""

        def make() -> list[tuple[Run, ...]]:
            said = self.tokens(node.tag, node.name, node.params)
            return self.wrapped([*said, *self.mentioned(node)], width_mm)

        return self.lines_once("node", node.tag, width_mm, make)


def _place_of(fact: tuple[str, Scalar]) -> tuple[int, str]:
    """Where a fact of a node stands among the others."""
    key = fact[0]
    return (FIRST.index(key) if key in FIRST else len(FIRST), key)


def _hull(rects: Sequence[Rect]) -> Rect:
    hull = rects[0]
    for rect in rects[1:]:
        hull = hull.joined(rect)
    return hull


@lru_cache(maxsize=4)
def _steps(far_mm: float) -> tuple[Point, ...]:
    """Shifts within a square, nearest first. [mm]"""
    across, down = int(far_mm / 2.0), int(far_mm / 1.75)
    steps = [(dx * 2.0, dy * 1.75) for dx in range(-across, across + 1) for dy in range(-down, down + 1)]
    return tuple(sorted(steps, key=lambda step: (abs(step[0]) + abs(step[1]), step)))


def _beside(place: Place, far_mm: float) -> Iterator[Place]:
    """The same text further and further from where it belongs."""
    for dx, dy in _steps(far_mm):
        yield tuple(replace(piece, x=piece.x + dx, y=piece.y + dy) for piece in place)


def stacked(lines: Sequence[tuple[Run, ...]], x: float, y: float, anchor: str = "start", up: bool = False) -> Place:
    """Set lines below each other from baseline ``y`` down, or with ``up`` so that the last stands on ``y``."""
    first = y - LINE_MM * (len(lines) - 1) if up else y
    return tuple(Piece(line, x, first + index * LINE_MM, anchor) for index, line in enumerate(lines))


FEEDS = (
    *("engine_feed", "charger_output", "controller_output", "mains_output", "distribution"),
    *("converter_input", "converter_output", "starter_feed"),
)


def weight_for(role: str) -> float:
    """Line weight of a conductor by what it carries. [pt]"""
    if role in ("battery_main", "inverter_feed"):
        return HEAVY
    if role in FEEDS:
        return 1.05
    return THIN
