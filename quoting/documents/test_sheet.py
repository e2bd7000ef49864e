"""The test and settings sheet on paper: blank to fill by hand, or with the readings taken."""

from __future__ import annotations

from dataclasses import replace

from django.utils.translation import gettext as _
from reportlab.lib.units import mm
from reportlab.platypus import Flowable
from reportlab.platypus.flowables import KeepTogether

from quoting.documents import fonts
from quoting.documents.content import Check, CheckGroup, SettingRow, TestContent
from quoting.documents.grid import GROUP, HEAD, Block, Grid, Row, Stacked
from quoting.documents.layout import PORTRAIT, WORKING, Built, Sheet, build
from quoting.documents.marks import Box
from quoting.documents.text import ACCENT, SECOND, TINT
from quoting.sizing.appraisal import Appraisal

BY_HAND = 8 * mm


def test_sheet_pdf(content: TestContent, appraisal: Appraisal | None, form: str) -> Built:
    """Print a test sheet."""
    return build(content.frame, lambda sheet: _story(content, sheet), Sheet(PORTRAIT, WORKING))


test_sheet_pdf.__test__ = False  # type: ignore[attr-defined]


def _story(content: TestContent, sheet: Sheet) -> list[Flowable]:
    story = sheet.opening(content.frame)
    story += sheet.hung(_("Instruments"), [_instruments(content, sheet)])
    story += sheet.bullets(_("Cautions"), content.cautions)
    if content.groups:
        story.append(Block(_readings(content.groups, sheet), 6 * mm))
    for number, note in enumerate(content.notes):
        blocks: list[Flowable] = [sheet.words(note, indent=sheet.hang)]
        story += sheet.hung(_("Found and put right"), blocks) if number == 0 else blocks
    story += sheet.bullets(_("Settled by hand"), content.by_hand)
    story += sheet.notices(_("Findings"), content.notices)
    if content.licensed:
        story.append(Block(_licensed(content, sheet), 8 * mm))
        story += sheet.bullets(_("Questions for them"), content.questions)
    if content.settings:
        story.append(sheet.titled(_("Settings to enter"), settings_grid(content.settings, sheet, content.filled)))
    result = sheet.hung(_("Result"), [sheet.words(content.result, indent=sheet.hang)])
    story.append(KeepTogether([*result, sheet.signing(content.fields)]))
    return story


def _instruments(content: TestContent, sheet: Sheet) -> Grid:
    left = sheet.hang
    head = Row(
        (
            sheet.over(4, 4, sheet.note(_("Instrument"))),
            sheet.over(8, 3, sheet.note(_("Serial"))),
            sheet.over(11, 2, sheet.note(_("Calibration good until"))),
        ),
        below=HEAD,
        left=left,
        pad=0.3 * mm,
    )
    rows = [
        Row(
            (
                sheet.over(4, 4, sheet.words(each.name)),
                sheet.over(8, 3, sheet.words(each.serial)),
                sheet.over(11, 2, sheet.words(each.calibrated)),
            ),
            left=left,
        )
        for each in content.instruments
    ] or [Row((), left=left, least=BY_HAND) for _i in range(3)]
    return Grid(rows, [head], sheet.page.height)


def _readings(groups: tuple[CheckGroup, ...], sheet: Sheet, licensed: bool = False) -> Grid:
    page = sheet.page
    number_w = 8 * mm
    words_x = 9 * mm
    expected_x = page.x(8) - 10 * mm
    expected_w = page.x(9) - 4 * mm - expected_x
    measured_x, measured_w = page.x(9) + 2 * mm, page.span(2) - 4 * mm
    unit_x, unit_w = page.x(11) - 0.5 * mm, page.span(1) + 2 * mm
    pass_x, pass_w = page.x(12) + 3 * mm, page.span(1) - 3 * mm
    head = Row(
        (
            sheet.cell(0, number_w, sheet.note(_("No."))),
            sheet.cell(words_x, expected_x - words_x, sheet.note(_("Check"))),
            sheet.cell(expected_x, expected_w, sheet.note(_("Expected"), right=True)),
            sheet.cell(measured_x, measured_w, sheet.note(_("Measured"), right=True)),
            sheet.cell(unit_x, unit_w, sheet.note(_("Unit"))),
            sheet.cell(pass_x, pass_w, sheet.note(_("Pass"))),
        ),
        below=HEAD,
    )
    rows: list[Row] = []
    for index, group in enumerate(groups):
        heading = sheet.words(group.name, face=fonts.SEMIBOLD, ink=ACCENT)
        rows.append(
            Row(
                (sheet.cell(1.4 * mm if licensed else 0, page.span(9), heading),),
                below=GROUP,
                pad=0.9 * mm,
                space=2.4 * mm * (index > 0),
                keep=True,
                tint=TINT if licensed else "",
            )
        )
        for number, check in enumerate(group.checks):
            rows.append(
                Row(
                    (
                        sheet.cell(1.4 * mm if licensed else 0, number_w, sheet.words(check.no, ink=SECOND)),
                        sheet.cell(words_x, expected_x - words_x - 2 * mm, *_said(check, sheet)),
                        sheet.cell(expected_x, expected_w, sheet.words(check.expected, ink=SECOND, right=True)),
                        sheet.cell(
                            measured_x,
                            measured_w,
                            sheet.words(
                                check.measured, face=fonts.SEMIBOLD, right=True, right_indent=1 * mm * licensed
                            ),
                            tint="#ffffff" if licensed else "",
                        ),
                        sheet.cell(unit_x, unit_w, sheet.words(check.unit, ink=SECOND)),
                        sheet.cell(pass_x, pass_w, _box(check)),
                    ),
                    least=0 if check.measured and not licensed else BY_HAND,
                    centred=True,
                    keep=number == 0 and len(group.checks) > 1,
                    tint=TINT if licensed else "",
                )
            )
    return Grid(rows, [head], page.height)


