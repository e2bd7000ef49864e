"""From frozen snapshots to content: one builder per paper, none of them near a database."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from quoting.documents import as_found
from quoting.documents.build_diagram import diagram_content
from quoting.documents.build_fuse_map import fuse_map_content
from quoting.documents.build_handover import handover_content
from quoting.documents.build_labels import labels_content
from quoting.documents.build_mended import mended_content
from quoting.documents.build_plan import plan_content
from quoting.documents.build_quote import quote_content
from quoting.documents.build_test import test_content
from quoting.documents.build_wiring import wiring_content
from quoting.documents.common import AS_BUILT, DESIGNED, Frozen, UnknownSnapshot
from quoting.documents.content import HandoverContent, MendedContent


def owner_content(frozen: Frozen) -> HandoverContent | MendedContent:
    """What an owner reads: of a system how to live with it, of a fault job what was found and mended."""
    return mended_content(frozen) if as_found.is_fault(frozen) else handover_content(frozen)


BUILDERS: dict[str, tuple[Callable[[Frozen], Any], frozenset[str]]] = {
    "quote": (quote_content, frozenset({"loomwright.quote/1"})),
    "diagram": (diagram_content, DESIGNED | {AS_BUILT}),
    "wiring": (wiring_content, DESIGNED | {AS_BUILT}),
    "plan": (plan_content, DESIGNED | {AS_BUILT}),
    "labels": (labels_content, DESIGNED | {AS_BUILT}),
    "fuse_map": (fuse_map_content, DESIGNED | {AS_BUILT}),
    "test_sheet": (test_content, DESIGNED | {AS_BUILT}),
    "handover": (owner_content, frozenset({AS_BUILT})),
}
"""Each paper's builder, and the schemas of the snapshots it can be made from."""


def open_for(kind: str, body: dict[str, Any], personal: dict[str, Any] | None, checksum: str) -> Frozen:
    """Open a snapshot for a paper; :class:`UnknownSnapshot` names what does not fit."""
    if kind not in BUILDERS:
        raise UnknownSnapshot(f"{kind!r} is no paper; there are {', '.join(BUILDERS)}.")
    schema, allowed = body.get("schema"), BUILDERS[kind][1]
    if schema not in allowed:
        raise UnknownSnapshot(f"A {kind} is made from {', '.join(sorted(allowed))}, not from {schema!r}.")
    return Frozen.open(body, personal, checksum)


def content_of(kind: str, frozen: Frozen) -> Any:
    """The content dataclass of a paper."""
    return BUILDERS[kind][0](frozen)
