"""Switched outputs for the Away set and for shedding: how many modules, and which circuit gets which output."""

from __future__ import annotations

from decimal import Decimal

from catalog.kinds.capabilities import Switching
from quoting.sizing.appraisal import Chosen, Shortfall
from quoting.sizing.brief import Brief, Load
from quoting.sizing.converters import is_behind, load_a
from quoting.sizing.parts import Able, Catalogue, chosen_of, short
from quoting.sizing.trace import Scalar


def switched(load: Load) -> bool:
    """Say whether a load wants a switched output: it belongs to the Away set, or is to be shed."""
    direct = load.bus in ("house", "house12", "usb")
    return direct and load.channel and (not load.always_live or load.shed_below_ratio is not None)


def choose_switching(brief: Brief, parts: Catalogue, converted: bool = False) -> Chosen | Shortfall | None:
    """Switched outputs for the Away set and for shedding; how the circuits share them is settled with them.

    ``converted``: 12 V loads of a 24 V system are switched at 12 V, behind their converter.
    """
    groups: dict[tuple[str, int], float] = {}
    sheds: dict[str, float] = {}
    for load in brief.loads:
        if switched(load):
            key = load.circuit or load.key
            low = converted and is_behind(brief, load)
            current_a = load_a(load) if low else load.use.power_w * load.quantity / brief.wishes.system_v
            place = key, 12 if low else brief.wishes.system_v
            groups[place] = groups.get(place, 0.0) + current_a
            if load.shed_below_ratio is not None:
                sheds[key] = max(sheds.get(key, 0.0), load.shed_below_ratio)
    if not groups:
        return None
    spare, models = brief.policy.spare_outputs, parts.having(Switching)
    volts = {volts for _, volts in groups}
    able = [a for a in models if volts <= set(a.can.nominal_v)]
    right = [a for a in able if a.can.sheds or not sheds]
    if not right:
        code = "none_of_kind" if not models else "no_match" if able else "wrong_voltage"
        return short(
            code, "switching", "switching", best=models[0] if models else None, asked=len(groups) + spare, unit=""
        )
    largest_a = max(max(a.can.channel_limits_a) for a in right)
    carried = {key: amps for key, amps in groups.items() if amps <= largest_a}  # the rest is named with its circuit
    options: list[tuple[Decimal, float, str, Able[Switching], int]] = []
    for a in right if carried else ():
        ratio = 1.0 if a.can.protects else brief.policy.fuse_continuous_ratio
        count = modules_wanted(sorted(carried.values(), reverse=True), a.can, spare, ratio=ratio)
        if count is not None:
            options.append((a.cost * count, a.part.mass_kg * count, a.part.key, a, count))
    if not options:
        near = max(right, key=lambda a: (max(a.can.channel_limits_a), a.part.key))
        return short(
            "too_small",
            "switching",
            "switching",
            best=near,
            best_value=max(near.can.channel_limits_a),
            asked=max(groups.values()),
            unit="A",
        )
    options.sort(key=lambda o: o[:3])
    _, _, _, a, count = options[0]
    setting: dict[str, Scalar] = {f"shed_{key}_ratio": level for key, level in sorted(sheds.items())}
    second = next((o[3].part.name for o in options[1:]), "")
    return chosen_of("switching", ("switching",), a, second, setting=setting, quantity=count)


def modules_wanted(
    currents_a: list[float], can: Switching, spare: int, most: int = 12, ratio: float = 1.0
) -> int | None:
    """Modules of one model that carry these circuits with spare outputs, or ``None``: one is over every channel.

    ``ratio``: least limit over current, for channels that the device before them must protect.
    """
    for count in range(1, most + 1):
        places = assign_channels(currents_a, can, count, [ratio * amps for amps in currents_a])
        if places is not None and count * len(can.channel_limits_a) - len(currents_a) >= spare:
            return count
    return None


def assign_channels(
    currents_a: list[float], can: Switching, modules: int, least_a: list[float] | None = None
) -> list[tuple[int, int]] | None:
    """Give each circuit the smallest free channel that carries it: (module, channel) for each, or ``None``.

    ``least_a``: smallest limit a circuit's channel may have, such as the device before a channel that cannot protect
    itself. [A]
    """
    free = [(limit, m, c) for m in range(modules) for c, limit in enumerate(can.channel_limits_a)]
    left = [can.total_a] * modules
    least = [max(pair) for pair in zip(currents_a, least_a or currents_a, strict=True)]
    places: dict[int, tuple[int, int]] = {}
    for i in sorted(range(len(currents_a)), key=lambda i: (-least[i], -currents_a[i], i)):
        fits = sorted(f for f in free if f[0] >= least[i] - 1e-9 and left[f[1]] >= currents_a[i])
        if not fits:
            return None
        limit, m, c = fits[0]
        free.remove((limit, m, c))
        left[m] -= currents_a[i]
        places[i] = (m, c)
    return [places[i] for i in range(len(currents_a))]
