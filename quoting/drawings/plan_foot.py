"""The foot of the vehicle plan: scale bar, key, and what the reader must know of the measures."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from quoting.drawings.canvas import LINE_MM, Canvas
from quoting.drawings.pen import INK, PAPER, Run
from quoting.drawings.placing import Rect, TextBox
from quoting.drawings.plan_body import draw_mark
from quoting.drawings.plan_discs import DISC_MM
from quoting.drawings.plan_places import Placed
from quoting.drawings.plan_rows import Lane

MARK_MM = 1.3
"""Half of a position's mark. [mm]"""


@dataclass(frozen=True, slots=True)
class Foot:
    """Scale bar and key in one row, notes under it."""

    notes: tuple[tuple[Run, ...], ...]
    hows: tuple[str, ...]
    has_hitch: bool
    has_circuits: bool

    @property
    def height_mm(self) -> float:
        return 9.0 + len(self.notes) * LINE_MM + 1.0

    def write(self, canvas: Canvas, top: float, scale: int) -> None:
        x = _scale_bar(canvas, 1.0, top + 6.0, scale)
        x = max(x + 8.0, 62.0)
        y = top + 6.5
        for how in self.hows:
            draw_mark(canvas, how, Rect(x, y - 2 * MARK_MM + 0.3, x + 2 * MARK_MM, y + 0.3))
            x = _say(canvas, HOW_WORDS[how], x + 4.0, y) + 5.0
        canvas.pen.line([(x, y - 1.0), (x + 8.0, y - 1.0)], 0.95)
        canvas.pen.circle(x + 4.0, y - 1.0, DISC_MM, weight=0.6, fill=PAPER)
        rect = canvas.pen.text((Run("1", size_pt=6.0),), x + 4.0, y - 0.23, "middle")
        canvas.register.texts.append(TextBox("1", rect))
        x = _say(canvas, "drawing.plan.run_key" if self.has_circuits else "drawing.plan.run", x + 9.5, y) + 5.0
        if self.has_hitch:
            canvas.pen.line([(x, y - 1.0), (x + 8.0, y - 1.0)], 0.95, dash=(4, 2))
            _say(canvas, "drawing.plan.hitch", x + 9.5, y)
        for k, note in enumerate(self.notes):
            rect = canvas.pen.text(note, 1.0, top + 9.0 + (k + 0.8) * LINE_MM)
            canvas.register.texts.append(TextBox("".join(run.text for run in note), rect))


HOW_WORDS = {
    "measured": "drawing.plan.measured",
    "usual": "drawing.plan.usual",
    "lengths": "drawing.plan.lengths",
}


def _say(canvas: Canvas, code: str, x: float, y: float) -> float:
    text = canvas.say(code)
    rect = canvas.pen.text((Run(text, second=True),), x, y)
    canvas.register.add("text", rect)
    canvas.register.texts.append(TextBox(text, rect))
    return rect.x1


def foot(canvas: Canvas, placed: Placed, found: Sequence[Lane], width_mm: float, *, has_roof: bool = False) -> Foot:
    said = [canvas.say("drawing.plan.straight")]
    if has_roof:
        said.append(canvas.say("drawing.plan.roof"))
    for outline, code in ((placed.tow, "drawing.plan.size"), (placed.trailer, "drawing.plan.trailer_size")):
        if outline is not None and not outline.is_measured:
            sizes = {
                name: canvas.say("number", value=value, digits=1)
                for name, value in (("length", outline.length_m), ("width", outline.width_m))
            }
            said.append(canvas.say(code, **sizes))
    short = [str(lane.number) for lane in found if lane.is_too_short]
    if short:
        said.append(canvas.say("drawing.plan.short", runs=", ".join(short)))
    tokens = [(Run(word, second=True),) for word in " ".join(said).split()]
    hows = tuple(how for how in HOW_WORDS if any(s.how == how for s in placed.spots))
    return Foot(
        tuple(canvas.wrapped(tokens, width_mm - 2.0)),
        hows,
        any(lane.is_hitch for lane in found),
        any(lane.circuits for lane in found),
    )


def _scale_bar(canvas: Canvas, x: float, y: float, scale: int) -> float:
    """Bar of whole metres with its ends said; returns where it ends. [mm]"""
    metres = next((m for m in (1, 2, 5, 10, 20) if m * 1000 / scale >= 18.0), 20)
    wide = metres * 1000 / scale
    half = wide / 2
    canvas.pen.box(Rect(x, y, x + half, y + 1.2), 0.5, fill=INK)
    canvas.pen.box(Rect(x + half, y, x + wide, y + 1.2), 0.5, fill=PAPER)
    end = x + wide
    for at, text, anchor in ((x, "0", "start"), (end, f"{metres}\u2009m", "end")):
        rect = canvas.pen.text((Run(text, second=True),), at, y - 0.8, anchor)
        canvas.register.texts.append(TextBox(text, rect))
    said = canvas.say("drawing.plan.scale", scale=scale)
    rect = canvas.pen.text((Run(said, second=True),), end + 2.0, y + 1.3)
    canvas.register.texts.append(TextBox(said, rect))
    return rect.x1
