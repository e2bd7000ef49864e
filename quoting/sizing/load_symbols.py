"""Which symbol stands for a load, by how it is used and what it starts like; never by its name."""

from __future__ import annotations

from collections.abc import Sequence

from quoting.sizing.brief import Load

MOTOR_START_RATIO = 1.5
"""A load that draws so many times its running current at its start is drawn as a motor. C"""


def symbol_of(loads: Sequence[Load]) -> str:
    """Symbol for what is at the end of a circuit.

    Parameters
    ----------
    loads : sequence of Load
        Everything on the circuit; nothing for what the system itself needs.

    Returns
    -------
    str
        ``socket`` for USB outlets; ``refrigerator`` for what cools; ``electronic`` for what charges a pack of its own,
        and for control; ``motor`` for what starts like one; else, and for several that differ, ``appliance``.
    """
    if not loads:
        return "electronic"
    found = {_symbol(load) for load in loads}
    return found.pop() if len(found) == 1 else "appliance"


def _symbol(load: Load) -> str:
    if load.bus == "usb":
        return "socket"
    if load.use.way == "cooling":
        return "refrigerator"
    if load.use.way == "recharge":
        return "electronic"
    return "motor" if load.start_multiple >= MOTOR_START_RATIO else "appliance"
