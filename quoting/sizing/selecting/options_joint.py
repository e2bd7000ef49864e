"""Rows that hold parts together: chemistry, what a bank takes, what a controller takes, voltages of all.

Every row is linear in the options taken, since exactly one option fills each group. A rule that holds for some parts
only is a row that says nothing unless those are taken (a "big M", no bigger than it must be).
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field

from catalog.kinds.capabilities import SolarControl
from quoting.sizing.choice_array import CHARGE_V_PER_12, array_output_a, asked_v_of
from quoting.sizing.selecting.options_array import Panels, sort_of, sorts_of
from quoting.sizing.selecting.options_ask import Ask
from quoting.sizing.selecting.options_bank import Bank
from quoting.sizing.selecting.options_charging import Charger, engine_a, engine_names, wanted_sources
from quoting.sizing.selecting.problem import Row


def profile_rows(ask: Ask, banks: list[Bank], chargers: list[Charger]) -> list[Row]:
    """A bank's chemistry is one that every charger has a profile for.

    What is asked of an engine's charger for one chemistry is lifted by banks of the others.
    """
    rows = []
    for chemistry, name in engine_names(ask).items():
        for bank in banks:
            if bank.can.chemistry != chemistry:
                bank.gives[name] = engine_a(ask)
    for source in wanted_sources(ask):
        for chemistry in sorted({bank.can.chemistry for bank in banks}):
            name = f"profile_{source}:{chemistry}"
            for bank in banks:
                if bank.can.chemistry == chemistry:
                    bank.gives[name] = 1.0
            for charger in chargers:
                if source in charger.cans and chemistry in charger.cans[source].profiles:
                    charger.gives[name] = -1.0
            rows.append(Row(name, "fit", most=0.0))
    return rows


def solar_rows(ask: Ask, chargers: list[Charger], arrays: list[Panels]) -> list[Row]:
    """A controller and an array suit one another: sort, voltage cold and hot, current, output."""
    controls = [(c, c.cans["solar"]) for c in chargers if "solar" in c.cans]
    if not controls and not arrays:
        return []
    per_a = CHARGE_V_PER_12 * ask.system_v / 12
    rows = [
        Row("string_cold_v", "fit", most=0.0, unit="V", scale=10.0),
        Row("string_hot_v", "fit", least=0.0, unit="V", scale=10.0),
        Row("string_isc_a", "fit", most=0.0, unit="A", scale=10.0),
        Row("array_output_w", "fit", most=0.0, unit="W", scale=100.0),
    ]
    for charger, can in controls:
        assert isinstance(can, SolarControl)
        efficiency = 1.0 if can.method == "pwm" else can.efficiency_ratio
        charger.gives.update(
            {
                "string_cold_v": -can.max_voc_v,
                "string_hot_v": -asked_v_of(ask.brief, can),
                "string_isc_a": -can.max_isc_a,
                "array_output_w": -charger.outs["solar"] * per_a / efficiency,
                f"array_sort:{sort_of(ask, can)}": 1.0,
            }
        )
    sorts = list(sorts_of(ask, chargers))
    for array in arrays:
        array.gives.update((f"array_sort:{name}", 1.0) for name in sorts if name not in array.sorts)
        if not array.option.kept:  # an array that is there may be larger than the controller: it holds it back
            efficiency = 1.0 if array.control.method == "pwm" else array.control.efficiency_ratio
            array.gives["array_output_w"] = (
                array_output_a(array.array, array.control, ask.system_v) * per_a / efficiency
            )
    return [*rows, *(Row(f"array_sort:{name}", "fit", most=1.0) for name in sorts)]


def charge_rows(ask: Ask, banks: list[Bank], chargers: list[Charger], arrays: list[Panels]) -> list[Row]:
    """A bank takes what each charger gives by itself: from engine, mains, the sun, the sun beside another input.

    Chargers apart from each other may come to more at once: they are set down to what the bank takes.
    """
    rows = []
    for source in ("engine", "mains"):
        serving = [c for c in chargers if source in c.cans]
        for charger in serving:
            charger.gives[f"charge_{source}"] = _held(charger, charger.outs[source])
        if serving:
            rows.append(_against(banks, f"charge_{source}"))
    if arrays:
        suns = [(c, can) for c in chargers if isinstance(can := c.cans.get("solar"), SolarControl)]
        rows += _sun_rows(_Sun(ask, banks, suns, arrays))
    return rows


def _held(charger: Charger, amps: float) -> float:
    """What a charger's own output lets through. [A]"""
    return amps if charger.whole_a is None else min(amps, charger.whole_a)


