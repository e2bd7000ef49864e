"""Every figure of the starter library within what such parts have; a range that is wide says so.

Ranges are common practice (C) unless a source stands beside them. A part outside them is one that a tradesman would
laugh at, or one for which the range is to be widened with a reason.
"""

from __future__ import annotations

import itertools
import math
from collections import defaultdict
from collections.abc import Callable, Iterator
from decimal import Decimal
from typing import Any

import pytest

from catalog import library

Entry = dict[str, Any]
Sizes = list[tuple[float, Entry]]


def of(*kinds: str) -> list[Entry]:
    found = [entry for entry in library.COMPONENTS if entry["kind"] in kinds]
    assert found, kinds
    return found


def each(*kinds: str) -> Any:
    return pytest.mark.parametrize("entry", of(*kinds), ids=lambda entry: entry["part_number"])


def test_every_part_has_a_price_a_mass_and_a_number_of_its_own():
    numbers = [entry["part_number"] for entry in library.COMPONENTS]

    assert len(set(numbers)) == len(numbers)
    for entry in library.COMPONENTS:
        assert Decimal("0.20") <= Decimal(entry["cost"]) < 5000, entry["name"]
        assert 0 < entry["mass_kg"] < 100, entry["name"]


ENERGY_WH_KG = {"lifepo4": (85, 135), "agm": (33, 45), "gel": (33, 45), "flooded": (38, 52)}
LOSS_MOHM_AH = {"lifepo4": (200, 700), "agm": (280, 650), "gel": (400, 800), "flooded": (400, 650)}
"""Internal resistance times capacity, per 12 V. [mΩ Ah]"""
CELL_V = {"lifepo4": (3.45, 3.65), "agm": (2.37, 2.45), "gel": (2.33, 2.40), "flooded": (2.40, 2.50)}
"""Absorption. [V]"""
FLOAT_V = {"lifepo4": (3.30, 3.45), "agm": (2.25, 2.30), "gel": (2.25, 2.31), "flooded": (2.20, 2.27)}
PRICE_KWH = {"lifepo4": (500, 1000), "agm": (280, 450), "gel": (300, 420), "flooded": (170, 280)}


def within(value: float, limits: tuple[float, float]) -> bool:
    return limits[0] <= value <= limits[1]


@each("battery")
def test_batteries(entry):
    spec, chemistry = entry["spec"], entry["spec"]["chemistry"]
    energy_wh, per_12 = spec["capacity_ah"] * spec["nominal_v"], spec["nominal_v"] / 12
    cells = spec["cells"]

    assert spec["nominal_v"] / cells == pytest.approx(3.2 if chemistry == "lifepo4" else 2.0)
    assert within(energy_wh / entry["mass_kg"], ENERGY_WH_KG[chemistry])
    least, most = LOSS_MOHM_AH[chemistry]
    thick = 2 if spec["nominal_v"] == 6 else 1  # plates of 6 V deep-cycle batteries are thicker
    assert within(1000 * spec["resistance_ohm"] * spec["capacity_ah"] / per_12, (least, most * thick))
    assert within(spec["absorption_v"] / cells, CELL_V[chemistry])
    assert within(spec["float_v"] / cells, FLOAT_V[chemistry])
    assert spec["cutoff_v"] < spec["nominal_v"] < spec["float_v"] < spec["absorption_v"]
    assert within(float(entry["cost"]) / energy_wh * 1000, PRICE_KWH[chemistry])
    assert spec["max_discharge_a"] <= spec["peak_a"]
    assert spec["peak_a"] * spec["resistance_ohm"] < 0.25 * spec["nominal_v"]  # it still gives its peak
    lithium = chemistry == "lifepo4"
    assert within(spec["max_charge_a"] / spec["capacity_ah"], (0.4, 1.0) if lithium else (0.1, 0.3))
    assert (spec["min_charge_c"] >= 0) == lithium  # no charge under 0 °C
    assert not (lithium and spec.get("engine_bay_allowed"))
    assert bool(spec.get("needs_venting")) == (chemistry == "flooded")
    assert (spec["compensation_mv_per_cell_k"] == 0) == lithium
    assert within(spec["peukert"], (1.0, 1.05) if lithium else (1.08, 1.3))
    depths, cycles = zip(*spec["cycles"], strict=True)
    assert list(depths) == sorted(depths)
    assert list(cycles) == sorted(cycles, reverse=True)


