"""Invented catalogues of two to four models a role, with needs, market and steering: small enough to enumerate.

Sizes and prices are few and round, so that ties are common; voltages, profiles, limits and roofs are drawn so that
each binds often. Parts are those of the starter library with other sizes, so that their kinds accept them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from random import Random
from typing import Any

from hypothesis import strategies as st

from quoting.sizing.brief import Brief, read
from quoting.sizing.needs import BatteryNeed, InverterNeed, Needs, SolarNeed
from quoting.sizing.selecting.records import Market, Steer
from tests.quoting.sizing.library_case import catalogue

Pick = Callable[[Sequence[Any]], Any]
"""Picks one of several: by chance, or as a search for what fails wants it."""

LEAD_ACID = ("agm", "gel")
ALL = ("lifepo4", "agm", "gel", "flooded")
LABOUR = {"fit_battery": "40", "fit_charger": "60", "fit_panel": "50", "fit_inverter": "70", "fit_monitor": "20",
          "program_settings": "10", "fit_multi_charger": "80", "fit_solar_controller": "30"}  # fmt: skip
"""Prices of operations."""


WISHES = ("none", "budget", "mass", "stock", "supplier", "lead", "pinned", "banned", "kept")
"""What a case may be steered by; beside them ``wanted``, a supplier that is wanted."""


@dataclass(frozen=True, slots=True)
class Case:
    """One job to choose for."""

    brief: Brief
    needs: Needs
    market: Market
    steer: Steer = field(default_factory=Steer)


@lru_cache(maxsize=1)
def _shelf() -> dict[str, dict[str, Any]]:
    found: dict[str, dict[str, Any]] = {}
    for part in catalogue():
        found.setdefault(part["kind"], part)
        found.setdefault(part["spec"].get("chemistry", part["kind"]), part)
    return found


def part(kind: str, key: str, cost: float, mass_kg: float, base: str = "", **spec: Any) -> dict[str, Any]:
    """A part of a kind, like the library's first of it but for what is given."""
    like = _shelf()[base or kind]
    return {**like, "key": key, "name": f"Model {key}", "part_number": key, "cost": f"{cost:.2f}", "mass_kg": mass_kg,
            "spec": {**like["spec"], **spec}}  # fmt: skip


def batteries(pick: Pick, bus_v: int) -> list[dict[str, Any]]:
    found = []
    for number in range(pick((3, 2, 2, 1))):
        chemistry = pick(("lifepo4", *LEAD_ACID)) if number else "lifepo4"
        lithium = chemistry == "lifepo4"
        volts = pick((bus_v, 12, 24) if number else (bus_v, 12)) if lithium else pick((12, 12, 6))
        cells = round(volts / 3) if lithium else volts // 2
        cell_v = 3.2 if lithium else 2.0
        found.append(
            part(
                "battery", f"B{number}", pick((300, 400, 600)), pick((10, 12)),
                chemistry, nominal_v=cells * cell_v, cells=cells, absorption_v=cells * (3.55 if lithium else 2.4),
                float_v=cells * (3.375 if lithium else 2.27), cutoff_v=cells * (2.6 if lithium else 1.75),
                capacity_ah=pick((100, 50, 120)), max_charge_a=pick((20, 40, 60, 60)),
                max_discharge_a=pick((50, 100)), peak_a=pick((120, 240)),
                peak_s=pick((2.0, 10.0)), max_series=pick((2, 4, 1)) if number else 2,
                max_parallel=pick((3, 2, 3, 1)),
                engine_bay_allowed=not lithium and pick((False, True)),
            )
        )  # fmt: skip
    return found


FIXED = ("L0", "R0")
"""Inlet and residual device: one each, always to be had."""
RARELY = (False,) * 12 + (True,)
STOCK = (5, 5, 0)
SUPPLIERS = ("ashby", "corrie", "corrie", "corrie")
PROFILES = (ALL, ALL, ALL, ALL, ("lifepo4",), LEAD_ACID, ())
"""Of a charger; none stands for one whose profiles the catalogue lacks: it gets flooded's only, which no bank is of."""
DERATING = ((), ((30.0, 1.0), (60.0, 0.5)))


