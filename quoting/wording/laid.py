"""Why a circuit cannot hang on the switched output that a person gave it, as a sentence."""

from __future__ import annotations

from quoting.sizing.outputs_fit import Refusal
from quoting.wording.outputs import WHY
from quoting.words import fill


def laid_refused_words(refusal: Refusal) -> str:
    """One sentence with the numbers: what the output carries, what the circuit takes, by how much it is over."""
    return fill(WHY[refusal.code], refusal.params)
