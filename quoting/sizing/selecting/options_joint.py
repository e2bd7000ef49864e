"""Rows that hold parts together: chemistry, what a bank takes, what a controller takes, voltages of all.

Every row is linear in the options taken, since exactly one option fills each group. Where a rule holds for one sort of
part only, the other sorts lift it: they give so much that the row says nothing (a "big M", no bigger than it must be).
"""

from __future__ import annotations

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
    _amps: dict[tuple[str, str, float], list[tuple[Panels, float]]] = field(default_factory=dict)

    def amps(self, can: SolarControl) -> list[tuple[Panels, float]]:
        """Arrays that are meant for controllers of its sort, with the current that each comes to there. [A]"""
        sort = sort_of(self.ask, can)
        key = sort, can.method, can.efficiency_ratio
        if key not in self._amps:
            mine = [a for a in self.arrays if sort in a.sorts]
            self._amps[key] = [(a, array_output_a(a.array, can, self.ask.system_v)) for a in mine]
        return self._amps[key]


def _sun_rows(sun: _Sun) -> list[Row]:
    """By efficiency of controllers, as it says what an array comes to; by array that is kept; by shared output."""
    rows = []
    kinds: dict[tuple[str, float], list[tuple[Charger, SolarControl]]] = {}
    for charger, can in sun.suns:
        kinds.setdefault((sort_of(sun.ask, can), can.efficiency_ratio), []).append((charger, can))
    for (sort, efficiency), own in sorted(kinds.items()):
        rows.append(_sun_row(sun, f"charge_sun:{sort}-{efficiency:g}", own))
    for array in sun.arrays:
        if array.option.kept:
            rows.append(_kept_row(sun, f"charge_sun:{array.option.key}", array))
    for charger, can in sun.suns:
        for source in charger.cans:
            if source != "solar" and charger.whole_a is not None:
                rows += _shared_row(sun, f"charge_shared:{charger.option.key}:{source}", charger, can, source)
    return rows


def _sun_row(sun: _Sun, name: str, own: list[tuple[Charger, SolarControl]]) -> Row:
    """Arrays on these controllers give no more than the bank takes; other controllers lift the row."""
    most_a = 0.0
    for array, amps in sun.amps(own[0][1]):
        if not array.option.kept:
            array.gives[name] = amps
            most_a = max(most_a, amps)
    mine = {id(charger) for charger, _ in own}
    for charger, _ in sun.suns:
        if id(charger) not in mine:
            charger.gives[name] = -most_a
    return _against(sun.banks, name)


def _kept_row(sun: _Sun, name: str, array: Panels) -> Row:
    """What a controller lets through of an array that is there; other arrays lift the row."""
    most_a = 0.0
    for charger, can in sun.suns:
        amps = min(charger.outs["solar"], array_output_a(array.array, can, sun.ask.system_v))
        charger.gives[name] = _held(charger, amps)
        most_a = max(most_a, amps)
    for other in sun.arrays:
        if other is not array:
            other.gives[name] = -most_a
    return _against(sun.banks, name)


def _shared_row(sun: _Sun, name: str, charger: Charger, can: SolarControl, source: str) -> list[Row]:
    """One output for two inputs at once: it gives both together, but never more than its whole.

    A bank that takes the whole lifts the row, and so does every other charger.
    """
    whole_a, beside_a = charger.whole_a or 0.0, charger.outs[source]
    amps = [(array, min(charger.outs["solar"], amps)) for array, amps in sun.amps(can)]
    most_a = beside_a + max((a for _, a in amps), default=0.0)
    if all(bank.takes_a >= min(whole_a, most_a) for bank in sun.banks):
        return []
    charger.gives[name] = beside_a
    for array, sun_a in amps:
        array.gives[name] = sun_a
    for other, _ in sun.suns:
        if other is not charger:
            other.gives[name] = -most_a
    for bank in sun.banks:
        bank.gives[name] = -most_a if bank.takes_a >= whole_a else -bank.takes_a
    return [Row(name, "fit", most=0.0, unit="A", scale=10.0)]