def _against(banks: Iterable[Bank], name: str) -> Row:
    for bank in banks:
        bank.gives[name] = -bank.takes_a
    return Row(name, "fit", most=0.0, unit="A", scale=10.0)


@dataclass(frozen=True, slots=True)
class _Sun:
    """Chargers with a solar input, arrays, and what they come to together."""

    ask: Ask
    banks: list[Bank]
    suns: list[tuple[Charger, SolarControl]]
    arrays: list[Panels]
    _amps: dict[tuple[str, float], list[tuple[dict[str, float], float]]] = field(default_factory=dict)

    def amps(self, can: SolarControl) -> list[tuple[dict[str, float], float]]:
        """Of arrays to be bought that are meant for controllers of its sort, the current that each comes to. [A]

        No array comes to more than its controller gives: another row sees to that.
        """
        sort = sort_of(self.ask, can)
        key = sort, can.efficiency_ratio
        if key not in self._amps:
            mine = [a for a in self.arrays if sort in a.sorts and not a.option.kept]
            self._amps[key] = [(a.gives, array_output_a(a.array, can, self.ask.system_v)) for a in mine]
        return self._amps[key]

    def through(self, charger: Charger, can: SolarControl) -> list[tuple[dict[str, float], float]]:
        """The same, and what the charger lets through of arrays that are there and may be larger than it. [A]"""
        kept = [a for a in self.arrays if a.option.kept]
        let = [(a.gives, min(charger.outs["solar"], array_output_a(a.array, can, self.ask.system_v))) for a in kept]
        return [*self.amps(can), *let] if let else self.amps(can)


def _sun_rows(sun: _Sun) -> list[Row]:
    """By efficiency of controllers, as it says what an array comes to; by array that is kept; by shared output."""
    rows = []
    kinds: dict[tuple[str, float], list[tuple[Charger, SolarControl]]] = {}
    for charger, can in sun.suns:
        kinds.setdefault((sort_of(sun.ask, can), can.efficiency_ratio), []).append((charger, can))
    for (sort, efficiency), own in sorted(kinds.items()):
        free = sun.amps(own[0][1])
        rows += _within(sun.banks, f"charge_sun:{sort}-{efficiency:g}", [c.gives for c, _ in own], free)
    for array in sun.arrays:
        if array.option.kept:
            amps = [(array_output_a(array.array, can, sun.ask.system_v), charger) for charger, can in sun.suns]
            let = [(charger.gives, _held(charger, min(charger.outs["solar"], a))) for a, charger in amps]
            rows += _within(sun.banks, f"charge_sun:{array.option.key}", [array.gives], let)
    for charger, can in sun.suns:
        for source in charger.cans:
            if source != "solar" and charger.whole_a is not None:
                name = f"charge_shared:{charger.option.key}:{source}"
                more = sun.through(charger, can)
                rows += _within(sun.banks, name, [charger.gives], more, charger.outs[source], charger.whole_a)
    return rows


def _within(
    banks: list[Bank],
    name: str,
    own: list[dict[str, float]],
    more: list[tuple[dict[str, float], float]],
    beside_a: float = 0.0,
    whole_a: float = math.inf,
) -> list[Row]:
    """A bank takes the whole of an output, or what it takes is not exceeded: where one of ``own`` is taken.

    Parameters
    ----------
    banks : list of Bank
        Of those only that take ``beside_a`` and not the whole is anything asked; another row sees to the first.
    name : str
        Of the row.
    own : list of dict
        What the options give for which the row is meant; without any of them it holds.
    more : list of (dict, float)
        What options give with which the current grows, and by how much, in any order. [A]
    beside_a : float
        Current that is there already. [A]
    whole_a : float
        Most that the output gives. [A]
    """
    asked = [bank for bank in banks if beside_a <= bank.takes_a < whole_a]
    least_a = min((bank.takes_a for bank in asked), default=math.inf) - beside_a
    counted = [(gives, amps) for gives, amps in more if amps > least_a]
    if not counted:
        return []
    most_a = max(amps for _, amps in counted)
    for gives, amps in [*counted, *((gives, most_a) for gives in own)]:
        gives[name] = amps
    for bank in asked:
        if bank.takes_a - beside_a < most_a:
            bank.gives[name] = beside_a + most_a - bank.takes_a
    return [Row(name, "fit", most=2 * most_a, unit="A", scale=10.0)]
