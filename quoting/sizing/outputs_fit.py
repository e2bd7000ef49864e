"""Which circuit gets which switched output: an exact search, and what a person laid kept where it fits.

Every output has a limit and every module a limit on the sum of what is on it. Giving outputs out is a matching; with
the sums it is bin packing, so the search branches, though only over modules: with the largest circuit first, all of a
module's outputs that carry it are alike for what comes after.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from quoting.sizing.trace import Scalar

SLACK_A = 1e-9
STEPS = 10_000
"""Steps after which a search counts as without a result: at worst one module more is taken."""

Place = tuple[int, int]
"""Module and channel, counted from 0."""


@dataclass(frozen=True, slots=True)
class Want:
    """A circuit that wants a switched output."""

    key: str
    """``Circuit.key``."""
    name: str
    current_a: float
    """Design current: what counts on its module. [A]"""
    device_a: float = 0.0
    """Rating of the device before an output that does not open on overcurrent; 0: the output protects. [A]"""
    supply: str = ""
    """Bus it hangs on: a converter's key, or nothing for the house bus. A module serves one, as it has one supply."""
    tag: str = ""

    @property
    def least_a(self) -> float:
        """Least limit of its output. [A]"""
        return max(self.current_a, self.device_a)


@dataclass(frozen=True, slots=True)
class Modules:
    """Modules of one model."""

    limits_a: tuple[float, ...]
    """Of each output. [A]"""
    total_a: float
    """Of all outputs of one module together. [A]"""
    count: int


@dataclass(frozen=True, slots=True)
class Refusal:
    """A place that a person gave and the circuit cannot have."""

    circuit: str
    module: int
    channel: int
    code: str
    """``no_such_circuit``, ``no_such_output``, ``output_taken``, ``over_output``, ``device_over_output``,
    ``over_module``, ``other_supply``, ``hard_wired`` or ``leaves_no_place``."""
    params: Mapping[str, Scalar]


@dataclass(frozen=True, slots=True)
class Laid:
    """Circuits on their outputs."""

    places: Mapping[str, Place]
    """By circuit."""
    by_hand: frozenset[str]
    """Circuits that are where a person put them."""
    refused: tuple[Refusal, ...]
    unplaced: tuple[Want, ...]
    """Circuits that no output is left for."""


@dataclass(slots=True)
class _Module:
    """One module while outputs are given out."""

    left_a: float
    free: tuple[tuple[float, int], ...]
    """Limit and channel, smallest limit first."""
    supply: str | None = None
    """``None``: nothing is on it yet."""

    def takes(self, want: Want) -> int | None:
        """Index in ``free`` of the smallest output for this circuit; ``None``: it cannot be here."""
        if want.current_a > self.left_a + SLACK_A or self.supply not in (None, want.supply):
            return None
        return next((i for i, (limit, _) in enumerate(self.free) if limit >= want.least_a - SLACK_A), None)

    def with_on(self, want: Want, at: int) -> _Module:
        return _Module(self.left_a - want.current_a, self.free[:at] + self.free[at + 1 :], want.supply)

    @property
    def state(self) -> tuple[float, tuple[float, ...], str]:
        """What tells it from other modules."""
        supply = "" if self.supply is None else f"={self.supply}"
        return round(self.left_a, 6), tuple(limit for limit, _ in self.free), supply


def place_all(
    wants: Sequence[Want], modules: Modules, given: Mapping[str, Place] | None = None
) -> dict[str, Place] | None:
    """Give every circuit an output, or find that not all can have one.

    Parameters
    ----------
    wants : sequence of Want
        Circuits, each once.
    modules : Modules
        Outputs with their limits. [A]
    given : mapping of str to Place, optional
        Places that some of the circuits have already; they must fit.

    Returns
    -------
    dict of str to Place or None
        ``None``: no such placement exists, or none was found in ``STEPS`` steps.

    Notes
    -----
    First fit, the largest circuit on the smallest output, is tried first; the search follows only where that fails.

    Examples
    --------
    >>> lamps, pump = Want("lamps", "Lamps", 4.0), Want("pump", "Pump", 9.0)
    >>> place_all([lamps, pump], Modules((10.0, 5.0), 12.0, 1)) is None
    True
    >>> place_all([lamps, pump], Modules((10.0, 5.0), 13.0, 1))
    {'pump': (0, 0), 'lamps': (0, 1)}
    """
    state = _start(modules)
    for want in wants:
        if given and want.key in given:
            m, channel = given[want.key]
            at = next(i for i, (_, c) in enumerate(state[m].free) if c == channel)
            state[m] = state[m].with_on(want, at)
    rest = sorted(
        (w for w in wants if not given or w.key not in given), key=lambda w: (-w.least_a, -w.current_a, w.key)
    )
    if not _could(rest, state) or not _modules_for_each(rest, state):
        return None
    found = _first_fit(rest, list(state)) or _Search(rest).run(state)
    if found is None:
        return None
    return {**found, **(given or {})}


