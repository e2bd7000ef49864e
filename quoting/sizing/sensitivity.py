"""Which input a figure is most sensitive to: its own sum, reckoned again with one input after the other moved.

A trace is a sum on paper, and so it can be followed again with another number in one of its lines. A line that takes
over the result of another sum moves with everything in that sum; numbers that the trace does not lead to the result
(a solution that was searched, a table that was read) stay as they are. The trip's figures are no sums: they are
simulated again in :mod:`quoting.sizing.sensitivity_trip`.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from operator import add, mul, sub, truediv

from quoting.sizing.outlook import Bar, Tornado
from quoting.sizing.trace import Figure, Step

MOVED_BY_RATIO = 0.1
"""Every input is moved by this share of itself, down and up. Workshop practice."""
MOVED_BY_K = 5.0
"""Temperatures, and differences of temperature, are moved by this. [K] Workshop practice."""
MOST_BARS = 8
DEEPEST = 6
"""Sums taken over from sums, at most."""
HALVINGS = 4
"""How often a move that leads to no number is halved."""
LEAST_SWING = 1e-9
"""A swing smaller than this share of the figure is none."""
AGREE = 1e-6
"""Relative difference under which a line is the result of another sum."""

WHOLE = frozenset({"quantity", "parallel", "in_series", "batteries", "vent_cells", "pin_pairs", "crossings"})
"""Codes of lines that count whole things."""
FIXED = frozenset(
    {"nominal_v", "hours_in_day", "days_in_year", "hour", "seconds_in_hour", "minutes_in_hour", "vent_constant"}
)
"""Codes of lines that are no input, whatever their origin: a nominal voltage is a name."""
WITHIN_A_DAY = frozenset({"hours", "driving", "hours_allowed"})
"""Hours of a day: never over 24."""
LEFT_OF_A_LOSS = frozenset(
    {
        "soiling",
        "mismatch",
        "wiring",
        "connections",
        "light_induced",
        "nameplate",
        "shade",
        "out_of_shade",
        "left_at_cutoff",
    }
)
"""Shares that a loss leaves: the loss is the input, and moves by a tenth of itself."""
MOVES_WITH = {
    "duty_mean_day": "duty_at_mean",
    "inverter_current": "inverter_input",
    "loads_meanwhile": "day_energy",
    "live_charge": "live_energy",
    "charge_to_put_back": "capacity_got",
}
"""Lines in proportion to the result of another sum, under another name."""

_Key = tuple[str, str, str, float]
_REDUCE: dict[str, Callable[[float, float], float]] = {
    "+": add,
    "−": sub,
    "×": mul,
    "÷": truediv,
    "max": max,
    "min": min,
}


@dataclass(frozen=True, slots=True)
class _Line:
    op: str
    value: float
    key: _Key | None = None
    """Names the input, so that it moves wherever it stands. ``None``: it stays."""
    source: tuple[int, str] | None = None
    """Sum and result in it that this line moves with, in proportion."""
    result: str = ""
    """Of an ``=``: what it is called."""


@dataclass(slots=True)
class _Program:
    """The sums that lead to a figure, the innermost first, and the inputs in them."""

    sums: list[tuple[_Line, ...]] = field(default_factory=list)
    inputs: dict[_Key, Step] = field(default_factory=dict)

    def result(self, moved: _Key | None = None, to: float = 0.0) -> float | None:
        """The figure's value with one input moved; ``None`` where that leads to no number."""
        done: list[dict[str, float]] = []
        running = 0.0
        try:
            for lines in self.sums:
                named: dict[str, float] = {}
                done.append(named)
                for line in lines:
                    if line.op == "=":
                        named[line.result] = running
                        continue
                    value = line.value
                    if line.source is not None:
                        index, name = line.source
                        value *= done[index][name]
                    elif line.key is not None and line.key == moved:
                        value = to
                    reduce = _REDUCE.get(line.op)
                    running = math.sqrt(running) if line.op == "√" else reduce(running, value) if reduce else value
                named[""] = running
        except (ArithmeticError, ValueError):
            return None
        return running if math.isfinite(running) else None


