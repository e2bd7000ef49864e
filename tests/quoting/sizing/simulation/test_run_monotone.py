"""More of anything is never worse, and where that is not so, why.

Without shedding and without a protection that opens, one step takes charge q to the least of q + h, q + f (E - q) and
q + L, held over what can be given, h being the net power as stored: it grows with q, h, the limit L and E. So by
induction more sun, less load, a larger limit or a larger battery never leaves less charge in watt-hours, and never
gives less. As a share of a larger battery the charge may be lower, because that battery gave what the smaller one could
not; of the share it is the lowest one that is compared, and only where the smaller battery gave all or went flat.

With two wells the same holds of either well as long as the well and not the tail bounds the charge. Where the tail
does, a fuller battery may take less into the well that gives, and give less in a later step than the other one does:
watts of it are easily found. Of all steps together a search over thousands of pairs finds none that gives less.

Hysteresis breaks it, and so does a protection that opens: what is off draws nothing. A little more sun brings a group
back before the night, and the morning finds less than if it had stayed off. What holds then: shedding never leaves less
than the same system without it.
"""

import dataclasses

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from quoting.sizing.simulation.plant import Course, Plant, ShedGroup
from quoting.sizing.simulation.run import simulate
from tests.quoting.sizing.simulation.random_case import Features, flat, make, one

SEEDS = st.integers(0, 10**6)
MORE = st.floats(1.0, 3.0)
TINY_TAIL = {"tail_h": one(1e-3)}
"""So that the wells bound the charge and the tail never does."""


def lowest(plant, out):
    return np.minimum(plant.start_ratio, out.charge_ratio.min(axis=0))


def never_worse(plant, worse, better_plant, better, course, better_course):
    """Charge in watt-hours at every step, the lowest share, and what was given of what was asked."""
    held, better_held = worse.charge_ratio * plant.energy_wh, better.charge_ratio * better_plant.energy_wh
    assert np.all(better_held >= held - 1e-6)
    gave_all = worse.unserved_w.sum(axis=0) == 0
    lower = lowest(better_plant, better) < lowest(plant, worse) - 1e-9
    assert not np.any(lower & (gave_all | (better_plant is plant)))
    assert np.all(better.unserved_w <= worse.unserved_w + 1e-6)
    assert np.all(better.dark_w <= worse.dark_w + 1e-6)


def cases(test):
    return settings(max_examples=25, deadline=None)(given(SEEDS, MORE, st.booleans())(test))


def case(seed, wells):
    plant, course = make(seed, Features(wells=wells, cold=True))
    return (dataclasses.replace(plant, **TINY_TAIL) if wells else plant), course


@cases
def test_more_sun_is_never_worse(seed, more, wells):
    plant, course = case(seed, wells)
    better = dataclasses.replace(course, sun_w=course.sun_w * more)

    never_worse(plant, simulate(plant, course), plant, simulate(plant, better), course, better)


@cases
def test_less_load_is_never_worse(seed, more, wells):
    plant, course = case(seed, wells)
    better = dataclasses.replace(course, load_w=course.load_w / more, essential_w=course.essential_w / more)

    never_worse(plant, simulate(plant, course), plant, simulate(plant, better), course, better)


@cases
def test_larger_limits_are_never_worse(seed, more, wells):
    plant, course = case(seed, wells)
    better = dataclasses.replace(plant, charge_limit_w=plant.charge_limit_w * more)

    never_worse(plant, simulate(plant, course), better, simulate(better, course), course, course)


@cases
def test_a_larger_battery_is_never_worse(seed, more, wells):
    plant, course = case(seed, wells)
    better = dataclasses.replace(plant, energy_wh=plant.energy_wh * more)

    never_worse(plant, simulate(plant, course), better, simulate(better, course), course, course)


@cases
def test_shedding_never_leaves_less_than_none(seed, more, wells):
    plant, course = make(seed, Features(wells=wells, sheds=True))
    if wells:
        plant = dataclasses.replace(plant, **TINY_TAIL)
    kept = dataclasses.replace(plant, sheds=())

    shedding, none = simulate(plant, course), simulate(kept, dataclasses.replace(course, shed_w=()))

    assert np.all(shedding.charge_ratio >= none.charge_ratio - 1e-9)
    assert np.all(shedding.unserved_w <= none.unserved_w + 1e-6)


def test_hysteresis_can_make_more_sun_end_lower():
    """The limit of the above, held: more sun brings the group back at dusk and the night takes it all."""
    load, none = flat(12, 100), flat(12, 0)
    plant = Plant(
        one(1000), one(1000), one(1000), one(1), one(0.01), 12.8, one(1), one(0), sheds=(ShedGroup(0.5, 0.6),),
        start_ratio=0.49,
    )  # fmt: skip

    def end(sun_w):
        sun = np.array([sun_w] * 2 + [0.0] * 10)[:, None]
        out = simulate(plant, Course(1.0, load, none, (load * 0.9,), none, none, sun, none + 1, none + 1, none))
        return out.charge_ratio[-1, 0], out.given_w.sum()

    # off: 0.49 + 2 (60 - 10) / 1000 = 0.59, and 10 W an hour from there; on: 0.61, and 100 W down to the threshold
    little, little_given = end(60.0)
    more, more_given = end(70.0)
    assert more < little
    assert more_given > little_given


@cases
def test_with_a_tail_over_two_wells_it_is_so_on_the_whole(seed, more, more_sun):
    plant, course = make(seed, Features(wells=True))
    sunnier = dataclasses.replace(course, sun_w=course.sun_w * more)
    fuller = dataclasses.replace(plant, start_ratio=0.5 + plant.start_ratio / 2)

    worse = simulate(plant, course)
    better = simulate(plant, sunnier) if more_sun else simulate(fuller, course)

    assert np.all(better.charge_ratio >= worse.charge_ratio - 1e-6)
    assert np.all(better.unserved_w.sum(axis=0) <= worse.unserved_w.sum(axis=0) * (1 + 1e-6) + 0.01)
