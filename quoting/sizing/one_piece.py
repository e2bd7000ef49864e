"""One part that does two things is bought, weighed, fitted and fed once.

A monitor with switched outputs is both the monitor and the switching module; so may a charger with outputs be. Each
role stays a choice of its own, with its settings; the role whose pieces they are is in ``Chosen.same_as``.
"""

from __future__ import annotations

from collections.abc import Iterable

from quoting.sizing.appraisal import Chosen

BESIDE = ("monitor", "switching", "sensing")
"""What a part may be beside what else it is, without a circuit to the battery of its own for it."""


def shared(chosen: Iterable[Chosen]) -> tuple[Chosen, ...]:
    """Say of each choice whose piece it is, where another role has the same part; bought ones only.

    The role that asks more pieces has them; of equal ones the first that is more than a :data:`BESIDE` role.
    """
    every = list(chosen)
    order = sorted(range(len(every)), key=lambda i: (-every[i].quantity, every[i].role in BESIDE, i))
    owner: dict[str, Chosen] = {}
    for i in order:
        one = every[i]
        if one.kept or one.role in ("battery", "panel", "sensor"):
            continue
        first = owner.setdefault(one.part, one)
        if first is not one and (one.role in BESIDE or first.role in BESIDE):
            every[i] = one.model_copy(update={"same_as": first.role, "mass_kg": 0.0})
    return tuple(every)


def pieces(chosen: Iterable[Chosen]) -> tuple[Chosen, ...]:
    """The choices that are pieces of their own: each part once."""
    return tuple(one for one in chosen if not one.same_as)


def also(chosen: Iterable[Chosen], one: Chosen) -> tuple[Chosen, ...]:
    """What the pieces of one choice are as well."""
    return tuple(other for other in chosen if other.same_as == one.role and other.part == one.part)
