"""One run designed: the smallest conductor and the smallest device that meet every rule of a circuit."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from catalog.kinds.capabilities import Conducting, Isolating
from quoting.sizing import conductors
from quoting.sizing.appraisal import Circuit, Shortfall
from quoting.sizing.parts import Able, Catalogue, short
from quoting.sizing.policy import Policy
from quoting.sizing.protection import Supply
from quoting.sizing.runs_ask import Ask
from quoting.sizing.runs_colours import NEGATIVE_COLOURS, positive_of
from quoting.sizing.runs_existing import try_existing
from quoting.sizing.runs_lacking import lacking
from quoting.sizing.runs_made import circuit_of, cold_of, hot_of
from quoting.sizing.runs_refused import refusal
from quoting.sizing.runs_trial import LUG_OHM, Trial, joint_ohm, try_cable
from quoting.sizing.topology import Way

__all__ = ["LUG_OHM", "NEGATIVE", "Designed", "cables", "design_run", "joint_ohm"]

NEGATIVE = NEGATIVE_COLOURS["black_or_yellow"]
"""Colours of a negative conductor where no policy says otherwise. ISO 10133:2012, 6."""


@dataclass(frozen=True, slots=True)
class Designed:
    """A run with its circuit (tags still to be given) and its resistance for what lies behind."""

    ask: Ask
    circuit: Circuit
    cold_ohm: float
    """Loop and devices, cold, no joints: the largest fault behind it. [Ω]"""
    hot_ohm: float
    """Loop at the loaded conductor, devices and joints. [Ω]"""

    def strong(self, ask_supply: Supply) -> Supply:
        return ask_supply.behind(self.cold_ohm)

    def weak(self, ask_supply: Supply) -> Supply:
        return ask_supply.behind(self.hot_ohm)


def cables(parts: Catalogue, way: Way, colours: Sequence[str]) -> list[Able[Conducting]]:
    """Conductors of those colours that stand the heat of the way: thinnest first, cheapest of a size first.

    Of equal ones only the cheapest: the rest could never be taken.
    """

    def find() -> list[Able[Conducting]]:
        good = [
            a
            for a in parts.having(Conducting)
            if a.can.colour in colours
            and a.can.area_mm2 >= conductors.LEAST_AREA_MM2
            and a.can.insulation_c > way.ambient_c + 1
        ]
        found: dict[tuple[float, float, float, str], Able[Conducting]] = {}
        for a in sorted(good, key=lambda a: (a.can.area_mm2, *a.order)):
            found.setdefault((a.can.area_mm2, a.can.insulation_c, a.can.ohm_per_km_20c, a.can.colour), a)
        return list(found.values())

    out: list[Able[Conducting]] = parts.remember(("cables", tuple(colours), way.ambient_c), find)
    return out


def design_run(parts: Catalogue, policy: Policy, ask: Ask) -> Designed | Shortfall:
    """Design one run.

    Parameters
    ----------
    parts : Catalogue
        What can be had.
    policy : Policy
        Margins and limits.
    ask : Ask
        The run; where a person or the vehicle says what it is made of, only that is tried.

    Returns
    -------
    Designed or Shortfall
        The smallest conductor that passes every rule with the smallest device that does; or the first thing
        the catalogue lacks; of a run that is bound, the rule that refuses it, as ``rule`` of a shortfall ``refused``.
    """
    isolators = _isolators(parts, ask)
    if isinstance(isolators, Shortfall):
        return isolators
    if ask.lies is not None:
        tried = try_existing(policy, ask, ask.lies, isolators)
        return tried if isinstance(tried, Shortfall) else _made(parts, policy, ask, tried, "existing")
    choices = cables(parts, ask.way, positive_of(policy))
    wanted = [c for c in choices if _as_settled(c, ask)]
    if not wanted:
        return refusal(parts, policy, ask, None) if ask.bound else _no_cable(parts, ask)
    trials, chosen = _first(ask, (try_cable(parts, policy, ask, cable, isolators) for cable in wanted))
    if chosen is None:
        return refusal(parts, policy, ask, trials[-1]) if ask.bound else lacking(parts, policy, ask, trials)
    return _made(parts, policy, ask, chosen, _decided(ask, trials, chosen))


def _as_settled(cable: Able[Conducting], ask: Ask) -> bool:
    """The cable is what a person settled, where a person did."""
    if ask.hand is None:
        return True
    pairs = ((ask.hand.area_mm2, cable.can.area_mm2), (ask.hand.insulation_c, cable.can.insulation_c))
    return all(asked is None or abs(asked - has) < 1e-6 for asked, has in pairs)


def _first(ask: Ask, trials: Iterable[Trial]) -> tuple[list[Trial], Trial | None]:
    """The thinnest that passes and keeps to the wished loss; failing that the thickest that passes."""
    tried: list[Trial] = []
    passing: Trial | None = None
    for t in trials:
        tried.append(t)
        if t.failed:
            continue
        if ask.target_v is None or t.conductor_v <= ask.target_v + 1e-9:
            return tried, t
        passing = t
    return tried, passing


def _decided(ask: Ask, trials: list[Trial], chosen: Trial) -> str:
    """The rule that refused the next thinner area: ``least`` without one, ``hand`` where a person settled it."""
    if ask.hand is not None and ask.hand.area_mm2 is not None:
        return "hand"
    if any(not t.failed for t in trials if t is not chosen):
        return "drop"  # a thinner one would do, but loses more than the feed's share
    thinner = [t for t in trials if t.cable.can.area_mm2 < chosen.cable.can.area_mm2 - 1e-9]
    return thinner[-1].failed or "least" if thinner else "least"


def _made(parts: Catalogue, policy: Policy, ask: Ask, t: Trial, decided: str) -> Designed:
    return Designed(ask, circuit_of(parts, policy, ask, t, decided), cold_of(ask, t), hot_of(ask, t))


def _no_cable(parts: Catalogue, ask: Ask) -> Shortfall:
    anything = parts.having(Conducting)
    code = "no_match" if anything else "none_of_kind"
    return short(code, "conducting", ask.subject, best=anything[-1] if anything else None, ambient_c=ask.way.ambient_c)


def _isolators(parts: Catalogue, ask: Ask) -> tuple[Able[Isolating], ...] | Shortfall:
    """Isolators for the run's voltage and current, cheapest first; empty when it wants none."""
    if not ask.isolator:
        return ()
    models = [a for a in parts.having(Isolating) if a.can.max_v >= ask.high_v]
    able = tuple(a for a in models if a.can.rating_a >= ask.current_a)
    if able:
        return able
    near = max(models, key=lambda a: (a.can.rating_a, a.part.key), default=None)
    code = "too_small" if near else "none_of_kind"
    value = near.can.rating_a if near else None
    return short(code, "isolating", ask.subject, best=near, best_value=value, asked=ask.current_a, unit="A")
