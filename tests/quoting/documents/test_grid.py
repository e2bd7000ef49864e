"""The table of the papers: heads repeat, what belongs together stays, what is too tall parts."""

from __future__ import annotations

from quoting.documents.grid import Grid, Hung, Row, Stacked
from quoting.documents.layout import PORTRAIT, WORKING, Sheet, _behind, style

SHEET = Sheet(PORTRAIT, WORKING)
WIDTH = PORTRAIT.width


def row(text: str, **over) -> Row:
    return Row((SHEET.over(1, 6, SHEET.words(text)),), **over)


def texts(grid: Grid) -> list[str]:
    return [cell.content[0].text for each in grid.rows for cell in each.cells]


def height(grid) -> float:
    return grid.wrap(WIDTH, 1e6)[1]


def test_columns_fill_the_width():
    assert PORTRAIT.x(1) == 0
    assert round(PORTRAIT.x(12) + PORTRAIT.span(1), 6) == round(WIDTH, 6)
    assert round(PORTRAIT.span(12), 6) == round(WIDTH, 6)


def test_head_repeats_on_every_part():
    grid = Grid([row(str(n)) for n in range(10)], [row("head")], 700)

    first, rest = grid.split(WIDTH, height(grid) / 2)

    assert first.head == rest.head
    assert texts(first) + texts(rest) == [str(n) for n in range(10)]
    assert height(first) <= height(grid) / 2


def test_kept_rows_move_together():
    rows = [row("a"), row("b"), row("c", keep=True), row("d", keep=True), row("e")]
    one = height(Grid([row("a")]))

    first, rest = Grid(rows).split(WIDTH, 4.2 * one)

    assert texts(first) == ["a", "b"]
    assert texts(rest) == ["c", "d", "e"]


def test_a_kept_whole_goes_to_the_next_page():
    grid = Grid([row("a", keep=True), row("b", keep=True), row("c")], page_height=700)

    assert grid.split(WIDTH, height(grid) * 0.7) == []


def test_what_is_kept_but_taller_than_a_page_parts_all_the_same():
    grid = Grid([row(str(n), keep=True) for n in range(100)], page_height=400)

    first, rest = grid.split(WIDTH, 400)

    assert 5 < len(first.rows) < 100
    assert texts(first) + texts(rest) == [str(n) for n in range(100)]


def test_a_row_taller_than_a_page_parts_inside():
    grid = Grid([row("word " * 3000)], page_height=400)

    parts = grid.split(WIDTH, 400)

    assert len(parts) == 2
    assert height(parts[0]) <= 400
    assert height(parts[0]) > 350


def test_a_group_that_goes_on_says_so():
    again = SHEET.over(8, 3, SHEET.words("Cable, continued"))
    grid = Grid([row(str(n), continued=again) for n in range(10)])

    _first, rest = grid.split(WIDTH, height(grid) / 2)

    assert next(cell.content[0].text for cell in rest.rows[0].cells) == "Cable, continued"
    assert [len(each.cells) for each in rest.rows[1:]] == [1] * (len(rest.rows) - 1)


def test_a_title_never_stands_alone():
    grid = Grid([row(str(n)) for n in range(10)])
    titled = Stacked(SHEET.section("Title"), grid, 4)
    title_only = titled.over.wrap(WIDTH, 1e6)[1] + 6

    assert titled.split(WIDTH, title_only) == []


def test_a_hanging_heading_stays_with_the_first_part():
    text = SHEET.words("word " * 400, indent=SHEET.hang)
    hung = Hung(SHEET.heading("Terms"), text, PORTRAIT.span(3))
    hung.spaceBefore = 17
    whole = hung.wrap(WIDTH, 1e6)[1]

    first, rest = hung.split(WIDTH, whole / 2)

    assert isinstance(first, Hung)
    assert first.spaceBefore == 17
    assert not isinstance(rest, Hung)


def test_whole_figures_are_indented_by_the_decimals_they_lack():
    whole, tenth, dash = SHEET.figures(["16", "2.5", "–"])

    assert tenth.style.rightIndent == 0
    assert whole.style.rightIndent > 0
    assert dash.style.rightIndent == 0
    assert (_behind("1,480.00"), _behind("16"), _behind("0.125")) == (2, 0, 3)


def test_no_style_goes_under_seven_points():
    assert min(WORKING.note, WORKING.text, style().fontSize) >= 7
