"""What the circuit of a load is known by: the name that loads share one under, or the key of a load on its own."""

from __future__ import annotations

from quoting.sizing.brief import Brief

LIVE = "+live"
"""Behind the key of the Always live part of a circuit that was named for both."""
CONTROL = "control"
"""The circuit that monitor and modules live on, which no load may be taken for."""
NAMED, ALONE = "#", "="
"""Before a name, or a load's key, that could be taken for something else."""


def circuit_keys(brief: Brief) -> dict[str, str]:
    """Key of the circuit of each load, by the load's key.

    Two circuits never have one key: a name that is a number, another load's key, or looks like a key with a converter
    behind it is marked. Somebody may well call a circuit “1” or “control”.
    """
    known = {x.key for x in brief.loads}
    return {
        x.key: _marked(NAMED, x.circuit, x.circuit in known or x.circuit.isdigit())
        if x.circuit
        else _marked(ALONE, x.key, False)
        for x in brief.loads
    }


def words_of(key: str) -> str:
    """The name in a circuit's key, as it was typed."""
    return key[1:] if key[:1] in (NAMED, ALONE) else key


def _marked(mark: str, text: str, taken: bool) -> str:
    unclear = taken or text == CONTROL or text[0] in (NAMED, ALONE) or "@" in text or text.endswith(LIVE)
    return mark + text if unclear else text
