from __future__ import annotations

import re
from pathlib import Path
from types import SimpleNamespace
from xml.etree import ElementTree as ET

import pytest
from reportlab.graphics import shapes
from reportlab.lib.colors import HexColor

from quoting.drawings import charts, svg
from quoting.drawings.pen import Pen, Run, bold

from .looking import strings
from .samples import one_sheet, system

PAGE_CSS = Path("fitouts/static/loomwright/css/drawing.css").read_text(encoding="utf-8")
NS = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def page():
    drawing = one_sheet(system(5)).drawing
    return drawing, svg.to_svg(drawing, "Single-line <diagram> & more", 'Drawn for "KFX 417"')


def test_no_style_no_colour_and_no_outside_reference_is_left(page):
    _, text = page

    assert " style=" not in text
    assert re.findall(r"rgb\(|#[0-9a-fA-F]{3,6}|url\(|http(?!://www.w3.org/2000/svg)|<script|font-family", text) == []


def test_title_and_description_are_escaped_and_referred_to(page):
    _, text = page

    root = ET.fromstring(text)

    assert root.find(f"{NS}title").text == "Single-line <diagram> & more"
    assert root.find(f"{NS}desc").text == 'Drawn for "KFX 417"'
    assert root.get("aria-labelledby").split() == [root[0].get("id"), root[1].get("id")]
    assert root.get("role") == "img"


def test_ids_differ_between_drawings_on_one_page(page):
    _, text = page
    other = svg.to_svg(one_sheet(system(6)).drawing, "Another", "")

    ids = re.findall(r' id="([^"]+)"', text + other)

    assert len(ids) == len(set(ids)) == 4


def test_texts_keep_their_places_weights_and_widths(page):
    drawing, text = page
    said = list(ET.fromstring(text).iter(f"{NS}text"))

    assert [t.text for t in said] == [seen.text for seen in strings(drawing)]
    for element, seen in zip(said, strings(drawing), strict=True):
        size = float(element.get("font-size"))
        assert float(element.get("x")) == pytest.approx(seen.x0, abs=0.01)
        assert drawing.height - float(element.get("y")) == pytest.approx(seen.y0 + 0.2 * size, abs=0.01)
        if len(seen.text) > 1:
            assert float(element.get("textLength")) == pytest.approx(seen.x1 - seen.x0, abs=0.01)
    assert {t.get("font-weight") for t in said if t.text == "F1"} == {"600"}


def test_the_view_box_is_the_drawing(page):
    drawing, text = page

    box = [float(part) for part in ET.fromstring(text).get("viewBox").split()]
    assert box == pytest.approx([0, 0, drawing.width, drawing.height], abs=0.005)


def test_ink_is_the_colour_of_the_page_and_others_are_classes(page):
    _, text = page
    root = ET.fromstring(text)

    paints = {e.get(p) for e in root.iter() for p in ("fill", "stroke")} - {None}
    classes = {c for e in root.iter() for c in (e.get("class") or "").split()} - {"drawing"}

    assert paints == {"none", "currentColor"}
    assert classes == {"f-second", "f-tint", "s-hair"}
    assert all(f".{name}" in PAGE_CSS for name in classes)


def test_every_class_a_colour_may_get_is_in_the_page_css():
    names = set(svg.CLASSES.values()) - {"ink"}

    assert all(f".f-{n} " in PAGE_CSS and f".s-{n} " in PAGE_CSS for n in names)


def test_what_a_person_typed_cannot_become_markup():
    made = system(2)
    name = '</text><script>alert("x")</script>\x07'
    load = made.circuits[-1].model_copy(update={"name": name})
    drawing = one_sheet(SimpleNamespace(nodes=made.nodes, circuits=(*made.circuits[:-1], load))).drawing

    text = svg.to_svg(drawing, name, name)

    assert "<script" not in text
    assert "\x07" not in text
    said = "".join(t.text for t in ET.fromstring(text).iter(f"{NS}text"))
    assert '</text><script>alert("x")</script>' in said


def test_a_colour_without_a_class_is_refused():
    drawing = shapes.Drawing(10, 10)
    drawing.add(shapes.Rect(0, 0, 5, 5, fillColor=HexColor("#ff8800"), strokeColor=None))

    with pytest.raises(ValueError, match=r"#ff8[78]00"):
        svg.to_svg(drawing, "t", "d")


def test_a_transformed_group_is_refused():
    drawing = shapes.Drawing(10, 10)
    drawing.add(shapes.Group(shapes.Circle(5, 5, 2), transform=(2, 0, 0, 2, 0, 0)))

    with pytest.raises(ValueError, match="transformed group"):
        svg.to_svg(drawing, "t", "d")


def test_shapes_are_mirrored_as_a_whole(page):
    drawing, text = page

    shapes_group, texts_group = (child for child in ET.fromstring(text) if child.tag == f"{NS}g")

    assert shapes_group.get("transform") == f"translate(0,{drawing.height:.2f}) scale(1,-1)"
    assert texts_group.get("transform") is None


def test_the_same_drawing_gives_the_same_text():
    one, other = (svg.to_svg(one_sheet(system(4)).drawing, "t", "d") for _ in range(2))

    assert one == other


def test_broken_lines_stay_open():
    """A closed path would draw a broken line's way back over its gaps."""
    pen = Pen(20, 20)
    pen.line([(1, 1), (9, 1)], 0.6, dash=(1, 1))
    pen.text([bold("F1"), Run("5", gap_mm=1)], 2, 10)

    (path,) = ET.fromstring(svg.to_svg(pen.drawing, "t", "d")).iter(f"{NS}path")

    assert "Z" not in path.get("d")
    assert path.get("stroke-dasharray").replace(" ", "") == "1,1"


def test_charts_render_too():
    sheet = charts.shedding_bar([charts.Threshold(0.3, "the inverter")])

    text = svg.to_svg(sheet.drawing, "What goes off first", "The inverter at 30 %")

    assert {"f-accent", "s-accent", "f-ground"} <= set(re.findall(r"[fs]-[a-z]+", text))


def test_a_text_leads_to_where_its_link_says_and_stays_where_it_was():
    drawing = one_sheet(system(3)).drawing
    links = {"C1": svg.Link("/jobs/1/circuits/#circuit-C1", 'C1 Pump & "filter"'), "nowhere": svg.Link("/x", "x")}

    plain, led = (ET.fromstring(svg.to_svg(drawing, "t", "d", given)) for given in (None, links))

    (link,) = led.iter(f"{NS}a")
    room, text = link
    assert (link.get("href"), link.get("aria-label")) == ("/jobs/1/circuits/#circuit-C1", 'C1 Pump & "filter"')
    assert (text.text, room.get("fill")) == ("C1", "none")
    x, y = float(text.get("x")), float(text.get("y"))
    assert (
        float(room.get("x")) < x < x + float(text.get("textLength")) < float(room.get("x")) + float(room.get("width"))
    )
    assert float(room.get("y")) < y < float(room.get("y")) + float(room.get("height"))
    assert (plain.get("role"), led.get("role")) == ("img", "group")
    at = [[(t.text, t.get("x"), t.get("y")) for t in root.iter(f"{NS}text")] for root in (plain, led)]
    assert at[0] == at[1]
