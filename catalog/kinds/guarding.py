"""What device a part's maker asks for in its direct-current leads, for any kind that has some. Pure.

A kind adds ``*DEVICE_LIMITS`` to its fields, wraps its capabilities in ``guarded``, has ``limits_hold`` checked.
"""

from __future__ import annotations

from catalog.kinds.base import Spec
from catalog.kinds.capabilities import Capability, Guarded
from catalog.kinds.common import not_above, number
from catalog.kinds.landing import Capabilities

DEVICE_LIMITS = (
    number(
        "min_device_a",
        "Smallest fuse or breaker",
        "A",
        0.5,
        1000,
        "In its direct-current leads, where its maker states one.",
        required=False,
    ),
    number(
        "max_device_a",
        "Largest fuse or breaker",
        "A",
        0.5,
        1000,
        "In its direct-current leads, where its maker states one. Nothing larger is ever chosen.",
        required=False,
    ),
)

limits_hold = not_above(
    "min_device_a", "max_device_a", "The smallest fuse or breaker must not be over the largest; read the manual again."
)


def guarded(capabilities: Capabilities) -> Capabilities:
    """The same capabilities, and the limits of the device where the maker states any."""

    def with_limits(spec: Spec) -> tuple[Capability, ...]:
        least_a, most_a = spec["min_device_a"], spec["max_device_a"]
        stated = least_a is not None or most_a is not None
        return (*capabilities(spec), *((Guarded(least_a or 0.0, most_a),) if stated else ()))

    return with_limits
