"""What strings side by side bring onto the bill: leads of their own, with links, holders, bars and the work of each.

Left out of the price, four small batteries would look cheaper than one large one that has no leads of its own, and
panels side by side no dearer than one string. Circuits settle which links they are; cable itself is in no option.
"""

from __future__ import annotations

from catalog.kinds.capabilities import Distributing, Protecting, Storage
from quoting.sizing import protection
from quoting.sizing.battery_volts import highest_charging_v
from quoting.sizing.brief import Role
from quoting.sizing.runs_devices import holder_for
from quoting.sizing.selecting.options_ask import Ask
from quoting.sizing.selecting.options_beside import NOTHING, Beside, of
from quoting.sizing.topology import way

ENDS = 2
"""Links to each string: at the battery, and where the others feed into it."""
BARS = 2
"""One for either pole."""

Link = tuple[float, Beside, float | None]
"""Rating [A], what it comes to with its holder, what it breaks. [A]"""


def beside_strings(ask: Ask, can: Storage, series: int, strings: int) -> Beside:
    """What joins so many strings; nothing for a single one.

    Of the links that carry a lead's current and break what the others feed into it the smallest, and the cheapest of
    that rating.
    """
    if strings < 2:
        return NOTHING
    policy, need_a = ask.brief.policy, ask.needs.battery.discharge_a
    high_v = round(max(highest_charging_v(can, series), policy.charging_v_per_12 * ask.system_v / 12), 3)
    lead_a = need_a / (strings - 1)
    fault_a = None if can.resistance_ohm is None else high_v * (strings - 1) / (can.resistance_ohm * series)
    links = ask.remember(("links", high_v), lambda: _links(ask, high_v))
    end = next(
        (
            comes_to
            for rating_a, comes_to, breaking_a in links
            if rating_a >= lead_a and protection.breaks(breaking_a, fault_a, policy.unknown_battery_breaking_a)
        ),
        NOTHING,
    )
    bar = next(
        (comes_to for bar, comes_to in _bars(ask, high_v) if bar.rating_a >= need_a and bar.studs > strings), NOTHING
    )
    count = ENDS * strings
    work = strings * _work(ask, "battery", "battery", ENDS)
    return Beside(count * end.price + BARS * bar.price + work, count * end.mass_kg + BARS * bar.mass_kg)


def beside_panels(ask: Ask, strings: int) -> Beside:
    """The work that each further string of panels makes: its own leads from the roof to the controller."""
    if strings < 2:
        return NOTHING
    return Beside((strings - 1) * _work(ask, "array", "charger", 1))


def _work(ask: Ask, start: Role, end: Role, devices: int) -> float:
    """Of one circuit: to draw and end both conductors, at each device too, to fit those, label, test. [currency]"""

    def find() -> float:
        vehicle, ends = ask.brief.vehicle, 2 * (2 + devices)
        at = [vehicle.places[role] for role in (start, end) if role in vehicle.places]
        run_m = way(vehicle, at[0], at[-1]).run_m if at else 0.0
        each = ask.labour("label_circuit") + ask.labour("test_circuit") + devices * ask.labour("fit_device")
        return each + ends * ask.labour("terminate") + 2 * run_m * ask.labour("run_cable_m")

    return ask.remember(("lead", start, end, devices), find)


def _links(ask: Ask, high_v: float) -> list[Link]:
    """Links for a voltage, each with its holder: the smallest first, of one rating the cheapest."""
    found: list[Link] = []
    for able in ask.parts.having(Protecting):
        can = able.can
        holder = holder_for(ask.parts, can, high_v) if can.needs_holder else None
        if can.max_v < high_v or (can.needs_holder and holder is None):
            continue
        keys = [able.part.key, *([holder.part.key] if holder else [])]
        found.append((can.rating_a, of(ask.parts, ask.market, keys), can.breaking_a))
    return sorted(found, key=lambda link: (link[0], link[1].price))


def _bars(ask: Ask, high_v: float) -> list[tuple[Distributing, Beside]]:
    """Bars for a voltage, in the order in which circuits take them."""

    def find() -> list[tuple[Distributing, Beside]]:
        able = (a for a in ask.parts.having(Distributing) if a.can.max_v >= high_v)
        return [(a.can, of(ask.parts, ask.market, [a.part.key])) for a in able]

    return ask.remember(("bars", high_v), find)
