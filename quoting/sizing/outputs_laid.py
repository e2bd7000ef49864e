"""What a person laid on the switched outputs, kept where it fits and refused with numbers where it does not."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from quoting.sizing.brief_wiring import LaidOut
from quoting.sizing.outputs_fit import SLACK_A, Laid, Modules, Place, Refusal, Want, place_all
from quoting.sizing.trace import Scalar


def lay_out(
    wants: Sequence[Want], modules: Modules, layout: Sequence[LaidOut] = (), hard_wired: Mapping[str, str] | None = None
) -> Laid:
    """Give circuits their outputs: those a person gave first, where they fit and leave the others a place.

    Parameters
    ----------
    wants : sequence of Want
        Circuits that want an output.
    modules : Modules
        What there is.
    layout : sequence of LaidOut
        Places that a person gave, counted from 1; an earlier one goes before a later one.
    hard_wired : mapping of str to str, optional
        Names of the circuits that have no output, by key.

    Returns
    -------
    Laid
        Where not all can be placed, as many as can be: the largest are left out.
    """
    placed = _placeable(wants, modules)
    unplaced = tuple(w for w in wants if w not in placed)
    try_it = _Layout(placed, modules)
    own = [(laid, try_it.alone(laid, unplaced, hard_wired or {})) for laid in layout]
    refused = [said for _, said in own if said is not None]
    good = [laid for laid, said in own if said is None]
    together = {x.circuit: (x.module - 1, x.channel - 1) for x in good}
    apart = len(set(together.values())) == len(good) and not try_it.overfull(together)
    places = place_all(placed, modules, together) if apart else None
    given = together if places is not None else {}
    if places is None:
        for laid in good:
            said = try_it.after(laid, given)
            if said is None:
                given[laid.circuit] = (laid.module - 1, laid.channel - 1)
            else:
                refused.append(said)
        places = place_all(placed, modules, given)
    return Laid(places or {}, frozenset(given), tuple(refused), unplaced)


def _placeable(wants: Sequence[Want], modules: Modules) -> list[Want]:
    """As many circuits as find an output, the smallest first."""
    if place_all(wants, modules) is not None:
        return list(wants)
    kept: list[Want] = []
    for want in sorted(wants, key=lambda w: (w.least_a, w.current_a, w.key)):
        if place_all([*kept, want], modules) is not None:
            kept.append(want)
    return [w for w in wants if w in kept]


class _Layout:
    """Checks of one place that a person gave."""

    def __init__(self, wants: Sequence[Want], modules: Modules) -> None:
        self.wants = wants
        self.by_key = {w.key: w for w in wants}
        self.modules = modules

    def alone(self, laid: LaidOut, unplaced: Sequence[Want], hard_wired: Mapping[str, str]) -> Refusal | None:
        """What is wrong with it whatever the others do."""
        want = self.by_key.get(laid.circuit) or next((w for w in unplaced if w.key == laid.circuit), None)
        if want is None:
            known = laid.circuit in hard_wired
            return _no(laid, "hard_wired" if known else "no_such_circuit", hard_wired.get(laid.circuit, laid.circuit))
        if laid.module > self.modules.count or laid.channel > len(self.modules.limits_a):
            counts = {"modules": self.modules.count, "outputs": len(self.modules.limits_a)}
            return _no(laid, "no_such_output", want.name, **counts)
        limit_a = self.modules.limits_a[laid.channel - 1]
        if want.current_a > limit_a + SLACK_A:
            return _no(laid, "over_output", want.name, **_over(limit_a, current_a=want.current_a))
        if want.device_a > limit_a + SLACK_A:
            return _no(laid, "device_over_output", want.name, **_over(limit_a, device_a=want.device_a))
        if want.key not in self.by_key:
            return _no(laid, "leaves_no_place", want.name, other=want.name, other_a=want.least_a)
        return None

    def overfull(self, given: Mapping[str, Place]) -> bool:
        """A module is over its whole, or serves two supplies."""
        for m in range(self.modules.count):
            on = [self.by_key[key] for key, place in given.items() if place[0] == m]
            if len({w.supply for w in on}) > 1 or sum(w.current_a for w in on) > self.modules.total_a + SLACK_A:
                return True
        return False

    def after(self, laid: LaidOut, given: Mapping[str, Place]) -> Refusal | None:
        """What is wrong with it once the others are where they were put."""
        want, place = self.by_key[laid.circuit], (laid.module - 1, laid.channel - 1)
        other = next((key for key, taken in given.items() if taken == place), None)
        if other is not None:
            return _no(laid, "output_taken", want.name, other=self.by_key[other].name)
        on = [self.by_key[key] for key, taken in given.items() if taken[0] == place[0]]
        stranger = next((w for w in on if w.supply != want.supply), None)
        if stranger is not None:
            return _no(laid, "other_supply", want.name, other=stranger.name)
        asked_a = sum(w.current_a for w in on) + want.current_a
        if asked_a > self.modules.total_a + SLACK_A:
            return _no(laid, "over_module", want.name, **_over(self.modules.total_a, asked_a=asked_a))
        tried = {**given, laid.circuit: place}
        if place_all(self.wants, self.modules, tried) is None:
            left = self._left_out(tried)
            return _no(laid, "leaves_no_place", want.name, other=left.name, other_a=left.least_a)
        return None

    def _left_out(self, given: Mapping[str, Place]) -> Want:
        """The smallest circuit for which these places leave no output."""
        kept = [w for w in self.wants if w.key in given]
        rest = sorted((w for w in self.wants if w.key not in given), key=lambda w: (w.least_a, w.current_a, w.key))
        for want in rest:
            if place_all([*kept, want], self.modules, given) is None:
                return want
            kept.append(want)
        return rest[-1]


def _over(limit_a: float, **asked: float) -> dict[str, float]:
    value = next(iter(asked.values()))
    return {"limit_a": limit_a, **asked, "over_a": value - limit_a}


def _no(laid: LaidOut, code: str, name: str, **params: Scalar) -> Refusal:
    said = {"name": name, "module": laid.module, "channel": laid.channel, **params}
    rounded = {k: round(v, 3) if isinstance(v, float) else v for k, v in said.items()}
    return Refusal(laid.circuit, laid.module, laid.channel, code, rounded)
