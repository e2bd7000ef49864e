"""What is said of runs that a person settled or that lay there already, by the tags that they got."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from quoting.sizing.appraisal import Circuit
from quoting.sizing.brief import Brief
from quoting.sizing.load_circuit import words_of
from quoting.sizing.runs_hand import Settled
from quoting.sizing.trace import Finding, Scalar, finding
from quoting.sizing.wiring_records import RefusedChange


def refused_changes(
    brief: Brief, settled: Mapping[str, Settled], circuits: Iterable[Circuit]
) -> tuple[RefusedChange, ...]:
    """Every hand change that was not taken, in the Brief's order; those of circuits that are not there among them."""
    named = {c.key: c for c in circuits}
    out = []
    for change in brief.changes:
        done, circuit = settled.get(change.circuit), named.get(change.circuit)
        tag = circuit.tag if circuit else ""
        if done is not None and done.refused is not None:
            out.append(done.refused.model_copy(update={"tag": tag}))
        elif done is None:
            code = "not_changeable" if circuit else "no_such_circuit"
            name = circuit.name if circuit else words_of(change.circuit.removeprefix("load:"))
            out.append(
                RefusedChange(circuit=change.circuit, tag=tag, name=name, code=code, params={}, reason=change.reason)
            )
    return tuple(out)


def told_of(
    brief: Brief, settled: Mapping[str, Settled], circuits: Iterable[Circuit], refused: Iterable[RefusedChange]
) -> tuple[Finding, ...]:
    """Findings about changes that were refused, what lies there and must go, and what lies there for no circuit."""
    tags = {c.key: c.tag for c in circuits}
    out = []
    for key, done in settled.items():
        out += [one.model_copy(update={"subject": tags.get(key, one.subject)}) for one in done.said]
    for change in refused:
        said: dict[str, Scalar] = {"name": change.name, "rule": change.code}
        subject = change.tag or change.circuit
        out.append(Finding(level="warning", code="change_refused", subject=subject, params=said | change.params))
    for lies in brief.existing:
        if lies.circuit not in settled:
            out.append(finding("info", "existing_unused", lies.circuit, name=lies.name))
    return tuple(out)
