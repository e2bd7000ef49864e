"""The stand-alone worksheet, from loads to battery and array, against the whole appraisal (constructed, mark D).

Two sheets are filled in for the same day. The first is IEEE 1013 and its array: every line by hand, so it must agree.
The second is laid out as Sandia's SAND87-7023 (method from memory, M), which puts a wire efficiency of 0.98, a battery
efficiency of 0.90 and a module derate of 0.90 in place of itemised losses: it must come near. No filled-in sheet of
either was at hand.
"""

import copy

import pytest

from quoting.sizing.appraise import appraise
from quoting.sizing.brief import read
from tests.quoting.sizing.wiring_case import case, shelf

SUN_KWH_M2 = 5.0
LOADS = {"lights": 24 * 5.0, "refrigerator": 45 * 24 * 0.35, "radio": 30 * 4.0, "pump": 60 * 3 * 10 / 60}
"""Power by hours. [Wh/day]"""
DAY_WH = 648.0
DAY_AH = 54.0


def steady(key, power_w, hours, duty=1.0):
    use = {"way": "steady", "power_w": power_w, "hours_per_day": hours, "duty_ratio": duty}
    return {"key": key, "name": key, "use": use, "position": "canopy"}


@pytest.fixture(scope="module")
def sheet():
    raw = copy.deepcopy(case())
    raw["loads"] = [
        steady("lights", 24, 5),
        steady("refrigerator", 45, 24, 0.35),
        steady("radio", 30, 4),
        {"key": "pump", "name": "pump", "position": "canopy",
         "use": {"way": "event", "power_w": 60, "minutes": 10, "times_per_day": 3}},
    ]  # fmt: skip
    raw["wishes"] = {"chemistries": ["agm"], "autonomy_days": 3, "engine_charging": False, "mains_charging": False}
    raw["wishes"] |= {"shore_inlet": False, "solar_share_ratio": 1.0}
    raw["policy"] = {"design_margin_ratio": 1.10}
    stop = raw["trip"][0]
    stop["site"] |= {"ghi_kwh_m2_day": [SUN_KWH_M2] * 12, "tmin_c": [10.0] * 12, "tmax_c": [10.0] * 12,
                     "latitude_deg": -30.0}  # fmt: skip
    stop |= {"month": 12, "shade_ratio": 0.0}
    raw["trip"] = [stop]
    wanted = ("battery", "solar_controller", "solar_panel", "isolator", "fuse", "fuse_holder", "cable", "busbar")
    raw["catalogue"] = [p for p in shelf() if p["kind"] in wanted and p["spec"].get("chemistry", "agm") == "agm"]
    for part in raw["catalogue"]:
        if part["kind"] == "solar_panel":
            part["spec"]["power_per_k"] = -0.001  # the sheet knows no cell temperature: as little as may be
    return appraise(read(raw))


def test_the_day_adds_up(sheet):
    assert sum(LOADS.values()) == DAY_WH
    assert {x.key: x.energy_wh for x in sheet.loads if x.energy_wh} == pytest.approx(LOADS)
    assert sheet.value("day.charge_ah") == pytest.approx(DAY_AH)


def test_the_battery_is_the_sheet_s(sheet):
    # 54 Ah x 3 days = 162 Ah; / 0.5 deepest = 324 (of a day 54 / 0.3 = 180, end of life 162 / 0.8 = 202.5);
    # x 1.19 at 10 °C (IEEE 485) x 1.10
    assert sheet.value("battery.asked_ah") == pytest.approx(54 * 3 / 0.5 * 1.19 * 1.10, rel=1e-6)


def test_the_array_is_the_sheet_s(sheet):
    # PVWatts v5: soiling, mismatch, wiring 2 % each, connections 0.5, first light 1.5, nameplate 1
    left = 0.98 * 0.98 * 0.98 * 0.995 * 0.985 * 0.99
    controller, at_charging_v = 0.97, 12 / 13.6
    expected_w = DAY_WH / (SUN_KWH_M2 * left * controller * at_charging_v)

    assert sheet.value("sun.array_w") == pytest.approx(expected_w, rel=0.01)  # cells a few kelvin off 25 °C


def test_the_other_sheet_comes_near(sheet):
    corrected_ah = DAY_AH / (0.98 * 0.90)
    capacity_ah = corrected_ah * 3 / (0.5 * 0.84)  # 0.84 of its capacity left at 10 °C
    array_w = corrected_ah / SUN_KWH_M2 / 0.90 * 12

    assert sheet.value("battery.asked_ah") == pytest.approx(capacity_ah, rel=0.05)
    assert sheet.value("sun.array_w") == pytest.approx(array_w, rel=0.05)
