"""The vehicle plan on paper: the drawing to scale, then its cable runs and positions as tables."""

from __future__ import annotations

from collections.abc import Sequence

from django.utils.translation import gettext as _
from reportlab.platypus import Flowable

from quoting.documents.content_plan import LaidRow, PlanContent
from quoting.documents.drawn import Drawn, complete
from quoting.documents.forms import page_of
from quoting.documents.grid import Block, Grid
from quoting.documents.layout import WIDE, WORKING, Built, Sheet, build
from quoting.documents.schedule import hand_grid, plain_table
from quoting.drawings.vehicle_plan import draw_plan
from quoting.sizing.appraisal import Appraisal
from quoting.words import drawing_words

LANES = (0, 10, 78, 93, 113, 196, 261)
SPOTS = (0, 62, 84, 106, 160, 261)
LAID = (0, 78, 93, 130, 167, 212, 261)
"""Left edges of the columns and the right end, on A4. [mm]"""


def plan_pdf(content: PlanContent, appraisal: Appraisal, form: str) -> Built:
    """Print the plan. Raises :class:`DrawingIncomplete` rather than leave a name out."""
    page = page_of("plan", form)
    sheet = Sheet(WIDE[page], WORKING)
    drawn = complete([draw_plan(content.vehicle, appraisal, paper=page, words=drawing_words).sheet])
    return build(content.frame, lambda each: _story(content, drawn, each), sheet)


def _story(content: PlanContent, drawn: Sequence[Drawn], sheet: Sheet) -> list[Flowable]:
    story: list[Flowable] = list(drawn)
    if content.lanes:
        story.append(sheet.titled(_("Cable runs"), _lanes(content, sheet)))
    story.append(sheet.titled(_("Positions"), _spots(content, sheet)))
    if content.panels:
        story.append(sheet.titled(_("Panels on the roof"), _laid(content.panels, sheet, _("Roof area"), "m")))
    if content.batteries:
        story.append(sheet.titled(_("Batteries in their spaces"), _laid(content.batteries, sheet, _("Space"), "mm")))
    story += [Block(sheet.note(note), 0.8 * 72 / 25.4) for note in content.notes]
    if content.by_hand:
        story.append(sheet.titled(_("Settled by hand"), hand_grid(content.by_hand, sheet)))
    story += sheet.notices(_("Findings"), content.notices)
    return [*story, *sheet.bullets(_("Cautions"), content.cautions)]


def _lanes(content: PlanContent, sheet: Sheet) -> Grid:
    titles = (
        (_("Run"), False),
        (_("From – to"), False),
        (_("m"), True),
        (_("Straight, m"), True),
        (_("Circuits and conductors"), False),
        (_("Conduit"), False),
    )
    rows = [[r.number, r.way, r.length, r.straight, r.circuits, r.conduit] for r in content.lanes]
    return plain_table(sheet, LANES, titles, rows)


def _laid(rows: Sequence[LaidRow], sheet: Sheet, place: str, unit: str) -> Grid:
    """The near corner of each from the front and left edge of its area, looking forwards."""
    titles = (
        (place, False),
        (_("No."), False),
        (_("From its front edge, %s") % unit, True),
        (_("From its left edge, %s") % unit, True),
        (_("Along × across, %s") % unit, True),
        (_("Which way round"), False),
    )
    return plain_table(
        sheet, LAID, titles, [[r.place, r.number, r.from_front, r.from_left, r.sides, r.way] for r in rows]
    )


def _spots(content: PlanContent, sheet: Sheet) -> Grid:
    titles = (
        (_("Position"), False),
        (_("Behind the front, m"), True),
        (_("Right, m"), True),
        (_("Known how"), False),
        (_("What sits there"), False),
    )
    return plain_table(sheet, SPOTS, titles, [[r.name, r.x, r.y, r.how, r.sits] for r in content.spots])
