"""From a frozen quote to the words and numbers of its paper."""

from __future__ import annotations

from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from quoting.documents import as_found, conditions, side_by_side, speech, weathers
from quoting.documents.by_hand import hand_lines
from quoting.documents.charging import puts_back
from quoting.documents.common import GROUPS, Frozen
from quoting.documents.content import Fact, Field, Notice, OtherOffer, Priced, PriceGroup, QuoteContent, Sum, Use
from quoting.documents.folding import OfferLine, offer_lines
from quoting.documents.speech import duration, figure, in_unit, joined, lasting, percent, quantity, scale_of
from quoting.documents.text import quiet, strong
from quoting.sizing.appraisal import Lasting, LoadResult

LIMITING = frozenset(
    {
        "goes_flat",
        "sheds",
        "runs_down",
        "cooling_cannot_hold",
        "inverter_overloaded",
        "inverter_surge_short",
        "mains_below_loads",
        "engine_short",
        "sun_short",
    }
    | weathers.NOT_HELD
)
"""Findings that say what the system will not do; they stand beside what it will."""


def quote_content(frozen: Frozen) -> QuoteContent:
    """Everything a quote prints."""
    body, money = frozen.body, frozen.locality
    quote, offer = body["quote"], body["offer"]
    name = side_by_side.name_of(offer)
    number = quote["number"]
    title = body["job"].get("title") or body["brief"]["title"]
    mark = _("Quote %(number)s, revision %(letter)s") % {"number": number, "letter": quote["revision"]}
    dated = _("issued %s") % money.day(quote["issued_on"])
    if quote.get("replaces"):
        dated = _("%(issued)s, replaces revision %(letter)s of %(day)s") % {
            "issued": dated,
            "letter": quote["replaces"],
            "day": money.day(quote.get("replaces_issued_on")),
        }
    is_fault = as_found.is_fault(frozen)
    lead = _("Auxiliary power, %(title)s: the %(offer)s offer") % {"title": title, "offer": name}
    running = _("%(mark)s: %(title)s, the %(offer)s offer") % {"mark": mark, "title": title, "offer": name}
    if side_by_side.choices(frozen):
        lead = _("Auxiliary power, %(title)s: %(names)s to choose from") % {
            "title": title,
            "names": side_by_side.names(frozen),
        }  # fmt: skip
        running = _("%(mark)s: %(title)s") % {"mark": mark, "title": title}
    frame = frozen.frame(
        title=_("Quote %s") % number,
        lead=_("Mending, %s: what was found and what is done about it") % title if is_fault else lead,
        running=_("%(mark)s: %(title)s") % {"mark": mark, "title": title} if is_fault else running,
        mark=mark,
        dated=dated,
        facts=_facts(frozen),
    )
    return QuoteContent(
        frame=frame,
        assumed=() if is_fault else _assumed(frozen),
        uses=_uses(frozen),
        uses_total=_uses_total(frozen),
        runs=() if is_fault else _runs(frozen),
        runs_not=() if is_fault else _runs_not(frozen),
        notices=frozen.notices(without=LIMITING | weathers.TOLD),
        note=quote.get("note") or "",
        lines_title=_("Parts and work, line by line") if is_fault else _("The %s offer, line by line") % name,
        currency=money.sign,
        groups=_groups(frozen, offer),
        sums=_sums(frozen, offer),
        conditions=conditions.conditions(frozen),
        acceptance=_acceptance(frozen, mark),
        fields=(
            (
                Field(_("Customer, name"), start=4, span=4),
                Field(_("Signature"), start=8, span=3),
                Field(_("Date"), start=11, span=2),
            ),
            (
                Field(_("For %s") % body["workshop"]["name"], start=4, span=4),
                Field(_("Signature"), start=8, span=3),
                Field(_("Date"), start=11, span=2),
            ),
        ),
        found=as_found.parts(frozen),
        defects=as_found.defects(frozen),
        is_fault=is_fault,
        expected=() if is_fault else weathers.expected(frozen),
        spread=None if is_fault else weathers.spread_chart(frozen),
        compared=side_by_side.compared(frozen),
        others=tuple(
            OtherOffer(
                _("The %s offer, line by line") % side_by_side.name_of(one), _groups(frozen, one), _sums(frozen, one)
            )
            for one in side_by_side.others(frozen)
        ),
        choices=side_by_side.choices(frozen),
        leading=name if side_by_side.choices(frozen) else "",
    )


