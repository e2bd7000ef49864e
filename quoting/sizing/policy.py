"""The workshop's engineering policy: every margin, limit and assumption that is a choice, with default and source.

A policy travels inside the Brief, so a result can always be traced to the one it was made under.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Literal

from pydantic import Field, field_validator

from catalog.kinds.capabilities import CHEMISTRIES
from quoting.sizing.brief_choosing import OFFERS, Objective, OfferName, Room
from quoting.sizing.errors import SizingError
from quoting.sizing.trace import Record


def q(default: Any, unit: str, ge: float, le: float, help: str, source: str) -> Any:
    """Declare one policy value: default, unit, range, what it changes, where it comes from."""
    return Field(default=default, ge=ge, le=le, description=help, json_schema_extra={"unit": unit, "source": source})


C = "common practice"
PositiveColour = Literal["red", "brown"]
NegativeColour = Literal["black_or_yellow", "black", "yellow", "blue", "grey", "white"]
"""What a country calls for; colours of the catalogue by each are in ``runs_colours``."""


class ChemistryPolicy(Record):
    """How one battery chemistry is treated."""

    usable_depth_ratio: float = q(0.8, "", 0.1, 1.0, "Deepest discharge planned for.", C)
    daily_depth_ratio: float = q(0.8, "", 0.05, 1.0, "Deepest discharge of an ordinary day.", C)
    end_of_life_ratio: float = q(0.8, "", 0.5, 1.0, "Capacity left when the battery counts as worn.", "IEEE 1013")
    charge_efficiency_ratio: float = q(0.95, "", 0.5, 1.0, "Charge out over charge in.", C)
    tail_h: float = q(0.05, "h", 0.01, 4.0, "Time constant of the current in absorption.", C)
    self_discharge_month_ratio: float = q(0.03, "", 0.0, 0.3, "Lost in a month by itself, at 25 °C.", C)
    factors_multiply: bool = Field(default=False, description="Depth and end of life multiply (lithium).")


DEFAULT_CHEMISTRIES = {
    "lifepo4": ChemistryPolicy(
        usable_depth_ratio=0.9,
        daily_depth_ratio=0.8,
        charge_efficiency_ratio=0.99,
        tail_h=0.05,
        factors_multiply=True,
    ),
    "agm": ChemistryPolicy(usable_depth_ratio=0.5, daily_depth_ratio=0.3, charge_efficiency_ratio=0.87, tail_h=1.2),
    "gel": ChemistryPolicy(usable_depth_ratio=0.5, daily_depth_ratio=0.3, charge_efficiency_ratio=0.87, tail_h=1.4),
    "flooded": ChemistryPolicy(
        usable_depth_ratio=0.5,
        daily_depth_ratio=0.25,
        charge_efficiency_ratio=0.85,
        tail_h=1.5,
        self_discharge_month_ratio=0.06,
    ),
}


class OfferPolicy(Record):
    """What "right-sized" means for one of the three offers."""

    objective: Objective = Field(
        default="price",
        description="What the offer has least of.",
        json_schema_extra={"unit": "", "source": C},
    )
    battery_ratio: float = q(1.0, "", 0.3, 4.0, "Battery over what autonomy asks.", C)
    array_ratio: float = q(1.0, "", 0.3, 4.0, "Solar array over what the day asks.", C)
    charging_ratio: float = q(1.0, "", 0.3, 4.0, "Charging from engine and mains over what is asked.", C)
    spare_outputs: int = Field(
        default=1, ge=0, le=20, description="Switched outputs kept free.", json_schema_extra={"unit": "", "source": C}
    )
    dark_chance_ratio: float = q(0.05, "", 0.0, 0.9, "Most chance that an essential load goes dark on the trip.", C)

    def room(self, offer: OfferName) -> Room:
        """The room that this offer starts with."""
        return Room(
            offer=offer,
            battery_ratio=self.battery_ratio,
            array_ratio=self.array_ratio,
            charging_ratio=self.charging_ratio,
            spare_outputs=self.spare_outputs,
            dark_chance_ratio=self.dark_chance_ratio,
        )


DEFAULT_OFFERS: dict[str, OfferPolicy] = {
    "lean": OfferPolicy(battery_ratio=0.75, array_ratio=0.75, spare_outputs=0, dark_chance_ratio=0.15),
    "steady": OfferPolicy(),
    "roomy": OfferPolicy(
        objective="cost_per_year", battery_ratio=1.3, array_ratio=1.25, spare_outputs=3, dark_chance_ratio=0.01
    ),
}
"""Common practice: what the owner can live with, what the need asks, and room for another appliance."""


class Policy(Record):
    """Everything the workshop may set about engineering. Nothing here loosens what safety fixes."""

    # battery
    design_margin_ratio: float = q(
        1.05, "", 1.0, 2.0, "Battery bought over battery asked.", "IEEE 1013 (1.1 to 1.25 for lead-acid)"
    )
    chemistries: dict[str, ChemistryPolicy] = Field(default_factory=lambda: dict(DEFAULT_CHEMISTRIES))
    reserve_ratio: float = q(0.2, "", 0.0, 0.8, "Charge from which charging times are counted.", C)
    cold_charge_below_c: float = q(10.0, "°C", 0.0, 25.0, "Cell temperature under which lithium charges slower.", C)
    cold_charge_ratio: float = q(0.5, "", 0.0, 1.0, "Of its charging limit that a cold lithium battery takes.", C)
    battery_lag_h: float = q(2.0, "h", 0.0, 24.0, "Hours by which the cells follow the air round them.", C)
    life_halved_per_k: float = q(
        10.0, "K", 5.0, 20.0, "Kelvin over 25 °C that halve the life of lead-acid.", "IEEE 1188 (8 to 10 K)"
    )
    # charging
    alternator_hot_idle_ratio: float = q(0.4, "", 0.1, 1.0, "Hot idle output over rating when not measured.", C)
    alternator_hot_speed_ratio: float = q(0.75, "", 0.2, 1.0, "Hot output at speed over rating.", C)
    alternator_plan_ratio: float = q(0.5, "", 0.1, 1.0, "Most of the rating planned for steady charging.", C)
    vehicle_draw_a: float = q(25.0, "A", 0.0, 150.0, "The vehicle's own draw under way when not measured.", C)
    idle_share_ratio: float = q(0.15, "", 0.0, 1.0, "Share of driving time spent at idle.", C)
    mains_full_h: float = q(12.0, "h", 1.0, 72.0, "Hours from reserve to full from mains that are good enough.", C)
    crank_charge_ratio: float = q(0.6, "", 0.2, 1.0, "Charge under which the starter battery may not crank.", C)
    crank_a: float = q(200.0, "A", 20.0, 2000.0, "Current of a crank when the survey does not give it.", C)
    crank_s: float = q(5.0, "s", 0.5, 60.0, "Length of a crank.", C)
    starter_take_per_h: float = q(
        0.1, "1/h", 0.01, 1.0, "Of its capacity that the starter battery takes in an hour after cranking.", C
    )
    # sun
    pv_loss_soiling_ratio: float = q(0.02, "", 0.0, 0.5, "Lost to dirt.", "PVWatts v5")
    pv_loss_mismatch_ratio: float = q(0.02, "", 0.0, 0.5, "Lost between unlike panels.", "PVWatts v5")
    pv_loss_wiring_ratio: float = q(0.02, "", 0.0, 0.5, "Lost in leads.", "PVWatts v5")
    pv_loss_connections_ratio: float = q(0.005, "", 0.0, 0.5, "Lost in connectors.", "PVWatts v5")
    pv_loss_light_induced_ratio: float = q(0.015, "", 0.0, 0.5, "Lost in the first hours of light.", "PVWatts v5")
    pv_loss_nameplate_ratio: float = q(0.01, "", 0.0, 0.5, "Below the nameplate.", "PVWatts v5")
    wind_m_s: float = q(1.0, "m/s", 0.0, 20.0, "Wind over a parked roof.", C)
    record_low_offset_k: float = q(15.0, "K", 0.0, 40.0, "Record low under the lowest monthly mean minimum.", C)
    day_correlation_ratio: float = q(
        0.29, "", 0.0, 0.9, "How much a day's cloud is like the day's before.", "Graham, Hollands and Unny (1988)"
    )
    # weather and the monitor
    spread_low_ratio: float = q(0.05, "", 0.01, 0.4, "Share of weathers worse than the one called bad.", C)
    weather_draws: int = Field(
        default=200,
        ge=50,
        le=1000,
        description="Weathers that a trip is tried in.",
        json_schema_extra={"unit": "", "source": C},
    )
    dark_chance_ratio: float = q(
        0.05, "", 0.0, 0.5, "Chance of an essential load going dark under which a month holds.", C
    )
    shed_restore_ratio: float = q(0.05, "", 0.01, 0.3, "Charge over its threshold at which a shed group comes back.", C)
    backstop_v_per_12: float = q(
        11.8, "V", 10.0, 13.0, "Voltage at which shed groups go off whatever the monitor reads, per 12 V.", C
    )
    backstop_restore_v_per_12: float = q(12.6, "V", 11.0, 14.0, "Voltage at which they come back, per 12 V.", C)
    backstop_delay_min: float = q(2.0, "min", 0.0, 60.0, "How long the voltage must be under before they go.", C)
    monitor_drift_day_ratio: float = q(
        0.015, "", 0.0, 0.1, "What a battery monitor reads too much after a day without a full charge.", C
    )
    # heat
    compartment_rise_k: float = q(20.0, "K", 0.0, 40.0, "Parked canopy over ambient.", C)
    own_heat_k_per_w: float = q(
        0.05, "K/W", 0.0, 1.0, "How much a charger warms the air round it, for each watt that it loses.", C
    )
    cooling_evaporator_k: float = q(10.0, "K", 0.0, 30.0, "Evaporator under the inside temperature.", C)
    cooling_condenser_k: float = q(15.0, "K", 0.0, 40.0, "Condenser over ambient.", C)
    # conversion
    converter_efficiency_ratio: float = q(0.9, "", 0.5, 1.0, "Efficiency of 24 to 12 V and USB-C converters.", C)
    inverter_assumed_ratio: float = q(0.88, "", 0.5, 1.0, "Inverter efficiency until one is chosen.", C)
    # conductors
    drop_critical_ratio: float = q(0.03, "", 0.005, 0.1, "Voltage drop limit, critical circuits.", "ISO 10133")
    drop_other_ratio: float = q(0.05, "", 0.01, 0.1, "Voltage drop limit, other circuits.", C)
    joint_ohm: float = q(0.015, "ohm", 0.0, 0.1, "Devices and joints of one circuit unless stated.", C)
    low_voltage_v_per_12: float = q(
        12.0, "V", 10.0, 13.5, "Battery voltage at which appliances must still work, per 12 V.", C
    )
    cutout_margin_v: float = q(0.3, "V", 0.0, 2.0, "Kept above an appliance's lowest working voltage.", C)
    charging_v_per_12: float = q(14.4, "V", 13.0, 15.5, "Highest voltage of a bus, per 12 V.", C)
    laid_apart_mm2: float = q(
        25.0, "mm²", 6.0, 300.0, "Area from which a conductor is laid apart from other circuits.", C
    )
    positive_colour: PositiveColour = Field(
        default="red",
        description="Colour of positive conductors.",
        json_schema_extra={"unit": "", "source": "ISO 10133"},
    )
    negative_colour: NegativeColour = Field(
        default="black_or_yellow",
        description="Colour of negative conductors.",
        json_schema_extra={"unit": "", "source": "ISO 10133"},
    )
    chassis_return_allowed: bool = Field(
        default=False,
        description="The body of steel may be the return of an appliance circuit.",
        json_schema_extra={"unit": "", "source": C},
    )
    chassis_ohm: float = q(0.01, "ohm", 0.001, 0.1, "Resistance of the body and its joints as a return.", C)
    signal_area_mm2: float = q(
        0.75, "mm²", 0.5, 2.5, "Thinnest conductor of a sensor's pair, which carries milliamperes.", C
    )
    # protection
    fuse_continuous_ratio: float = q(1.25, "", 1.0, 2.0, "Device rating over continuous current.", "NEC 210.20")
    fuse_temperature_ratio: float = q(0.8, "", 0.5, 1.0, "What is left of a fuse's rating where it sits.", C)
    place_m: float = q(
        0.2, "m", 0.05, 1.8, "Farthest a device sits from its source.", "ISO 10133 8.1; 33 CFR 183.455 0.178 m"
    )
    unknown_battery_breaking_a: float = q(
        20000.0, "A", 20000.0, 200000.0, "Breaking capacity asked when a battery's resistance is unknown.", C
    )
    worn_resistance_ratio: float = q(
        2.0, "", 1.0, 4.0, "Resistance of a worn battery in the cold over a new one, for the smallest fault.", C
    )
    # spares
    spare_outputs: int = Field(
        default=1, ge=0, le=20, description="Switched outputs kept free.", json_schema_extra={"unit": "", "source": C}
    )
    spare_inputs: int = Field(
        default=0,
        ge=0,
        le=20,
        description="Sensing inputs kept free, of each kind that is used.",
        json_schema_extra={"unit": "", "source": C},
    )
    spare_fuses_each: int = Field(
        default=1,
        ge=0,
        le=10,
        description="Spare fuse-links carried, of each rating and series.",
        json_schema_extra={"unit": "", "source": C},
    )
    cable_spare_ratio: float = q(0.1, "", 0.0, 0.5, "Cable bought over cable run.", C)
    shrink_length_mm: float = q(25.0, "mm", 10.0, 100.0, "Heat-shrink over one crimp, before it shrinks.", C)
    support_every_m: float = q(
        0.45, "m", 0.1, 1.0, "Farthest from one tie or clip of a way to the next.", "ISO 10133 (450 mm)"
    )
    support_battery_every_m: float = q(
        0.3, "m", 0.1, 1.0, "The same along conductors of a battery.", "ISO 10133 (300 mm)"
    )
    # choosing components
    offers: dict[str, OfferPolicy] = Field(default_factory=lambda: dict(DEFAULT_OFFERS))
    stock_premium_ratio: float = q(
        0.1, "", 0.0, 1.0, "How much dearer a part on the shelf may be where stock is preferred.", C
    )
    part_life_years: float = q(12.0, "years", 1.0, 40.0, "Years that parts but batteries are counted to last.", C)
    battery_most_years: float = q(15.0, "years", 1.0, 40.0, "Most years that a battery is counted to last.", C)
    panel_gap_mm: float = q(20.0, "mm", 0.0, 200.0, "Kept free between panels on a roof.", C)
    roof_edge_mm: float = q(30.0, "mm", 0.0, 500.0, "Kept free at the edge of a roof area.", C)
    battery_gap_mm: float = q(10.0, "mm", 0.0, 100.0, "Kept free round each battery in its space.", C)

    @field_validator("chemistries")
    @classmethod
    def _known(cls, value: dict[str, ChemistryPolicy]) -> dict[str, ChemistryPolicy]:
        unknown = set(value) - {code for code, _ in CHEMISTRIES}
        if unknown:
            raise ValueError(f"unknown chemistry {sorted(unknown)[0]!r}")
        return {**DEFAULT_CHEMISTRIES, **value}

    @field_validator("offers")
    @classmethod
    def _the_three(cls, value: dict[str, OfferPolicy]) -> dict[str, OfferPolicy]:
        unknown = set(value) - set(OFFERS)
        if unknown:
            raise ValueError(f"unknown offer {sorted(unknown)[0]!r}")
        return {**DEFAULT_OFFERS, **value}


UNDER = (
    ("backstop_v_per_12", "backstop_restore_v_per_12"),
    ("backstop_restore_v_per_12", "charging_v_per_12"),
    ("low_voltage_v_per_12", "charging_v_per_12"),
)
"""Values of the policy that must stay under another: what went off could never come back, or nothing could work."""


def conflicts(policy: Policy) -> Iterator[tuple[str, float, str, float]]:
    """Values that are allowed each by itself but not together: the too great one, and the one it must stay under."""
    for low, high in UNDER:
        if getattr(policy, low) >= getattr(policy, high):
            yield low, getattr(policy, low), high, getattr(policy, high)
    for code, chemistry in policy.chemistries.items():
        daily, usable = chemistry.daily_depth_ratio, chemistry.usable_depth_ratio
        if daily > usable:
            yield f"{code}.daily_depth_ratio", daily, f"{code}.usable_depth_ratio", usable


def check_policy(policy: Policy) -> None:
    """Refuse a policy whose values contradict one another. Raises :class:`SizingError` naming both."""
    for name, value, over, limit in conflicts(policy):
        field, other = (f"policy.{'chemistries.' if '.' in each else ''}{each}" for each in (name, over))
        message = f"it is {value:g}, which contradicts {other} of {limit:g}; it must be lower"
        raise SizingError(field, value=value, code="conflict", message=message)
