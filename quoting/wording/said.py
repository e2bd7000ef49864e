"""One sentence of what choosing says of itself, whatever codes stand in it."""

from __future__ import annotations

from typing import Any

from quoting import words
from quoting.sizing.selecting.records import Said
from quoting.wording.findings import FINDING
from quoting.wording.roles import role_words
from quoting.wording.selecting import SAID
from quoting.wording.shortfalls import NEED, SUBJECT


def said_words(said: Said) -> str:
    """The sentence; codes of needs, roles, findings and offers within it are words too. An unknown code is shown."""
    params: dict[str, Any] = dict(said.params)
    if "need" in params:
        params["need"] = str(NEED.get(str(params["need"]), params["need"]))
    if "subject" in params:
        params["subject"] = str(SUBJECT.get(str(params["subject"]), params["subject"]))
    if "role" in params:
        params["role"] = role_words(str(params["role"]))
    if "finding" in params:
        title, _sentence = FINDING.get(str(params["finding"]), (params["finding"], ""))
        params["finding"] = words.fill(title, said.params)
    return words.fill(SAID[said.code], params) if said.code in SAID else said.code