def _acceptance(frozen: Frozen, mark: str) -> str:
    """What is agreed to: the one offer with its sum, or whichever is ticked."""
    offer, money = frozen.body["offer"], frozen.locality
    if side_by_side.choices(frozen):
        words = _(
            "I accept the offer of %(mark)s that is ticked here, one of them, with its assumptions, exclusions and "
            "terms, for the sum beside it, tax included."
        )
        return words % {"mark": mark}
    sums = {"mark": mark, "total": money.money(offer["total"]), "deposit": money.money(offer["deposit"])}
    if speech.decimal(offer.get("deposit") or 0):
        return (
            _(
                "I accept %(mark)s with its assumptions, exclusions and terms, for %(total)s, tax included, "
                "and pay the deposit of %(deposit)s."
            )
            % sums
        )
    return _("I accept %(mark)s with its assumptions, exclusions and terms, for %(total)s, tax included.") % sums


def _facts(frozen: Frozen) -> tuple[Fact, ...]:
    body, money = frozen.body, frozen.locality
    quote, offer = body["quote"], body["offer"]
    this = [
        _("revision %s") % quote["revision"],
        money.day(quote["issued_on"]),
        _("good until %s") % money.day(quote["valid_until"]) if quote.get("valid_until") else "",
        _("replaces revision %s") % quote["replaces"] if quote.get("replaces") else "",
    ]
    price = [
        _off_road(quote["days_off_road"]) if quote.get("days_off_road") else "",
        "" if as_found.is_fault(frozen) else f"{_mass(offer['mass_kg'])} {quiet(_('kg added mass'))}",
    ]
    return (
        Fact(_("Customer"), frozen.customer_lines()),
        Fact(_("Vehicle"), frozen.vehicle_lines()),
        Fact(_("This quote"), tuple(line for line in this if line)),
        Fact(_price_words(frozen), tuple(line for line in price if line), money.money(offer["total"])),
    )


def _price_words(frozen: Frozen) -> str:
    if side_by_side.choices(frozen):
        return _("Price of %s, tax included") % side_by_side.name_of(frozen.body["offer"])
    return _("Price, tax included")


def _off_road(days: int) -> str:
    return f"{days} {quiet(ngettext('day off the road', 'days off the road', days))}"


def _mass(mass_kg: float) -> str:
    return figure(mass_kg, 1)


def _assumed(frozen: Frozen) -> tuple[str, ...]:
    out = []
    travellers = frozen.body["quote"].get("travellers")
    if travellers:
        out.append(_("Travelling: %s.") % (figure(travellers) if isinstance(travellers, int) else str(travellers)))
    estimated: dict[str, float] = {}
    for stop in frozen.brief["trip"]:
        site, month = stop["site"], stop["month"]
        if site.get("likely_error_ratio"):
            estimated[site["name"]] = site["likely_error_ratio"]
        params = {
            "site": site["name"],
            "month": frozen.locality.month(month),
            "days": speech.day_count(stop["days"]),
            "driving": _way(stop["driving_h_per_day"], _("of driving")),
            "mains": _way(stop.get("mains_h_per_day", 0.0), _("on mains")),
            "low": figure(site["tmin_c"][month - 1], 0),
            "high": figure(site["tmax_c"][month - 1], 0),
            "shade": "",
        }
        if stop.get("shade_ratio"):
            params["shade"] = _(", %s of the panels in shadow") % percent(stop["shade_ratio"])
        out.append(
            _(
                "%(site)s in %(month)s: %(days)s, each with %(driving)s and %(mains)s%(shade)s; air %(low)s "
                "to %(high)s\u00a0°C."
            )
            % params
        )
    for name, error in estimated.items():
        words = _(
            "The climate of %(site)s is an estimate from other places: a month's sun is likely right to %(error)s."
        )
        out.append(words % {"site": name, "error": percent(error)})
    out += [_("Settled by hand, %s") % line for line in hand_lines(frozen)]
    out.append(_("Please tell us where this is wrong: the price follows from it."))
    return tuple(out)


def _way(hours: float, words: str) -> str:
    return f"{speech.hour_count(hours)} {words}" if hours else f"{_('none')} {words}"


def own_draw_wh(frozen: Frozen) -> float:
    """What the components themselves take in a day. [Wh]"""
    return sum(load.energy_wh for load in frozen.appraisal.loads if load.own_draw)


