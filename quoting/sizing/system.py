"""The chosen parts as sizing sees them, and the book in which figures and findings are written down."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import TypeVar

import catalog.kinds as kinds
from catalog.kinds.capabilities import (
    Capability,
    Converting,
    EngineCharging,
    Inverting,
    MainsCharging,
    OwnDraw,
    Panel,
    SolarControl,
    Storage,
    Switching,
    at,
)
from quoting.sizing import battery
from quoting.sizing.appraisal import Chosen
from quoting.sizing.brief import Brief, Role, Stop
from quoting.sizing.errors import SizingError
from quoting.sizing.own_heat import loss_w, own_rise_k
from quoting.sizing.parts import Catalogue
from quoting.sizing.policy import ChemistryPolicy
from quoting.sizing.sharing import goes_off
from quoting.sizing.trace import Figure, Finding, Level, Scalar, Step, finding, step

CHARGING_SHARE = {"lifepo4": 12.8 / 13.5, "agm": 12 / 13.6, "gel": 12 / 13.8, "flooded": 12 / 13.5}
"""Nominal over float voltage before a battery is chosen. Common practice."""

C = TypeVar("C", bound=Capability)


@dataclass(slots=True)
class Book:
    """Figures and findings, written down as they are worked out; a figure written twice keeps the last."""

    figures: dict[str, Figure] = field(default_factory=dict)
    findings: list[Finding] = field(default_factory=list)

    def put(
        self, code: str, value: float, unit: str, steps: Iterable[Step] = (), method: str = "", source: str = ""
    ) -> float:
        self.figures[code] = Figure(
            code=code, value=float(value), unit=unit, steps=tuple(steps), method=method, source=source
        )
        return float(value)

    def note(self, level: Level, code: str, subject: str = "", **params: Scalar) -> None:
        found = finding(level, code, subject, **params)
        if found not in self.findings:
            self.findings.append(found)


@dataclass(frozen=True, slots=True)
class System:
    """What was chosen, by what it does. Any of it may be missing: then the sums go on without."""

    brief: Brief
    chosen: tuple[Chosen, ...] = ()
    storage: tuple[Chosen, Storage] | None = None
    engine: tuple[Chosen, EngineCharging] | None = None
    mains: tuple[Chosen, MainsCharging] | None = None
    solar: tuple[Chosen, SolarControl] | None = None
    panel: tuple[Chosen, Panel] | None = None
    inverter: tuple[Chosen, Inverting] | None = None
    converter: tuple[Chosen, Converting] | None = None
    switching: tuple[Chosen, Switching] | None = None
    feed_ohm: float | None = None
    """Of the engine feed, as designed, hot. [Ω] ``None``: not designed yet."""
    cut: frozenset[str] = frozenset()
    """Sources (``engine``, ``mains``, ``sun``) whose way to the battery was refused."""
    draws: dict[str, OwnDraw] = field(default_factory=dict, compare=False, repr=False)
    """What parts take for themselves, by key, as it is asked for."""

    @property
    def converter_ratio(self) -> float | None:
        """Efficiency of the chosen converter of 12 V loads; ``None``: the policy's holds."""
        return self.converter[1].efficiency_ratio if self.converter else None

    @property
    def goes_off(self) -> dict[str, float]:
        """Charge under which each load goes off, by key: that of its circuit, where an output lets it go."""
        return goes_off(self.brief, self.switching[1] if self.switching else None)

    @property
    def chemistry(self) -> str:
        """The chosen battery's, or the first that is wished."""
        return self.storage[1].chemistry if self.storage else self.brief.wishes.chemistries[0]

    @property
    def chemistry_policy(self) -> ChemistryPolicy:
        return self.brief.policy.chemistries[self.chemistry]

    @property
    def bank_v(self) -> float:
        """Nominal voltage of the bank. [V]"""
        if self.storage:
            return self.storage[1].nominal_v * self.storage[0].series
        return battery.nominal_v(self.chemistry, self.brief.wishes.system_v)

    @property
    def absorption_v(self) -> float:
        """Charging voltage of the bank. [V]"""
        if self.storage:
            return self.storage[1].absorption_v * self.storage[0].series
        return self.brief.policy.charging_v_per_12 * self.brief.wishes.system_v / 12

    @property
    def charging_share(self) -> float:
        """Nominal over mean charging voltage, which the float voltage stands for: what a watt of charging stores."""
        if self.storage:
            return min(1.0, self.storage[1].nominal_v / self.storage[1].float_v)
        return CHARGING_SHARE[self.chemistry]

    @property
    def capacity_ah(self) -> float | None:
        if self.storage is None:
            return None
        return self.storage[1].capacity_ah * self.storage[0].parallel

    @property
    def charge_limit_a(self) -> float:
        """Most charging current of the bank. [A]"""
        return self.storage[1].max_charge_a * self.storage[0].parallel if self.storage else float("inf")

    @property
    def discharge_limit_a(self) -> float:
        return self.storage[1].max_discharge_a * self.storage[0].parallel if self.storage else float("inf")


