"""The cheapest set of chargers: each its own, or one with several inputs; panels with the controller they suit."""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from decimal import Decimal

from catalog.kinds.capabilities import EngineCharging, MainsCharging, Panel, SolarControl, at
from quoting.sizing.appraisal import Chosen, Shortfall
from quoting.sizing.brief import Brief, Part
from quoting.sizing.choice_array import MET, Array, array_output_a, arrays, meets_ratio, on_roof, panels_of
from quoting.sizing.kept import CONNECTED, Settled, as_settled, marked, not_used, settled_as, unsettled
from quoting.sizing.needs import Needs, SolarNeed
from quoting.sizing.parts import Able, Catalogue, rating_of, short
from quoting.sizing.trace import Finding, Scalar


@dataclass(frozen=True, slots=True)
class ChargingSet:
    """Chargers that together meet the charging needs, or as many of them as can be met."""

    chosen: tuple[Chosen, ...] = ()
    shortfalls: tuple[Shortfall, ...] = ()
    findings: tuple[Finding, ...] = ()
    cost: Decimal = Decimal(0)
    alone_a: float = 0.0
    """Most that one charger by itself puts into the battery. [A]"""
    together_a: float = 0.0
    """Most that comes at once: the sun with the engine or with mains, which are never there together. [A]"""


@dataclass(slots=True)
class _Ask:
    """The need for one chemistry, and the words for a shortfall."""

    brief: Brief
    parts: Catalogue
    needs: Needs
    chemistry: str
    settings: dict[str, Scalar]
    findings: list[Finding] = field(default_factory=list)

    @property
    def system_v(self) -> int:
        return self.brief.wishes.system_v


def charging_set(
    brief: Brief, parts: Catalogue, needs: Needs, chemistry: str, settings: dict[str, Scalar]
) -> ChargingSet:
    """Choose the cheapest chargers for one chemistry; a multi-input charger competes with single ones."""
    ask = _Ask(brief, parts, needs, chemistry, settings)
    wanted = [w for w in ("engine", "mains", "solar") if is_wanted(needs, w)]
    whole = settled_as(brief, "multi_charger")
    multis: list[Part | None] = [None]
    if whole is not None:
        multis = [parts.part(whole.part)]
    elif not all(settled_as(brief, ROLE[source]) for source in wanted):
        several = [part for part, cans in parts if len(_inputs(cans)) > 1]
        multis = [None, *sorted(several, key=lambda p: p.key)]
    best: ChargingSet | None = None
    best_order: tuple[int, Decimal, float, tuple[str, ...]] | None = None
    for multi in multis:
        found = _assemble(ask, wanted, multi)
        if found is None:
            continue
        mass = sum(c.mass_kg for c in found.chosen)
        order = len(found.shortfalls), found.cost, mass, tuple(c.part for c in found.chosen)
        if best_order is None or order < best_order:
            best, best_order = found, order
    found = best or ChargingSet()
    return replace(found, findings=(*found.findings, *_idle(brief, parts, found)))


def _idle(brief: Brief, parts: Catalogue, found: ChargingSet) -> tuple[Finding, ...]:
    """Settled chargers and panels that nothing asks for."""
    told = {c.part for c in found.chosen}
    told |= {s.subject for s in found.shortfalls if s.code.startswith(("kept_", "picked_"))}
    every = (settled_as(brief, role) for role in ("multi_charger", *ROLE.values(), "panel"))
    return tuple(not_used(parts, one) for one in every if one and not told & {one.part, one.role})


def is_wanted(needs: Needs, source: str) -> bool:
    if source == "engine":
        return needs.engine_a is not None and needs.engine_a > 0
    if source == "mains":
        return needs.mains_a is not None and needs.mains_a > 0
    return needs.solar is not None and needs.solar.array_w > 0


def _inputs(cans: tuple[object, ...]) -> list[object]:
    return [c for c in cans if isinstance(c, EngineCharging | MainsCharging | SolarControl)]


