"""A programme as matrices: what fills what, what gives how much, what each option counts for."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from quoting.sizing.brief_choosing import Objective
from quoting.sizing.selecting.problem import Option, Problem

if TYPE_CHECKING:
    from numpy import bool_, float64, int64
    from numpy.typing import NDArray

    Floats = NDArray[float64]
    Whole = NDArray[int64]
    Mask = NDArray[bool_]

PER_UNIT = 10_000
"""Steps of money in one unit of currency, and of mass in a kilogram: sums of whole steps are exact."""


@dataclass(frozen=True, slots=True)
class Matrices:
    """A problem's options in the order of their keys, as columns."""

    problem: Problem
    options: tuple[Option, ...]
    fills: Mask
    """Groups × options."""
    gives: Floats
    """Rows × options."""
    least: Floats
    most: Floats
    slack: Floats
    """By which each row may be missed."""
    mass: Whole
    """In steps of :data:`PER_UNIT`."""

    @classmethod
    def of(cls, problem: Problem) -> Matrices:
        """Write a problem down; raises ``ValueError`` where two options have the same key."""
        import numpy as np

        options = tuple(sorted(problem.options, key=lambda o: o.key))
        twice = next((a.key for a, b in itertools.pairwise(options) if a.key == b.key), None)
        if twice is not None:
            raise ValueError(f"two options have the key {twice!r}")
        group_at = {group: i for i, group in enumerate(problem.groups)}
        row_at = {row.name: i for i, row in enumerate(problem.rows)}
        fills = np.zeros((len(group_at), len(options)), dtype=bool)
        gives = np.zeros((len(row_at), len(options)))
        for j, option in enumerate(options):
            for group in option.fills:
                fills[group_at[group], j] = True
            for name, value in option.gives.items():
                at = row_at.get(name)
                if at is not None:
                    gives[at, j] = value
        rows = problem.rows
        return cls(
            problem,
            options,
            fills,
            gives,
            np.array([r.least for r in rows], dtype=float),
            np.array([r.most for r in rows], dtype=float),
            np.array([r.slack for r in rows], dtype=float),
            np.array([round(o.mass_kg * PER_UNIT) for o in options], dtype=np.int64),
        )

    def costs(self, objective: Objective) -> Whole:
        """What each option counts for, in steps of :data:`PER_UNIT`; dearer for what waits where stock is preferred."""
        import numpy as np

        if objective == "mass":
            return self.mass
        premium = self.problem.premium_ratio
        values = (
            (o.price if objective == "price" else o.yearly) * (1 + premium if o.waits else 1) for o in self.options
        )
        return np.array([round(v * PER_UNIT) for v in values], dtype=np.int64)

    def columns(self, at: Any) -> Matrices:
        """The same with some of the options only, by index in ascending order or by mask."""
        import numpy as np

        index = np.flatnonzero(at) if np.asarray(at).dtype == np.bool_ else np.asarray(at, dtype=int)
        options = tuple(self.options[i] for i in index)
        return Matrices(
            self.problem, options, self.fills[:, index], self.gives[:, index], self.least, self.most, self.slack,
            self.mass[index],
        )  # fmt: skip


def sparse(parts: Sequence[Any]) -> Any:
    """Blocks one under the other as a sparse matrix."""
    import numpy as np
    from scipy.sparse import csr_array

    return csr_array(np.vstack(parts))
