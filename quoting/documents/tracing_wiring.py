"""Numbers of the papers that wiring is built from which no leaf of the snapshot holds, by what they are made of."""

from __future__ import annotations

from quoting import words
from quoting.documents import build_labels, cutting, fuse_devices
from quoting.documents.common import Frozen
from quoting.documents.forms import form_words, labels_of
from quoting.documents.speech import figure


def derived(frozen: Frozen, form: str = "") -> dict[str, set[str]]:
    """Numbers by what they are made of, as they are printed."""
    return {
        "ampacity that the design current leaves": {figure(c.left_a, 0) for c in frozen.appraisal.circuits},
        "notes of hand changes": {str(n) for n in range(1, 1 + sum(1 for c in frozen.appraisal.circuits if c.changed))},
        "cable laid, spare and bought": _cable(frozen),
        "numbers of outputs": _outputs(frozen),
        "terminals counted": _terminals(frozen),
        "labels and sheets counted": _labels(frozen, form),
        "numbers of the questions": {str(n + 1) for n in range(len(words.questions_for(frozen.appraisal)))},
        "fuses counted": {figure(count) for count in fuse_devices.spare_counts(frozen).values()},
    }


def _cable(frozen: Frozen) -> set[str]:
    found = set()
    for (_area, _colour, part, stays), pieces in cutting.by_cable(frozen).items():
        laid, bought = cutting.laid_m(pieces), cutting.bought_m(frozen, part)
        found |= {figure(laid, 2), str(len(pieces))}
        if bought and not stays:
            found |= {figure(bought, 1), figure(bought - laid, 2)}
    return found


def _outputs(frozen: Frozen) -> set[str]:
    return {str(n) for module in frozen.appraisal.modules for n in range(1, 1 + len(module.limits_a))}


def _terminals(frozen: Frozen) -> set[str]:
    most = 2 * len(cutting.pieces_of(frozen))
    return {str(n) for n in range(most + 1)}


def _labels(frozen: Frozen, form: str) -> set[str]:
    from quoting.documents.tracing import TOKEN

    labels = labels_of(form)
    count = len(build_labels.labels(frozen))
    sheets = -(-(count + labels.first - 1) // labels.sheet.count)
    measures = {*TOKEN.findall(form_words(form or labels.sheet.code)), str(build_labels.RULER_MM)}
    return measures | {str(count), str(sheets), str(labels.first), str(labels.sheet.count)}
