"""Which device opens first: one that stands before others should let them open and stay closed itself."""

from __future__ import annotations

from collections.abc import Iterable

from quoting.sizing.appraisal import Circuit
from quoting.sizing.trace import Finding, finding

SELECTIVE_RATIO = 1.6
"""Rating of a fuse over that of one behind it, from which only the one behind opens. IEC 60269-1 (M); taken for
breakers too, where it holds for overloads only. C"""

MOST_NAMED = 6
"""Circuits that a finding names; of more it says how many."""

FEEDING = ("battery_main", "distribution", "converter_output", "starter_feed")
"""Roles of circuits that others hang on."""


def not_selective(circuits: Iterable[Circuit]) -> tuple[Finding, ...]:
    """Say which devices may open before one behind them, once for each that stands before others.

    Batteries side by side feed a fault together, so their devices count together.
    """
    all_of = list(circuits)
    before: dict[str, list[Circuit]] = {}
    for c in all_of:
        if c.role in FEEDING:
            before.setdefault(c.target, []).append(c)
    found = []
    for node, feeds in before.items():
        rating = sum(_rating_a(c) for c in feeds)
        behind = [c for c in all_of if c.source == node and rating < SELECTIVE_RATIO * _rating_a(c)]
        if rating and behind:
            names = ", ".join(f"{c.tag} {c.name}" for c in behind[:MOST_NAMED])
            more = f" (+{len(behind) - MOST_NAMED})" if len(behind) > MOST_NAMED else ""
            found.append(
                finding(
                    "info", "not_selective", feeds[0].tag, name=feeds[0].name, rating_a=rating,
                    names=names + more,
                    behind_a=max(_rating_a(c) for c in behind), least=SELECTIVE_RATIO,
                )
            )  # fmt: skip
    return tuple(found)


def _rating_a(circuit: Circuit) -> float:
    """The device of a circuit; those at its two ends are equal. 0 without one. [A]"""
    return max((d.rating_a for d in circuit.devices if d.what in ("fuse", "breaker")), default=0.0)