def _said(check: Check, sheet: Sheet) -> list[Flowable]:
    """What is read, and under it what somebody settled for that circuit."""
    words = [sheet.words(check.words)]
    return [*words, sheet.note(_("By hand: %s") % check.by_hand)] if check.by_hand else words


KEPT_READINGS = 18
"""So many readings of the licensed person stay on one page with the signature under them."""


def _licensed(content: TestContent, sheet: Sheet) -> Grid:
    """The licensed person's readings and signature: one block, on one page where it can be."""
    readings = _readings(content.licensed, sheet, licensed=True)
    words = _("Mains-voltage work is for licensed people under local rules. White fields are theirs to fill by hand.")
    whole = len(readings.rows) <= KEPT_READINGS
    rows = [
        replace(row, keep=row.keep or whole or number >= len(readings.rows) - 3)
        for number, row in enumerate(readings.rows)
    ]
    note = Row((sheet.over(1, 12, sheet.note(words)),), below=None, pad=1.2 * mm, keep=True)
    signing = sheet.signing(content.licensed_fields)
    return Grid([*rows, note, *signing.rows], readings.head, sheet.page.height)


def _box(check: Check) -> Box:
    return Box(ticked=check.passed is True, crossed=check.passed is False)


def settings_grid(settings: tuple[SettingRow, ...], sheet: Sheet, filled: bool) -> Grid:
    """Component, setting, what was asked, what was entered; the last to fill by hand while it is not known."""
    page = sheet.page
    unit_at = (page.x(12) - 3.5 * mm, page.span(1) + 3.5 * mm)  # wide enough for a temperature compensation
    asked_at = (page.x(8) - 3 * mm, page.span(2))
    entered_at = (page.x(10) - 1 * mm, page.span(2) - 2.5 * mm)
    asked_at = (asked_at[0], entered_at[0] - 3 * mm - asked_at[0])
    entered_at = (entered_at[0] - 2 * mm, entered_at[1] + 2 * mm)
    head = Row(
        (
            sheet.over(1, 4, sheet.note(_("Component"))),
            sheet.over(5, 3, sheet.note(_("Setting"))),
            sheet.cell(*asked_at, sheet.note(_("Asked"), right=True)),
            sheet.cell(*entered_at, sheet.note(_("Entered"), right=True)),
            sheet.cell(*unit_at, sheet.note(_("Unit"))),
        ),
        below=HEAD,
    )
    rows, last = [], ""
    for number, row in enumerate(settings):
        first = row.component != last
        last = row.component
        keep = number + 1 < len(settings) and settings[number + 1].component == row.component and first
        cells = [
            sheet.over(5, 3, sheet.words(row.setting)),
            sheet.cell(*asked_at, sheet.words(row.asked, ink=SECOND, right=True)),
            sheet.cell(*entered_at, sheet.words(row.entered, face=fonts.SEMIBOLD, right=True)),
            sheet.cell(*unit_at, sheet.words(row.unit, ink=SECOND)),
        ]
        if first:
            cells.insert(0, sheet.over(1, 4, sheet.words(row.component, face=fonts.SEMIBOLD)))
        rows.append(
            Row(
                tuple(cells),
                above=GROUP if first and number else None,
                below_left=page.x(5),
                least=0 if row.entered else BY_HAND * (not filled),
                centred=not row.entered and not filled,
                keep=keep,
                continued=None
                if first
                else sheet.over(1, 4, sheet.words(_("%s, continued") % row.component, ink=SECOND)),
            )
        )
    return Grid(rows, [head], page.height)


__all__ = ["Stacked", "settings_grid", "test_sheet_pdf"]
