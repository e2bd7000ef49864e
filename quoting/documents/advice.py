"""What an owner should do: limits, parking, low battery, storage, emergency, care. Words by what the system has."""

from __future__ import annotations

from django.utils.translation import gettext as _

from quoting.documents.by_hand import hand_lines
from quoting.documents.common import Frozen
from quoting.documents.content import Named
from quoting.documents.speech import lasting, quantity, unparted
from quoting.documents.text import strong
from quoting.sizing.appraisal import LoadResult


def _spec(frozen: Frozen, role: str) -> dict[str, object]:
    for chosen in frozen.appraisal.chosen:
        if chosen.role == role:
            spec: dict[str, object] = frozen.parts.get(chosen.part, {}).get("spec", {})
            return spec
    return {}


def limits(frozen: Frozen) -> tuple[Named, ...]:
    """Will not run, cold, heat."""
    out = []
    got = frozen.appraisal.figures.get("inverter.got_w")
    if got:
        out.append(
            Named(
                _("Will not run"),
                (
                    _(
                        "More than %s at mains voltage together, or a kettle, heater or air conditioner that is "
                        "not in your list."
                    )
                    % quantity(got.value, "W", 0),
                ),
            )
        )
    else:
        out.append(Named(_("Will not run"), (_("Anything that is not in your list, above all what heats or cools."),)))
    spec = _spec(frozen, "battery")
    low, high = spec.get("min_charge_c"), spec.get("max_charge_c")
    if isinstance(low, int | float):
        out.append(
            Named(
                _("Cold"),
                (
                    _(
                        "Below %s, measured inside, the battery gives power but must not be charged. Its protection "
                        "refuses the charge until it is warm; warm its space and do not force it."
                    )
                    % quantity(float(low), "°C"),
                ),
            )
        )
    else:
        out.append(
            Named(_("Cold"), (_("A cold battery gives and takes less. Give it time to warm before a long charge."),))
        )
    if isinstance(high, int | float):
        out.append(
            Named(
                _("Heat"),
                (
                    _(
                        "Above %s the battery takes no charge. Park in the shade, air its space; a refrigerator "
                        "works harder in heat and everything lasts less long."
                    )
                    % quantity(float(high), "°C"),
                ),
            )
        )
    else:
        out.append(
            Named(
                _("Heat"),
                (
                    _(
                        "A refrigerator works harder in heat: everything lasts less long. Park in the shade, air "
                        "the battery's space."
                    ),
                ),
            )
        )
    return tuple(out)


def _names(loads: list[LoadResult]) -> str:
    return ", ".join(load.name for load in loads)


def parked(frozen: Frozen) -> tuple[Named, ...]:
    """What stays on, what goes dead, storing."""
    loads = [load for load in frozen.appraisal.loads if not load.own_draw]
    live = [load for load in loads if load.always_live]
    away = [load for load in loads if not load.always_live]
    out = []
    if live:
        words = (
            _("%s stay on when you walk away.") % _names(live)
            if len(live) > 1
            else _("%s stays on when you walk away.") % _names(live)
        )
        entry = next((each for each in frozen.lasting if each.key == "always_live"), None)
        if entry:
            words += " " + _("With no charging that is %s on a worn battery.") % strong(lasting(entry.worn_h))
        out.append(Named(_("Always live"), (words,)))
    if away:
        out.append(
            Named(
                _("Away set"), (_("%s: turn them off together with the Away switch when you park up.") % _names(away),)
            )
        )
    days = parked_days(frozen)
    if days:
        out.append(
            Named(
                _("Starter battery"),
                (
                    _("It stands apart. Parked without driving it may not crank after %s; have it charged before.")
                    % quantity(days, _("days"), 0),
                ),
            )
        )
    out.append(Named(_("Stored"), (_stored(frozen),)))
    return tuple(out)


def parked_days(frozen: Frozen) -> float | None:
    """How long the starter battery lasts parked: as full as its alternator keeps it, where the trip says that."""
    outlook, figure = frozen.appraisal.outlook, frozen.appraisal.figures.get("starter.days_parked")
    if outlook and outlook.starter and outlook.starter.days_parked is not None:
        return outlook.starter.days_parked
    return figure.value if figure else None


def _stored(frozen: Frozen) -> str:
    if frozen.chemistry == "lifepo4":
        return _(
            "Leave it about half full, everything off. For longer than a month open the battery isolator; look at the "
            "charge every season and put some back."
        )
    return _(
        "Leave it full, everything off, and charge it fully every month: a lead-acid battery left part charged is soon "
        "ruined. For longer than a month open the battery isolator."
    )


def trouble(frozen: Frozen) -> tuple[Named, ...]:
    """Low, dead, jump-start, faults."""
    sources = []
    if frozen.has("alternator"):
        sources.append(_("start the engine"))
    if frozen.has("inlet", "mains_charger"):
        sources.append(_("plug in"))
    if frozen.has("panel"):
        sources.append(_("turn the panel to the sun"))
    ways = _(" or ").join(sources) or _("charge it")
    out = [
        Named(
            _("Running low"),
            (
                _("Turn off what you can spare, the largest first, and %s. Nothing is harmed by letting go early.")
                % ways,
            ),
        ),
        Named(
            _("Went dead"),
            (
                _(
                    "The battery protected itself. Turn everything off and %s: it wakes by itself, mostly "
                    "within some minutes. If it does not, call us; never force it."
                )
                % ways,
            ),
        ),
        Named(
            _("Jump-start"),
            (
                _(
                    "Start the engine from another vehicle or a booster, on the starter battery and the body "
                    "only. Never connect a booster to the auxiliary battery."
                ),
            ),
        ),
        Named(
            _("A fuse blew"),
            (
                _(
                    "Find out why first. Replace it once, by the same rating and kind. If it blows again, "
                    "leave it and call us."
                ),
            ),
        ),
    ]
    if frozen.has_mains:
        out.append(
            Named(
                _("Residual-current device tripped"),
                (
                    _(
                        "Unplug everything, reset it once. If it trips again, leave it off: a licensed person "
                        "finds the fault."
                    ),
                ),
            )
        )
    return tuple(out)


