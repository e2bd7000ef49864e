"""The vectorised simulation: what it gives is what a plain loop gives, and energy is where it was or went somewhere."""

import dataclasses

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from catalog.kinds.capabilities import at
from quoting.sizing import balance
from quoting.sizing.errors import SizingError
from quoting.sizing.simulation.calm import least_charge
from quoting.sizing.simulation.plant import Course, Plant, ShedGroup
from quoting.sizing.simulation.resting import Resting
from quoting.sizing.simulation.run import simulate
from tests.quoting.sizing.simulation.plain import simulate_one
from tests.quoting.sizing.simulation.random_case import Features, flat, make, one

FEATURES = st.builds(
    lambda wells, volts, protection, backstop, sheds, drift, cold, alike, roomy: Features(
        wells, volts, volts and protection, volts and backstop, sheds, drift, cold, alike, roomy
    ),
    *(st.booleans() for _ in range(9)),
)
SEEDS = st.integers(0, 10**6)
STEPS_H = st.sampled_from([1.0, 0.5, 0.25])
POWERS = ("given_w", "unserved_w", "dark_w", "shed_w", "charge_w", "discharge_w", "loss_w", "taken_w")


def with_all(features=FEATURES, examples=40):
    def wrap(test):
        return settings(max_examples=examples, deadline=None)(given(SEEDS, features, STEPS_H)(test))

    return wrap


@with_all(examples=60)
def test_it_is_what_a_plain_loop_gives(seed, features, step_h):
    plant, course = make(seed, features, step_h=step_h)

    out = simulate(plant, course)

    for member in range(4):
        lines = simulate_one(plant, course, member)
        for name in ("charge_ratio", *POWERS):
            ours, plain = getattr(out, name)[:, member], [getattr(line, name) for line in lines]
            np.testing.assert_allclose(ours, plain, rtol=1e-9, atol=1e-9, err_msg=name)
        for g in range(len(plant.sheds)):
            assert out.off[g][:, member].tolist() == [line.off[g] for line in lines]
        for name in ("volts_v", "opened", "let_go", "monitor_error"):
            ours = getattr(out, name)
            if ours is not None:
                plain = np.array([getattr(line, name) for line in lines], dtype=float)
                np.testing.assert_allclose(ours[:, member], plain, rtol=1e-9, atol=1e-12, err_msg=name)


@with_all()
def test_energy_is_conserved_in_every_step(seed, features, step_h):
    plant, course = make(seed, features, step_h=step_h)

    out = simulate(plant, course)

    offered = course.engine_w + course.mains_w + course.sun_w
    scale = 1e-9 * np.maximum(1.0, np.maximum(plant.energy_wh, course.load_w.max() + offered.max()))
    before = np.vstack([np.full((1, 4), plant.start_ratio), out.charge_ratio[:-1]])
    stored_w = (out.charge_ratio - before) * plant.energy_wh / step_h
    assert np.all(np.abs(out.taken_w - (out.given_w + out.charge_w - out.discharge_w)) <= scale)
    assert np.all(np.abs(stored_w - (out.charge_w - out.loss_w - out.discharge_w)) <= scale / step_h)
    assert np.all(np.abs(out.given_w + out.unserved_w + out.shed_w - course.load_w) <= scale)
    assert np.all(out.taken_w <= offered + scale)
    assert np.all(out.taken_w >= -scale)


@with_all()
def test_nothing_leaves_its_range(seed, features, step_h):
    plant, course = make(seed, features, step_h=step_h)

    out = simulate(plant, course)

    assert np.all((out.charge_ratio >= 0) & (out.charge_ratio <= 1))
    assert np.all(out.charge_w <= plant.charge_limit_w * course.charge_share + 1e-9)
    assert np.all(out.discharge_w <= plant.discharge_limit_w + 1e-9)
    for name in POWERS:
        assert np.all(getattr(out, name) >= -1e-9), name
    assert np.all(out.dark_w <= course.essential_w * (1 + 1e-9))
    assert np.all((out.dark_w > 0) == ((out.unserved_w > 0) & (course.essential_w > 0)))
    if out.opened is not None:
        assert np.all(out.discharge_w[out.opened] == 0)


