"""The mains side: for licensed people and local rules."""

from __future__ import annotations

from catalog.kinds import declare
from catalog.kinds.base import Field, Kind, Spec
from catalog.kinds.capabilities import Capability, Inlet, ResidualProtection
from catalog.kinds.common import choice, number, yes_no

POLES = (("2", "2"), ("4", "4"))
SENSITIVITY_MA = (("10", "10 mA"), ("30", "30 mA"), ("100", "100 mA"), ("300", "300 mA"))
"""Preferred rated residual currents, IEC 61008-1."""
RCD_TYPES = (("ac", "type AC"), ("a", "type A"), ("f", "type F"), ("b", "type B"))
"""By what residual currents it sees, IEC 60755."""


def _residual(spec: Spec) -> tuple[Capability, ...]:
    return (
        ResidualProtection(
            rated_a=spec["rated_a"],
            sensitivity_ma=spec["sensitivity_ma"],
            poles=spec["poles"],
            type=spec["type"],
            overcurrent=spec["overcurrent"],
        ),
    )


RESIDUAL_CURRENT_DEVICE = declare(
    Kind(
        code="residual_current_device",
        label="residual-current device",
        plural="residual-current devices",
        group="ac",
        help="Opens all live conductors on residual current. Fitted and tested by licensed people.",
        fields=(
            number("rated_a", "Rated current", "A", 6, 125, rating="{}"),
            Field(
                "sensitivity_ma",
                "Rated residual current",
                "number",
                "mA",
                10,
                300,
                options=SENSITIVITY_MA,
                in_rating=True,
                help="30 mA or less protects people.",
            ),
            Field(
                "poles", "Poles", "integer", "", 2, 4, options=POLES, help="All live conductors open, neutral included."
            ),
            choice("type", "Type", RCD_TYPES, "Type A or better where rectifiers and inverters are.", rating="{}"),
            yes_no("overcurrent", "Opens on overcurrent as well"),
            number("breaking_a", "Breaking capacity", "A", 500, 50000, required=False),
        ),
        capabilities=_residual,
    )
)

SHORE_INLET = declare(
    Kind(
        code="shore_inlet",
        label="shore inlet",
        plural="shore inlets",
        group="ac",
        help="Takes the lead from the outlet at camp or workshop. Fitted and tested by licensed people.",
        fields=(
            number("rated_a", "Rated current", "A", 6, 63, rating="{}"),
            number("rated_v", "Rated voltage", "V", 100, 250, rating="{}"),
        ),
        capabilities=lambda spec: (Inlet(rated_a=spec["rated_a"], rated_v=spec["rated_v"]),),
    )
)
