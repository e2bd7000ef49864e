"""Every system of a small catalogue, and the best of them by :mod:`judged`: the second brute force, on paper.

Wishes are read as a person reads them: what is kept is there, what is pinned is the only choice for what it can do,
what is banned, from a banned supplier or too late is not there. What is wrong with a part by itself rules it out early;
whole systems are judged from the best on, so that the first that may be built is the answer.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations, product

from quoting.sizing.brief_choosing import Objective
from tests.quoting.sizing.selecting.judged import ALONE, Judge, Paper, Placed
from tests.quoting.sizing.selecting.small_catalogues import ALL

MOST_PANELS = 9
KINDS = {"battery": "battery", "inverter": "inverter", "monitor": "battery_monitor", "inlet": "shore_inlet",
         "residual": "residual_current_device", "panel": "solar_panel"}  # fmt: skip


class Paperwork:
    """Candidates by role, as wishes leave them."""

    def __init__(self, judge: Judge) -> None:
        self.judge = judge
        self.kept = {one.role: one for one in judge.brief.kept}
        banned = judge.brief.wishes.banned
        self.pinned = [key for key in judge.brief.wishes.pinned if key not in banned]

    def of_kind(self, kind: str) -> list[str]:
        """Parts of a kind that may be bought: the pinned ones where any is."""
        there = [key for key, spec in self.judge.specs.items() if spec["kind"] == kind]
        wished = [key for key in there if key in self.pinned]
        return [key for key in wished or there if self.judge.allowed(key)]

    def of_source(self, source: str) -> list[str]:
        """Parts that charge from a source and may be bought, single ones and those with several inputs."""
        there = [key for key in self.judge.specs if self._charges(key, source)]
        wished = [key for key in there if key in self.pinned]
        return [key for key in wished or there if self.judge.allowed(key)]

    def _charges(self, key: str, source: str) -> bool:
        charges = {"dcdc_charger", "mains_charger", "solar_controller", "multi_charger"}
        return self.judge.specs[key]["kind"] in charges and self.judge.has(key, source)

    def banks(self) -> list[Placed]:
        one = self.kept.get("battery")
        if one is not None:
            series = self.judge.series_of(one.part)
            found = [Placed(one.part, one.quantity, series, kept=True)] if series else []
        else:
            found = []
            for key in self.of_kind("battery"):
                series = self.judge.series_of(key)
                most = self.judge.specs[key]["max_parallel"]
                found += [Placed(key, series * n, series) for n in range(1, most + 1)] if series else []
        return [bank for bank in found if not self.judge.wrong_with_bank(bank)]

    def chargers(self) -> Iterator[dict[str, Placed]]:
        """Ways to serve every source: each by its own, or several by one part."""
        sources = self.judge.sources
        held = {s: self.kept[ALONE[s]] for s in sources if ALONE[s] in self.kept}
        single = {s: [Placed(k) for k in self.of_source(s) if self.judge.specs[k]["kind"] != "multi_charger"]
                  for s in sources}  # fmt: skip
        single |= {s: [Placed(one.part, kept=True)] for s, one in held.items()}
        for way in product(*(single[s] for s in sources)):
            yield {ALONE[s]: one for s, one in zip(sources, way, strict=True)}
        for count in range(2, len(sources) + 1):
            for shared in combinations([s for s in sources if s not in held], count):
                rest = [s for s in sources if s not in shared]
                for key in self.of_source(shared[0]) if shared else ():
                    if self.judge.specs[key]["kind"] != "multi_charger":
                        continue
                    if not all(key in self.of_source(s) for s in shared):
                        continue
                    for way in product(*(single[s] for s in rest)):
                        yield {"multi_charger": Placed(key, sources=shared),
                               **{ALONE[s]: one for s, one in zip(rest, way, strict=True)}}  # fmt: skip

    def arrays(self, control: str) -> list[Placed]:
        one = self.kept.get("panel")
        if one is not None:
            found = [Placed(one.part, one.quantity, s, kept=True) for s in range(1, one.quantity + 1)]
        else:
            found = [
                Placed(key, s * n, s)
                for key in self.of_kind("solar_panel")
                for s in range(1, 4)
                for n in range(1, MOST_PANELS // s + 1)
            ]
        return [array for array in found if not self.judge.wrong_with_array(control, array)]

    def others(self) -> dict[str, list[Placed]]:
        judge = self.judge
        wanted = {"inverter": judge.needs.inverter is not None, "monitor": True, "inlet": judge.inlet}
        wanted["residual"] = wanted["inlet"] or wanted["inverter"]
        circuits = wanted["inlet"] + wanted["inverter"]
        found = {}
        for role, is_wanted in wanted.items():
            if not is_wanted:
                continue
            one = self.kept.get(role)
            count = circuits if role == "residual" else 1
            found[role] = [Placed(k, count) for k in self.of_kind(KINDS[role])]
            if one is not None:
                found[role] = [Placed(one.part, kept=True)]
        return found


def every_system(judge: Judge) -> Iterator[Paper]:
    """All that wishes leave, but for parts that are wrong by themselves."""
    papers = Paperwork(judge)
    banks, others = papers.banks(), papers.others()
    arrays: dict[str, list[Placed]] = {}
    rest = [dict(zip(others, way, strict=True)) for way in product(*others.values())]
    for chargers in papers.chargers():
        control = judge.serving(chargers).get("solar")
        choice: list[Placed | None] = [None]
        if control is not None:
            choice = [*arrays.setdefault(control, papers.arrays(control) if judge.suits(control, "solar") else [])]
        for bank, array, more in product(banks, choice, rest):
            yield {"battery": bank, **chargers, **({"panel": array} if array else {}), **more}


def value_of(judge: Judge, system: Paper, objective: Objective) -> float:
    """What is to be least."""
    if objective == "mass":
        return judge.mass_of(system)
    if objective == "price":
        return judge.counted(system)
    policy = judge.brief.policy
    years = {role: policy.battery_most_years if role == "battery" else policy.part_life_years for role in system}
    return sum(judge.counted({role: one}) / years[role] for role, one in system.items())


def best_system(judge: Judge, objective: Objective) -> Paper | None:
    """The first that may be built, by objective and mass; ``None`` where none may."""
    systems = list(every_system(judge))
    order = [(round(value_of(judge, s, objective), 3), round(judge.mass_of(s), 4)) for s in systems]
    asked = asked_of_engine(judge)
    for index in sorted(range(len(systems)), key=order.__getitem__):
        system = systems[index]
        chemistry = judge.specs[system["battery"].part]["chemistry"]
        if judge.within(system) and not judge.wrong_with(system, asked[chemistry]):
            return system
    return None


def faults_of(judge: Judge, system: Paper) -> list[str]:
    """What is wrong with a system, where wishes leave only some parts to charge from the engine."""
    chemistry = judge.specs[system["battery"].part]["chemistry"]
    return judge.wrong_with(system, asked_of_engine(judge)[chemistry])


def asked_of_engine(judge: Judge) -> dict[str, float]:
    """Charging current from the engine that is left to ask with each chemistry. [A]"""
    ways = [judge.serving(way) for way in Paperwork(judge).chargers()]
    suit = [way for way in ways if all(judge.suits(key, source) for source, key in way.items())]
    keys = sorted({way["engine"] for way in suit if "engine" in way})
    return {chemistry: judge.best_engine_a(chemistry, keys) for chemistry in ALL}
