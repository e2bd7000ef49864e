"""Readings of a job that is mended and not designed: what can be said of a vehicle without a design."""

from __future__ import annotations

from fitouts.models import Fitout, Vehicle
from quoting.sizing.appraisal import Expectation
from quoting.sizing.expectations import (
    CRANKING_LOWEST_V_PER_12,
    SLEEPING_MOST_A,
    SMART_CHARGING_V_PER_12,
    STARTER_CHARGING_V_PER_12,
    STARTER_MOST_V_PER_12,
)


def readings(fitout: Fitout) -> tuple[Expectation, ...]:
    """The readings of a fault job, as the vehicle came and as it leaves; limits are those of every test sheet."""
    vehicle = fitout.vehicle
    return (
        Expectation(key="fault_codes", group="vehicle", code="fault_codes", answer="yes", safety=True),
        *_engine(vehicle),
        Expectation(
            key="sleeping_vehicle_a",
            group="vehicle",
            code="sleeping_vehicle_a",
            unit="A",
            minimum=0.0,
            maximum=SLEEPING_MOST_A,
        ),
        Expectation(key="battery_at_rest_v", group="vehicle", code="battery_at_rest_v", unit="V"),
        Expectation(key="polarity_seen", group="circuits", code="polarity_seen", answer="yes", safety=True),
        Expectation(key="source_protected", group="circuits", code="source_protected", answer="yes", safety=True),
        Expectation(key="joints_seen", group="circuits", code="joints_seen", answer="yes", safety=True),
    )


def _engine(vehicle: Vehicle) -> tuple[Expectation, ...]:
    if vehicle.is_trailer:
        return ()
    lowest = CRANKING_LOWEST_V_PER_12 * vehicle.nominal_v / 12
    cranking = (
        Expectation(key="cranking_before_v", group="vehicle", code="cranking_before_v", unit="V"),
        Expectation(
            key="cranking_after_v", group="vehicle", code="cranking_after_v", unit="V", minimum=lowest, safety=True
        ),
    )
    if vehicle.alternator_control == Vehicle.Alternator.NONE:
        return cranking
    smart = vehicle.alternator_control == Vehicle.Alternator.SMART
    per_12 = SMART_CHARGING_V_PER_12 if smart else STARTER_CHARGING_V_PER_12
    charging = round(per_12 * vehicle.nominal_v / 12, 2)
    highest = round(STARTER_MOST_V_PER_12 * vehicle.nominal_v / 12, 2)
    return (
        *cranking,
        Expectation(
            key="starter_charging_v", group="sources", code="starter_charging_v", unit="V", minimum=charging,
            maximum=highest, safety=True,
        ),
    )  # fmt: skip