def care(frozen: Frozen) -> tuple[Named, ...]:
    """What to look after, and when."""
    out = []
    if frozen.body.get("retorque_due_on"):
        out.append(
            Named(
                _("Re-torque"),
                (
                    _("Due %s: bring it in to have every terminal checked. New joints settle.")
                    % strong(frozen.locality.day(frozen.body["retorque_due_on"])),
                ),
            )
        )
    out.append(
        Named(
            _("Each month"),
            (
                _(
                    "Look at cables and terminals for rubbing, warmth, corrosion. Wipe the panel. Press the "
                    "test buttons."
                ),
            ),
        )
    )
    out.append(
        Named(
            _("Replacing a part"),
            (
                _(
                    "Like for like, by a workshop: same chemistry, same rating, same breaking capacity. The "
                    "settings below belong to it."
                ),
            ),
        )
    )
    shop = frozen.body["workshop"]
    reach = ", ".join(each for each in (shop["name"], unparted(shop.get("phone") or ""), shop.get("email")) if each)
    out.append(
        Named(
            _("Faults and warranty"),
            (
                _("%(reach)s. Have job %(job)s and the serial number ready.")
                % {"reach": reach, "job": frozen.body["job"]["number"]},
            ),
        )
    )
    return tuple(out)


def papers(frozen: Frozen) -> tuple[Named, ...]:
    """Certificate and the papers that belong to this one."""
    certificate = frozen.body.get("certificate_no")
    if not certificate:
        return ()
    return (Named(_("Certificate"), (_("Mains-voltage work: certificate %s.") % certificate,)),)


def by_hand(frozen: Frozen) -> tuple[Named, ...]:
    """What a person settled otherwise than it was worked out, and why."""
    lines = hand_lines(frozen)
    return (Named(_("Settled by hand"), lines),) if lines else ()


def emergency_words(frozen: Frozen) -> str:
    number = frozen.body["workshop"].get("emergency_number")
    if number:
        return _("People first. Get out, get away, call %s.") % strong(str(number))
    return _("People first. Get out, get away, call the emergency services.")


def _isolators(frozen: Frozen) -> list[str]:
    """Isolators and battery-side devices by tag and place."""
    out = []
    for circuit in frozen.appraisal.circuits:
        for device in circuit.devices:
            if device.what == "isolator":
                place = frozen.place(device.position or circuit.from_position)
                out.append(f"{device.tag} ({place})" if place else device.tag)
    return list(dict.fromkeys(out))


def emergency(frozen: Frozen) -> tuple[Named, ...]:
    """Isolation, fire, crash: alone on the last page."""
    cut = _isolators(frozen)
    isolate = [
        _("Turn the battery isolator off: %s.") % strong(", ".join(cut))
        if cut
        else _("Disconnect the auxiliary battery, negative first."),
    ]
    if frozen.has("inlet", "mains_charger"):
        isolate.append(_("Pull the mains lead out of the inlet, or out of the outlet it comes from."))
    if frozen.has("panel"):
        breakers = [
            d.tag
            for c in frozen.appraisal.circuits
            if c.role == "solar_array"
            for d in c.devices
            if d.what in ("breaker", "isolator")
        ]
        isolate.append(
            _("Open the panel's breaker: %s. The leads up to it stay live in daylight.") % strong(", ".join(breakers))
            if breakers
            else _("Cover the panel. Its leads stay live in daylight.")
        )
    lithium = frozen.chemistry == "lifepo4"
    fire = [
        _("Only if it is safe: isolate as above. Keep away from smoke; it is poisonous.")
        if lithium
        else _("Only if it is safe: isolate as above. Acid and hydrogen: keep away, no flame."),
        _(
            "A small fire of cables: powder or carbon dioxide. A battery that burns: much water from a "
            "distance, by the fire brigade; tell them that there is a lithium iron phosphate battery."
        )
        if lithium
        else _(
            "A small fire of cables: powder or carbon dioxide. Tell the fire brigade that there is a lead-acid battery."
        ),
    ]
    crash = [
        _("Engine off, key away. Isolate if you can reach it without danger."),
        _("Tell the rescuers: an auxiliary battery with its own cables, and where. Do not cut the vehicle near them."),
        _(
            "Do not use or charge the system again before a workshop has looked at it; a dented battery "
            "may burn hours later."
        ),
    ]
    out = [
        Named(_("Isolate"), tuple(isolate)),
        Named(_("Fire"), tuple(fire)),
        Named(_("Crash"), tuple(crash)),
        Named(
            _("Electric shock"),
            (_("Do not touch the person before the mains lead is out and the inverter is off. Then help, and call."),)
            if frozen.has_mains
            else (_("Take the source away first, then help, and call."),),
        ),
        Named(
            _("Battery acid, burst cell"),
            (_("Wash eyes and skin with much water for a quarter of an hour. See a doctor."),),
        ),
    ]
    shop = frozen.body["workshop"]
    reach = ", ".join(each for each in (shop["name"], unparted(shop.get("phone") or "")) if each)
    out.append(Named(_("Then"), (_("Call us before it is used again: %s.") % reach,)))
    return tuple(out)
