"""The single-line diagram of a design: sheet by sheet on a page of its own, the first sheet on the page of its job."""

from __future__ import annotations

from dataclasses import dataclass

from django.core.cache import cache
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import render
from django.urls import path, reverse
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import get_language
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from fitouts.models import Fitout
from fitouts.views.access import needs
from quoting.documents import fonts
from quoting.drawings import single_line, svg
from quoting.drawings.canvas import Sheet
from quoting.drawings.layout import FORMS
from quoting.models import Design
from quoting.services import designs
from quoting.sizing.appraisal import Appraisal
from quoting.views.outlook import design_context, why_none
from quoting.views.page import the_job
from quoting.words import drawing_words

KEPT_S = 24 * 3600
DRAWN = "3"
"""Bumped when the same design is drawn in another way, so that no old drawing is shown."""
USUAL = "A4"


@dataclass(frozen=True, slots=True)
class Way:
    """A link of the page: to a sheet, or to a form of paper."""

    words: str
    query: str
    is_here: bool


@require_safe
@needs()
def diagram(request: HttpRequest, pk: int) -> HttpResponse:
    """One sheet, the others a press away; ``?paper=A3`` draws for that paper."""
    fitout = the_job(request, pk)
    design = designs.latest_of(fitout)
    context = design_context(request, fitout, design)
    if design is None or not design.appraisal["nodes"]:
        return render(request, "quoting/diagram.html", context | {"why": _why_none(design, fitout)})
    paper = _paper(request.GET)
    sheets = sheets_of(design, paper)
    number = _number(request.GET, len(sheets))
    names = [(n, _("Sheet %(n)d") % {"n": n}) for n in range(1, len(sheets) + 1)]
    context |= {
        "drawing": mark_safe(sheets[number - 1]),  # noqa: S308 our own drawing; to_svg escapes every typed text in it
        "number": number,
        "count": len(sheets),
        "paper": paper,
        "sheets": [Way(words, f"?paper={paper}&sheet={n}", n == number) for n, words in names],
        "papers": [Way(name, f"?paper={name}", name == paper) for name in FORMS],
    }
    return render(request, "quoting/diagram.html", context)


def diagram_of(design: Design, appraisal: Appraisal) -> SafeString | str:
    """The first sheet as SVG; nothing while the design has no nodes."""
    if not appraisal.nodes:
        return ""
    return mark_safe(sheets_of(design, USUAL, appraisal)[0])  # noqa: S308 as above


def sheets_of(design: Design, paper: str, appraisal: Appraisal | None = None) -> list[str]:
    """Every sheet as SVG, drawn once for a design, a paper and a language."""
    key = f"diagram:{design.pk}:{design.key}:{get_language()}:{paper}:{DRAWN}"
    kept: list[str] | None = cache.get(key)
    if kept is None:
        fonts.register()
        appraisal = appraisal or designs.appraisal_of(design)
        sheets = single_line.sheets(appraisal, paper=paper, words=drawing_words)
        kept = [_svg(design, appraisal, paper, sheets, number) for number in range(1, len(sheets) + 1)]
        cache.set(key, kept, KEPT_S)
    return kept


def _svg(design: Design, appraisal: Appraisal, paper: str, sheets: tuple[Sheet, ...], number: int) -> str:
    title = _("Single-line diagram of design %(number)d") % {"number": design.number}
    if len(sheets) > 1:
        title += _(", sheet %(number)d of %(count)d") % {"number": number, "count": len(sheets)}
    words = _("%(nodes)d parts and %(circuits)d circuits in all; the page of circuits lists them.") % {
        "nodes": len(appraisal.nodes),
        "circuits": len(appraisal.circuits),
    }
    return svg.to_svg(sheets[number - 1].drawing, title, words, _links(design, appraisal, paper, sheets[number - 1]))


def _links(design: Design, appraisal: Appraisal, paper: str, sheet: Sheet) -> dict[str, svg.Link]:
    """Texts to press: a circuit's tag leads to its row, a reference to the sheet it names."""
    rows, here = reverse("circuits", args=[design.fitout_id]), reverse("diagram", args=[design.fitout_id])
    found = {c.tag: svg.Link(f"{rows}#circuit-{c.tag}", f"{c.tag} {c.name}") for c in appraisal.circuits}
    for reference in sheet.references:
        said = drawing_words("drawing.there", sheet=reference.to_sheet, field=reference.to_field)
        found[said] = svg.Link(f"{here}?paper={paper}&sheet={reference.to_sheet}", said)
    return found


def _paper(query: QueryDict) -> str:
    asked = query.get("paper", "").upper()
    return asked if asked in FORMS else USUAL


def _number(query: QueryDict, count: int) -> int:
    asked = query.get("sheet", "")[:6]
    return min(max(1, int(asked)), count) if asked.isascii() and asked.isdecimal() else 1


def _why_none(design: Design | None, fitout: Fitout) -> tuple[str, str]:
    if design is None:
        title, words = why_none(design, fitout)
        return title, words if fitout.kind == Fitout.Kind.FAULT else _("It is drawn when the job is worked out.")
    return _("Nothing to draw"), _("The diagram follows once components are chosen. See the findings of the design.")


diagram_urls = [path("jobs/<int:pk>/diagram/", diagram, name="diagram")]