def _assemble(ask: _Ask, wanted: list[str], multi: Part | None) -> ChargingSet | None:
    chosen: list[Chosen] = []
    missing: list[Shortfall] = []
    findings: list[Finding] = []
    cost, served, setting = Decimal(0), [], dict(ask.settings)
    outputs: dict[str, float] = {}
    whole, panel = settled_as(ask.brief, "multi_charger"), settled_as(ask.brief, "panel")
    if multi is not None and whole is None and multi.key not in {a.part.key for w in wanted for a in _having(ask, w)}:
        return None
    for source in wanted:
        found = _one(ask, source, multi)
        if isinstance(found, _One) and multi is not None and found.part.key == multi.key:
            served.append(source)
            setting.update(found.setting)
            outputs[source] = found.output_a
        elif isinstance(found, _One):
            chosen.append(found.chosen(ask.settings, ask.parts))
            cost += Decimal(0) if found.settled and found.settled.kept else Decimal(found.part.cost)
            outputs[source] = found.output_a
        else:
            missing.append(found)
            continue
        findings += found.findings
        missing += [found.missed] if found.missed else []
        if found.array is not None:
            panels = panels_of(found.array, found.runner_up_panel)
            chosen.append(marked(panels, panel, ask.parts) if panel else panels)
            cost += Decimal(0) if panel and panel.kept else found.array.cost
    if multi is not None and (served or whole is None):
        if len(served) < 2 and whole is None:
            return None
        codes = {"engine": "engine_charging", "mains": "mains_charging", "solar": "solar_control"}
        cost += Decimal(0) if whole and whole.kept else Decimal(multi.cost)
        chosen.insert(
            0,
            Chosen(
                role="multi_charger",
                serves=tuple(codes[s] for s in served),
                part=multi.key,
                name=multi.name,
                part_number=multi.part_number,
                quantity=1,
                rating=rating_of(multi),
                mass_kg=multi.mass_kg,
                setting=setting,
            ),
        )
        if whole is not None:
            chosen[0] = marked(chosen[0], whole, ask.parts)
    alone_a, together_a = _into_bank(outputs, served, multi)
    return ChargingSet(tuple(chosen), tuple(missing), tuple(findings), cost, alone_a, together_a)


def _into_bank(outputs: dict[str, float], served: list[str], multi: Part | None) -> tuple[float, float]:
    """Most that one charger gives by itself, and most that comes at once. [A, A]"""

    def at_once(*sources: str) -> float:
        within = [outputs[s] for s in sources if s in served and s in outputs]
        beside = math.fsum(outputs[s] for s in sources if s not in served and s in outputs)
        return beside + (_shared(multi, within) if multi is not None and within else 0.0)

    pairs = [(s, "solar") for s in served if s != "solar" and "solar" in served]
    alone_a = max([*(at_once(s) for s in outputs), *(at_once(*pair) for pair in pairs)], default=0.0)
    return alone_a, max(at_once("engine", "solar"), at_once("mains", "solar"))


def _shared(multi: Part, outputs: list[float]) -> float:
    """Most a shared output gives: its kind's stated whole output, else the largest input. [A]"""
    whole = multi.spec.get("output_a")
    return min(sum(outputs), float(whole)) if isinstance(whole, int | float) else max(outputs)


def _having(
    ask: _Ask, source: str
) -> list[Able[EngineCharging]] | list[Able[MainsCharging]] | list[Able[SolarControl]]:
    if source == "engine":
        return ask.parts.having(EngineCharging)
    return ask.parts.having(MainsCharging) if source == "mains" else ask.parts.having(SolarControl)


@dataclass(frozen=True, slots=True)
class _One:
    """One charger for one source."""

    role: str
    serves: str
    part: Part
    output_a: float
    setting: dict[str, Scalar]
    runner_up: str = ""
    findings: tuple[Finding, ...] = ()
    array: Array | None = None
    runner_up_panel: str = ""
    settled: Settled | None = None
    missed: Shortfall | None = None
    """What a settled charger or array falls short by, and is connected all the same."""

    def chosen(self, settings: dict[str, Scalar], parts: Catalogue) -> Chosen:
        found = Chosen(
            role=self.role,  # type: ignore[arg-type]
            serves=(self.serves,),
            part=self.part.key,
            name=self.part.name,
            part_number=self.part.part_number,
            quantity=1,
            rating=rating_of(self.part),
            mass_kg=self.part.mass_kg,
            setting={**settings, **self.setting},
            runner_up=self.runner_up,
        )
        return marked(found, self.settled, parts) if self.settled else found


