"""Hours to full while the loads run, held against the same hours simulated one by one."""

import numpy as np
import pytest
from scipy.optimize import brentq

from quoting.sizing.appraise import appraise
from quoting.sizing.brief import Brief
from quoting.sizing.days import day_of, losses_of
from quoting.sizing.offers import offers
from quoting.sizing.parts import Catalogue
from quoting.sizing.sensitivity import of_figure
from quoting.sizing.simulation.of_system import course_of, stretch_of
from quoting.sizing.simulation.plant_of import plant_of
from quoting.sizing.simulation.run import simulate
from quoting.sizing.system import System, assemble
from tests.quoting.sizing.library_case import brief

COLD = {"tmin_c": (-12.0,) * 12, "tmax_c": (-4.0,) * 12}
HIGH_SUMMER = {"latitude_deg": 65.0, "ghi_kwh_m2_day": (0.1, 0.6, 1.9, 3.7, 5.0, 5.4, 5.0, 3.7, 2.1, 0.9, 0.2, 0.02)}


def at(asked: Brief, month: int, **site) -> Brief:
    stop = asked.trip[0].model_copy(update={"month": month})
    return asked.model_copy(update={"trip": (stop.model_copy(update={"site": stop.site.model_copy(update=site)}),)})


def chosen(asked: Brief):
    found = appraise(asked)
    return found, assemble(asked, found.chosen, Catalogue(asked))


def hours_by_sun_alone(system: System, from_ratio: float, start_h: int) -> int:
    """Hours until it is full, mean day after mean day, hour by hour."""
    stop = system.brief.trip[0]
    day = day_of(system, stop, 0, losses_of(system.brief, system))
    one = stretch_of(system, 0, stop.model_copy(update={"driving_h_per_day": 0.0}), day, np.ones((60, 1)))
    plant = plant_of(system, start_ratio=from_ratio)
    assert plant is not None
    course = course_of([one])
    turned = {
        name: np.roll(getattr(course, name), -start_h, axis=0)
        for name in (
            "load_w",
            "essential_w",
            "sun_w",
            "charge_share",
            "resistance_ratio",
            "peak_w",
            "engine_w",
            "mains_w",
        )
    }
    shed = tuple(np.zeros_like(course.load_w) for _ in plant.sheds)
    return int(np.argmax(simulate(plant, type(course)(step_h=1.0, shed_w=shed, **turned)).charge_ratio[:, 0] >= 0.99))


@pytest.mark.parametrize("chemistry", ["lifepo4", "agm", "flooded"])
def test_what_the_night_takes_costs_its_charging_again(chemistry):
    found, system = chosen(at(brief(24, chemistry, "small"), 5, **HIGH_SUMMER))

    told = found.figure("sun.hours_to_full")
    reserve = told.steps[[s.code for s in told.steps].index("energy_to_put_back")].params["reserve_ratio"]
    walked = [hours_by_sun_alone(system, float(reserve), start) for start in (0, 6, 12, 18)]
    assert min(walked) - 12 <= told.value <= max(walked) + 12


def test_a_surplus_that_charging_losses_eat_fills_nothing():
    # the sun offers more than the loads take, and the night's part of them, charged at 0.87, more than the difference
    asked = at(brief(24, "agm", "small"), 5, **HIGH_SUMMER)
    found, system = chosen(asked)
    stop = asked.trip[0]
    day = day_of(system, stop, 0, losses_of(asked, system))

    def spare(shade_ratio: float) -> float:
        shaded = stop.model_copy(update={"shade_ratio": shade_ratio})
        return sum(offers(system, shaded, day).sun_w) - 1.04 * day.energy_wh

    thin = stop.model_copy(update={"shade_ratio": brentq(spare, 1e-6, 1.0)})
    again = appraise(asked.model_copy(update={"trip": (thin,), "kept": kept(found)}))

    assert again.stops[0].sun_wh > again.stops[0].load_wh
    assert "sun.hours_to_full" in found.figures
    assert "sun.hours_to_full" not in again.figures


def kept(found) -> tuple:
    """The chosen parts as parts that stay, so that another trip has the same system."""
    from quoting.sizing.brief import Kept

    return tuple(
        Kept(part=one.part, quantity=one.quantity, role=one.role)
        for one in found.chosen
        if one.role in ("battery", "panel", "solar_controller")
    )


def test_cells_too_cold_to_charge_have_no_hours_to_full():
    found, _ = chosen(at(brief(12, "lifepo4", "medium"), 7, **COLD))

    assert not {x for x in found.figures if x.endswith("hours_to_full")}
    assert "charging_lost_cold" in {f.code for f in found.findings}


def test_hours_to_full_are_most_sensitive_to_what_is_stored_and_say_so():
    found, _ = chosen(at(brief(12, "agm", "medium"), 11))

    for code in ("engine.hours_to_full", "mains.hours_to_full", "together.hours_to_full"):
        bars = {bar.code: bar for bar in of_figure(found.figure(code), found.figures).bars}
        stored = bars["charge_efficiency"]
        assert stored.value_low > found.value(code) > stored.value_high
