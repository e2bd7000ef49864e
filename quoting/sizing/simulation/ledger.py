"""What is written down of a simulation, block by block, from the flows of its loop."""

from __future__ import annotations

from collections.abc import Collection
from typing import TYPE_CHECKING, Any

import numpy as np

from quoting.sizing.errors import SizingError
from quoting.sizing.simulation.fixed import Fixed
from quoting.sizing.simulation.plant import Course, Outcome
from quoting.sizing.simulation.rows import Block, Sum, height_of

if TYPE_CHECKING:
    from quoting.sizing.simulation.plant import Flags, Floats

POWERS = (
    "charge_ratio", "given_w", "unserved_w", "dark_w", "shed_w", "charge_w", "discharge_w", "loss_w", "taken_w",
)  # fmt: skip
"""Arrays that can be asked for one by one."""
ROUNDING = 1e-9
"""Of the largest load: less than this not given is rounding."""


class Ledger:
    """The arrays of an outcome and how they come of the loop's flows. What is not asked for stays empty.

    They are one piece of memory, which the system gives many times faster than as many pieces. ``more`` names arrays
    that the loop writes itself.
    """

    def __init__(self, course: Course, fixed: Fixed, record: Collection[str] | None, more: tuple[str, ...]) -> None:
        unknown = sorted(set(record or ()) - set(POWERS))
        if unknown:
            raise SizingError("record", value=unknown[0], code="not_a_choice", message=f"unknown {unknown[0]!r}")
        self.asked = frozenset(POWERS if record is None else record)
        self._fixed, n = fixed, fixed.members
        names = (*(name for name in POWERS if name in self.asked), *more)
        self.arrays: dict[str, Floats] = dict.fromkeys(POWERS, np.empty((0, n)))
        self.arrays.update(zip(names, np.empty((len(names), fixed.steps, n)), strict=True))
        self._per_full = -fixed.per_full
        self._per_efficiency = 1 / fixed.efficiency
        self._tiny = ROUNDING * max(1.0, float(np.max(course.load_w)))
        self._essential = Sum(course.essential_w)
        height = height_of(fixed.steps, n)
        self._wanted = np.empty((height, n))
        self._scratch = {name: np.empty((height, n)) for name in POWERS if name not in self.asked}

    def write(self, block: Block, shed: Floats | None) -> None:
        """A block's rows, from ``flow``, ``net`` and ``empty`` of the loop and what was shed. [W]"""
        rows, asked, flow = block.rows, self.asked, block.flow
        count = rows.stop - rows.start
        into = {n: self.arrays[n][rows] if n in asked else self._scratch[n][:count] for n in POWERS}
        if "charge_ratio" in asked:
            np.multiply(block.empty, self._per_full, into["charge_ratio"])
            if self._fixed.wells is not None:  # two wells add up to nothing but for rounding
                np.maximum(into["charge_ratio"], 0.0, out=into["charge_ratio"])
        if asked & {"charge_w", "loss_w", "discharge_w", "taken_w"}:
            self._battery(flow, into)
        if "shed_w" in asked:
            into["shed_w"][...] = 0.0 if shed is None else shed
        if not asked & {"given_w", "unserved_w", "dark_w", "taken_w"}:
            return
        unserved = np.subtract(flow, block.net, into["unserved_w"])
        np.multiply(unserved, unserved > self._tiny, unserved)
        wanted = block.load if shed is None else np.subtract(block.load, shed, self._wanted[:count])
        given = np.subtract(wanted, unserved, into["given_w"])
        if "dark_w" in asked:
            self._dark(rows, unserved, wanted, into["dark_w"])
        if "taken_w" in asked:
            np.add(given, into["charge_w"], into["taken_w"])
            np.subtract(into["taken_w"], into["discharge_w"], into["taken_w"])

    def _battery(self, flow: Floats, into: dict[str, Floats]) -> None:
        stored = np.maximum(flow, 0.0, out=into["loss_w"])
        np.subtract(stored, flow, into["discharge_w"])
        np.multiply(stored, self._per_efficiency, into["charge_w"])
        np.subtract(into["charge_w"], stored, into["loss_w"])

    def _dark(self, rows: slice, unserved: Floats, wanted: Floats, out: Floats) -> None:
        """Everything on one bus goes dark together: the essential loads lose what their share of the wanted is."""
        if not unserved.any():
            out[...] = 0.0
            return
        np.multiply(self._essential.read(rows, out), unserved, out)
        np.divide(out, wanted, out, where=wanted > 0)

    def outcome(self, off: tuple[Flags, ...], opened: Flags | None, let_go: Flags | None) -> Outcome:
        """The whole of it."""
        fields: dict[str, Any] = {**self.arrays, "off": off, "opened": opened, "let_go": let_go}
        return Outcome(**fields)
