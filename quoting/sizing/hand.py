"""A change by hand tried against everything that a job is worked out from, before it is kept."""

from __future__ import annotations

from quoting.sizing.appraisal import Shortfall
from quoting.sizing.appraise import wiring_of
from quoting.sizing.brief import Brief
from quoting.sizing.brief_wiring import CHANGEABLE, HandChange
from quoting.sizing.circuits import Wiring
from quoting.sizing.trace import Scalar
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
        Empty where it would be taken. Rules of section 7 that nothing overrides, with their numbers; what the
        catalogue could no longer meet; another change that would no longer hold.

    Raises
    ------
    SizingError
        If no wiring can be made from the Brief at all.
    """
    others = tuple(c for c in brief.changes if c.circuit != change.circuit)
    tried = wiring_of(brief.model_copy(update={"changes": (*others, change)}))
    own = tuple(r for r in tried.refused if r.circuit == change.circuit)
    if own or not (tried.refused or tried.shortfalls):
        return own
    before = wiring_of(brief.model_copy(update={"changes": others}))
    known = {(s.need.code, s.subject) for s in before.shortfalls}
    short = next((s for s in tried.shortfalls if (s.need.code, s.subject) not in known), None)
    if short is not None:
        return (_told(tried, change, "leaves_short", _of(short)),)
    stood = {r.circuit for r in before.refused}
    fallen = next((r for r in tried.refused if r.circuit not in stood), None)
    return () if fallen is None else (_told(tried, change, "undoes_change", {"other": fallen.name}),)


def _told(wiring: Wiring, change: HandChange, code: str, params: dict[str, Scalar]) -> RefusedChange:
    circuit = next((c for c in wiring.circuits if c.key == change.circuit), None)
    field = next(name for name in CHANGEABLE if getattr(change, name) is not None)
    return RefusedChange(
        circuit=change.circuit, tag=circuit.tag if circuit else "", name=circuit.name if circuit else change.circuit,
        field=field, code=code, params=params, reason=change.reason,
    )  # fmt: skip


def _of(short: Shortfall) -> dict[str, Scalar]:
    """What would be lacking, with its number where it is a current."""
    said: dict[str, Scalar] = {"subject": short.subject, "need": short.need.code}
    if short.params.get("unit") == "A":
        said |= {"asked_a": short.params.get("asked"), "best_a": short.params.get("best_value")}
    return said