def _start(modules: Modules) -> list[_Module]:
    free = tuple(sorted((limit, c) for c, limit in enumerate(modules.limits_a)))
    return [_Module(modules.total_a, free) for _ in range(modules.count)]


def _could(rest: Sequence[Want], state: Sequence[_Module]) -> bool:
    """Enough outputs for each size, by Hall's condition, and enough in sum: necessary, and quick to see."""
    limits = sorted((limit for m in state for limit, _ in m.free), reverse=True)
    if len(rest) > len(limits) or any(
        want.least_a > limit + SLACK_A for want, limit in zip(rest, limits, strict=False)
    ):
        return False
    return sum(w.current_a for w in rest) <= sum(m.left_a for m in state) + SLACK_A


def _modules_for_each(rest: Sequence[Want], state: Sequence[_Module]) -> bool:
    """Modules enough for each supply by itself, as none carries two: necessary, and quick to see."""
    fresh = [m for m in state if m.supply is None]
    asked = 0
    for supply in dict.fromkeys(want.supply for want in rest):
        mine, own = [w for w in rest if w.supply == supply], [m for m in state if m.supply == supply]
        more = next((n for n in range(len(fresh) + 1) if _could(mine, [*own, *fresh[:n]])), None)
        if more is None:
            return False
        asked += more
    return asked <= len(fresh)


def _first_fit(rest: Sequence[Want], state: list[_Module]) -> dict[str, Place] | None:
    places: dict[str, Place] = {}
    one_supply = len({w.supply for w in rest} | {m.supply for m in state if m.supply is not None}) <= 1
    for want in rest:
        fits = [
            (not one_supply and module.supply is None, *module.free[at], m, at)
            for m, module in enumerate(state)
            if (at := module.takes(want)) is not None
        ]
        if not fits:
            return None
        _, _, channel, m, at = min(fits, key=lambda f: (f[0], f[1], f[3], f[2]))
        state[m] = state[m].with_on(want, at)
        places[want.key] = (m, channel)
    return places


class _Search:
    """Depth first over the modules for each circuit in turn, the emptiest first; what failed is not tried again."""

    def __init__(self, rest: Sequence[Want]) -> None:
        self.rest = rest
        self.left = STEPS
        self.apart = len({w.supply for w in rest}) > 1
        self.failed: set[tuple[object, ...]] = set()
        self.tails_a = [0.0] * (len(rest) + 1)
        for i in range(len(rest) - 1, -1, -1):
            self.tails_a[i] = self.tails_a[i + 1] + rest[i].current_a

    def run(self, state: Sequence[_Module]) -> dict[str, Place] | None:
        return self._from(0, tuple(state))

    def _from(self, i: int, state: tuple[_Module, ...]) -> dict[str, Place] | None:
        if i == len(self.rest):
            return {}
        room_a = sum(m.left_a for m in state if m.free)
        mark = (i, tuple(sorted(m.state for m in state)))
        if self.tails_a[i] > room_a + SLACK_A or mark in self.failed or self.left <= 0:
            return None
        self.left -= 1
        want, tried = self.rest[i], set()
        for m in sorted(range(len(state)), key=lambda m: (self.apart and state[m].supply is None, -state[m].left_a, m)):
            at = state[m].takes(want)
            if at is None or state[m].state in tried:
                continue
            tried.add(state[m].state)
            found = self._from(i + 1, (*state[:m], state[m].with_on(want, at), *state[m + 1 :]))
            if found is not None:
                return {want.key: (m, state[m].free[at][1]), **found}
        self.failed.add(mark)
        return None