@with_all(examples=15)
def test_members_do_not_see_one_another(seed, features, step_h):
    plant, course = make(seed, features, step_h=step_h)
    order = np.random.default_rng(seed).permutation(4)

    def shuffled(array):
        return array[..., order] if isinstance(array, np.ndarray) and array.shape[-1] == 4 else array

    moved = {f.name: shuffled(getattr(plant, f.name)) for f in dataclasses.fields(plant)}
    asked = {f.name: shuffled(getattr(course, f.name)) for f in dataclasses.fields(course)}
    asked["shed_w"] = tuple(shuffled(x) for x in course.shed_w)
    straight, other = simulate(plant, course), simulate(Plant(**moved), Course(**asked))

    for f in dataclasses.fields(straight):
        ours, theirs = getattr(straight, f.name), getattr(other, f.name)
        if f.name == "off":
            assert all(np.array_equal(a[:, order], b) for a, b in zip(ours, theirs, strict=True))
        elif isinstance(ours, np.ndarray):
            assert np.array_equal(ours[:, order], theirs), f.name


def test_blocks_do_not_show(monkeypatch):
    from quoting.sizing.simulation import rows

    plant, course = make(3, Features(True, True, True, True, True, True, True), steps=50)
    whole = simulate(plant, course)

    monkeypatch.setattr(rows, "BLOCK", 4 * 7)
    parts = simulate(plant, course)

    for name in ("charge_ratio", *POWERS, "volts_v", "opened", "let_go", "monitor_error"):
        assert np.array_equal(getattr(whole, name), getattr(parts, name)), name


def test_what_is_not_asked_for_has_no_rows_and_changes_nothing():
    plant, course = make(5, Features(sheds=True), steps=40)
    whole = simulate(plant, course)

    for name in ("charge_ratio", *POWERS):
        part = simulate(plant, course, record=(name,), record_volts=False)

        assert np.array_equal(getattr(part, name), getattr(whole, name)), name
        assert {getattr(part, x).shape for x in POWERS if x != name} == {(0, 4)}


@settings(max_examples=25, deadline=None)
@given(SEEDS, st.floats(0, 1))
def test_a_mean_day_goes_as_the_balance_of_a_stop(seed, start_ratio):
    rng = np.random.default_rng(seed)
    bank = balance.Bank(*rng.uniform((300, 0, 50, 0.7, 0.02), (3000, 500, 500, 1.0, 2.0)).tolist())
    load, light, shares = rng.uniform(0, 150, 24), rng.uniform(0, 500, 24), rng.uniform(0, 1, 24)
    day = balance.Day(tuple(load), (0.0,) * 24, (0.0,) * 24, tuple(light), tuple(shares))
    plant = Plant(
        one(bank.energy_wh), one(bank.charge_limit_w), one(bank.discharge_limit_w), one(bank.charge_efficiency_ratio),
        one(bank.tail_h), 12.8, one(1), one(0), start_ratio=start_ratio,
    )  # fmt: skip
    days = 3

    def rows(hours):
        return np.tile(hours, days)[:, None]

    none = flat(24 * days, 0)
    course = Course(1.0, rows(load), none, (), none, none, rows(light), rows(shares), none + 1, none)
    out, ratio = simulate(plant, course), start_ratio

    for d in range(days):
        stay = balance.run_stop(bank, day, 1, ratio)
        ratio = stay.end_ratio
        for name in ("charge_ratio", "given_w", "unserved_w", "charge_w", "discharge_w", "loss_w", "taken_w"):
            ours = getattr(out, name)[24 * d : 24 * (d + 1), 0]
            np.testing.assert_allclose(ours, [getattr(x, name) for x in stay.hours], rtol=1e-9, atol=1e-7, err_msg=name)


