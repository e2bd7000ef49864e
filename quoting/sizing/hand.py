"""A change by hand tried against everything that a job is worked out from, before it is kept."""

from __future__ import annotations

from quoting.sizing.appraise import wiring_of
from quoting.sizing.brief import Brief
from quoting.sizing.brief_wiring import HandChange
from quoting.sizing.wiring_records import RefusedChange


def try_change(brief: Brief, change: HandChange) -> tuple[RefusedChange, ...]:
    """Say why a change by hand would be refused.

    Parameters
    ----------
    brief : Brief
        The job as it stands. An earlier change for the same circuit is left out.
    change : HandChange
        What a person wants for one circuit.

    Returns
    -------
    tuple of RefusedChange
        Empty where it would be taken. Rules of section 7 that nothing overrides, with their numbers.

    Raises
    ------
    SizingError
        If no wiring can be made from the Brief at all.
    """
    others = tuple(c for c in brief.changes if c.circuit != change.circuit)
    tried = brief.model_copy(update={"changes": (*others, change)})
    return tuple(r for r in wiring_of(tried).refused if r.circuit == change.circuit)
