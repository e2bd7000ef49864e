"""A drawing as SVG for a page under a strict content security policy.

ReportLab's own SVG carries inline styles, fixed colours, repeated ids and a clip path. Here every style becomes a
presentation attribute, ink becomes ``currentColor``, every other colour a class that the page's style sheet fills
(``drawing.css`` of the site says how), and fonts are left to the page; each text keeps its measured width by
``textLength``, so that another font cannot run into its neighbour.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Mapping
from typing import Any, NamedTuple
from xml.etree import ElementTree as ET

from reportlab.graphics import renderSVG
from reportlab.pdfbase.pdfmetrics import getFont, stringWidth

NAMESPACE = "http://www.w3.org/2000/svg"
CLASSES: dict[str, str] = {
    "#000000": "ink",
    "#595959": "second",
    "#9a9a9a": "hair",
    "#0a5957": "accent",
    "#b3c9c7": "pale",
    "#f0f0f0": "tint",
    "#ffffff": "ground",
}
"""Class of each colour a drawing may use; it is put after ``f-`` for areas and texts, after ``s-`` for lines."""

Widths = dict[tuple[str, str, str], float]
"""Width of a text by text, family and size. [pt]"""
COLOUR = re.compile(r"rgb\(([\d.]+)%,\s*([\d.]+)%,\s*([\d.]+)%\)")


class Link(NamedTuple):
    """Where a text leads, and what that is called."""

    href: str
    name: str


PAD_PT = 2.5
"""Room round a text that leads somewhere, so that a finger meets it. [pt]"""


def to_svg(drawing: Any, title: str, description: str, links: Mapping[str, Link] | None = None) -> str:
    """Render a ReportLab drawing for the page.

    Parameters
    ----------
    drawing : reportlab.graphics.shapes.Drawing
        What to render; it may use the colours of ``CLASSES`` only.
    title, description : str
        Read to those who do not see it; any characters a person may have typed.
    links : mapping, optional
        Where a text leads, by the whole of the text.

    Returns
    -------
    str
        One ``<svg>`` element with neither style attribute nor colour, safe to put into a page as it is.

    Raises
    ------
    ValueError
        If the drawing uses a colour that has no class, or a group with a transform of its own.
    """
    raw = renderSVG.drawToString(drawing)
    raw = _legal(re.sub(r"<!DOCTYPE[^>]*>", "", raw))
    root = ET.fromstring(raw.encode())  # noqa: S314 our own renderer's output
    key = hashlib.sha256((title + "\0" + description + "\0" + raw).encode()).hexdigest()[:10]
    svg = ET.Element(
        "svg",
        {
            "xmlns": NAMESPACE,
            "class": "drawing",
            "role": "group" if links else "img",
            "viewBox": f"0 0 {_short(drawing.width)} {_short(drawing.height)}",
            "aria-labelledby": f"d{key}-t d{key}-d",
        },
    )
    ET.SubElement(svg, "title", {"id": f"d{key}-t"}).text = _legal(title)
    ET.SubElement(svg, "desc", {"id": f"d{key}-d"}).text = _legal(description)
    widths = _text_widths(drawing)
    flipped = ET.SubElement(svg, "g", {"transform": f"translate(0,{_short(drawing.height)}) scale(1,-1)", **PLAIN})
    upright = ET.SubElement(svg, "g", PLAIN)
    for child in root:
        if _name(child) == "g":
            _take(child, flipped, upright, widths, float(drawing.height))
    if links:
        _link(upright, links)
    return ET.tostring(svg, encoding="unicode", short_empty_elements=True)


def _link(texts: ET.Element, links: Mapping[str, Link]) -> None:
    """Put texts that lead somewhere into links, each with room to press."""
    for index, text in enumerate(list(texts)):
        found = links.get(text.text or "")
        if found is None:
            continue
        link = ET.Element("a", {"href": _legal(found.href), "aria-label": _legal(found.name)})
        size, wide = float(text.get("font-size", "7")), float(text.get("textLength", "0") or 0)
        x, y = float(text.get("x", "0")), float(text.get("y", "0"))
        room = {"x": x - PAD_PT, "y": y - size - PAD_PT / 2, "width": wide + 2 * PAD_PT, "height": 1.3 * size + PAD_PT}
        link.append(ET.Element("rect", {key: _short(value) for key, value in room.items()} | {"fill": "none"}))
        link.append(text)
        texts[index] = link


PLAIN = {"fill": "none", "stroke": "none", "stroke-linecap": "butt"}
"""What a shape has unless it says otherwise."""
GEOMETRY = ("d", "points", "x", "y", "cx", "cy", "r", "rx", "ry", "width", "height")


def _take(group: ET.Element, shapes: ET.Element, texts: ET.Element, widths: Widths, height: float) -> None:
    """Move what a group holds into the page's groups: shapes as they are, with y up; texts upright, above them."""
    for element in group:
        name = _name(element)
        if name != "g":
            (texts if name == "text" else shapes).append(_cleaned(element, widths, height))
        elif element.get("transform", "").strip():
            raise ValueError("A drawing for the page holds a transformed group; draw in the sheet's own units.")
        else:
            _take(element, shapes, texts, widths, height)