def assemble(brief: Brief, chosen: tuple[Chosen, ...], parts: Catalogue) -> System:
    """Find, among the chosen parts, the one that does each thing."""

    def that(need: str, wanted: type[C]) -> tuple[Chosen, C] | None:
        for one in chosen:
            if need in one.serves:
                try:
                    return one, parts.can(one.part, wanted)
                except KeyError:
                    continue
        return None

    return System(
        brief=brief,
        chosen=chosen,
        storage=that("storage", Storage),
        engine=that("engine_charging", EngineCharging),
        mains=that("mains_charging", MainsCharging),
        solar=that("solar_control", SolarControl),
        panel=that("panel", Panel),
        inverter=that("inverting", Inverting),
        converter=that("converting", Converting),
        switching=that("switching", Switching),
    )


def own_draw(system: System, one: Chosen) -> OwnDraw:
    """What one piece of a chosen part takes for itself."""
    if one.part not in system.draws:
        system.draws[one.part] = _own_draw(system.brief, one.part)
    return system.draws[one.part]


def _own_draw(brief: Brief, key: str) -> OwnDraw:
    part = next(p for p in brief.catalogue if p.key == key)
    kind = kinds.get(part.kind)
    return kind.own_draw(kind.clean(part.spec))


def check_wishes(brief: Brief) -> None:
    """Refuse a Brief whose wishes cannot be worked with."""
    if not brief.wishes.chemistries:
        raise SizingError("wishes.chemistries", code="missing")
    for i, chemistry in enumerate(brief.wishes.chemistries):
        if chemistry not in battery.CELL_V:
            known = ", ".join(battery.CELL_V)
            raise SizingError(
                f"wishes.chemistries[{i}]",
                value=chemistry,
                code="not_a_choice",
                message=f"{chemistry!r} is not known; choose among {known}",
            )


def compartment_c(brief: Brief, stop: Stop, role: Role) -> tuple[float, tuple[Step, ...]]:
    """Air round a part that sits in this role's place, parked: the day's maximum and the canopy's rise. [°C]

    Never more than the hottest air that the survey gives for the place, nor less than outside.
    """
    hottest, rise = stop.site.tmax_c[stop.month - 1], brief.policy.compartment_rise_k
    site = stop.site
    steps = [step("hottest_air", hottest, "°C", origin="table", name=site.name, month=stop.month, **site.step_mark)]
    place = brief.vehicle.places.get(role)
    if place is None and role == "converter":
        place = brief.vehicle.places.get("board")
    position = next((p for p in brief.vehicle.positions if p.key == place), None)
    if position is not None and position.aired:
        return hottest, (*steps, step("compartment", hottest, "°C", "="))
    parked = hottest + rise
    steps.append(step("compartment_rise", rise, "K", "+", "policy"))
    most = parked if position is None else max(position.ambient_c, hottest)
    if position is not None and most < parked:
        steps.append(step("place_hottest", most, "°C", "min", "survey", name=position.name))
        parked = most
    return parked, (*steps, step("compartment", parked, "°C", "="))


@dataclass(frozen=True, slots=True)
class Output:
    """Current of a charger into the bank, with what holds it back."""

    amps: float
    steps: tuple[Step, ...]


def _at_heat(system: System, can: EngineCharging | MainsCharging | SolarControl, air_c: float, left: float) -> Step:
    """What the compartment and the part's own heat leave of its rating."""
    policy = system.brief.policy
    own_k = own_rise_k(can.derating, air_c, loss_w(can, system.brief.wishes.system_v, policy), policy.own_heat_k_per_w)
    return step("at_heat", left, "", "×", "catalogue", compartment_c=air_c, own_k=own_k)


def output(system: System, one: Chosen, can: EngineCharging | MainsCharging, air_c: float) -> Output:
    """Charging current: the rating, less with heat, held to the set limit and the battery's own. [A]

    The limit that is set holds for the engine's input: it is there for the alternator.
    """
    rated_a, derating = can.output_a, can.derating
    left = at(derating, air_c)
    amps = rated_a * one.quantity * left
    steps = [step("rating", rated_a * one.quantity, "A", origin="catalogue")]
    if left < 1:
        steps.append(_at_heat(system, can, air_c, left))
    limit = one.output_limit_a if isinstance(can, EngineCharging) else None
    if limit is not None and limit < amps:
        amps = limit
        steps.append(step("output_limit", amps, "A", "min", "derived"))
    if system.charge_limit_a < amps:
        amps = system.charge_limit_a
        steps.append(step("battery_limit", amps, "A", "min", "catalogue"))
    return Output(amps, (*steps, step("output_now", amps, "A", "=")))
