"""Whole systems, judged by rules written anew from the needs: plain Python, part by part, with its own formulas.

It knows nothing of the programme's options and rows. A system is what a workshop would write on paper: which part in
which role, how many, in what layout. :meth:`Judge.wrong_with` lists what is wrong with one, :meth:`Judge.price_of` is
what it comes to with fitting.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from catalog import kinds
from quoting.sizing.brief import Brief
from quoting.sizing.needs import Needs
from tests.quoting.sizing.selecting.small_catalogues import Case

SOURCES = ("engine", "mains", "solar")
ALONE = {"engine": "engine_charger", "mains": "mains_charger", "solar": "solar_controller"}
SET_UP = (*ALONE.values(), "multi_charger", "inverter", "monitor", "switching")
FIT = {
    "battery": "fit_battery", "panel": "fit_panel", "inverter": "fit_inverter", "engine_charger": "fit_charger",
    "mains_charger": "fit_charger", "solar_controller": "fit_solar_controller", "multi_charger": "fit_multi_charger",
    "monitor": "fit_monitor",
}  # fmt: skip
"""Operation that fits a part of a role; what is not here is within another's time."""
NEAR = 1e-9


@dataclass(frozen=True, slots=True)
class Placed:
    """One model in a role."""

    part: str
    count: int = 1
    series: int = 1
    sources: tuple[str, ...] = ()
    """Of a charger with several inputs: those it is used for."""
    kept: bool = False


Paper = Mapping[str, Placed]
"""Role -> what is there."""