@each("solar_panel")
def test_panels(entry):
    spec = entry["spec"]
    area_m2 = spec["length_m"] * spec["width_m"]

    assert spec["vmp_v"] * spec["imp_a"] == pytest.approx(spec["power_w"], rel=0.005)
    assert within(spec["power_w"] / (spec["voc_v"] * spec["isc_a"]), (0.74, 0.82))  # fill factor of silicon
    assert within(spec["vmp_v"] / spec["voc_v"], (0.80, 0.86))
    assert within(spec["isc_a"] / spec["imp_a"], (1.03, 1.10))
    assert within(spec["power_w"] / area_m2, (160, 230))  # efficiency 16 to 23 %
    assert within(entry["mass_kg"] / area_m2, (3, 5) if spec["flexible"] else (9.5, 13))
    assert within(spec["power_per_k"], (-0.0045, -0.0025))
    assert within(spec["voc_per_k"], (-0.0035, -0.0020))
    # IEC 61730 and NEC 690.8: the series fuse lies above 1.56 Isc and one standard size or two over it
    assert within(spec["max_series_fuse_a"] / spec["isc_a"], (1.56, 6.0))


@each("fuse", "circuit_breaker")
def test_devices(entry):
    spec = entry["spec"]
    rating = spec["rating_a"]
    series = spec.get("series") or "breaker"
    breaking = {"blade_f": 1000, "blade_c": 1000, "blade_e": 1000, "bolt_b": 1000, "strip_30": 1000, "strip_51": 2000,
                "stud": 6000, "class_t": 20000, "cartridge_38": 25000}  # fmt: skip
    # ISO 8820-3, -4: 1000 A at 32 V (P); class T 20 kA (UL 248-15, M); IEC 60269-2 25 kA (M); the rest common practice
    most = {"blade_f": 30, "blade_c": 40, "blade_e": 80, "bolt_b": 140, "strip_30": 150, "strip_51": 500,
            "cartridge_38": 32}  # fmt: skip

    if entry["kind"] == "fuse":
        assert spec["breaking_a"] == breaking[series]
    else:
        assert within(spec["breaking_a"], (1000, 10000))
    assert rating <= most.get(series, 600)
    assert spec["max_v"] >= 32
    lost_v = spec["resistance_ohm"] * rating
    assert within(lost_v, (0.03, 0.25))  # cold, at its rating
    assert lost_v * rating < 30  # W


@each("cable")
def test_conductors(entry):
    spec = entry["spec"]
    class_5 = {0.5: 39.0, 0.75: 26.0, 1: 19.5, 1.5: 13.3, 2.5: 7.98, 4: 4.95, 6: 3.30, 10: 1.91, 16: 1.21, 25: 0.780,
               35: 0.554, 50: 0.386, 70: 0.272, 95: 0.206, 120: 0.161, 150: 0.129}  # fmt: skip
    # IEC 60228 table 3 (P), 150 mm² from memory (M)
    copper_kg_m = 0.00889 * spec["area_mm2"]  # IEC 60028

    assert spec["ohm_per_km_20c"] == class_5[spec["area_mm2"]]
    assert spec["outside_mm"] > 2 * math.sqrt(spec["area_mm2"] / math.pi) + 0.8  # insulation of 0.4 mm at least
    assert within(entry["mass_kg"] - copper_kg_m, (0, 0.25 * copper_kg_m + 0.008))


@each("terminal")
def test_terminals_fit_a_stud_that_carries_the_conductor(entry):
    spec = entry["spec"]

    if spec["form"] == "ring":
        # a stud of 4 mm or less for thick conductors, or of 10 mm for thin ones, is not made
        most_mm2 = {3: 1, 4: 6, 5: 6, 6: 95, 8: 150, 10: 150}
        assert spec["area_mm2"] <= most_mm2[round(spec["stud_mm"])]
    else:
        assert spec["stud_mm"] == 0


@each("inverter")
def test_inverters(entry):
    spec = entry["spec"]

    assert within(spec["surge_w"] / spec["continuous_w"], (1.5, 3))
    assert within(spec["no_load_w"], (0.004 * spec["continuous_w"], 0.025 * spec["continuous_w"] + 2))
    assert 0.8 < spec["efficiency_full_ratio"] < spec["efficiency_half_ratio"] < 0.97
    assert within(spec["continuous_w"] / entry["mass_kg"], (100, 280))
    assert within(spec["cutoff_v"] / spec["nominal_v"], (0.84, 0.92))