def _uses(frozen: Frozen) -> tuple[Use, ...]:
    """Lines of the audit, and the own draw of components in one line."""
    loads = frozen.appraisal.loads
    uses = [_use(frozen, load) for load in loads if not load.own_draw]
    if any(load.own_draw for load in loads):
        uses.append(Use(_("Own draw"), _("charger, inverter, monitor and the like"), figure(own_draw_wh(frozen), 0)))
    return tuple(uses)


def _use(frozen: Frozen, load: LoadResult) -> Use:
    asked = next((each for each in frozen.brief["loads"] if each["key"] == load.key), None)
    return Use(load.name, _use_words(asked, load), figure(load.energy_wh, 0))


def _use_words(asked: dict[str, Any] | None, load: LoadResult) -> str:
    if asked is None:
        return _("own draw, %(hours)s at %(power)s") % {
            "hours": speech.hour_count(load.hours_per_day),
            "power": quantity(load.running_w, "W"),
        }
    use = asked["use"]
    many = f"{asked['quantity']} × " if asked.get("quantity", 1) > 1 else ""
    way = use.get("way", "steady")
    if way == "cooling":
        return many + _("runs %(duty)s of the day at %(power)s") % {
            "duty": percent(load.duty_ratio, 0),
            "power": quantity(use["power_w"], "W"),
        }
    if way == "recharge":
        return many + _("%(times)s charges of %(energy)s") % {
            "times": figure(use["charges_per_day"]),
            "energy": quantity(use["pack_wh"], "Wh"),
        }
    if way == "event":
        return many + _("%(minutes)s at %(power)s, %(times)s times") % {
            "minutes": quantity(use["minutes"], _("min")),
            "power": quantity(use["power_w"], "W"),
            "times": figure(use["times_per_day"]),
        }
    words = _("%(hours)s at %(power)s") % {
        "hours": speech.hour_count(use["hours_per_day"]),
        "power": quantity(use["power_w"], "W"),
    }
    if use.get("duty_ratio", 1.0) < 1:
        words += _(", on %s of them") % percent(use["duty_ratio"])
    return many + words


def _uses_total(frozen: Frozen) -> Use:
    day = frozen.appraisal.figures.get("day.energy_wh")
    total = day.value if day else sum(load.energy_wh for load in frozen.appraisal.loads)
    return Use(_("A day's use"), _("at the battery, losses counted"), figure(total, 0))


def lasting_name(frozen: Frozen, entry: Lasting) -> str:
    """What a set of loads is called."""
    names = {
        "everything": _("Everything in the list"),
        "without_inverter": _("Everything but mains voltage"),
        "always_live": _("What is always live"),
        "essential": _("The essential things"),
    }
    if entry.key in names:
        return names[entry.key]
    key = entry.key.removeprefix("load:")
    return entry.name or next((load.name for load in frozen.appraisal.loads if load.key == key), key)


def until_words(entry: Lasting) -> str:
    if entry.until == "shed":
        return _("until the first things are let go at %s") % percent(entry.until_ratio)
    if entry.until_ratio > 0:
        return _("until the battery is down to %s") % percent(entry.until_ratio)
    return _("until the battery is empty")


def worn_ratio(frozen: Frozen) -> float:
    """Capacity at which the policy counts the battery as worn."""
    chemistries = (frozen.brief.get("policy") or {}).get("chemistries") or {}
    own = chemistries.get(frozen.chemistry) or {}
    return float(own.get("end_of_life_ratio", 0.8))


def _runs(frozen: Frozen) -> tuple[str, ...]:
    appraisal = frozen.appraisal
    out = []
    for entry in [each for each in frozen.lasting if not each.key.startswith("load:")]:
        out.append(
            _(
                "%(what)s, with no charging at all, for %(new)s %(until)s; for %(worn)s once the battery has "
                "worn to %(left)s."
            )
            % {
                "what": lasting_name(frozen, entry),
                "new": strong(joined(in_unit(entry.new_h, scale_of(entry.new_h)))),
                "worn": strong(joined(in_unit(entry.worn_h, scale_of(entry.new_h)))),
                "until": until_words(entry),
                "left": percent(worn_ratio(frozen)),
            }
        )
    out += [puts_back(frozen, source) for source in appraisal.sources if source.current_a > 0]
    got = appraisal.figures.get("inverter.got_w")
    if got:
        out.append(_("Mains-voltage appliances up to %s together.") % strong(quantity(got.value, "W", 0)))
    return tuple(out)