def test_two_wells_rest_and_give_again():
    """A heavy draw empties the available well long before the battery; after a rest it gives again."""
    asked = np.array([2000.0] + [0.0] * 6 + [2000.0])[:, None]
    none = flat(8, 0)
    plant = Plant(one(1200), one(100), one(5000), one(1), one(1), 12.0, one(0.45), one(0.8))

    out = simulate(plant, Course(1.0, asked, asked, (), none, none, none, none + 1, none + 1, none))

    # Manwell and McGowan's closed form: what one hour takes from full, q c kt/(1 - e^-kt + c (kt - 1 + e^-kt))
    e = np.exp(-0.8)
    most = 1200 * 0.45 * 0.8 / (1 - e + 0.45 * (0.8 - 1 + e))
    assert out.given_w[0, 0] == pytest.approx(most, rel=1e-9)
    assert 0 < out.charge_ratio[6, 0] == pytest.approx(1 - most / 1200, rel=1e-9)
    # rested, both wells are level again but for e^-4.8 of the difference
    assert out.given_w[7, 0] == pytest.approx(most * (1 - most / 1200), rel=0.02)
    assert out.charge_ratio[7, 0] >= 0


def test_a_group_goes_and_comes_back_with_hysteresis():
    load = flat(12, 100)
    sun = np.array([0.0] * 6 + [300.0] * 6)[:, None]
    none = flat(12, 0)
    plant = Plant(
        one(1000), one(1000), one(1000), one(1), one(0.02), 12.8, one(1), one(0), sheds=(ShedGroup(0.65, 0.75),)
    )

    out = simulate(plant, Course(1.0, load, load / 2, (load / 2,), none, none, sun, none + 1, none + 1, none))

    # 1.0, then 0.1 an hour; 0.6 < 0.65 sheds half; at 250 W it is back over 0.75 after the second sunny hour
    assert out.charge_ratio[:5, 0] == pytest.approx([0.9, 0.8, 0.7, 0.6, 0.55])
    assert out.off[0][:, 0].tolist() == [False] * 4 + [True] * 3 + [False] * 5
    assert out.shed_w[:, 0].tolist() == [0.0] * 4 + [50.0] * 3 + [0.0] * 5


def test_a_full_battery_brings_every_group_back():
    """Lead-acid: after ten sunny hours it is full but for a thousandth, and 0.9 and 0.1 more is all of it."""
    load, none, sun = flat(12, 50), flat(12, 0), flat(12, 500)
    plant = Plant(
        one(1000), one(400), one(1000), one(0.9), one(1.2), 12.0, one(1), one(0), sheds=(ShedGroup(0.9, 1.0),),
        start_ratio=0.5,
    )  # fmt: skip

    out = simulate(plant, Course(1.0, load, none, (load,), none, none, sun, none + 1, none + 1, none))

    assert out.off[0][0, 0]
    assert not out.off[0][-1, 0]
    assert 0.99 < out.charge_ratio[-1, 0] < 1


@settings(max_examples=25, deadline=None)
@given(SEEDS, st.booleans())
def test_shorter_steps_of_the_same_hours_come_to_the_same(seed, wells):
    """Where no limit begins to bind within an hour, an hour is as good as its four quarters: all of it is exact."""
    plant, course = make(seed, Features(wells=wells, alike=True), steps=12)
    roomy = dataclasses.replace(plant, energy_wh=one(60_000), start_ratio=0.5)
    quarters = {
        f.name: np.repeat(getattr(course, f.name), 4, axis=0)
        for f in dataclasses.fields(course)
        if f.name not in ("step_h", "shed_w")
    }

    hours, fine = simulate(roomy, course), simulate(roomy, Course(step_h=0.25, shed_w=(), **quarters))

    np.testing.assert_allclose(fine.charge_ratio[3::4], hours.charge_ratio, rtol=1e-9)
    np.testing.assert_allclose(fine.given_w.reshape(12, 4, -1).mean(axis=1), hours.given_w, rtol=1e-9)


def test_members_with_one_well_and_with_two_stand_side_by_side():
    plant, course = make(8, Features(wells=True, volts=True), step_h=0.5)
    mixed = dataclasses.replace(plant, available_ratio=np.where(np.arange(4) % 2, 1.0, plant.available_ratio))

    out = simulate(mixed, course)

    for member in range(4):
        lines = simulate_one(mixed, course, member)
        np.testing.assert_allclose(out.charge_ratio[:, member], [x.charge_ratio for x in lines], rtol=1e-9, atol=1e-9)
        np.testing.assert_allclose(out.volts_v[:, member], [x.volts_v for x in lines], rtol=1e-9)


