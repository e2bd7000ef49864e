"""The single-line diagram on paper, and the schedule that follows it."""

from __future__ import annotations

from django.utils.translation import gettext as _
from reportlab.platypus import Flowable, PageBreak

from quoting.documents.content_wiring import DiagramContent
from quoting.documents.drawn import Drawn, complete
from quoting.documents.fonts import printable
from quoting.documents.forms import page_of
from quoting.documents.layout import WIDE, WORKING, Built, Sheet, build
from quoting.documents.wiring import closing, schedule_part
from quoting.sizing.appraisal import Appraisal
from quoting.words import drawing_words


def diagram_pdf(content: DiagramContent, appraisal: Appraisal, form: str) -> Built:
    """Print the diagram. Raises :class:`DrawingIncomplete` rather than leave a text out."""
    page = page_of("diagram", form)
    sheet = Sheet(WIDE[page], WORKING)
    drawn = _drawings(appraisal, page)
    return build(content.frame, lambda each: _story(content, drawn, each), sheet)


def _story(content: DiagramContent, drawings: list[Drawn], sheet: Sheet) -> list[Flowable]:
    story: list[Flowable] = []
    for drawn in drawings:
        story += [drawn, PageBreak()]
    if not content.schedule:
        story.append(sheet.titled(_("Circuit schedule"), sheet.words(_("No circuit is designed yet.")), 0))
        return [*story, *closing(content, sheet)]
    return [*story, *schedule_part(content, sheet), *closing(content, sheet)]


def _drawings(appraisal: Appraisal, page: str) -> list[Drawn]:
    from quoting.drawings import single_line

    if not appraisal.nodes:
        return []
    return complete(single_line.sheets(_printed(appraisal), paper=page.upper(), words=drawing_words))


def _printed(appraisal: Appraisal) -> Appraisal:
    """The same with names in characters that print; one the typeface lacks stands as its code."""
    nodes = tuple(node.model_copy(update={"name": printable(node.name)}) for node in appraisal.nodes)
    circuits = tuple(c.model_copy(update={"name": printable(c.name)}) for c in appraisal.circuits)
    return appraisal.model_copy(update={"nodes": nodes, "circuits": circuits})
