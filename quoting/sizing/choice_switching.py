"""Switched outputs for the Away set and for shedding: which module, and how many of it."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal

from catalog.kinds.capabilities import Protecting, Switching
from quoting.sizing import protection
from quoting.sizing.appraisal import Chosen, Shortfall
from quoting.sizing.brief import Brief
from quoting.sizing.converters import LOAD_V, Shares
from quoting.sizing.outputs_fit import Modules, Want, place_all
from quoting.sizing.parts import Able, Catalogue, chosen_of, short
from quoting.sizing.sharing import Shared, circuits_shared, current_a
from quoting.sizing.trace import Scalar

MOST_MODULES = 12
"""Modules of one system. C"""


def choose_switching(brief: Brief, parts: Catalogue, shares: Shares = ()) -> Chosen | Shortfall | None:
    """Switched outputs for the Away set and for shedding: enough for every circuit, with the policy's spare ones.

    ``shares``: circuits by converter, of the 12 V loads of a 24 V system: they are switched at 12 V, behind it.
    """
    homes = {c.key: i for i, mine in enumerate(shares) for c in mine}
    circuits = [c for c in circuits_shared(brief, homes) if c.on_output]
    if not circuits:
        return None
    sheds = {c.key: c.shed_below_ratio for c in circuits if c.shed_below_ratio is not None}
    wants = [wanted(brief, c) for c in circuits]
    spare, models = brief.spare_outputs, parts.having(Switching)
    volts = {LOAD_V if c.home is not None else float(brief.wishes.system_v) for c in circuits}
    able = [a for a in models if volts <= set(a.can.nominal_v)]
    right = [a for a in able if a.can.sheds or not sheds]
    if not right:
        code = "none_of_kind" if not models else "no_match" if able else "wrong_voltage"
        best = models[0] if models else None
        return short(code, "switching", "switching", best=best, asked=len(circuits) + spare, unit="")
    largest_a = max(max(a.can.channel_limits_a) for a in right)
    carried = [w for w in wants if w.current_a <= largest_a]  # the rest is named with its circuit
    options: list[tuple[Decimal, float, str, Able[Switching], int]] = []
    for a in right if carried else ():
        count = modules_wanted(behind_devices(brief, parts, carried, a.can), a.can, spare)
        if count is not None:
            options.append((a.cost * count, a.part.mass_kg * count, a.part.key, a, count))
    if not options:
        near = max(right, key=lambda a: (max(a.can.channel_limits_a), a.part.key))
        asked = max(w.current_a for w in wants)
        value = max(near.can.channel_limits_a)
        return short("too_small", "switching", "switching", best=near, best_value=value, asked=asked, unit="A")
    options.sort(key=lambda o: o[:3])
    _, _, _, a, count = options[0]
    second = next((o[3].part.name for o in options[1:]), "")
    setting = shed_settings(brief, sheds)
    return chosen_of("switching", ("switching",), a, second, setting=setting, quantity=count)


def wanted(brief: Brief, circuit: Shared) -> Want:
    """A circuit that is not designed yet: all of its loads at once. [A]"""
    supply = "" if circuit.home is None else f"converter {circuit.home + 1}"
    return Want(circuit.key, circuit.name, current_a(brief, circuit), supply=supply)


def behind_devices(brief: Brief, parts: Catalogue, wants: Sequence[Want], can: Switching) -> list[Want]:
    """The same circuits, each with the device that will sit before an output that does not protect it."""
    if can.protects:
        return list(wants)
    policy = brief.policy
    ratings = parts.remember(("ratings",), lambda: sorted({a.can.rating_a for a in parts.having(Protecting)}))
    found = []
    for want in wants:
        least = protection.least_rating_a(want.current_a, policy.fuse_continuous_ratio, policy.fuse_temperature_ratio)
        at = bisect_left(ratings, least - 1e-9)
        found.append(replace(want, device_a=ratings[at] if at < len(ratings) else least))
    return found


def modules_wanted(wants: Sequence[Want], can: Switching, spare: int, most: int = MOST_MODULES) -> int | None:
    """Modules of one model that carry these circuits with spare outputs, or ``None``: they are over every output."""
    for count in range(1, most + 1):
        enough = count * len(can.channel_limits_a) - len(wants) >= spare
        if enough and place_all(wants, Modules(can.channel_limits_a, can.total_a, count)) is not None:
            return count
    return None


def shed_settings(brief: Brief, sheds: dict[str, float]) -> dict[str, Scalar]:
    """What is entered into modules that shed: each circuit's charge, and what holds for all of them."""
    if not sheds:
        return {}
    policy, per_12 = brief.policy, brief.wishes.system_v / 12
    return {
        **{f"shed_{key}_ratio": level for key, level in sorted(sheds.items())},
        "back_over_ratio": policy.shed_restore_ratio,
        "backstop_v": round(policy.backstop_v_per_12 * per_12, 2),
        "backstop_restore_v": round(policy.backstop_restore_v_per_12 * per_12, 2),
        "backstop_delay_min": policy.backstop_delay_min,
    }