def _runs_not(frozen: Frozen) -> tuple[str, ...]:
    appraisal = frozen.appraisal
    out = []
    got = appraisal.figures.get("inverter.got_w")
    if got:
        out.append(
            _("Mains-voltage appliances of more than %s together: two large ones take turns.")
            % quantity(got.value, "W", 0)
        )
    elif not frozen.has_inverter:
        out.append(_("Anything at mains voltage away from a mains outlet: there is no inverter."))
    out.append(
        _("Any appliance that is not in the list above; ask before you add one, above all one that heats or cools.")
    )
    whole = next((each for each in frozen.lasting if each.key == "everything"), None)
    if whole:
        out.append(_("The whole list for longer than %s on a worn battery without charging.") % lasting(whole.worn_h))
    for stop in appraisal.stops:
        if stop.unserved_wh > 0:
            out.append(
                _("All of it at %(name)s in %(month)s: %(energy)s asked there are not served.")
                % {
                    "name": stop.name,
                    "month": frozen.locality.month(stop.month),
                    "energy": quantity(stop.unserved_wh, "Wh", 0),
                }
            )
    out += [_sentence(each) for each in frozen.notices(LIMITING)]
    out.append(_("Starting the engine. The starter battery stays apart and is never drawn on with the engine off."))
    return tuple(out)


def _sentence(each: Notice) -> str:
    return f"{each.title}. {each.sentence}"


def _groups(frozen: Frozen, offer: dict[str, Any]) -> tuple[PriceGroup, ...]:
    money, groups, order = frozen.locality, offer_lines(frozen, offer), [*GROUPS]
    keys = sorted(groups, key=lambda key: order.index(key) if key in order else len(order) - 1.5)
    return tuple(
        PriceGroup(
            str(GROUPS.get(key, key)),
            tuple(
                Priced(
                    line.name,
                    count_words(line),
                    "" if line.unit == "each" else line.unit,
                    "" if line.each is None else money.amount(line.each),
                    money.amount(line.amount),
                )
                for line in groups[key]
            ),
            money.amount(sum(line.amount for line in groups[key])),
        )
        for key in keys
    )


PLACES = {"h": 2, "pack": 3}
"""Decimals of a quantity by its unit, so that whoever multiplies gets the amount; of metres one."""


def count_words(line: OfferLine) -> str:
    """How many: pieces whole, hours to the hundredth that they are priced at, metres to the tenth."""
    whole = line.unit == "each" and line.quantity == int(line.quantity)
    return figure(line.quantity, 0 if whole else PLACES.get(line.unit, 1))


def _sums(frozen: Frozen, offer: dict[str, Any]) -> tuple[Sum, ...]:
    money = frozen.locality
    sums = [Sum(_("Parts"), money.amount(offer["parts"])), Sum(_("Labour"), money.amount(offer["labour"]))]
    if speech.decimal(offer.get("sundries") or 0):
        sums.append(Sum(_("Sundries"), money.amount(offer["sundries"])))
    if speech.decimal(offer.get("discount") or 0):
        words = (
            _("Discount, %s") % percent(float(offer["discount_ratio"]))
            if offer.get("discount_ratio")
            else _("Discount")
        )
        sums.append(Sum(words, money.amount(-abs(speech.decimal(offer["discount"])))))
    sums.append(Sum(_("Before tax"), money.amount(offer["net"]), strong=True))
    sums.append(
        Sum(
            _("Tax (%(name)s), %(ratio)s") % {"name": offer["tax_name"], "ratio": percent(float(offer["tax_ratio"]))}
            if offer.get("tax_name")
            else _("Tax, %s") % percent(float(offer["tax_ratio"])),
            money.amount(offer["tax"]),
        )
    )
    if speech.decimal(offer.get("rounding") or 0):
        sums.append(Sum(_("Rounding"), money.amount(offer["rounding"])))
    sums.append(Sum(_("To pay"), money.money(offer["total"]), strong=True, due=True))
    if speech.decimal(offer.get("deposit") or 0):
        sums.append(Sum(_("of it on acceptance, deposit"), money.amount(offer["deposit"])))
    return tuple(sums)


__all__ = ["duration", "lasting_name", "quote_content", "until_words", "worn_ratio"]
