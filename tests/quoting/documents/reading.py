"""Papers read back: text by page, where each piece of text stands, which faces are in the file."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from io import BytesIO
from typing import Any

from pypdf import PdfReader

from quoting.documents import fonts
from quoting.documents.render import Rendered, render
from tests.quoting.documents import sample

BODIES = {
    "quote": sample.quote_body,
    "diagram": sample.design_body,
    "wiring": sample.design_body,
    "plan": sample.design_body,
    "labels": sample.design_body,
    "fuse_map": sample.design_body,
    "test_sheet": sample.design_body,
    "handover": sample.as_built_body,
}


@lru_cache(maxsize=16)
def paper(kind: str) -> Rendered:
    """A paper of the sample as it is."""
    return render(kind, BODIES[kind](), sample.PERSONAL, sample.CHECKSUM)


def pages(pdf: bytes) -> list[str]:
    """Text of each page with one kind of space."""
    return [page.extract_text().replace("\u00a0", " ") for page in PdfReader(BytesIO(pdf)).pages]


def flat(pdf: bytes) -> str:
    """All text in one line, so that line ends do not matter."""
    return " ".join(" ".join(pages(pdf)).split())


@dataclass(frozen=True)
class Piece:
    page: int
    text: str
    x: float
    y: float
    size: float
    face: str

    @property
    def right(self) -> float:
        return self.x + fonts.width(self.text, self.face, self.size)


FACES = {made: name for name, made in fonts.FACES.items()}


def pieces(pdf: bytes) -> list[Piece]:
    """Every run of text with its place and size. [pt]"""
    found: list[Piece] = []
    for number, page in enumerate(PdfReader(BytesIO(pdf)).pages, 1):

        def visit(text: str, cm: Any, tm: Any, font: Any, size: float, number: int = number) -> None:
            if not text.strip() or font is None:
                return
            x = cm[0] * tm[4] + cm[2] * tm[5] + cm[4]
            y = cm[1] * tm[4] + cm[3] * tm[5] + cm[5]
            face = FACES[font["/BaseFont"].rsplit("+", 1)[-1]]
            for line in text.split("\n")[:1]:
                found.append(Piece(number, line, x, y, abs(size * tm[0] * cm[0]), face))

        page.extract_text(visitor_text=visit)
    return found


def faces(pdf: bytes) -> dict[str, bool]:
    """Faces in a file, and whether each is embedded."""
    found = {}
    for page in PdfReader(BytesIO(pdf)).pages:
        for font in page["/Resources"]["/Font"].values():
            font = font.get_object()
            descriptor = font.get("/FontDescriptor")
            found[str(font["/BaseFont"])] = descriptor is not None and "/FontFile2" in descriptor.get_object()
    return found
