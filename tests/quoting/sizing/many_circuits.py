"""Invented systems of any size: so many appliance circuits, batteries, strings, converters, senses, a trailer or none.

``many(60)`` is the JSON of a Brief, free to change; ``many_brief`` reads it; ``many_made`` works it out, once for each
set of parameters. Parts are those of the starter library, but for a battery, a panel and a converter of the size that
makes the numbers asked for.
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import Any

from quoting.sizing.appraisal import Appraisal
from quoting.sizing.appraise import appraise
from quoting.sizing.brief import Brief, read
from tests.quoting.sizing.library_case import catalogue

KINDS = (
    # name, W, hours a day, start over running, always live, critical, shed below, lowest V
    ("Refrigerator", 48.0, 8.0, 3.0, True, True, None, 10.4),
    ("Cabin lights", 14.0, 4.0, 1.0, False, False, None, None),
    ("Water pump", 60.0, 0.3, 3.0, False, False, None, 10.0),
    ("Roof fan", 24.0, 6.0, 1.5, False, False, 0.3, None),
    ("Radio", 18.0, 5.0, 1.0, True, True, None, 10.8),
    ("USB-C outlets", 45.0, 2.0, 1.0, False, False, 0.25, None),
    ("Outside lights", 20.0, 2.0, 1.0, False, False, 0.4, None),
    ("Air heater", 40.0, 5.0, 2.5, False, False, None, 10.5),
    ("Work lamp", 36.0, 0.5, 1.0, False, False, 0.4, None),
    ("12 V outlet", 60.0, 0.5, 1.0, False, False, 0.3, None),
    ("Gas alarm", 2.0, 24.0, 1.0, True, True, None, None),
    ("Tank heater", 30.0, 1.0, 1.0, False, False, 0.4, None),
)  # fmt: skip
"""What circuits are of. A table so varied that every rule of a run decides somewhere. Invented."""

MOST_AT_ONCE = 14
"""Circuits that count in the coincident peak; the rest run one at a time."""

SIDES = (("galley", "Galley", 2.1), ("bath", "Washroom", 3.2), ("bed", "Rear bed", 4.0), ("tail", "Rear door", 4.6),
         ("cab", "Cab", 2.8), ("locker", "Side locker", 1.4), ("table", "Table", 2.6))  # fmt: skip
"""Positions that circuits end at and their ways from the board. [m]"""

SENSES = ("tank", "temperature", "voltage", "digital", "tank", "current")


def _vehicle(volts: int, trailer: bool) -> dict[str, Any]:
    positions = [
        {"key": "engine", "name": "Engine bay", "ambient_c": 75, "engine_space": True},
        {"key": "bench", "name": "Bench locker", "ambient_c": 45, "on_trailer": trailer},
        {"key": "board", "name": "Fuse board", "ambient_c": 45, "on_trailer": trailer},
        {"key": "roof", "name": "Roof", "ambient_c": 60, "on_trailer": trailer},
        *[{"key": key, "name": name, "ambient_c": 45, "on_trailer": trailer and key != "cab"}
          for key, name, _ in SIDES],
    ]  # fmt: skip
    runs = [
        {"a": "bench", "b": "board", "length_m": 0.9, "bundled": 2},
        {"a": "board", "b": "roof", "length_m": 2.4, "bundled": 2},
        *[{"a": "board", "b": key, "length_m": metres, "bundled": 3} for key, _, metres in SIDES
          if not (trailer and key == "cab")],
    ]  # fmt: skip
    found: dict[str, Any] = {
        "name": "Halvard Tor body, 2022", "nominal_v": volts, "alternator_control": "fixed", "alternator_a": 180,
        "hot_idle_a": 75 if trailer else 110, "own_draw_a": 30, "hot_idle_v": 13.6 * volts / 12, "starter_ah": 95,
        "starter_ohm": 0.005 * volts / 12, "cranking_v": 10.2 * volts / 12, "standing_draw_a": 0.03,
        "roof_length_m": 9.0, "roof_width_m": 2.4, "length_m": 7.4, "width_m": 2.2, "body": "steel",
        "positions": positions, "runs": runs,
        "places": {"starter": "engine", "battery": "bench", "board": "board", "charger": "bench", "inverter": "bench",
                   "array": "roof", "inlet": "tail", "converter": "board"},
    }  # fmt: skip
    if trailer:
        positions += [{"key": "towbar", "name": "Tow bar", "ambient_c": 45},
                      {"key": "drawbar", "name": "Drawbar", "ambient_c": 45, "on_trailer": True}]  # fmt: skip
        runs += [{"a": "engine", "b": "towbar", "length_m": 5.0, "bundled": 1},
                 {"a": "engine", "b": "cab", "length_m": 1.8, "bundled": 1},
                 {"a": "drawbar", "b": "bench", "length_m": 2.2, "bundled": 1}]  # fmt: skip
        found["hitch"] = {"tow": "towbar", "trailer": "drawbar", "length_m": 1.5}
        found |= {"trailer_length_m": 7.0, "trailer_width_m": 2.3, "trailer_body": "composite"}
    else:
        runs.append({"a": "engine", "b": "bench", "length_m": 4.4, "bundled": 2})
    return found


def _load(index: int, bus: str, position: str) -> dict[str, Any]:
    name, watts, hours, start, live, critical, shed, least_v = KINDS[index % len(KINDS)]
    several = index // len(KINDS)
    return {
        "key": f"load_{index + 1}", "name": f"{name} {several + 1}" if several else name, "bus": bus,
        "position": position, "start_multiple": start, "start_s": 0.2 if start > 1 else 0.0, "always_live": live,
        "critical": critical, "essential": critical, "shed_below_ratio": shed,
        "min_voltage_v": least_v if bus != "house" else None, "at_once": index < MOST_AT_ONCE,
        "use": {"way": "steady", "power_w": watts, "hours_per_day": hours / (1 + several)},
    }  # fmt: skip


def _loads(
    circuits: int, volts: int, converters: int, starter_loads: int, ac: bool, trailer: bool
) -> list[dict[str, Any]]:
    # with a trailer nothing of the house is in the cab: a coupling has pins for the engine feed and little more
    places = [key for key, _, _ in SIDES if not (trailer and key == "cab")]
    found = [_load(i, "house", places[i % len(places)]) for i in range(circuits)]
    for load in found:
        if volts == 12:
            load["min_voltage_v"] = KINDS[found.index(load) % len(KINDS)][7]
    if volts == 24 and converters:
        behind = found[: max(converters, circuits // 3)]
        for load in behind:
            load |= {"bus": "house12", "at_once": True, "start_multiple": 1.0, "start_s": 0.0}
    for i in range(starter_loads):
        found.append(
            {**_load(i + 1, "starter", "cab"), "key": f"starter_{i + 1}", "name": f"Cab circuit {i + 1}",
             "shed_below_ratio": None, "always_live": False}
        )  # fmt: skip
    if ac:
        found.append({"key": "kettle", "name": "Kettle", "bus": "ac", "position": "galley",
                      "use": {"way": "event", "power_w": 700, "minutes": 5, "times_per_day": 3}})  # fmt: skip
    return found


def _senses(count: int) -> list[dict[str, Any]]:
    places = [key for key, _, _ in SIDES]
    return [
        {"key": f"sense_{i + 1}", "name": f"{SENSES[i % len(SENSES)].capitalize()} {i + 1}",
         "what": SENSES[i % len(SENSES)], "position": places[i % len(places)]}
        for i in range(count)
    ]  # fmt: skip


def many(
    circuits: int = 20,
    *,
    volts: int = 12,
    batteries: int = 1,
    series: bool = False,
    strings: int = 1,
    trailer: bool = False,
    senses: int = 0,
    converters: int = 0,
    starter_loads: int = 0,
    ac: bool = True,
) -> dict[str, Any]:
    """JSON of a Brief with so many direct-current appliance circuits.

    ``batteries`` in parallel, each of two in series when ``series`` (24 V only); ``converters``: so many of 12 V at
    24 V, with a third of the circuits behind them; ``starter_loads`` come on top of ``circuits``.
    """
    month = [5.0] * 12
    site = {"name": "Ash Flat", "latitude_deg": -31.0, "longitude_deg": 120.0, "ghi_kwh_m2_day": month,
            "tmin_c": [12.0] * 12, "tmax_c": [28.0] * 12}  # fmt: skip
    stop = {"site": site, "month": 3, "days": 3.0, "driving_h_per_day": 2.0, "mains_h_per_day": 2.0}
    raw: dict[str, Any] = {
        "title": f"{circuits} circuits, {volts} V",
        "vehicle": _vehicle(volts, trailer),
        "loads": _loads(circuits, volts, converters, starter_loads, ac, trailer),
        "trip": [stop, {**stop, "hitched": False}] if trailer else [stop],
        "wishes": {"system_v": volts, "solar_share_ratio": 0.6, "autonomy_days": 1.0},
        "senses": _senses(senses),
        "catalogue": catalogue(),
    }
    _size(raw, volts, batteries, series, strings, converters)
    return raw


def _size(raw: dict[str, Any], volts: int, batteries: int, series: bool, strings: int, converters: int) -> None:
    """Put a battery, a panel and a converter into the catalogue of which just so many are chosen."""
    shelf = {p["key"]: p for p in raw["catalogue"]}
    others = [p for p in raw["catalogue"] if p["kind"] not in ("battery", "solar_panel", "voltage_converter")]
    bare = appraise(read({**raw, "catalogue": []}))
    asked_ah, peak_a = bare.value("battery.asked_ah"), bare.value("battery.peak_a")
    charge_a = 60.0
    over = 1.4 if batteries == 1 else 1 / (batteries - 0.5)
    ah = math.ceil(max(asked_ah, peak_a / 2, charge_a) * over)
    model = "LF-200" if volts == 12 or series else "LF-24-200"
    spec = {**shelf[model]["spec"], "capacity_ah": float(ah), "max_charge_a": float(max(ah, 90)),
            "max_discharge_a": 2.0 * ah, "peak_a": 4.0 * ah, "max_parallel": 8,
            "resistance_ohm": round(0.4 / ah * volts / 12 / (2 if series else 1), 5)}  # fmt: skip
    others.append({**shelf[model], "key": "bank", "name": f"Larkham {ah} Ah", "part_number": f"L-{ah}", "spec": spec})
    others.append(_panel(shelf, bare.value("sun.array_w"), strings, volts))
    if converters:
        behind_a = math.fsum(x["use"]["power_w"] for x in raw["loads"] if x["bus"] == "house12") / 12
        each_a = round(behind_a / max(converters - 0.4, 0.7) + 1, 1)
        base = next(
            p for p in shelf.values() if p["kind"] == "voltage_converter" and p["spec"]["input_nominal_v"] == 24
        )
        others.append({**base, "key": "converter", "name": f"Corrie {each_a:g} A",
                       "spec": {**base["spec"], "continuous_a": each_a, "peak_a": 2 * each_a,
                                "derating_ratio": [[40.0, 1.0], [70.0, 1.0]]}})  # fmt: skip
    raw["catalogue"] = others


def _panel(shelf: dict[str, Any], array_w: float, strings: int, volts: int) -> dict[str, Any]:
    """A panel of which one makes a string for the controller, and ``strings`` make the array."""
    base = next(p for p in shelf.values() if p["kind"] == "solar_panel" and not p["spec"].get("flexible"))
    watts = round(max(array_w, 20.0 * strings) * (1.3 if strings == 1 else 1 / (strings - 0.5)), 0)
    vmp = 60.0
    imp = round(watts / vmp, 2)
    spec = {**base["spec"], "power_w": watts, "vmp_v": vmp, "imp_a": imp, "voc_v": 72.0, "isc_a": round(1.06 * imp, 2),
            "max_series_fuse_a": 25.0, "length_m": 1.2, "width_m": 0.6}  # fmt: skip
    return {**base, "key": "panel", "name": f"Harrowell {watts:g} W", "part_number": f"H-{watts:g}", "spec": spec}


def many_brief(circuits: int = 20, **more: Any) -> Brief:
    """The Brief of :func:`many`."""
    return read(many(circuits, **more))


@lru_cache(maxsize=24)
def _made(circuits: int, more: tuple[tuple[str, Any], ...]) -> tuple[Brief, Appraisal]:
    brief = many_brief(circuits, **dict(more))
    return brief, appraise(brief)


def many_made(circuits: int = 20, **more: Any) -> tuple[Brief, Appraisal]:
    """The Brief of :func:`many` with its Appraisal, worked out once for the same parameters."""
    return _made(circuits, tuple(sorted(more.items())))
