"""What turns one kind of electricity into another."""

from __future__ import annotations

from catalog.kinds import declare
from catalog.kinds.base import Field, Kind, Problem, Spec
from catalog.kinds.capabilities import Inverting, OwnDraw
from catalog.kinds.common import DERATING, OWN_ASLEEP, conflict, curve, efficiency, nominal_v, not_above, number

OUTPUT_V = (
    ("100", "100 V"),
    ("110", "110 V"),
    ("115", "115 V"),
    ("120", "120 V"),
    ("220", "220 V"),
    ("230", "230 V"),
    ("240", "240 V"),
)
OUTPUT_HZ = (("50", "50 Hz"), ("60", "60 Hz"))


def _cutoff_fits_bus(spec: Spec) -> tuple[Problem, ...]:
    low, high = 0.75 * spec["nominal_v"], spec["nominal_v"]
    if not low <= spec["cutoff_v"] <= high:
        return conflict(
            "cutoff_v",
            f"{spec['cutoff_v']:g} V does not suit a {spec['nominal_v']:g} V input; "
            f"it must be at least {low:g} V and at most {high:g} V.",
        )
    return ()


INVERTER = declare(
    Kind(
        code="inverter",
        label="inverter",
        plural="inverters",
        group="ac",
        help="Makes AC of mains voltage from the house bus. Its AC side is for licensed people. "
        "Its no-load draw counts for every hour it is on.",
        fields=(
            number(
                "continuous_w",
                "Continuous power",
                "W",
                50,
                20000,
                "At 25 °C unless the maker says otherwise.",
                rating="{}",
            ),
            number("continuous_va", "Continuous apparent power", "VA", 50, 25000),
            number("surge_w", "Surge power", "W", 50, 60000),
            number("surge_s", "Time of the surge", "s", 0.01, 60),
            nominal_v("nominal_v", "Input voltage"),
            Field(
                "output_v",
                "Output voltage",
                "number",
                "V",
                100,
                240,
                options=OUTPUT_V,
                in_rating=True,
                rating_words="to {}",
            ),
            Field("output_hz", "Output frequency", "number", "Hz", 50, 60, options=OUTPUT_HZ),
            number("no_load_w", "No-load draw", "W", 0, 200, "From the battery, on and giving nothing."),
            efficiency("efficiency_half_ratio", "Efficiency at half power", ""),
            efficiency("efficiency_full_ratio", "Efficiency at full power", ""),
            number("cutoff_v", "Cut-off voltage", "V", 8, 24, "Input voltage under which it stops."),
            DERATING,
            OWN_ASLEEP,
        ),
        capabilities=lambda spec: (
            Inverting(
                nominal_v=spec["nominal_v"],
                continuous_w=spec["continuous_w"],
                continuous_va=spec["continuous_va"],
                surge_w=spec["surge_w"],
                surge_s=spec["surge_s"],
                no_load_w=spec["no_load_w"],
                efficiency_half_ratio=spec["efficiency_half_ratio"],
                efficiency_full_ratio=spec["efficiency_full_ratio"],
                cutoff_v=spec["cutoff_v"],
                output_v=spec["output_v"],
                output_hz=spec["output_hz"],
                derating=curve(spec["derating_ratio"]),
            ),
        ),
        # the no-load draw is the inverter method's; here only what it takes when switched off
        own_draw=lambda spec: OwnDraw(0.0, spec["own_asleep_w"]),
        checks=(
            not_above("continuous_w", "surge_w", "The continuous power is above the surge power."),
            not_above("continuous_w", "continuous_va", "The continuous power is above the apparent power."),
            _cutoff_fits_bus,
        ),
    )
)