ROLE = {"engine": "engine_charger", "mains": "mains_charger", "solar": "solar_controller"}
CAN: dict[str, type[EngineCharging] | type[MainsCharging] | type[SolarControl]] = {
    "engine": EngineCharging, "mains": MainsCharging, "solar": SolarControl,
}  # fmt: skip


def _one(ask: _Ask, source: str, multi: Part | None) -> _One | Shortfall:
    """The charger of one source: a settled one, else the one of several inputs, else the cheapest single one."""
    settled = settled_as(ask.brief, ROLE[source])
    whole = settled_as(ask.brief, "multi_charger")
    if settled is None and whole is not None and ask.parts.has(whole.part, CAN[source]):
        settled = whole
    if settled is not None:
        return _settled_one(ask, source, settled)
    return _pick(ask, source, multi)


def _settled_one(ask: _Ask, source: str, one: Settled) -> _One | Shortfall:
    """A settled charger for its source; what it misses is told, and stops it only where it may not be connected."""
    part = ask.parts.part(one.part)
    found = _pick(replace(ask, parts=ask.parts.narrowed(one.part, (CAN[source],))), source, part)
    if isinstance(found, _One):
        return replace(_no_less_than_any(ask, source, one, found), settled=one)
    free = _free(ask, source)
    missed = as_settled(found, one, part.name, free.part.name if free else "")
    if found.code not in CONNECTED or source == "solar":
        return missed
    can = ask.parts.can(one.part, CAN[source])
    out_a, setting = can.output_a * at(can.derating, ask.needs.compartment_c), {}
    if isinstance(can, EngineCharging) and found.code == "too_large" and can.limit_steps_a:
        setting = {"output_limit_a": min(can.limit_steps_a)}
        out_a = min(out_a, *can.limit_steps_a)
    serves = {"engine": "engine_charging", "mains": "mains_charging"}[source]
    return _One(ROLE[source], serves, part, out_a, dict(setting), settled=one, missed=missed)


def _free(ask: _Ask, source: str) -> _One | None:
    """What the whole catalogue would give for a source."""
    free = _pick(replace(ask, brief=unsettled(ask.brief)), source, None)
    return free if isinstance(free, _One) else None


def _no_less_than_any(ask: _Ask, source: str, one: Settled, found: _One) -> _One:
    """A picked engine charger under what is asked falls short where another gives more.

    By itself, it would be taken for the most that the alternator's headroom feeds.
    """
    if one.kept or not found.findings or source != "engine":
        return found
    free = _free(ask, source)
    if free is None or free.output_a <= found.output_a + 1e-9:
        return found
    asked = min(ask.needs.engine_a or 0.0, free.output_a)
    lack = short("too_small", "engine_charging", "engine_charger", best_value=found.output_a, asked=asked, unit="A")
    return replace(found, findings=(), missed=as_settled(lack, one, found.part.name, free.part.name))


def _pick(ask: _Ask, source: str, multi: Part | None) -> _One | Shortfall:
    if source == "engine":
        return _engine(ask, multi)
    if source == "mains":
        return _mains(ask, multi)
    return _solar(ask, multi)