@given(
    st.lists(st.tuples(st.floats(0, 1), st.floats(8, 16)), min_size=1, max_size=8, unique_by=lambda p: p[0]),
    st.lists(st.floats(0, 1), min_size=5, max_size=5),
)
def test_a_resting_voltage_is_the_curve_s_own(points, ratios):
    for digits in (1, 2, 15):
        curve = tuple(sorted({round(s, digits): v for s, v in points}.items()))

        read = Resting(curve, (1, 5)).read(np.array(ratios), np.empty(5))

        np.testing.assert_allclose(read, [at(curve, s) for s in ratios], rtol=1e-9)


@given(
    st.lists(st.floats(0, 1), min_size=2, max_size=8, unique=True).map(sorted),
    st.lists(st.floats(9, 15), min_size=8, max_size=8, unique=True).map(sorted),
    st.floats(8, 16),
    st.floats(0, 1),
)
def test_from_the_least_charge_on_no_voltage_is_lower(charges, volts, wanted_v, ratio):
    curve = tuple(zip(charges, volts, strict=False))
    plant = dataclasses.replace(make(1, Features())[0], open_circuit=curve)

    (least,) = least_charge(plant, np.array([wanted_v]))

    assert ratio < least or at(curve, ratio) >= wanted_v
    falling = dataclasses.replace(plant, open_circuit=((0.0, 12.0), (1.0, 12.0)))
    assert least_charge(falling, np.array([wanted_v])) == [np.inf]


def test_a_monitor_that_drifts_sheds_too_late_and_the_voltage_backstop_in_time():
    load = flat(200, 10)
    none = flat(200, 0)
    plant = Plant(
        one(1000), one(1000), one(1000), one(1), one(0.05), 12.0, one(1), one(0),
        open_circuit=((0.0, 11.6), (0.25, 12.0), (0.5, 12.2), (0.75, 12.4), (1.0, 12.6)), resistance_ohm=one(0.01),
        sheds=(ShedGroup(0.5, 0.6),), start_ratio=1.0,
    )  # fmt: skip
    course = Course(1.0, load, load / 10, (load * 0.9,), none, none, none, none + 1, none + 1, load)

    true = simulate(plant, course)
    astray = simulate(dataclasses.replace(plant, monitor_drift_per_day=0.1), course)
    held = simulate(
        dataclasses.replace(plant, monitor_drift_per_day=0.1, backstop_v=12.0, backstop_restore_v=12.3), course
    )

    assert true.off[0].argmax() == 51
    assert astray.charge_ratio[astray.off[0].argmax(), 0] < 0.4 or not astray.off[0].any()
    # 12.0 V under 10 W is a state of charge of a quarter and a hair
    assert held.let_go is not None
    assert held.charge_ratio[held.let_go.argmax() - 1, 0] == pytest.approx(0.25, abs=0.011)
    assert held.unserved_w.sum() == 0 < astray.unserved_w.sum()
    assert not held.let_go[: held.let_go.argmax()].any()
    assert held.let_go[held.let_go.argmax() :].all(), "nothing charges, so the voltage never comes back"


def test_the_backstop_waits_its_delay():
    load = flat(24, 10)
    none = flat(24, 0)
    plant = Plant(
        one(1e5), one(1000), one(1000), one(1), one(0.05), 12.0, one(1), one(0),
        open_circuit=((0.0, 11.0), (1.0, 12.6)), resistance_ohm=one(0.1), backstop_v=11.5, backstop_restore_v=12.0,
        sheds=(ShedGroup(0.1, 0.2),),
    )  # fmt: skip
    peak = load.copy()
    peak[4] = peak[10:13] = 240.0

    def off(delay_h, step_h=0.25):
        course = Course(step_h, load, none, (load / 2,), none, none, none, none + 1, none + 1, peak)
        return simulate(dataclasses.replace(plant, backstop_delay_h=delay_h), course).off[0][:, 0].nonzero()[0].tolist()

    assert off(0.0) == [5, 11, 12, 13]
    assert off(0.25) == [5, 11, 12, 13]
    assert off(0.5) == [12, 13]
    assert off(0.75) == [13]
    assert off(1.0) == []