class Judge:
    """The rules, for one job."""

    def __init__(self, case: Case) -> None:
        self.case = case
        self.brief: Brief = case.brief
        self.needs: Needs = case.needs
        self.parts = {p.key: p for p in case.brief.catalogue}
        self.specs = {p.key: {"kind": p.kind, **kinds.get(p.kind).clean(p.spec)} for p in case.brief.catalogue}
        self.volts = float(case.brief.wishes.system_v)
        self.per_12 = self.volts / 12
        self.top_v = case.brief.policy.charging_v_per_12 * self.per_12

    # --- what is asked -------------------------------------------------------------------------------------------

    @property
    def sources(self) -> tuple[str, ...]:
        n = self.needs
        asked = {"engine": bool(n.engine_a), "mains": bool(n.mains_a), "solar": bool(n.solar and n.solar.array_w > 0)}
        return tuple(s for s in SOURCES if asked[s])

    @property
    def inlet(self) -> bool:
        return "mains" in self.sources and self.brief.wishes.shore_inlet

    # --- what may be taken ---------------------------------------------------------------------------------------

    def allowed(self, key: str) -> bool:
        """Neither banned nor from a banned supplier, nor waited for too long."""
        steer, market = self.case.steer, self.case.market.parts.get(key)
        if key in self.brief.wishes.banned:
            return False
        if market is None:
            return True
        late = steer.most_lead_days is not None and not market.stock and market.lead_days > steer.most_lead_days
        return market.supplier not in steer.suppliers_banned and not late

    # --- one part ------------------------------------------------------------------------------------------------

    def has(self, key: str, source: str) -> bool:
        """Say whether a part charges from a source."""
        spec = self.specs[key]
        kind = {"engine": "dcdc_charger", "mains": "mains_charger", "solar": "solar_controller"}[source]
        return spec["kind"] == kind or (spec["kind"] == "multi_charger" and bool(spec[f"has_{source}_input"]))

    def left(self, curve: Any, air_c: float, loss_w: float) -> float:
        """What heat leaves of a rating: the part warms its own air by what it loses, found by halving the interval."""
        if not curve:
            return 1.0
        low, high = 0.0, 1.0
        for _ in range(60):
            share = (low + high) / 2
            air = air_c + self.brief.policy.own_heat_k_per_w * loss_w * share
            low, high = (share, high) if read(curve, air) > share else (low, share)
        return (low + high) / 2

    def rating(self, key: str, source: str) -> tuple[float, float]:
        """Rated output and efficiency of a charger for one source. [A, 0..1]"""
        spec = self.specs[key]
        if spec["kind"] != "multi_charger":
            return float(spec["output_a"]), float(spec["efficiency_ratio"])
        return float(spec[f"{source}_a"]), float(spec[f"{source}_efficiency_ratio"])

    def hot_a(self, key: str, source: str) -> float:
        """Output in the compartment's heat. [A]"""
        rated, efficiency = self.rating(key, source)
        loss = rated * self.top_v * (1 / efficiency - 1)
        return rated * self.left(self.specs[key]["derating_ratio"], self.needs.compartment_c, loss)

    def engine_a(self, key: str) -> float:
        """Output that is left under the largest setting the alternator's headroom feeds. [A]"""
        most = math.inf if self.needs.engine_most_a is None else self.needs.engine_most_a
        rated, _ = self.rating(key, "engine")
        settings = [s for s in (*self.specs[key]["limit_steps_a"], rated) if s <= most + NEAR]
        return min(max(settings), self.hot_a(key, "engine")) if settings else 0.0

    def is_held(self, key: str) -> bool:
        most = math.inf if self.needs.engine_most_a is None else self.needs.engine_most_a
        return self.rating(key, "engine")[0] > most + NEAR

    def suits(self, key: str, source: str) -> bool:
        """Voltages in and out, and the kind of alternator."""
        spec = self.specs[key]
        if source == "solar" and spec["kind"] == "solar_controller":
            return f"{self.volts:g}" in {f"{float(v):g}" for v in spec["output_nominal_v"]}
        if float(spec["output_nominal_v"]) != self.volts:
            return False
        if source != "engine":
            return True
        smart = self.brief.vehicle.alternator_control == "smart"
        return float(spec["input_nominal_v"]) == self.brief.vehicle.nominal_v and (
            spec["smart_alternator"] or not smart
        )

    def profiled(self, key: str, chemistry: str) -> bool:
        return chemistry in self.specs[key]["profiles"]

    # --- the bank ------------------------------------------------------------------------------------------------

    def series_of(self, key: str) -> int | None:
        nominal = self.specs[key]["nominal_v"]
        best = [
            s for s in range(1, self.specs[key]["max_series"] + 1) if abs(s * nominal - self.volts) <= 0.15 * self.volts
        ]
        return best[0] if len(best) == 1 else min(best, key=lambda s: abs(s * nominal - self.volts), default=None)

    def wrong_with_bank(self, bank: Placed) -> list[str]:
        spec, need = self.specs[bank.part], self.needs.battery
        strings, over = divmod(bank.count, bank.series)
        hot = next(
            p for p in self.brief.vehicle.positions if p.key == self.brief.vehicle.places["battery"]
        ).engine_space
        peak_a = spec["peak_a"] if spec["peak_s"] >= need.peak_s else spec["max_discharge_a"]
        asked_ah = need.capacity_ah.get(spec["chemistry"], 0.0)
        wished = bank.kept or spec["chemistry"] in self.brief.wishes.chemistries
        faults = {
            "chemistry": not wished,
            "voltage": bank.series != self.series_of(bank.part) or over != 0,
            "series": bank.series > spec["max_series"],
            "parallel": strings > spec["max_parallel"],
            "engine_bay": hot and not spec["engine_bay_allowed"],
            "capacity": strings * spec["capacity_ah"] < asked_ah * (1 - NEAR),
            "discharge": strings * spec["max_discharge_a"] < need.discharge_a * (1 - NEAR),
            "peak": strings * peak_a < need.peak_a * (1 - NEAR),
        }
        return [f"bank {name}" for name, wrong in faults.items() if wrong]

    def takes_a(self, bank: Placed) -> float:
        return float(bank.count // bank.series * self.specs[bank.part]["max_charge_a"])

    # --- chargers ------------------------------------------------------------------------------------------------

    def serving(self, system: Paper) -> dict[str, str]:
        """Which part charges from each source."""
        found = {s: system[ALONE[s]].part for s in SOURCES if ALONE[s] in system}
        several = system.get("multi_charger")
        return {**found, **(dict.fromkeys(several.sources, several.part) if several else {})}

    def wrong_with_chargers(self, system: Paper, engine_asked_a: float) -> list[str]:
        serving, chemistry = self.serving(system), self.specs[system["battery"].part]["chemistry"]
        found = []
        for source in self.sources:
            if source not in serving:
                found.append(f"{source} missing")
                continue
            key = serving[source]
            if not self.has(key, source) or not self.suits(key, source):
                found.append(f"{source} voltage")
            elif not self.profiled(key, chemistry):
                found.append(f"{source} profile")
        if found:
            return found
        if "engine" in serving and self.engine_a(serving["engine"]) < engine_asked_a * (1 - NEAR):
            found.append("engine small")
        if "engine" in serving and self.engine_a(serving["engine"]) <= 0:
            found.append("engine headroom")
        if "mains" in serving and self.hot_a(serving["mains"], "mains") < self.needs.mains_a * (1 - NEAR):
            found.append("mains small")
        if self.alone_a(system, serving) > self.takes_a(system["battery"]) * (1 + NEAR):
            found.append("bank takes less")
        return found

    def alone_a(self, system: Paper, serving: Mapping[str, str]) -> float:
        """Most that one charger puts into the bank by itself, the sun counted beside its other inputs. [A]"""
        outs = {}
        for source, key in serving.items():
            outs[source] = self.engine_a(key) if source == "engine" else self.hot_a(key, source)
        if "solar" in outs:
            outs["solar"] = min(outs["solar"], self.array_a(serving["solar"], system["panel"]))
        several = system.get("multi_charger")
        if several is None:
            return max(outs.values(), default=0.0)
        whole = float(self.specs[several.part]["output_a"])
        inside = [s for s in several.sources if s in outs]
        alone = [amps if s not in inside else min(amps, whole) for s, amps in outs.items()]
        both = [min(outs[s] + outs["solar"], whole) for s in inside if s != "solar" and "solar" in inside]
        return max([*alone, *both], default=0.0)

    def best_engine_a(self, chemistry: str, keys: list[str]) -> float:
        """What of the asked current the alternator and the catalogue leave to ask. [A]"""
        n = self.needs
        asked, most = n.engine_a or 0.0, math.inf if n.engine_most_a is None else n.engine_most_a
        ready = [k for k in keys if self.has(k, "engine") and self.suits(k, "engine") and self.profiled(k, chemistry)]
        outs = [self.engine_a(k) for k in ready]
        target = min(asked, most)
        if max(outs, default=0.0) < target - NEAR and (
            asked > most or any(self.is_held(k) for k in ready if self.engine_a(k) > 0)
        ):
            return max(outs, default=target)
        return target

    # --- the sun -------------------------------------------------------------------------------------------------

    def array_a(self, control: str, panel: Placed) -> float:
        """Into the bank in full sun. [A]"""
        spec, strings = self.specs[panel.part], panel.count // panel.series
        if self.method(control) == "pwm":
            return float(spec["imp_a"] * strings)
        return float(spec["power_w"] * panel.count * self.rating(control, "solar")[1] / (13.2 * self.per_12))

    def method(self, control: str) -> str:
        spec = self.specs[control]
        return str(spec["solar_method"] if spec["kind"] == "multi_charger" else spec["method"])

    def wrong_with_array(self, control: str, panel: Placed) -> list[str]:
        need, spec, c = self.needs.solar, self.specs[panel.part], self.specs[control]
        assert need is not None
        strings, over = divmod(panel.count, panel.series)
        cold_v = panel.series * spec["voc_v"] * (1 + spec["voc_per_k"] * (need.cold_c - 25))
        hot_v = panel.series * spec["vmp_v"] * (1 + spec["power_per_k"] * (need.hot_cell_c - 25))
        asked_v = self.top_v + (0.0 if self.method(control) == "pwm" else c["start_margin_v"])
        out_a = self.hot_a(control, "solar")
        faults = {
            "odd": over != 0,
            "cold voltage": cold_v > min(c["max_voc_v"], spec["max_system_v"]) * (1 + NEAR),
            "hot voltage": hot_v < asked_v * (1 - NEAR),
            "current": strings * spec["isc_a"] > c["max_isc_a"] * (1 + NEAR),
            "output": not panel.kept and self.array_a(control, panel) > out_a + NEAR,
            "roof": not panel.kept and not self.on_roof(spec, panel.count),
            "small": any(
                self.gives_w(control, panel) * self.in_shade(control, panel, shade, hot_v, asked_v) < w * (1 - NEAR)
                for w, shade in need.by_stop or ((need.array_w, 0.0),)
            ),
        }  # fmt: skip
        return [f"array {name}" for name, wrong in faults.items() if wrong]

    def gives_w(self, control: str, panel: Placed) -> float:
        spec, strings = self.specs[panel.part], panel.count // panel.series
        whole = float(spec["power_w"] * panel.count)
        return min(whole, spec["imp_a"] * strings * 13.2 * self.per_12) if self.method(control) == "pwm" else whole

    def in_shade(self, control: str, panel: Placed, shade: float, hot_v: float, asked_v: float) -> float:
        """Mean of what is left, the shadow's edge lying anywhere within half a group of what is stated."""
        if shade == 0:
            return 1.0
        spec = self.specs[panel.part]
        groups = spec.get("bypass_groups") or min(12, max(1, round(spec["voc_v"] / 12)))
        strings, each = panel.count // panel.series, panel.series * groups
        x = min(strings * each, shade * strings * each + 0.5)
        whole = math.floor(x)
        return sum(
            weight * self.with_dark(control, n, each, strings, hot_v, asked_v)
            for n, weight in ((whole, 1 - (x - whole)), (whole + 1, x - whole))
            if weight > 0
        )

    def with_dark(self, control: str, dark: int, each: int, strings: int, hot_v: float, asked_v: float) -> float:
        """Share of an array's power with so many groups bypassed, string after string."""
        bright = [max(0, min(each, (i + 1) * each - dark)) for i in range(strings)]
        full = sum(b == each for b in bright) / strings
        part = next((b for b in bright if 0 < b < each), None)
        if part is None or hot_v * part / each < asked_v:
            return full
        if self.method(control) == "pwm":
            together = min((full * strings + 1) / strings, sum(bright) / (each * strings))
        else:
            together = (full * strings + 1) * part / each / strings
        return max(full, together)

    def on_roof(self, spec: Mapping[str, Any], count: int) -> bool:
        """Panels all one way round on a bare rectangle."""
        long, wide = self.brief.vehicle.roof_length_m, self.brief.vehicle.roof_width_m
        if not long or not wide:
            return True
        a, b = spec["length_m"], spec["width_m"]
        ways = [math.floor(long / x + NEAR) * math.floor(wide / y + NEAR) for x, y in ((a, b), (b, a))]
        return count <= max(ways)

    # --- the rest ------------------------------------------------------------------------------------------------

    def wrong_with_ac(self, system: Paper) -> list[str]:
        n, found = self.needs.inverter, []
        mains = self.serving(system).get("mains")
        mains_a = 0.0
        if mains and self.inlet:
            spec = self.specs[mains]
            several = spec["kind"] == "multi_charger"
            efficiency = spec["mains_efficiency_ratio" if several else "efficiency_ratio"]
            mains_a = (
                self.rating(mains, "mains")[0] * self.top_v / (efficiency * spec["power_factor"] * spec["mains_v"])
            )
            inlet = self.specs[system["inlet"].part]
            if inlet["rated_a"] < mains_a or inlet["rated_v"] < spec["mains_v"]:
                found.append("inlet small")
        if n is not None:
            spec = self.specs[system["inverter"].part]
            left = read(spec["derating_ratio"], n.compartment_c) if spec["derating_ratio"] else 1.0
            surge = spec["surge_w"] if spec["surge_s"] >= n.surge_s else spec["continuous_w"] * left
            if spec["nominal_v"] != self.volts:
                found.append("inverter voltage")
            if spec["continuous_w"] * left < n.continuous_w or spec["continuous_va"] * left < n.continuous_va:
                found.append("inverter small")
            if surge < n.surge_w:
                found.append("inverter surge")
            mains_a = max(mains_a, spec["continuous_va"] / spec["output_v"])
        if "residual" in system:
            device = self.specs[system["residual"].part]
            if (
                device["rated_a"] < mains_a
                or device["sensitivity_ma"] > 30
                or device["poles"] < 2
                or device["type"] == "ac"
            ):
                found.append("residual")
        return found

    def wrong_with_monitor(self, system: Paper) -> list[str]:
        spec, bank = self.specs[system["monitor"].part], system["battery"]
        battery = self.specs[bank.part]
        main_a = self.needs.battery.discharge_a
        if "inverter" in system:
            i = self.specs[system["inverter"].part]
            main_a = max(main_a, i["continuous_w"] / (i["efficiency_full_ratio"] * i["cutoff_v"]))
        cold_k = min(0.0, max(0.0, battery["min_charge_c"]) - 25)
        charging_v = bank.series * (
            battery["absorption_v"] + battery["cells"] * battery["compensation_mv_per_cell_k"] / 1000 * cold_k
        )
        faults = {"monitor shunt": spec["shunt_a"] < main_a * (1 - NEAR),
                  "monitor voltage": spec["max_v"] < max(self.top_v, charging_v) * (1 - NEAR)}  # fmt: skip
        return [name for name, wrong in faults.items() if wrong]

    def wrong_with(self, system: Paper, engine_asked_a: float | None = None) -> list[str]:
        """Everything that is wrong with a system; nothing where it may be built."""
        bank = self.wrong_with_bank(system["battery"])
        chemistry = self.specs[system["battery"].part]["chemistry"]
        asked = self.best_engine_a(chemistry, list(self.parts)) if engine_asked_a is None else engine_asked_a
        found = [*bank, *self.wrong_with_chargers(system, asked)]
        control = self.serving(system).get("solar")
        if "solar" in self.sources and control and not found:
            found += self.wrong_with_array(control, system["panel"])
        return [*found, *self.wrong_with_ac(system), *self.wrong_with_monitor(system)]

    # --- money and mass ------------------------------------------------------------------------------------------

    def price_of(self, system: Paper) -> float:
        """Parts, what fits them, what is programmed. [currency]"""
        labour, total = self.case.market.labour, 0.0
        for role, one in system.items():
            if one.kept:
                continue
            each = float(self.case.market.price(one.part)) + (float(labour[FIT[role]]) if role in FIT else 0.0)
            total += one.count * each + (float(labour["program_settings"]) if role in SET_UP else 0.0)
        return total

    def counted(self, system: Paper) -> float:
        """Price as an objective counts it: what is not on the shelf is dearer where stock is preferred."""
        if not self.case.steer.prefer_stock:
            return self.price_of(system)
        total = 0.0
        for role, one in system.items():
            alone = self.price_of({role: one})
            waits = not one.kept and self.case.market.parts[one.part].stock < one.count
            total += alone * (1 + self.brief.policy.stock_premium_ratio * waits)
        return total

    def mass_of(self, system: Paper) -> float:
        return math.fsum(self.parts[one.part].mass_kg * one.count for one in system.values() if not one.kept)

    def waits(self, one: Placed) -> int:
        """Days until so many of a part are there."""
        market = self.case.market.parts.get(one.part)
        return 0 if one.kept or market is None or market.stock >= one.count else market.lead_days

    def within(self, system: Paper) -> bool:
        """Budget and mass, and so many of each part within the days that may be waited."""
        steer = self.case.steer
        if steer.budget is not None and self.price_of(system) > float(steer.budget) + NEAR:
            return False
        if steer.most_lead_days is not None and any(self.waits(one) > steer.most_lead_days for one in system.values()):
            return False
        return steer.most_mass_kg is None or self.mass_of(system) <= steer.most_mass_kg + NEAR


def read(curve: Any, x: float) -> float:
    """A curve at x: straight between its points, flat beyond."""
    points = [(float(a), float(b)) for a, b in curve]
    if x <= points[0][0]:
        return points[0][1]
    for (x0, y0), (x1, y1) in itertools.pairwise(points):
        if x <= x1:
            return y0 + (y1 - y0) * (x - x0) / (x1 - x0)
    return points[-1][1]
