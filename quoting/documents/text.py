"""Plain words into ReportLab's mark-up, and nothing a person typed into anything but words.

Content is plain strings. Two inks may be asked for inside one: ``strong("24 h")`` and ``quiet("W")`` put marks that
no typed text can carry, because :func:`typed` takes control characters out of everything that comes from a snapshot.
"""

from __future__ import annotations

import re
from typing import Any
from xml.sax.saxutils import escape

from quoting.documents import fonts

INK, SECOND, HAIRLINE, ACCENT, PALE, TINT, DANGER = (
    "#000000",
    "#595959",
    "#9a9a9a",
    "#0a5957",
    "#b3c9c7",
    "#f0f0f0",
    "#a61f17",
)
_STRONG, _QUIET, _END_STRONG, _END_QUIET = "\x0e", "\x0f", "\x10", "\x11"
_TAGS = {
    _STRONG: f'<font name="{fonts.SEMIBOLD}">',
    _END_STRONG: "</font>",
    _QUIET: f'<font color="{SECOND}">',
    _END_QUIET: "</font>",
}


_UNITS = re.compile(r"(\d) (L|l|W|kW|Wh|kWh|A|mA|kA|Ah|V|VA|mm²|m|mm|m²|kg|h|min|s|ms|°C|K|Ω|MΩ|%|Hz)(?![\w²])")
"""A figure and its unit, typed with a plain space: the space is made one that does not break."""


def strong(words: str) -> str:
    """Ask for the heavier weight."""
    return f"{_STRONG}{words}{_END_STRONG}" if words else ""


def quiet(words: str) -> str:
    """Ask for the second ink."""
    return f"{_QUIET}{words}{_END_QUIET}" if words else ""


def unmarked(words: str) -> str:
    """Text without the marks of :func:`strong` and :func:`quiet`."""
    return "".join(c for c in words if c not in _TAGS)


def typed(value: Any) -> Any:
    """Copy a snapshot with every control character taken out of its strings, line ends and tabs apart."""
    if isinstance(value, str):
        return "".join(c for c in value if c in "\n\t" or not (ord(c) < 32 or ord(c) == 127))
    if isinstance(value, dict):
        return {key: typed(each) for key, each in value.items()}
    if isinstance(value, list | tuple):
        return [typed(each) for each in value]
    return value


def held(words: str) -> str:
    """A typed text whose figures keep their units: the space between does not break.

    >>> held("Refrigerator, 40 L") == "Refrigerator, 40\u00a0L"
    True
    """
    return _UNITS.sub("\\1\u00a0\\2", words)


def markup(words: str) -> str:
    """Words as ReportLab's paragraph mark-up: escaped, unknown glyphs replaced, marks turned into faces and inks.

    ReportLab breaks lines at U+202F, so the thousands' space becomes U+00A0, which holds.
    """
    out, run = [], ""
    for character in words:
        if character in _TAGS:
            out += [escape(fonts.printable(run)), _TAGS[character]]
            run = ""
        else:
            run += character
    out.append(escape(fonts.printable(run)))
    return held("".join(out)).replace("\u202f", "\u00a0").replace("\n", "<br/>")


def shortened(words: str, room: float, face: str = fonts.REGULAR, size: float = 7) -> str:
    """One line of text that fits the room, an ellipsis where it had to be cut. [pt]"""
    words = fonts.printable(unmarked(words)).replace("\n", " ")
    if fonts.width(words, face, size) <= room:
        return words
    while words and fonts.width(words + "…", face, size) > room:
        words = words[:-1]
    return words.rstrip() + "…"
