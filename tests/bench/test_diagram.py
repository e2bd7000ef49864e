"""What the single-line diagram costs, as ratios measured in one run; no seconds are asserted.

Floors: as many bare ReportLab shapes, of the kinds and texts the finished sheets hold, made anew and drawn plainly; and
the sizing of the same circuits, which a person waits for before any drawing. Processor time, the best of some rounds.

What the bare shapes lack: where each is to stand. A text tries its places against everything that stands there already,
and all is drawn two or three times, until each reference names the field where its other end came to stand.

Run with ``pytest -s tests/bench -p no:cacheprovider``; CI does not.
"""

from __future__ import annotations

import time
from collections import Counter
from collections.abc import Callable
from typing import Any

import pytest
from reportlab.graphics import renderPDF, shapes
from reportlab.pdfgen.canvas import Canvas

from quoting.documents import fonts
from quoting.drawings import single_line
from quoting.sizing.appraise import appraise
from tests.quoting.drawings.looking import shapes_of
from tests.quoting.sizing.many_circuits import many_made

OF = {"circuits": 60, "volts": 24, "batteries": 3, "strings": 3, "senses": 8, "starter_loads": 4, "converters": 2}


def best_s(work: Callable[[], Any], rounds: int = 5) -> float:
    """Least processor time of some rounds, after one to warm up. [s]"""
    work()
    taken = []
    for _ in range(rounds):
        began = time.process_time()
        work()
        taken.append(time.process_time() - began)
    return min(taken)


def bare(found: list[Any]) -> shapes.Drawing:
    """As many shapes of the same kinds, with the same points and texts, put one beside the other."""
    drawing = shapes.Drawing(740, 476)
    for shape in found:
        if isinstance(shape, shapes.String):
            drawing.add(shapes.String(shape.x, shape.y, shape.text, fontName=shape.fontName, fontSize=shape.fontSize))
        elif isinstance(shape, shapes.Path):
            path = shapes.Path(strokeWidth=shape.strokeWidth, strokeColor=shape.strokeColor, fillColor=None)
            path.points, path.operators = list(shape.points), list(shape.operators)
            drawing.add(path)
        elif isinstance(shape, shapes.Circle):
            drawing.add(shapes.Circle(shape.cx, shape.cy, shape.r, fillColor=None))
    return drawing


def test_a_diagram_of_60_circuits():
    fonts.register()
    brief, made = many_made(**OF)
    sheets = single_line.sheets(made)
    found = [shape for sheet in sheets for shape in shapes_of(sheet.drawing)]
    kinds = Counter(type(shape).__name__ for shape in found)

    floor = best_s(lambda: bare(found))
    drawn = best_s(lambda: single_line.sheets(made))
    wide = best_s(lambda: single_line.sheets(made, paper="A3"))
    designed = best_s(lambda: appraise(brief), rounds=2)
    page, blank = best_s(lambda: _pdf([s.drawing for s in sheets])), best_s(lambda: _pdf([bare(found)]))

    print(f"\n{len(made.circuits)} circuits, {len(sheets)} sheets of A4, {len(found)} shapes: {dict(kinds)}")
    print(f"drawing, A4: {drawn / floor:.1f} times as many bare shapes; A3: {wide / floor:.1f} times")
    print(f"drawing and PDF: {(drawn + page) / (floor + blank):.1f} times bare shapes and their PDF")
    print(f"circuits: {designed / floor:.1f} times bare shapes; the drawing is {drawn / designed:.2f} of the sizing")
    assert len(found) > 1000
    assert all(sheet.unplaced == () for sheet in sheets)


def _pdf(drawings: list[shapes.Drawing]) -> bytes:
    canvas = Canvas("diagram.pdf", invariant=1)
    for drawing in drawings:
        renderPDF.draw(drawing, canvas, 0, 0)
        canvas.showPage()
    return bytes(canvas.getpdfdata())


@pytest.mark.parametrize("circuits", [5, 20, 60])
def test_drawing_grows_with_the_circuits(circuits):
    fonts.register()
    _, made = many_made(circuits=circuits)
    sheets = single_line.sheets(made)
    found = [shape for sheet in sheets for shape in shapes_of(sheet.drawing)]

    ratio = best_s(lambda: single_line.sheets(made)) / best_s(lambda: bare(found))

    print(f"\n{circuits} circuits, {len(found)} shapes: {ratio:.1f} times as many bare shapes")