def of_figure(figure: Figure, figures: Mapping[str, Figure] | None = None) -> Tornado:
    """Find what a figure is most sensitive to, from its own sum.

    Parameters
    ----------
    figure : Figure
        A number with its working. [its own unit]
    figures : mapping of Figure, optional
        The Appraisal's, in whose sums lines that are results of their own are opened.

    Returns
    -------
    Tornado
        At most eight bars, the largest swing first: the figure with each input moved down and up, by 10 % of itself;
        losses by a tenth of the loss, shares held within 0 to 1, temperatures moved by 5 K, whole numbers by one. No
        bars where the trace does not lead to the value. [unit of the figure]

    Notes
    -----
    One input at a time, so what two do together is not seen. Where a move leads to no number (a charger that the
    loads overtake), it is halved until it does.

    Examples
    --------
    >>> from quoting.sizing.trace import step
    >>> lines = step("capacity", 100, "Ah", origin="catalogue"), step("depth", 0.9, "", "×", "policy")
    >>> tornado = of_figure(Figure(code="x", value=90, unit="Ah", steps=(*lines, step("capacity_got", 90, "Ah", "="))))
    >>> [(bar.code, round(bar.value_low, 6), round(bar.value_high, 6)) for bar in tornado.bars]
    [('capacity', 81.0, 99.0), ('depth', 81.0, 99.0)]
    """
    program = _Program()
    _compile(figure, _ends(figures or {}), program, (figure.code,))
    base = program.result()
    empty = Tornado(code=figure.code, unit=figure.unit, base=figure.value, bars=())
    if not figure.steps or base is None or not math.isclose(base, figure.value, rel_tol=AGREE, abs_tol=1e-9):
        return empty
    found = [bar for key, step in program.inputs.items() if (bar := _bar(program, key, step)) is not None]
    bars = pick(found, figure.value)
    same = all(_is_tenth(bar) for bar in bars)
    return empty.model_copy(update={"bars": bars, "moved_by_ratio": MOVED_BY_RATIO if bars and same else None})


def pick(bars: list[Bar], base: float) -> tuple[Bar, ...]:
    """Bars that swing at all, the largest swing first, at most eight."""
    least = LEAST_SWING * abs(base)
    moving = [(swing(bar, base), bar) for bar in bars]
    return tuple(bar for size, bar in sorted(moving, key=lambda x: -x[0]) if size > least)[:MOST_BARS]


def swing(bar: Bar, base: float) -> float:
    """From the least to the most that an input makes of a figure. [unit of the figure]"""
    three = (bar.value_low, base, bar.value_high)
    return max(three) - min(three)


def _is_tenth(bar: Bar) -> bool:
    tenth = MOVED_BY_RATIO * abs(bar.input_base)
    return all(math.isclose(x, tenth) for x in (bar.input_high - bar.input_base, bar.input_base - bar.input_low))


def _ends(figures: Mapping[str, Figure]) -> dict[str, list[Figure]]:
    """Figures by the name that their sum gives its result."""
    found: dict[str, list[Figure]] = {}
    for figure in figures.values():
        last = next((s for s in reversed(figure.steps) if s.op == "="), None)
        if last is not None:
            found.setdefault(last.code, []).append(figure)
    return found


