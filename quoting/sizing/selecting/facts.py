"""What systems are compared by: read off an Appraisal at the prices of today."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import ROUND_HALF_UP, Decimal

from catalog.kinds.capabilities import Panel
from quoting.sizing.appraisal import Appraisal, BillLine, Chosen
from quoting.sizing.bill_labour import booked, fitting_of
from quoting.sizing.brief import Brief
from quoting.sizing.one_piece import pieces
from quoting.sizing.parts import Catalogue
from quoting.sizing.selecting.records import Facts, Market

CENT = Decimal("0.01")


def facts_of(brief: Brief, appraisal: Appraisal, market: Market) -> Facts:
    """Say what a system comes to.

    Parameters
    ----------
    brief : Brief
        What it was worked out from.
    appraisal : Appraisal
        The system, proved.
    market : Market
        Prices, stock and lead times of today.

    Returns
    -------
    Facts
        ``price`` is of the whole bill: parts, cable, labour, as a quote has them to the cent. ``cost_per_year`` spreads
        that bill over what it lasts: batteries with their fitting over their years (the policy's most, at the most),
        all else, labour too, over the policy's ``part_life_years``; no interest, no scrap value.
    """
    figures, outlook = appraisal.figures, appraisal.outlook
    years, capacity, days = (figures.get(code) for code in ("battery.years", "battery.got_ah", "battery.days"))
    waits, waits_for = _longest_wait(appraisal.bill, market)
    return Facts(
        price=text(market.bill(appraisal.bill)),
        parts_price=text(parts_price(appraisal.chosen, market)),
        mass_kg=round(appraisal.mass_kg, 3),
        dark_chance_ratio=outlook.dark.chance_ratio if outlook else None,
        dark_high_ratio=outlook.dark.chance_high_ratio if outlook else None,
        days_without_charging=days.value if days else None,
        flat_days=outlook.flat_days if outlook else None,
        battery_years=years.value if years else None,
        cost_per_year=text(cost_per_year(brief, appraisal, market)),
        spare_outputs=sum(len(module.free) for module in appraisal.modules),
        lead_days=waits,
        waits_for=waits_for,
        capacity_ah=capacity.value if capacity else None,
        array_w=panels_w(brief, appraisal),
        warnings=sum(found.level == "warning" for found in appraisal.findings),
    )


def text(amount: Decimal) -> str:
    """An amount to the cent."""
    return f"{amount.quantize(CENT, ROUND_HALF_UP):f}"


def parts_price(chosen: Iterable[Chosen], market: Market) -> Decimal:
    """What the chosen parts are sold for, each piece once; what is kept costs nothing."""
    bought = (one for one in pieces(chosen) if not one.kept)
    return sum((market.price(one.part) * one.quantity for one in bought), Decimal(0))


def panels_w(brief: Brief, appraisal: Appraisal) -> float | None:
    """Power of the panels at standard test conditions. [W]"""
    panel = next((one for one in appraisal.chosen if one.role == "panel"), None)
    return Catalogue.of(brief).can(panel.part, Panel).power_w * panel.quantity if panel else None


def cost_per_year(brief: Brief, appraisal: Appraisal, market: Market) -> Decimal:
    """The bill over the years that its lines last. [currency/year]"""
    years = appraisal.figures.get("battery.years")
    policy, bank = brief.policy, next((one for one in appraisal.chosen if one.role == "battery"), None)
    life = Decimal(repr(policy.part_life_years))
    if bank is None or years is None:
        return market.bill(appraisal.bill) / life
    shorter = Decimal(repr(max(min(years.value, policy.battery_most_years), 0.1)))
    fitting = fitting_of(Catalogue.of(brief), "battery", bank.part)
    worn, lasting = Decimal(0), Decimal(0)
    for line in booked(appraisal.bill, market.operations):
        amount = market.amount(line)
        if line.part == bank.part or (line.labour and line.labour == fitting):
            worn += amount
        else:
            lasting += amount
    return worn / shorter + lasting / life


def _longest_wait(bill: Iterable[BillLine], market: Market) -> tuple[int, str]:
    """Days until the last part is there, and its name; what the shelf holds of a part is there already."""
    wanted: dict[str, tuple[float, str]] = {}
    for line in bill:
        if line.part and not line.kept:
            wanted[line.part] = wanted.get(line.part, (0.0, ""))[0] + line.quantity, line.name
    longest, name = 0, ""
    for key, (quantity, called) in wanted.items():
        one = market.parts.get(key)
        if one is not None and quantity > one.stock and one.lead_days > longest:
            longest, name = one.lead_days, called
    return longest, name