def _engine(ask: _Ask, multi: Part | None) -> _One | Shortfall:
    needs, all_of = ask.needs, ask.parts.having(EngineCharging)
    own = [a for a in all_of if multi is not None and a.part.key == multi.key]
    candidates = own or [a for a in all_of if not a.can.shares_output]
    asked = needs.engine_a or 0.0
    most = math.inf if needs.engine_most_a is None else needs.engine_most_a
    suits = [
        a
        for a in candidates
        if a.can.input_nominal_v == ask.brief.vehicle.nominal_v and a.can.output_nominal_v == ask.system_v
    ]
    profiled = [a for a in suits if ask.chemistry in a.can.profiles]
    smart = ask.brief.vehicle.alternator_control == "smart"
    ready = [a for a in profiled if a.can.smart_alternator or not smart]
    if not ready:
        return _refuse("engine_charging", "engine_charger", candidates, suits, profiled, asked, "A")
    offers = [(a, *limited(a.can, most, needs.compartment_c)) for a in ready]
    able = [(a, out, limit) for a, out, limit in offers if out > 0]
    good = [o for o in able if o[1] >= min(asked, most) - 1e-9]
    findings: tuple[Finding, ...] = ()
    held = [o for o in able if o[2] < o[0].can.output_a]
    if not good and able and (asked > most or held):
        # The alternator's headroom, or the setting just under it, is the limit: a bigger charger would not help.
        top = max(out for _, out, _ in able)
        good = [o for o in able if o[1] == top]
    if not able:
        # every setting is more than the alternator spares: no larger charger would help either
        least = min(ready, key=lambda a: (min((*a.can.limit_steps_a, a.can.output_a)), a.order))
        step_a = min((*least.can.limit_steps_a, least.can.output_a))
        return short(
            "too_large", "engine_charging", "engine_charger", best=least, best_value=step_a, asked=most, unit="A"
        )
    if not good:
        near = max(offers, key=lambda o: (o[1], o[0].part.key))
        return short(
            "too_small",
            "engine_charging",
            "engine_charger",
            best=near[0],
            best_value=near[1],
            asked=min(asked, most),
            unit="A",
        )
    a, out, limit = good[0]
    if out < asked - 1e-9:
        said: dict[str, Scalar] = {"asked_a": round(asked, 1), "output_a": round(out, 1), "most_a": round(most, 1)}
        code = "alternator_limits_charging" if most < asked else "charger_under_asked"
        findings = (Finding(level="warning", code=code, subject="engine", params=said),)
    setting: dict[str, Scalar] = {"output_limit_a": limit} if limit < a.can.output_a else {}
    return _One(
        "engine_charger",
        "engine_charging",
        a.part,
        out,
        setting,
        good[1][0].part.name if len(good) > 1 else "",
        findings,
    )


def limited(can: EngineCharging, most_a: float, compartment_c: float) -> tuple[float, float]:
    """Largest output the headroom feeds and the limit to set for it; (0, 0) when every step is too much. [A]"""
    allowed = [s for s in (*can.limit_steps_a, can.output_a) if s <= most_a + 1e-9]
    if not allowed:
        return 0.0, 0.0
    limit = max(allowed)
    return min(limit, can.output_a * at(can.derating, compartment_c)), limit


def _refuse(need: str, role: str, found: list, suits: list, profiled: list, asked: float, unit: str) -> Shortfall:  # type: ignore[type-arg]
    """Say why nothing serves: none there, other voltage, no profile, or nothing that fits it all."""
    code = (
        "none_of_kind"
        if not found
        else "wrong_voltage"
        if not suits
        else "wrong_chemistry"
        if not profiled
        else "no_match"
    )
    near = (profiled or suits or found or [None])[0]
    value = near.can.output_a if near is not None and code == "no_match" else None
    return short(code, need, role, best=near, best_value=value, asked=asked, unit=unit)


def _mains(ask: _Ask, multi: Part | None) -> _One | Shortfall:
    asked, all_of = ask.needs.mains_a or 0.0, ask.parts.having(MainsCharging)
    own = [a for a in all_of if multi is not None and a.part.key == multi.key]
    candidates = own or [a for a in all_of if not a.can.shares_output]
    suits = [a for a in candidates if a.can.output_nominal_v == ask.system_v]
    profiled = [a for a in suits if ask.chemistry in a.can.profiles]
    if not profiled:
        return _refuse("mains_charging", "mains_charger", candidates, suits, profiled, asked, "A")
    out = {a.part.key: a.can.output_a * at(a.can.derating, ask.needs.compartment_c) for a in profiled}
    good = [a for a in profiled if out[a.part.key] >= asked - 1e-9]
    if not good:
        near = max(profiled, key=lambda a: (out[a.part.key], a.part.key))
        return short(
            "too_small",
            "mains_charging",
            "mains_charger",
            best=near,
            best_value=out[near.part.key],
            asked=asked,
            unit="A",
        )
    a = good[0]
    return _One(
        "mains_charger", "mains_charging", a.part, out[a.part.key], {}, good[1].part.name if len(good) > 1 else ""
    )