def test_its_own_protection_opens_and_what_is_left_comes_from_the_sources():
    load, none = flat(4, 100), flat(4, 0)
    sun = np.array([0.0, 0.0, 60.0, 0.0])[:, None]
    peak = np.array([100.0, 1200.0, 1200.0, 100.0])[:, None]
    plant = Plant(
        one(5000), one(500), one(2000), one(1), one(0.05), 12.0, one(1), one(0),
        open_circuit=((0.0, 11.0), (1.0, 12.6)), resistance_ohm=one(0.02), cutoff_v=11.0,
    )  # fmt: skip

    out = simulate(plant, Course(1.0, load, load / 4, (), none, none, sun, none + 1, none + 1, peak))

    assert out.opened is not None
    # 12.6 V less 100 A in 20 mohm is 10.6 V
    assert out.opened[:, 0].tolist() == [False, True, True, False]
    assert out.given_w[:, 0].tolist() == [100.0, 0.0, 60.0, 100.0]
    assert out.dark_w[:, 0].tolist() == [0.0, 25.0, 10.0, 0.0]
    assert out.volts_v is not None
    assert out.volts_v[0, 0] == pytest.approx(11 + 1.6 * 0.98 - 0.02 * 100 / 12)


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"energy_wh": one(-1)}, "energy_wh"),
        ({"energy_wh": one(float("nan"))}, "energy_wh"),
        ({"charge_limit_w": one(-1)}, "charge_limit_w"),
        ({"charge_efficiency_ratio": one(0)}, "charge_efficiency_ratio"),
        ({"available_ratio": one(1.1)}, "available_ratio"),
        ({"available_ratio": one(0.5), "well_rate_per_h": one(0)}, "well_rate_per_h"),
        ({"start_ratio": 1.01}, "start_ratio"),
        ({"nominal_v": 0.0}, "nominal_v"),
        ({"tail_h": np.ones((2, 2))}, "tail_h"),
        ({"energy_wh": np.ones(3)}, "energy_wh"),
        ({"sheds": (ShedGroup(0.5, 0.4),)}, "shed_w"),
        ({"step_h": 1.5}, "step_h"),
        ({"step_h": 0.0}, "step_h"),
        ({"sun_w": np.zeros((3, 4))}, "sun_w"),
        ({"load_w": flat(60, float("nan"))}, "load_w"),
        ({"sun_w": np.full((60, 4), float("nan"))}, "course"),
    ],
)
def test_what_cannot_be_is_refused(change, field):
    plant, course = make(1, Features(alike=True))
    plants = {k: v for k, v in change.items() if hasattr(plant, k)}
    courses = {k: v for k, v in change.items() if hasattr(course, k)}

    with pytest.raises(SizingError) as refused:
        simulate(dataclasses.replace(plant, **plants), dataclasses.replace(course, **courses))

    assert refused.value.field == field


def test_more_shed_than_asked_is_refused():
    plant, course = make(1, Features(sheds=True))

    with pytest.raises(SizingError, match="more is shed than asked"):
        simulate(plant, dataclasses.replace(course, shed_w=(course.load_w, course.load_w)))


def test_an_unknown_record_is_refused():
    with pytest.raises(SizingError, match="unknown 'given'"):
        simulate(*make(1, Features()), record=("given",))


def test_no_battery_at_all_gives_what_the_sources_give():
    load, none = flat(3, 100), flat(3, 0)
    sun = np.array([0.0, 40.0, 140.0])[:, None]
    plant = Plant(one(0), one(0), one(0), one(0.9), one(0.05), 12.8, one(1), one(0))

    out = simulate(plant, Course(1.0, load, load, (), none, none, sun, none + 1, none + 1, none))

    assert out.given_w[:, 0].tolist() == [0.0, 40.0, 100.0]
    assert out.taken_w[:, 0].tolist() == [0.0, 40.0, 100.0]
    assert np.all(out.charge_ratio == 0)