def _compile(
    figure: Figure, ends: dict[str, list[Figure]], program: _Program, within: tuple[str, ...]
) -> tuple[int, dict[str, float]]:
    """Add a figure's sum to the program, those it takes over first; its index and what its results are at rest."""
    lines: list[_Line] = []
    results: dict[str, float] = {}
    # sums taken over come first: this one's own index is known only when they are in
    plan: list[tuple[Step, tuple[int, str, float] | None]] = []
    for step in figure.steps:
        taken = None
        if step.op not in ("=", "≤", "√"):
            name = MOVES_WITH.get(step.code, step.code)
            if step.origin == "derived" or name != step.code or name in ends:
                taken = _taken(step, name, results, ends, program, within)
        if step.op == "=":
            results[step.code] = step.value
        plan.append((step, taken))
    own = len(program.sums)
    for step, taken in plan:
        if step.op == "≤":
            continue
        if step.op == "=":
            lines.append(_Line("=", step.value, result=step.code))
        elif taken is not None and taken[2] != 0:
            index, name, rest = taken
            lines.append(_Line(step.op, step.value / rest, source=(own if index < 0 else index, name)))
        else:
            lines.append(_Line(step.op, step.value, _key(step, figure, program)))
    program.sums.append(tuple(lines))
    return own, results


def _taken(
    step: Step,
    name: str,
    results: dict[str, float],
    ends: dict[str, list[Figure]],
    program: _Program,
    within: tuple[str, ...],
) -> tuple[int, str, float] | None:
    """Where the line's number was worked out: in this sum above it (index −1), or in another figure's."""
    renamed = name != step.code
    if name in results and (renamed or math.isclose(results[name], step.value, rel_tol=AGREE)):
        return -1, name, results[name]
    for other in ends.get(name, ()):
        fits = renamed or math.isclose(other.value, step.value, rel_tol=AGREE)
        if fits and other.code not in within and len(within) < DEEPEST:
            index, _ = _compile(other, ends, program, (*within, other.code))
            return index, "", other.value
    return None


def _key(step: Step, figure: Figure, program: _Program) -> _Key | None:
    """Name the input and keep it, or ``None`` for what is not moved."""
    if step.origin == "constant" or step.code in FIXED or step.op == "√":
        return None
    shared = step.origin in ("input", "survey", "policy")
    scope = "" if shared else figure.code.split(".")[0]
    key = (scope, step.code, str(step.params.get("name", "")), step.value)
    program.inputs.setdefault(key, step)
    return key


def _bar(program: _Program, key: _Key, step: Step) -> Bar | None:
    low, high = _reach(step)
    if low == high:
        return None
    sides = [_side(program, key, step.value, to) for to in (low, high)]
    if sides[0] is None or sides[1] is None:
        return None
    (low, at_low), (high, at_high) = sides[0], sides[1]
    return Bar(
        code=step.code,
        params=step.params,
        unit=step.unit,
        input_low=low,
        input_base=step.value,
        input_high=high,
        value_low=at_low,
        value_high=at_high,
        origin=step.origin,
    )


def _side(program: _Program, key: _Key, rest: float, to: float) -> tuple[float, float] | None:
    """Input and result on one side; halved until the result is a number of the same sign."""
    base = program.result() or 0.0
    for _ in range(HALVINGS + 1):
        found = program.result(key, to)
        if found is not None and not found * base < 0:
            return to, found
        to = (rest + to) / 2
    return None


def _reach(step: Step) -> tuple[float, float]:
    """How far an input is moved, down and up."""
    value = step.value
    if step.unit in ("°C", "K"):
        least = 0.0 if step.unit == "K" and value >= 0 else -math.inf
        return max(least, value - MOVED_BY_K), value + MOVED_BY_K
    if step.code in WHOLE and value == int(value):
        return max(1.0, value - 1), value + 1
    if step.code in LEFT_OF_A_LOSS and 0 <= value <= 1:
        loss = 1 - value
        return max(0.0, value - MOVED_BY_RATIO * loss), value + MOVED_BY_RATIO * loss
    low, high = sorted((value * (1 - MOVED_BY_RATIO), value * (1 + MOVED_BY_RATIO)))
    if step.unit == "" and 0 <= value <= 1:
        high = min(1.0, high)
    if step.code in WITHIN_A_DAY and step.unit == "h" and value <= 24:
        high = min(24.0, high)
    return low, high