def _volts(pick: Pick, bus_v: int, number: int = 0) -> int:
    """The bus's own for the first of a role, mostly for the others."""
    return pick((bus_v,) * 4 + (36 - bus_v,)) if number else bus_v


def _profiles(pick: Pick, number: int) -> list[str]:
    """All for the first of a role."""
    return (list(pick(PROFILES)) or ["flooded"]) if number else list(ALL)


def _curve(pick: Pick) -> list[list[float]]:
    return [list(point) for point in pick(DERATING)]


def _price(pick: Pick) -> float:
    return pick((100, 150, 200, 300))


def _mass(pick: Pick) -> float:
    return pick((1.0, 1.0, 2.0))


def _some(pick: Pick, most: int) -> range:
    """One to so many; now and then none."""
    return range(pick((*range(1, most + 1), *range(1, most + 1), *range(1, most + 1), 0)))


def chargers(pick: Pick, bus_v: int, vehicle_v: int) -> list[dict[str, Any]]:
    found = []
    for number in _some(pick, 2):
        output = pick((20, 30, 40))
        volts_in = _volts(pick, vehicle_v, number)
        found.append(
            part("dcdc_charger", f"E{number}", _price(pick), _mass(pick), output_a=output, input_nominal_v=volts_in,
                 stop_below_v=11.0 * volts_in / 12, output_nominal_v=_volts(pick, bus_v, number),
                 profiles=_profiles(pick, number),
                 limit_steps_a=pick(([], [10.0], [15.0])), derating_ratio=_curve(pick),
                 smart_alternator=number == 0 or pick((False, True)))
        )  # fmt: skip
    for number in _some(pick, 2):
        found.append(
            part("mains_charger", f"M{number}", _price(pick), _mass(pick), output_a=pick((15, 25)),
                 output_nominal_v=_volts(pick, bus_v, number), profiles=_profiles(pick, number),
                 derating_ratio=_curve(pick))
        )  # fmt: skip
    for number in _some(pick, 3):
        found.append(
            part("solar_controller", f"S{number}", _price(pick), _mass(pick),
                 method=pick(("mppt", "mppt", "pwm")), output_a=pick((30, 15, 10)) if number else 30,
                 output_nominal_v=pick((["12", "24"], ["12", "24"], [str(bus_v)], [str(36 - bus_v)])),
                 profiles=_profiles(pick, number),
                 max_voc_v=pick((75, 50, 30)) if number else 75, max_isc_a=pick((15, 8)),
                 start_margin_v=pick((1.0, 5.0)), derating_ratio=_curve(pick))
        )  # fmt: skip
    for number in range(pick((0, 1, 2))):
        found.append(_several(pick, number, bus_v, vehicle_v))
    return found


def _several(pick: Pick, number: int, bus_v: int, vehicle_v: int) -> dict[str, Any]:
    """A charger with an input for the sun and one or two more."""
    engine, mains = pick(((True, False), (False, True), (True, True)))
    output = pick((30.0, 40.0))
    spec: dict[str, Any] = {"output_a": output, "output_nominal_v": bus_v, "input_nominal_v": vehicle_v,
                            "stop_below_v": 11.0 * vehicle_v / 12, "has_engine_input": engine, "has_solar_input": True,
                            "solar_method": "mppt", "solar_a": 20.0, "max_voc_v": pick((30.0, 50.0)),
                            "max_isc_a": 12.0, "start_margin_v": 4.0, "profiles": _profiles(pick, number),
                            "derating_ratio": _curve(pick), "limit_steps_a": []}  # fmt: skip
    if engine:
        spec |= {"engine_a": output, "limit_steps_a": pick(([], [10.0]))}
    if mains:
        spec |= {"has_mains_input": True, "mains_a": pick((15.0, 30.0)), "mains_v": 230.0,
                 "mains_efficiency_ratio": 0.9, "power_factor": 0.95}  # fmt: skip
    return part("multi_charger", f"X{number}", pick((300, 400, 500)), _mass(pick), **spec)


