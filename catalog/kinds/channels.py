"""Generic channels that any kind may declare: inputs that sense and outputs that switch, each with its limit. Pure.

A kind adds ``*INPUTS`` and ``*OUTPUTS`` to its fields, ``*channels(spec)`` to its capabilities and
``channels_make_sense`` to its checks; nothing else has to know of it.
"""

from __future__ import annotations

from dataclasses import replace

from catalog.kinds.base import Field, Problem, Spec
from catalog.kinds.capabilities import Capability, Sensing, Switching
from catalog.kinds.common import NOMINAL_V, conflict, count, number, volts, yes_no

SENSES = ("voltage", "resistance", "temperature", "current", "digital")
MOST_CHANNELS = 64
SECTION = "Channels"

_INPUT_HELP = {
    "voltage": "Starter battery, midpoint, another bus.",
    "resistance": "Tank senders.",
    "temperature": "Battery or compartment.",
    "current": "Further shunts.",
    "digital": "On or off: ignition, a door, a relay's contact.",
}


def inputs(*senses: str) -> tuple[Field, ...]:
    """How many inputs of each sense a part has, none unless stated."""
    return tuple(
        replace(
            count(f"{what}_inputs", f"{what.capitalize()} inputs", 0, MOST_CHANNELS, _INPUT_HELP[what], default=0),
            section=SECTION,
        )
        for what in senses or SENSES
    )


INPUTS = inputs()

_OUTPUTS: tuple[Field, ...] = (
    Field(
        "channel_limits_a",
        "Switched outputs",
        "numbers",
        "A",
        0.1,
        200,
        required=False,
        default=(),
        help="One limit for each output that it can switch: 10; 5; 5. Empty when it has none.",
        in_rating=True,
        rating_words="outputs {}",
    ),
    number(
        "channels_total_a",
        "All outputs together",
        "A",
        0.1,
        1000,
        "Left empty it is the sum of the limits.",
        required=False,
    ),
    Field(
        "channels_v",
        "Bus voltages of the outputs",
        "choices",
        options=NOMINAL_V,
        required=False,
        default=("12", "24"),
    ),
    yes_no("channels_shed", "Outputs shed loads", "They let go by state of charge or voltage."),
    yes_no("channels_protect", "Outputs protect their circuits", "Each opens on overcurrent at its limit."),
    number(
        "channel_breaking_a", "Breaking capacity of an output", "A", 10, 50000, "Where they protect.", required=False
    ),
)
OUTPUTS: tuple[Field, ...] = tuple(replace(field, section=SECTION) for field in _OUTPUTS)


def channels(spec: Spec) -> tuple[Capability, ...]:
    """What the channels of a cleaned specification can do: nothing when it states none."""
    can: tuple[Capability, ...] = ()
    limits = tuple(spec.get("channel_limits_a") or ())
    if limits:
        can += (
            Switching(
                channel_limits_a=limits,
                total_a=spec.get("channels_total_a") or sum(limits),
                nominal_v=volts(spec.get("channels_v") or ("12", "24")),
                sheds=bool(spec.get("channels_shed")),
                protects=bool(spec.get("channels_protect")),
                breaking_a=spec.get("channel_breaking_a"),
            ),
        )
    return can + sensing(spec)


def sensing(spec: Spec) -> tuple[Capability, ...]:
    """The inputs alone."""
    found = tuple((what, spec[f"{what}_inputs"]) for what in SENSES if spec.get(f"{what}_inputs"))
    return (Sensing(found),) if found else ()


def channels_make_sense(spec: Spec) -> tuple[Problem, ...]:
    """Refuse a whole that carries less than its largest output, and limits without an output to limit."""
    limits, total_a = spec.get("channel_limits_a") or (), spec.get("channels_total_a")
    if len(limits) > MOST_CHANNELS:
        return conflict("channel_limits_a", f"{len(limits)} outputs are too many; it has at most {MOST_CHANNELS}.")
    if total_a is None:
        return ()
    if not limits:
        return conflict("channels_total_a", f"{total_a:g} A together needs at least one switched output.")
    if not max(limits) <= total_a <= sum(limits) + 1e-9:
        return conflict(
            "channels_total_a",
            f"{total_a:g} A together does not suit outputs of up to {max(limits):g} A, {sum(limits):g} A in sum; "
            f"it must be at least {max(limits):g} A and at most {sum(limits):g} A.",
        )
    return ()
