"""The faces of the papers: cut once, tabular, every sign we print, an unknown one never lost."""

from __future__ import annotations

import pytest

from quoting.documents import fonts
from quoting.documents.text import markup, shortened, strong, typed

PRINTED = "0123456789 ,.:;()–—…‘’“”'\"&<>@/%+−=×÷±≤≥≈√°²³½·ΩµμΔαÄÖÜäöüßéèêçñøåæœłžšğ€£$¥→✓"


@pytest.mark.parametrize("face", fonts.WEIGHTS)
def test_every_sign_we_print_has_a_glyph(face):
    fonts.register()
    known = fonts.covered()

    missing = [sign for sign in PRINTED if ord(sign) not in known]

    assert missing == []


@pytest.mark.parametrize("face", fonts.WEIGHTS)
def test_figures_are_tabular(face):
    widths = {round(fonts.width(digit, face, 10), 4) for digit in "0123456789"}

    assert len(widths) == 1
    assert fonts.width("−", face, 10) == pytest.approx(fonts.width("+", face, 10))


def test_weights_differ_and_the_licence_stands_beside_them():
    files = fonts.cut()

    sizes = {path.read_bytes() for path in files.values()}
    licence = (fonts.folder() / "LICENSE").read_text(encoding="utf-8")

    assert len(sizes) == 3
    assert "SIL OPEN FONT LICENSE" in licence.upper()


def test_a_cut_is_used_again():
    first = {path: path.stat().st_mtime_ns for path in fonts.cut().values()}

    again = {path: path.stat().st_mtime_ns for path in fonts.cut().values()}

    assert again == first


@pytest.mark.parametrize(
    ("given", "printed"),
    [
        ("王 Wagon", "[U+738B] Wagon"),
        ("e\u0301clair", "éclair"),
        ("a\x07b\u200dc", "abc"),
        ("one\r\ntwo", "one\ntwo"),
        ("🔋", "[U+1F50B]"),
    ],
)
def test_an_unknown_sign_falls_back_visibly(given, printed):
    assert fonts.printable(given) == printed


def test_typed_text_is_never_markup():
    given = typed({"name": 'Fuse <5 A & "holder"\x0e</font>\x10'})["name"]

    assert given == 'Fuse <5 A & "holder"</font>'
    assert markup(given) == 'Fuse &lt;5\u00a0A &amp; "holder"&lt;/font&gt;'
    assert markup(strong("24 h") + " more") == '<font name="Inter-SemiBold">24\u00a0h</font> more'


def test_thousands_and_units_hold_together():
    assert markup("2\u202f000 W and 16 mm² for 3 days") == "2\u00a0000\u00a0W and 16\u00a0mm² for 3 days"


def test_a_running_line_is_cut_to_its_room():
    cut = shortened("Geologist’s field wagon and its very long name", 60)

    assert cut.endswith("…")
    assert fonts.width(cut, size=7) <= 60
    assert shortened("short", 60) == "short"
