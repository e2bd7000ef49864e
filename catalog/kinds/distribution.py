"""What hands the current on: switched outputs and busbars."""

from __future__ import annotations

from catalog.kinds import declare
from catalog.kinds.base import Field, Kind, Problem, Spec
from catalog.kinds.capabilities import Capability, Distributing, OwnDraw, Switching
from catalog.kinds.channels import INPUTS, MOST_CHANNELS, sensing
from catalog.kinds.common import (
    OWN_ASLEEP,
    OWN_AWAKE,
    at_least_one,
    conflict,
    count,
    nominal_choices,
    number,
    volts,
    yes_no,
)


def _channels_make_sense(spec: Spec) -> tuple[Problem, ...]:
    limits = spec["channel_limits_a"]
    if not limits or len(limits) > MOST_CHANNELS:
        return conflict("channel_limits_a", f"It needs at least 1 and at most {MOST_CHANNELS} channels.")
    if spec["total_a"] < max(limits):
        return conflict("total_a", f"The whole module must carry at least its largest channel, {max(limits):g} A.")
    return ()


def _switching(spec: Spec) -> tuple[Capability, ...]:
    return (
        Switching(
            channel_limits_a=tuple(spec["channel_limits_a"]),
            total_a=spec["total_a"],
            nominal_v=volts(spec["nominal_v"]),
            sheds=spec["sheds"],
            protects=spec["protects"],
            breaking_a=spec["breaking_a"],
        ),
        *sensing(spec),
    )


SWITCHED_OUTPUT_MODULE = declare(
    Kind(
        code="switched_output_module",
        label="switched-output module",
        plural="switched-output modules",
        group="distribution",
        help="Switches loads on generic channels, each with its limit; may sense tanks, temperatures and voltages.",
        fields=(
            Field(
                "channel_limits_a",
                "Channel limits",
                "numbers",
                "A",
                0.1,
                200,
                help="One number for each channel: 30; 30; 15; 15.",
                in_rating=True,
                rating_words="channels {}",
            ),
            number("total_a", "All channels together", "A", 1, 1000, rating="{} in all"),
            nominal_choices("nominal_v", "Bus voltages"),
            yes_no("sheds", "Sheds loads", "Lets channels go by state of charge or voltage."),
            yes_no("protects", "Protects its circuits", "Each channel opens on overcurrent at its limit."),
            number(
                "breaking_a",
                "Breaking capacity of a channel",
                "A",
                10,
                50000,
                "Where its channels protect.",
                required=False,
            ),
            *INPUTS,
            OWN_AWAKE,
            OWN_ASLEEP,
        ),
        capabilities=_switching,
        own_draw=lambda spec: OwnDraw(spec["own_awake_w"], spec["own_asleep_w"]),
        checks=(_channels_make_sense, at_least_one("nominal_v", "Choose at least one bus voltage.")),
    )
)

BUSBAR = declare(
    Kind(
        code="busbar",
        label="busbar",
        plural="busbars",
        group="distribution",
        help="Studs on one bar, for one polarity, under a cover.",
        fields=(
            number("rating_a", "Rating", "A", 10, 2000, "Continuous, all studs together.", rating="{}"),
            count("studs", "Studs", 2, 64),
            number("stud_mm", "Stud", "mm", 3, 16, "M8 is 8 mm.", rating="studs {}"),
            number("max_v", "Highest voltage", "V", 12, 1500),
        ),
        capabilities=lambda spec: (
            Distributing(rating_a=spec["rating_a"], studs=spec["studs"], stud_mm=spec["stud_mm"], max_v=spec["max_v"]),
        ),
    )
)