def _solar(ask: _Ask, multi: Part | None) -> _One | Shortfall:
    need = ask.needs.solar
    assert need is not None
    all_of = ask.parts.having(SolarControl)
    own = [a for a in all_of if multi is not None and a.part.key == multi.key]
    candidates = own or [a for a in all_of if not a.can.shares_output]
    suits = [a for a in candidates if ask.system_v in a.can.output_nominal_v]
    profiled = [a for a in suits if ask.chemistry in a.can.profiles]
    if not profiled:
        return _refuse("solar_control", "solar_controller", candidates, suits, profiled, need.array_w, "W")
    panel = settled_as(ask.brief, "panel")
    parts = ask.parts.narrowed(panel.part, (Panel,)) if panel else ask.parts
    panels = parts.having(Panel)
    if not panels:
        return short("none_of_kind", "panel", "panel", asked=need.array_w, unit="W")
    pairs = [
        (c, array)
        for c in profiled
        for p in panels
        for array in arrays(ask.brief, need, p, c.can, ask.needs.compartment_c, panel)
    ]
    met = [meets_ratio(a, c.can, need, ask.brief) for c, a in pairs]
    good = [pair for pair, ratio in zip(pairs, met, strict=True) if ratio >= MET]
    missed: Shortfall | None = None
    if not good:
        if not pairs:
            found = short("no_match", "panel", "panel", best=panels[0], asked=need.array_w, unit="W")
            return as_settled(found, panel, panels[0].part.name, _free_array(ask, panel)) if panel else found
        ratio, (near, array) = max(zip(met, pairs, strict=True), key=lambda o: (o[0], o[1][0].part.key))
        gives = ratio * need.array_w
        lack = short("too_small", "panel", "panel", best=array.panel, best_value=gives, asked=need.array_w, unit="W")
        held = panel or settled_as(ask.brief, "solar_controller")
        if held is None:
            return lack
        missed, good = as_settled(lack, held, ask.parts.part(held.part).name, _free_array(ask, held)), [(near, array)]
    good.sort(
        key=lambda o: (
            o[0].cost + o[1].cost,
            o[0].part.mass_kg + o[1].panel.part.mass_kg * o[1].count,
            o[1].count,
            o[0].part.key,
            o[1].panel.part.key,
        )
    )
    c, array = good[0]
    other = next((o.part.name for o, _ in good if o.part.key != c.part.key), "")
    other_panel = next((o.panel.part.name for _, o in good if o.panel.part.key != array.panel.part.key), "")
    top_a, array_a = _controller_a(ask, c), array_output_a(array, c.can, ask.system_v)
    out = min(top_a, array_a)
    if missed is None and panel is not None and not panel.kept:
        missed = _too_much(ask, need, panel, array, top_a, array_a)
    return _One("solar_controller", "solar_control", c.part, out, {}, other, (), array, other_panel, missed=missed)


def _controller_a(ask: _Ask, control: Able[SolarControl]) -> float:
    """Output of a controller in the heat. [A]"""
    return control.can.output_a * at(control.can.derating, ask.needs.compartment_c)


def _too_much(ask: _Ask, need: SolarNeed, one: Settled, array: Array, top_a: float, array_a: float) -> Shortfall | None:
    """Picked panels that do not lie on the roof, or that give more than their controller passes on."""
    part = array.panel.part
    if not on_roof(ask.brief, need, array.panel.can, array.count):
        room = max((n for n in range(array.count) if on_roof(ask.brief, need, array.panel.can, n)), default=0)
        found = short("too_large", "panel", "panel", best_value=float(array.count), asked=float(room), rule="roof")
    elif array_a > top_a + 1e-9:
        found = short("too_small", "solar_control", "solar_controller", best_value=top_a, asked=array_a, unit="A")
    else:
        return None
    return as_settled(found, one, part.name, None)


def _free_array(ask: _Ask, one: Settled) -> str | None:
    """Name of the panel that the whole catalogue would put in place of what is kept; empty when nothing would do.

    Not looked for in place of a pick: among many panels and controllers it takes long, and picks are tried by dozens.
    """
    if not one.kept:
        return None
    free = _solar(replace(ask, brief=unsettled(ask.brief), parts=Catalogue.of(ask.brief)), None)
    return free.array.panel.part.name if isinstance(free, _One) and free.array else ""