@each("voltage_converter")
def test_converters(entry):
    spec = entry["spec"]
    output_w = spec["continuous_a"] * spec["output_v"]

    assert within(spec["efficiency_ratio"], (0.85, 0.97))
    assert spec["no_load_w"] < 0.012 * output_w + 0.5
    assert spec["input_min_v"] < spec["input_nominal_v"] < 1.3 * spec["input_nominal_v"] < spec["input_max_v"]
    assert within(spec["peak_a"] / spec["continuous_a"], (1.1, 2))
    assert within(output_w / entry["mass_kg"], (150, 420))


@each("dcdc_charger", "mains_charger")
def test_chargers(entry):
    spec = entry["spec"]
    output_w = spec["output_a"] * spec["output_nominal_v"] * 1.2

    assert within(spec["efficiency_ratio"], (0.85, 0.95))
    assert within(output_w / entry["mass_kg"], (80, 420))
    assert all(step < spec["output_a"] for step in spec.get("limit_steps_a", ()))


@each("solar_controller")
def test_controllers(entry):
    spec = entry["spec"]

    assert within(spec["efficiency_ratio"], (0.94, 0.99))
    assert spec["max_isc_a"] >= spec["output_a"]
    assert spec["max_voc_v"] >= (75 if spec["method"] == "mppt" else 48)  # a 12 V module of 22 V cold, two in series


@each("trailer_coupling")
def test_couplings(entry):
    spec = entry["spec"]

    assert spec["contacts"] >= 2 * spec["pins"]
    assert within(spec["pin_ohm"] * spec["pin_a"] ** 2, (0.3, 7))  # heat of one contact at its rating. [W]
    assert spec["pin_a"] <= 9 * spec["largest_mm2"]  # what is joined to it carries as much, see ISO 10133 A.1
    assert spec["max_v"] >= 29.64  # the highest that the library's own batteries charge at


@pytest.mark.parametrize("kind", ["isolator", "busbar", "switched_output_module", "battery_monitor"])
def test_distribution_stands_twice_12_v_and_every_charge(kind):
    for entry in of(kind):
        assert entry["spec"].get("max_v", 48) >= 31


