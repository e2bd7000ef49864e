"""One sheet in the making: symbols and wires are drawn at once, texts wait until everything else stands."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from quoting.drawings import wording
from quoting.drawings.pen import HEAVY, MM, TAG_PT, THIN, Pen, Point, Run, bold, plain_text
from quoting.drawings.placing import Rect, Register, TextBox
from quoting.drawings.symbols import DEVICES, LOADS, Symbol
from quoting.sizing.appraisal import Node
from quoting.sizing.trace import Scalar

Token = tuple[Run, ...]
"""Runs that stay together at a line end."""

HIDDEN = frozenset({"current_a", "isc_a", "vmp_v"})
"""Facts of a node that a diagram leaves to the schedule: a rating stands there, not what flows."""
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


@dataclass(slots=True)
class Canvas:
    """Draws and registers; texts are settled by :meth:`settle`, in order of weight."""

    pen: Pen
    register: Register
    words: wording.Words = wording.english
    waiting: list[tuple[int, list[Place]]] = field(default_factory=list)
    used: set[str] = field(default_factory=set)

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

    def outline(self, rect: Rect) -> None:
        """A chain line round what sits in one housing; its edges are kept clear like wires."""
        self.pen.box(rect, 0.5, dash=(4, 1.6, 0.8, 1.6))
        corners = [(rect.x0, rect.y0), (rect.x1, rect.y0), (rect.x1, rect.y1), (rect.x0, rect.y1), (rect.x0, rect.y0)]
        self.register.wire(corners, 0.2)

    # --- texts ---------------------------------------------------------------------------------------------------

    def text(self, weight: int, places: Sequence[Place]) -> None:
        """Ask for a text; lower weights choose first."""
        self.waiting.append((weight, list(places)))

    def settle(self) -> None:
        """Set every text that waits."""
        for _, places in sorted(self.waiting, key=lambda entry: entry[0]):
            rects = ([self.pen.rect_of(p.runs, p.x, p.y, p.anchor) for p in place] for place in places)
            said = " ".join(plain_text(piece.runs) for piece in places[0])
            index = self.register.settle(said, rects)
            if index is not None:
                for piece in places[index]:
                    self.pen.text(piece.runs, piece.x, piece.y, piece.anchor)
        self.waiting.clear()

    def sheet(self) -> Sheet:
        """Set what waits and hand the drawing over."""
        self.settle()
        register = self.register
        return Sheet(
            self.pen.drawing, tuple(register.unplaced), tuple(register.texts), self.pen.width_mm, self.pen.height_mm
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
        made: list[Token] = [(bold(tag),)] if tag else []
        made += [(Run(word, bold=strong, size_pt=TAG_PT if strong else 7.0),) for word in name.split()]
        for key, value in (params or {}).items():
            unit = "" if key in HIDDEN else wording.unit_of(key)
            if unit and isinstance(value, int | float) and not isinstance(value, bool):
                made.append(self.quantity(float(value), unit))
        return made

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

    def node_lines(self, node: Node, width_mm: float) -> list[tuple[Run, ...]]:
        return self.wrapped(self.tokens(node.tag, node.name, node.params), width_mm)


def stacked(lines: Sequence[tuple[Run, ...]], x: float, y: float, anchor: str = "start", up: bool = False) -> Place:
    """Set lines below each other from baseline ``y`` down, or with ``up`` so that the last stands on ``y``."""
    first = y - LINE_MM * (len(lines) - 1) if up else y
    return tuple(Piece(line, x, first + index * LINE_MM, anchor) for index, line in enumerate(lines))


FEEDS = (
    *("engine_feed", "charger_output", "controller_output", "mains_output", "distribution"),
    *("converter_input", "converter_output"),
)


def weight_for(role: str) -> float:
    """Line weight of a conductor by what it carries. [pt]"""
    if role in ("battery_main", "inverter_feed"):
        return HEAVY
    if role in FEEDS:
        return 1.05
    return THIN
