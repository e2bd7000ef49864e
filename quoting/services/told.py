"""Words that people wrote about a job, taken out of a record before it is frozen, and put back when it is read.

A frozen body can never change, so what may name somebody must not be in it: titles, wishes, notes, what is said of a
defect. Those go with the personal part, whose key can be destroyed. Figures, parts and serial numbers stay.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

from django.utils.translation import gettext as _

ANY = "*"
# Where such words stand; a star goes for every entry of a list.
TOLD = (
    ("job", "title"),
    ("brief", "title"),
    ("quote", "note"),
    ("quote", "travellers"),
    ("quote", "reused"),
    ("found",),
    ("ticks", ANY, "note"),
    ("as_found", "parts", ANY, "notes"),
    *(("as_found", "defects", ANY, name) for name in ("words", "remedy", "mended_words", "left_because")),
    ("brief", "changes", ANY, "reason"),
    ("brief", "existing", ANY, "source"),
    ("appraisal", "circuits", ANY, "changed", ANY, "reason"),
    ("appraisal", "circuits", ANY, "stays_source"),
    ("appraisal", "refused", ANY, "reason"),
)
KEPT_KNOWN = ("words", "remedy", "mended_words", "left_because", "reason")
"""What was said is gone, that something was said stays known: a defect is settled, a change has a reason."""
MENDING = ("ticks", ANY, "words")
"""Steps of a build; those that mend a defect begin with what is said of it."""

Words = list[list[Any]]
"""Each where it stood, and the text."""


def take_out(body: dict[str, Any]) -> tuple[dict[str, Any], Words]:
    """The body without what people wrote, and that. The given body is left as it is."""
    left = json.loads(json.dumps(body, allow_nan=False))
    number = body.get("job", {}).get("number", "")
    words: Words = []
    wrong = tuple(str(defect["words"]).rstrip(". ") for defect in (body.get("as_found") or {}).get("defects", ()))
    for path in (*TOLD, MENDING):
        for place in _places(left, path, []):
            holder, name = _holder(left, place)
            text = holder[name]
            if path == MENDING and not str(text).startswith(wrong):
                continue  # a step of every build
            if isinstance(text, str) and text:
                words.append([place, text])
                holder[name] = _("Job %(number)s") % {"number": number} if name == "title" else _instead(name)
    return left, words


def put_back(body: dict[str, Any], words: Words) -> dict[str, Any]:
    """The body as it was given to :func:`take_out`; the body itself is changed."""
    for place, text in words:
        holder, name = _holder(body, place)
        holder[name] = text
    return body


def _instead(name: str) -> str:
    """A defect stays a defect, and settled, when nobody may read any more what was said of it."""
    return _("erased on request") if name in KEPT_KNOWN else ""


def _places(part: Any, path: tuple[str, ...], before: list[Any]) -> Iterator[list[Any]]:
    if not path:
        yield before
    elif path[0] == ANY:
        for number, entry in enumerate(part if isinstance(part, list) else ()):
            yield from _places(entry, path[1:], [*before, number])
    elif isinstance(part, dict) and path[0] in part:
        yield from _places(part[path[0]], path[1:], [*before, path[0]])


def _holder(body: Any, place: list[Any]) -> tuple[Any, Any]:
    for step in place[:-1]:
        body = body[step]
    return body, place[-1]
