"""The way in: a frozen snapshot becomes a PDF. Same snapshot, same version, same bytes."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from dataclasses import dataclass
from importlib import metadata
from typing import Any

from django.utils import translation

from quoting.documents import fonts
from quoting.documents.builders import content_of, open_for
from quoting.documents.diagram import diagram_pdf
from quoting.documents.forms import clean
from quoting.documents.fuse_map import fuse_map_pdf
from quoting.documents.labels import labels_pdf
from quoting.documents.layout import Built
from quoting.documents.mended import owner_pdf
from quoting.documents.plan import plan_pdf
from quoting.documents.quote import quote_pdf
from quoting.documents.test_sheet import test_sheet_pdf
from quoting.documents.wiring import wiring_pdf

EDITION = 7
"""Bumped whenever this code may make other bytes of the same snapshot."""


def _version() -> str:
    """The edition, and a sign of the packages whose change moves bytes: faces, layout, numbers of the locale."""
    packages = [f"{name} {metadata.version(name)}" for name in ("babel", "fonttools", fonts.PACKAGE, "reportlab")]
    return f"{EDITION}-{hashlib.sha256(' '.join([*packages, fonts.CUT]).encode()).hexdigest()[:8]}"


RENDERER_VERSION = _version()


@dataclass(frozen=True, slots=True)
class Rendered:
    """A paper's bytes, how many pages it has, and the version that made it."""

    pdf: bytes
    pages: int
    version: str


PAPERS: dict[str, Callable[[Any, Any, str], Built]] = {
    "quote": quote_pdf,
    "diagram": diagram_pdf,
    "wiring": wiring_pdf,
    "plan": plan_pdf,
    "labels": labels_pdf,
    "fuse_map": fuse_map_pdf,
    "test_sheet": test_sheet_pdf,
    "handover": owner_pdf,
}
"""What prints each kind: content, appraisal and form in, bytes out."""


def render(kind: str, body: dict[str, Any], personal: dict[str, Any] | None, checksum: str, form: str = "") -> Rendered:
    """Make a paper of a snapshot.

    Parameters
    ----------
    kind : str
        One of ``PAPERS``.
    body : dict
        The snapshot's canonical content.
    personal : dict or None
        Who it is about; ``None`` once it was erased, and the paper then says so.
    checksum : str
        Of the snapshot, 64 hexadecimal signs; its first 16 stand on every page.
    form : str
        Page or label sheet (``forms``); the kind's usual one when empty.

    Raises
    ------
    UnknownSnapshot
        If the paper cannot be made from a snapshot of this schema.
    DrawingIncomplete
        If a text of the diagram found no free place.
    UnknownForm
        If the kind of paper has no such form.
    """
    form = clean(kind, form)
    frozen = open_for(kind, body, personal, checksum)
    with translation.override(frozen.locality.language.replace("_", "-").lower()):
        built = PAPERS[kind](content_of(kind, frozen), frozen.appraisal, form)
    return Rendered(built.pdf, built.pages, RENDERER_VERSION)
