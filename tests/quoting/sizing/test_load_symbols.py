from __future__ import annotations

import pytest

from quoting.sizing.brief import Load
from quoting.sizing.load_symbols import symbol_of

STEADY = {"way": "steady", "power_w": 20, "hours_per_day": 2}
COOLING = {"way": "cooling", "power_w": 45, "rated_duty_ratio": 0.4, "rated_ambient_c": 32, "inside_c": 4}
RECHARGE = {
    "way": "recharge",
    "pack_wh": 60,
    "charges_per_day": 1,
    "charger_efficiency_ratio": 0.85,
    "power_w": 65,
}


def load(use, **more):
    return Load.model_validate({"key": "x", "name": "Whatever it is called", "use": use, **more})


@pytest.mark.parametrize(
    ("loads", "symbol"),
    [
        ([load(COOLING, start_multiple=3)], "refrigerator"),
        ([load(STEADY, bus="usb")], "socket"),
        ([load(RECHARGE)], "electronic"),
        ([load(STEADY, start_multiple=3, start_s=0.5)], "motor"),
        ([load(STEADY, start_multiple=1.49)], "appliance"),
        ([load(STEADY, start_multiple=1.5)], "motor"),
        ([load(COOLING), load(STEADY)], "appliance"),
        ([load(COOLING), load(COOLING)], "refrigerator"),
        ([], "electronic"),
    ],
)
def test_a_load_is_drawn_by_its_use_and_its_start_never_by_its_name(loads, symbol):
    assert symbol_of(loads) == symbol