def test_senders_follow_the_common_curves():
    """240 Ω empty to 33 Ω full, or 10 Ω to 180 Ω, each within 10 Ω at the ends and monotone (C)."""
    for entry in of("tank_sender"):
        levels, ohms = zip(*entry["spec"]["level_curve_ohm"], strict=True)
        assert list(levels) == sorted(levels)
        assert (levels[0], levels[-1]) == (0, 1)
        ends = (240, 33) if ohms[0] > ohms[-1] else (10, 180)
        assert ohms[0] == pytest.approx(ends[0], abs=10)
        assert ohms[-1] == pytest.approx(ends[1], abs=10)
        assert list(ohms) in (sorted(ohms), sorted(ohms, reverse=True))
        half = ohms[len(ohms) // 2]
        assert half == pytest.approx(103 if ends[0] == 240 else 95, abs=10)


def test_temperature_senders_follow_the_beta_equation():
    """10 kΩ, B 3950 K: within 6 % of the beta equation, which is straight where real ones bend (C)."""
    for entry in of("temperature_sender"):
        for temperature_c, ohm in entry["spec"].get("temperature_curve_ohm") or ():
            kelvin = temperature_c + 273.15
            beta = 10000 * math.exp(3950 * (1 / kelvin - 1 / 298.15))
            assert ohm == pytest.approx(beta, rel=0.06 if temperature_c >= 0 else 0.15)


def test_couplings_are_told_apart():
    assert {entry["spec"]["pins"] for entry in of("trailer_coupling")} >= {1, 2, 3}


def ladder(kinds: tuple[str, ...], size: Callable[[Entry], float], alike: Callable[[Entry], Any]) -> Iterator[Sizes]:
    found: dict[Any, Sizes] = defaultdict(list)
    for entry in of(*kinds):
        found[entry["kind"], entry["maker"], alike(entry)].append((size(entry), entry))
    for rows in found.values():
        yield sorted(rows, key=lambda row: row[0])


LADDERS: list[tuple[tuple[str, ...], str, tuple[str, ...]]] = [
    (("battery",), "capacity_ah", ("chemistry", "nominal_v", "heater_w")),
    (("dcdc_charger",), "output_a", ("input_nominal_v", "output_nominal_v")),
    (("mains_charger",), "output_a", ("output_nominal_v", "mains_v")),
    (("solar_controller",), "output_a", ("method",)),
    (("solar_panel",), "power_w", ("flexible",)),
    (("inverter",), "continuous_w", ("nominal_v", "output_v")),
    (("voltage_converter",), "continuous_a", ("input_nominal_v", "output_v", "isolated")),
    (("fuse",), "rating_a", ("series",)),
    (("circuit_breaker",), "rating_a", ("breaking_a", "max_v", "poles")),
    (("fuse_holder",), "max_rating_a", ("series", "ways")),
    (("isolator",), "rating_a", ("poles",)),
    (("busbar",), "rating_a", ("studs", "stud_mm")),
    (("cable",), "area_mm2", ("colour",)),
    (("terminal",), "area_mm2", ("form", "stud_mm")),
    (("trailer_coupling",), "pin_a", ("form", "pins")),
    (("shore_inlet",), "rated_a", ()),
    (("relay",), "contact_a", ("coil_v", "contacts", "by_voltage", "latching")),
]


@pytest.mark.parametrize(
    ("kinds", "size", "alike"), LADDERS, ids=lambda x: x[0] if isinstance(x, tuple) and x else None
)
def test_within_a_series_more_costs_and_weighs_no_less(kinds, size, alike):
    for rows in ladder(kinds, lambda e: e["spec"][size], lambda e: tuple(str(e["spec"].get(a)) for a in alike)):
        for (small, cheap), (large, dear) in itertools.pairwise(rows):
            if large > small:
                assert Decimal(dear["cost"]) >= Decimal(cheap["cost"]), (cheap["name"], dear["name"])
                assert dear["mass_kg"] >= cheap["mass_kg"] - 1e-9, (cheap["name"], dear["name"])


DAY_WH = {"cooling": (50, 3000), "steady": (5, 5000), "event": (0.3, 4000), "recharge": (5, 1500)}


@pytest.mark.parametrize("entry", library.APPLIANCES, ids=lambda entry: entry["name"])
def test_appliances(entry):
    use, values, bus = entry["use"], entry["values"], entry["bus"]
    hours = {
        "cooling": lambda: 24 * use["rated_duty_ratio"],
        "steady": lambda: use["hours_per_day"] * use["duty_ratio"],
        "event": lambda: use["minutes"] * use["times_per_day"] / 60,
        "recharge": lambda: use["pack_wh"] * use["charges_per_day"] / use["charger_efficiency_ratio"] / use["power_w"],
    }[entry["way"]]()

    assert 0 < hours <= 24
    assert within(use["power_w"] * hours, DAY_WH[entry["way"]])
    if bus in ("house", "house12"):
        assert use["power_w"] <= 600  # 50 A at 12 V
        assert values.get("power_factor", 1) == 1
    if bus == "usb":
        assert use["power_w"] <= 100
    if bus == "ac":
        assert use["power_w"] <= 2400  # one outlet of 10 A
    assert values.get("start_multiple", 1) <= 7
    low, again = values.get("min_voltage_v"), values.get("restart_voltage_v")
    assert low is None or within(low, (10, 11.8))
    assert again is None or (low is not None and again > low)
    if entry["group"] == "care" and entry["way"] == "cooling":
        assert values["always_live"]  # medicine stays cold when the vehicle is parked


@pytest.mark.parametrize("entry", library.LABOUR, ids=lambda entry: str(entry["code"]))
def test_labour_takes_minutes_to_hours(entry):
    limits = {"metre": (2, 15), "each": (3, 240), "job": (10, 480)}[str(entry["unit"])]

    assert within(float(str(entry["minutes_per_unit"])), limits)
    licensed = any(
        word in str(entry["name"]) for word in ("230 V", "mains voltage", "mains-voltage", "residual-current")
    )
    assert not licensed or entry.get("is_licensed")


def test_an_assemblys_switch_carries_its_outlet():
    by_name = {entry["name"]: entry for entry in library.COMPONENTS}
    codes = {entry["code"] for entry in library.LABOUR}
    for assembly in library.ASSEMBLIES:
        kinds = {
            by_name[x["component"]]["kind"]: by_name[x["component"]] for x in assembly["lines"] if "component" in x
        }
        assert {x["labour"] for x in assembly["lines"] if "labour" in x} <= codes
        if {"switch", "outlet"} <= set(kinds):
            assert kinds["switch"]["spec"]["rating_a"] >= kinds["outlet"]["spec"]["rating_a"], assembly["name"]