def panels(pick: Pick) -> list[dict[str, Any]]:
    found = []
    for number in range(pick((1, 2))):
        watts = pick((60.0, 100.0))
        volts = pick((22.0, 34.0, 18.0))
        found.append(
            part("solar_panel", f"P{number}", pick((80, 120)), pick((4.0, 6.0)),
                 power_w=watts, vmp_v=volts, imp_a=round(watts / volts, 2), voc_v=round(volts * 1.21, 1),
                 isc_a=round(1.06 * watts / volts, 2), length_m=1.0, width_m=0.5,
                 bypass_groups=pick((None, 2)))
        )  # fmt: skip
    return found


def others(pick: Pick, bus_v: int) -> list[dict[str, Any]]:
    found = []
    for number in range(pick((1, 2))):
        watts, volts = pick((600.0, 300.0)) if number else 600.0, _volts(pick, bus_v, number)
        found.append(
            part("inverter", f"I{number}", _price(pick), _mass(pick), continuous_w=watts, continuous_va=watts,
                 surge_w=2 * watts, surge_s=pick((1.0, 5.0)) if number else 5.0, nominal_v=volts,
                 cutoff_v=10.5 * volts / 12, derating_ratio=_curve(pick))
        )  # fmt: skip
    for number in range(pick((2, 1))):
        found.append(
            part("battery_monitor", f"N{number}", _price(pick), _mass(pick),
                 max_v=pick((35.0,) * 5 + (14.5,)), shunt_a=pick((300.0, 50.0)) if number else 300.0)
        )  # fmt: skip
    found += [part("shore_inlet", "L0", 40, 0.3, rated_a=10.0), part("residual_current_device", "R0", 70, 0.2)]
    return found


def _needs(pick: Pick, sources: Iterable[str], roof_m2: float | None) -> Needs:
    asked = {chemistry: pick((40.0, 40.0, 90.0, 150.0)) for chemistry in ("lifepo4", *LEAD_ACID)}
    discharge = pick((20.0, 40.0, 60.0, 110.0))
    solar = None
    if "sun" in sources:
        shade = pick((0.0, 0.0, 0.2))
        watts = pick((50.0, 70.0, 110.0, 150.0))
        stops = ((watts, shade), (40.0, 0.0)) if shade else ((watts, 0.0),)
        solar = SolarNeed(watts / (1 - shade), pick((-20.0, 5.0)), 65.0, roof_m2, stops)
    ac = pick((None, None, 200.0, 450.0))
    air_c = pick((25.0, 45.0))
    return Needs(
        battery=BatteryNeed(asked, discharge, discharge + pick((0.0, 60.0)), 3.0),
        engine_a=pick((9.0, 14.0, 18.0, 28.0)) if "engine" in sources else None,
        engine_most_a=pick((80.0, 25.0, 16.0, 12.0, 8.0)) if "engine" in sources else None,
        mains_a=pick((8.0, 14.0, 22.0)) if "mains" in sources else None,
        solar=solar,
        inverter=None if ac is None else InverterNeed(ac, ac, 1.6 * ac, 2.0, air_c),
        house_peak_a=discharge,
        compartment_c=air_c,
    )  # fmt: skip


SITE = {"name": "Ash Flat", "latitude_deg": -31.0, "longitude_deg": 120.0, "ghi_kwh_m2_day": [5.0] * 12,
        "tmin_c": [12.0] * 12, "tmax_c": [28.0] * 12}  # fmt: skip


