"""What a person must know of a design, in words."""

from __future__ import annotations

from dataclasses import dataclass

from django.utils.translation import gettext as _

from quoting import words
from quoting.sizing.appraisal import Appraisal
from quoting.sizing.trace import Finding


@dataclass(frozen=True, slots=True)
class FindingRow:
    level: str
    title: str
    words: str


LEVELS = ("danger", "warning", "info")


def finding_rows(appraisal: Appraisal) -> list[FindingRow]:
    """Shortfalls and findings, the gravest first; a danger says what it stops."""
    rows = [
        FindingRow("danger", _("not in the catalogue"), f"{words.shortfall_words(s)} {_STOPS()}")
        for s in appraisal.shortfalls
    ]
    rows += [finding_row(f) for f in sorted(appraisal.findings, key=lambda f: LEVELS.index(f.level))]
    return list(dict.fromkeys(rows))  # two stops at one site say the same


def finding_row(finding: Finding) -> FindingRow:
    title, sentence = words.finding_words(finding)
    return FindingRow(finding.level, title, f"{sentence} {_STOPS()}" if finding.level == "danger" else sentence)


def _STOPS() -> str:  # noqa: N802
    return _("No quote is issued with it.")
