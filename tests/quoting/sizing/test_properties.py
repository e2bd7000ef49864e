"""Properties that hold for every Brief: more never needs less, energy is kept, what is shown adds up."""

import json
import math

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from quoting.sizing.appraise import appraise
from tests.quoting.sizing.sums import follow
from tests.quoting.sizing.wagon import wagon

SLOW = settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])

USES = st.one_of(
    st.fixed_dictionaries({
        "way": st.just("steady"), "power_w": st.floats(1, 300), "hours_per_day": st.floats(0, 24),
        "duty_ratio": st.floats(0, 1),
    }),
    st.fixed_dictionaries({
        "way": st.just("cooling"), "power_w": st.floats(20, 120), "rated_duty_ratio": st.floats(0.1, 0.9),
        "rated_ambient_c": st.floats(25, 40), "inside_c": st.floats(-20, 8),
    }),
    st.fixed_dictionaries({
        "way": st.just("recharge"), "pack_wh": st.floats(1, 200), "charges_per_day": st.floats(0, 3),
        "charger_efficiency_ratio": st.floats(0.5, 1), "power_w": st.floats(60, 200),
    }),
    st.fixed_dictionaries({
        "way": st.just("event"), "power_w": st.floats(10, 1500), "minutes": st.floats(0.1, 30),
        "times_per_day": st.floats(0, 10),
    }),
)  # fmt: skip
LOADS = st.lists(
    st.fixed_dictionaries({
        "use": USES, "bus": st.sampled_from(["house", "usb", "ac", "starter"]), "quantity": st.integers(1, 3),
        "shed_below_ratio": st.none() | st.floats(0.05, 0.5), "always_live": st.booleans(), "essential": st.booleans(),
        "start_multiple": st.floats(1, 6), "at_once": st.booleans(), "position": st.just("cargo"),
    }),
    min_size=1, max_size=5,
).map(lambda found: [{**x, "key": f"k{i}", "name": f"Load {i}"} for i, x in enumerate(found)])  # fmt: skip
TRIPS = st.fixed_dictionaries({
    "trip.0.month": st.integers(1, 12),
    "trip.0.days": st.floats(0.5, 8),
    "trip.0.driving_h_per_day": st.floats(0, 10),
    "trip.0.mains_h_per_day": st.floats(0, 24),
    "trip.0.shade_ratio": st.floats(0, 1),
    "wishes.autonomy_days": st.floats(0.2, 5),
    "wishes.chemistries": st.sampled_from([["lifepo4"], ["agm"], ["agm", "lifepo4"]]),
    "wishes.solar_share_ratio": st.floats(0, 2),
    "vehicle.hot_idle_a": st.none() | st.floats(10, 150),
    "vehicle.alternator_control": st.sampled_from(["fixed", "smart", "none"]),
})  # fmt: skip


@given(LOADS, TRIPS)
@SLOW
def test_every_appraisal_adds_up(loads, changes):
    found = appraise(wagon(loads=loads, **changes))

    json.dumps(found.model_dump(mode="json"), allow_nan=False)
    for figure in found.figures.values():
        assert math.isclose(follow(figure), figure.value, rel_tol=1e-6, abs_tol=1e-9), figure.code
    energy = found.value("day.energy_wh")
    assert math.isclose(math.fsum(x.energy_wh for x in found.loads), energy, rel_tol=1e-9, abs_tol=1e-9)
    assert math.isclose(math.fsum(found.profile_w), energy, rel_tol=1e-9, abs_tol=1e-9)
    for stop in found.stops:
        offered = stop.engine_wh + stop.mains_wh + stop.sun_wh
        assert math.fsum(stop.taken_w) <= offered * (1 + 1e-9) + 1e-9
        assert 0 <= stop.lowest_ratio <= 1
        given_wh = math.fsum(stop.given_w)
        assert given_wh <= stop.load_wh * (1 + 1e-9) + 1e-9


@given(LOADS, USES, st.sampled_from(["house", "usb", "ac"]))
@SLOW
def test_one_more_load_never_needs_a_smaller_battery(loads, use, bus):
    more = [*loads, {"key": "more", "name": "One more", "use": use, "bus": bus, "position": "cargo"}]

    # nothing to buy: own draw of parts chosen for more does not blur it
    here, there = appraise(wagon(loads=loads, catalogue=[])), appraise(wagon(loads=more, catalogue=[]))

    for code in ("battery.asked_ah", "day.energy_wh", "battery.peak_a"):
        assert there.value(code) >= here.value(code) * (1 - 1e-12), code


@given(st.sampled_from(["loads.0.use.power_w", "loads.5.use.power_w", "loads.7.use.power_w"]), st.floats(1, 3))
@SLOW
def test_more_power_never_asks_for_less(place, times):
    watts = {"loads.0.use.power_w": 58.0, "loads.5.use.power_w": 9.0, "loads.7.use.power_w": 22.0}[place]

    here, there = appraise(wagon(catalogue=[])), appraise(wagon(catalogue=[], **{place: watts * times}))

    for code in ("day.energy_wh", "battery.asked_ah", "day.peak_a", "battery.peak_a", "mains.asked_a", "sun.array_w"):
        assert there.value(code) >= here.value(code) * (1 - 1e-12), code


@given(st.floats(0, 1), st.floats(0, 1))
@SLOW
def test_more_shade_never_gives_more_sun(a, b):
    less, more = sorted((a, b))

    light, dark = (appraise(wagon(**{"trip.0.shade_ratio": x, "wishes.solar_share_ratio": 0.3})) for x in (less, more))

    panels = [
        [(c.part, c.series, c.parallel) for c in x.chosen if c.role in ("panel", "solar_controller")]
        for x in (light, dark)
    ]
    if panels[0] == panels[1]:
        assert dark.stops[0].sun_wh <= light.stops[0].sun_wh + 1e-9


@given(st.floats(20, 150), st.floats(20, 150))
@SLOW
def test_a_stronger_alternator_never_spares_less(a, b):
    weak, strong = sorted((a, b))

    here, there = (appraise(wagon(catalogue=[], **{"vehicle.hot_idle_a": x})) for x in (weak, strong))

    assert there.value("engine.headroom_idle_a") >= here.value("engine.headroom_idle_a")


@given(st.floats(0.2, 5), st.floats(0.2, 5), st.sampled_from(["lifepo4", "agm"]))
@SLOW
def test_longer_autonomy_never_asks_for_a_smaller_bank(a, b, chemistry):
    short, long = sorted((a, b))

    here, there = (
        appraise(wagon(catalogue=[], **{"wishes.autonomy_days": x, "wishes.chemistries": [chemistry]}))
        for x in (short, long)
    )

    assert there.value("battery.asked_ah") >= here.value("battery.asked_ah")
