"""The typeface of the papers: Inter in three static weights, cut from the installed variable font.

ReportLab knows neither variable fonts nor OpenType features, so the weights are cut once per version of the font
package, the figures made tabular by pointing the character map at the tabular glyphs, and the result kept with the
font's licence beside it. A character the font lacks is printed as its code in brackets, so that nothing is lost unseen.
"""

from __future__ import annotations

import os
import shutil
import tempfile
import unicodedata
from functools import lru_cache
from importlib import metadata
from pathlib import Path
from typing import Any

from reportlab import rl_config
from reportlab.graphics import shapes
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont as EmbeddedFont

PACKAGE = "fontpkg-inter"
CUT = "1"
"""Bumped when the way of cutting changes, so that an old cache is not used."""
REGULAR, MEDIUM, SEMIBOLD = "Inter", "Inter-Medium", "Inter-SemiBold"
WEIGHTS = {REGULAR: 400, MEDIUM: 500, SEMIBOLD: 600}
OPTICAL_SIZE = 14
FACES = {REGULAR: "InterRegular", MEDIUM: "InterMedium", SEMIBOLD: "InterSemiBold"}


def _home() -> Path:
    from django.conf import settings  # only where the fonts are kept depends on the server

    if settings.configured and getattr(settings, "HOME", None):
        return Path(settings.HOME) / "cache" / "fonts"
    return Path(tempfile.gettempdir()) / "loomwright-fonts"


def folder() -> Path:
    """Where the cut weights of the installed font package are kept."""
    return _home() / f"{PACKAGE}-{metadata.version(PACKAGE)}-cut{CUT}"


def _source() -> Path:
    import fontpkg_inter

    root = Path(fontpkg_inter.__file__).parent
    return next(path for path in sorted((root / "files").glob("*.ttf")) if "Italic" not in path.name)


def cut() -> dict[str, Path]:
    """Cut the weights, unless they are there already, and return their files by face name."""
    target = folder()
    files = {name: target / f"{name}.ttf" for name in WEIGHTS}
    licence = target / "LICENSE"
    if all(path.exists() for path in [*files.values(), licence]):
        return files
    target.mkdir(parents=True, exist_ok=True, mode=0o700)
    shutil.copyfile(_source().parent.parent / "LICENSE", licence)
    for name, weight in WEIGHTS.items():
        _cut_weight(name, weight, files[name])
    return files


def _cut_weight(name: str, weight: int, path: Path) -> None:
    from fontTools.ttLib import TTFont
    from fontTools.varLib import instancer

    font = TTFont(_source(), recalcTimestamp=False)
    tabular = _tabular(font)
    _drop(font, ("GSUB", "GPOS", "GDEF", "STAT", "MVAR", "DSIG"))  # first: varying kerning is slow and never used
    font = instancer.instantiateVariableFont(
        font,
        {"wght": weight, "opsz": OPTICAL_SIZE},
        inplace=True,
        optimize=False,
        overlap=instancer.OverlapMode.KEEP_AND_DONT_SET_FLAGS,
    )
    for table in font["cmap"].tables:
        for code, glyph in list(table.cmap.items()):
            if glyph in tabular and _is_figure(chr(code)):
                table.cmap[code] = tabular[glyph]
    _drop(font, ("HVAR", "avar"))
    for record in font["name"].names:
        if record.nameID in (1, 4, 16):
            record.string = FACES[name]
        if record.nameID == 6:
            record.string = FACES[name]
    handle, part = tempfile.mkstemp(dir=path.parent, suffix=".part")
    os.close(handle)
    font.save(part)
    Path(part).replace(path)  # a second worker doing the same replaces like with like


def _drop(font: Any, tags: tuple[str, ...]) -> None:
    for tag in tags:
        if tag in font:
            del font[tag]


def _is_figure(character: str) -> bool:
    return character in "0123456789+−=<>≤≥±×÷≈"


def _tabular(font: Any) -> dict[str, str]:
    """Glyph to tabular glyph, from the font's own ``tnum`` feature."""
    table = font["GSUB"].table
    found: dict[str, str] = {}
    for record in table.FeatureList.FeatureRecord:
        if record.FeatureTag != "tnum":
            continue
        for index in record.Feature.LookupListIndex:
            for sub in table.LookupList.Lookup[index].SubTable:
                found.update(getattr(sub, "ExtSubTable", sub).mapping)
    return found


@lru_cache(maxsize=1)
def register() -> None:
    """Make the three faces known to ReportLab, once per process, and keep its own Helvetica out of files."""
    for name, path in cut().items():
        pdfmetrics.registerFont(EmbeddedFont(name, str(path)))
    pdfmetrics.registerFontFamily(REGULAR, normal=REGULAR, bold=SEMIBOLD, italic=REGULAR, boldItalic=SEMIBOLD)
    rl_config.canvas_basefontname = REGULAR
    shapes.STATE_DEFAULTS["fontName"] = REGULAR


@lru_cache(maxsize=1)
def covered() -> frozenset[int]:
    """Code points every weight has a glyph for."""
    register()
    sets = [set(pdfmetrics.getFont(name).face.charToGlyph) for name in WEIGHTS]
    return frozenset(set.intersection(*sets))


def printable(text: str) -> str:
    """Return text with only characters that print; the others become their code, as ``[U+738B]``.

    Composed form first, so that a letter with its accent is one glyph. Control characters go, line ends stay.
    """
    known = covered()
    out = []
    for character in unicodedata.normalize("NFC", text.replace("\r\n", "\n").replace("\r", "\n").replace("\t", " ")):
        if character == "\n" or ord(character) in known:
            out.append(character)
        elif unicodedata.category(character) not in ("Cc", "Cf", "Cs", "Mn"):
            out.append(f"[U+{ord(character):04X}]")
    return "".join(out)


def width(text: str, face: str = REGULAR, size: float = 8.6) -> float:
    """Width of one line of text. [pt]"""
    register()
    return float(pdfmetrics.stringWidth(text, face, size))