def _brief(
    pick: Pick, parts: list[dict[str, Any]], roof: tuple[float, float] | None, bus_v: int, vehicle_v: int
) -> dict[str, Any]:
    chemistries = pick((["lifepo4", "agm", "gel"], ["lifepo4", "agm"], ["lifepo4"]))
    return {
        "title": "Small", "catalogue": parts,
        "vehicle": {
            "name": "Halvard Tor", "nominal_v": vehicle_v, "alternator_a": 120.0,
            "alternator_control": pick(("fixed", "fixed", "smart")),
            "positions": [{"key": "bay", "name": "Bay", "engine_space": pick(RARELY)},
                          {"key": "box", "name": "Box"}],
            "runs": [{"a": "bay", "b": "box", "length_m": 2.0}],
            "places": {"battery": "bay", "charger": "box", "inverter": "box", "board": "box"},
            "roof_length_m": roof[0] if roof else None, "roof_width_m": roof[1] if roof else None,
        },
        "loads": [{"key": "lamp", "name": "Lamp", "channel": False,
                   "use": {"way": "steady", "power_w": 20, "hours_per_day": 4}}],
        "trip": [{"site": SITE, "month": 3, "days": 2.0, "driving_h_per_day": 2.0}],
        "wishes": {"system_v": bus_v, "chemistries": chemistries},
    }  # fmt: skip


@st.composite
def cases(draw: st.DrawFn, wish: str = "none") -> Case:
    """A job that is steered by one wish; about half of them can be met."""
    return made(lambda among: draw(st.sampled_from(among)), wish)


def case_at(number: int, wish: str = "none") -> Case:
    """One of a fixed run of such jobs."""
    return made(Random(f"{wish} {number}").choice, wish)


def made(pick: Pick, wish: str) -> Case:
    """A job by what is picked."""
    bus_v, vehicle_v = pick(((12, 12), (12, 12), (12, 24), (24, 24)))
    parts = [*batteries(pick, bus_v), *chargers(pick, bus_v, vehicle_v), *panels(pick), *others(pick, bus_v)]
    sources = pick(SOURCES)
    roof = pick((None, None, (2.2, 1.1), (1.2, 1.1)))
    raw = _brief(pick, parts, roof, bus_v, vehicle_v)
    keys = [p["key"] for p in parts if p["key"] not in FIXED]
    if wish == "kept":
        raw["kept"] = _kept(pick, parts)
    elif wish == "pinned":
        raw["wishes"]["pinned"] = [pick(keys)]
    elif wish == "banned":
        raw["wishes"]["banned"] = sorted({pick(keys), pick(keys), pick(keys)})
    needs = _needs(pick, sources, roof[0] * roof[1] if roof else None)
    market = Market.model_validate(
        {
            "parts": {p["key"]: {"price": p["cost"], "stock": 2 if p["key"] in FIXED else pick(STOCK),
                                 "supplier": "dunmore" if p["key"] in FIXED else pick(SUPPLIERS), "lead_days": 10}
                      for p in parts},
            "labour": LABOUR, "suppliers": {key: key.title() for key in ("ashby", "corrie", "dunmore")},
        }
    )  # fmt: skip
    return Case(read(raw), needs, market, _steer(pick, wish))


SOURCES = ((), ("sun",), ("engine",), ("engine", "sun"), ("mains", "sun"), ("engine", "mains", "sun"))


def _kept(pick: Pick, parts: list[dict[str, Any]]) -> list[dict[str, Any]]:
    role = {"B": "battery", "E": "engine_charger", "M": "mains_charger", "S": "solar_controller", "P": "panel",
            "I": "inverter", "N": "monitor"}  # fmt: skip
    one = pick([p for p in parts if p["key"][0] in role])
    count = pick((1, 2)) if one["key"][0] in "BP" else 1
    return [{"part": one["key"], "quantity": count, "role": role[one["key"][0]]}]


def _steer(pick: Pick, wish: str) -> Steer:
    by_wish: dict[str, dict[str, Any]] = {
        "budget": {"budget": str(pick((2000, 1400, 1100, 900)))},
        "mass": {"most_mass_kg": pick((40.0, 30.0, 22.0, 16.0))},
        "stock": {"prefer_stock": True},
        "supplier": {"suppliers_banned": ("ashby",)},
        "lead": {"most_lead_days": 5},
        "wanted": {"suppliers_wanted": ("corrie",)},
    }
    return Steer(**by_wish.get(wish, {}))