def _cleaned(element: ET.Element, widths: Widths, height: float) -> ET.Element:
    name = _name(element)
    made = ET.Element(name)
    style = _style(element)
    for key in GEOMETRY:
        if element.get(key):
            made.set(key, _numbers(element.get(key, "")))
    classes = [
        c for paint in ("fill", "stroke") if name != "text" or paint == "fill" for c in _paint(made, paint, style)
    ]
    if name == "text":
        _set_text(made, element, style, widths, height)
    elif made.get("stroke", "none") != "none":
        for key in ("stroke-width", "stroke-linecap", "stroke-dasharray", "stroke-dashoffset"):
            if style.get(key) and (key, style[key]) != ("stroke-linecap", "butt"):
                made.set(key, style[key].replace(" ", ""))
    if classes:
        made.set("class", " ".join(classes))
    return made


def _set_text(made: ET.Element, element: ET.Element, style: dict[str, str], widths: Widths, height: float) -> None:
    family, size = style.get("font-family", ""), style.get("font-size", "").replace("px", "")
    made.set("y", _short(height - float(element.get("y", "0"))))
    made.set("font-size", size)
    if "bold" in family.lower():
        made.set("font-weight", "600")
    elif "medium" in family.lower():
        made.set("font-weight", "500")
    made.text = _legal((element.text or "").strip("\n\t"))
    wide = widths.get((made.text, family, size))
    if wide and len(made.text) > 1:
        made.set("textLength", _short(wide))
        made.set("lengthAdjust", "spacingAndGlyphs")


def _paint(made: ET.Element, paint: str, style: dict[str, str]) -> list[str]:
    """Set fill or stroke to the page's ink where there is one, and return the class of another colour."""
    value = style.get(paint, "none")
    if value == "none":
        return []
    found = COLOUR.match(value)
    code = "#" + "".join(f"{round(float(part) * 2.55):02x}" for part in found.groups()) if found else value
    name = _class_of(code)
    light = name in ("tint", "pale", "ground") and _name(made) != "text"
    made.set(paint, "none" if light and paint == "fill" else "currentColor")  # what stands there without a style sheet
    return [] if name == "ink" else [f"{paint[0]}-{name}"]


def _class_of(code: str) -> str:
    """Class of a colour; ReportLab rounds to whole per cent, so the nearest within three steps counts."""
    parts = [int(code[i : i + 2], 16) for i in (1, 3, 5)] if re.fullmatch(r"#[0-9a-f]{6}", code) else []
    for known, name in CLASSES.items():
        other = [int(known[i : i + 2], 16) for i in (1, 3, 5)]
        if parts and all(abs(a - b) <= 3 for a, b in zip(parts, other, strict=True)):
            return name
    raise ValueError(f"A drawing uses the colour {code}, which has no class; allowed: {', '.join(CLASSES)}.")


def _style(element: ET.Element) -> dict[str, str]:
    pairs = (part.split(":", 1) for part in element.get("style", "").split(";") if ":" in part)
    return {key.strip(): value.strip() for key, value in pairs}


def _text_widths(drawing: Any) -> Widths:
    """Width of every text of a drawing by text, family and size. [pt]"""
    found: Widths = {}

    def walk(node: Any) -> None:
        for child in getattr(node, "contents", ()):
            walk(child)
        if hasattr(node, "text") and hasattr(node, "fontName"):
            try:
                getFont(node.fontName)
            except KeyError:
                return
            family = str(node.fontName)
            found[(_legal(node.text), family, str(node.fontSize))] = stringWidth(
                node.text, node.fontName, node.fontSize
            )

    walk(drawing)
    return found


def _legal(text: str) -> str:
    """Leave out characters that XML 1.0 forbids."""
    return "".join(
        c for c in text if c in "\t\n\r" or (" " <= c <= "\ud7ff") or ("\ue000" <= c <= "\ufffd") or c > "\uffff"
    )


def _name(element: ET.Element) -> str:
    return element.tag.rsplit("}", 1)[-1]


def _numbers(value: str) -> str:
    return re.sub(r"-?\d+\.\d{3,}", lambda found: _short(float(found.group())), value)


def _short(value: float) -> str:
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text in ("", "-0") else text
