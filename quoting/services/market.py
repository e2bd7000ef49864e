"""What the workshop can get each part of a Brief for, and when: prices of today as a quote has them."""

from __future__ import annotations

import hashlib
import json
from decimal import Decimal

from catalog import kinds
from catalog.models import Component, LabourOperation, Supplier
from fitouts.models import Workshop
from fitouts.services.workshop import markups as workshop_markups
from quoting.services import pricing
from quoting.sizing.bill_labour import with_stand_ins
from quoting.sizing.brief import Brief
from quoting.sizing.selecting.records import Market, MarketPart, Operation

_FOUR_PLACES = Decimal("0.0001")


def market_of(brief: Brief) -> Market:
    """Prices, stock and lead times of every part in a Brief, and what labour is sold for.

    As :func:`pricing.price_bill` has them, so that ``Market.amount`` of a line is what a quote says of it, to the cent.
    """
    workshop = Workshop.objects.get()
    labour = LabourOperation.objects.filter(retired_at__isnull=True).order_by("code")
    operations = {
        op.code: Operation(minutes=op.minutes_per_unit, hour_price=_money(pricing.labour_price(op, workshop)[0]))
        for op in labour
    }
    parts = _parts(brief, workshop)
    named = Supplier.objects.filter(pk__in={int(p.supplier) for p in parts.values() if p.supplier}).order_by("pk")
    return Market(
        parts=parts,
        labour={code: _each(one) for code, one in with_stand_ins(operations).items()},
        suppliers={str(pk): name for pk, name in named.values_list("pk", "name")},
        operations=operations,
        sundries_ratio=f"{Decimal(str(workshop.sundries_ratio)).normalize():f}",
        half=pricing.half_of(workshop),
    )


def _parts(brief: Brief, workshop: Workshop) -> dict[str, MarketPart]:
    markups, half = workshop_markups(), pricing.half_of(workshop)
    groups = {part.key: kinds.get(part.kind).group for part in brief.catalogue}
    rows = Component.objects.filter(pk__in=[int(key) for key in groups]).order_by("pk")
    found = {}
    for row in rows.only("pk", "cost", "sell_price", "supplier_id", "stock", "lead_days"):
        key = str(row.pk)
        found[key] = MarketPart(
            price=_money(pricing.part_price(row, groups[key], markups, half)),
            supplier=str(row.supplier_id or ""),
            stock=row.stock,
            lead_days=row.lead_days,
        )
    return found


def stamp_of(market: Market) -> str:
    """sha256 of everything a market says."""
    text = json.dumps(market.model_dump(mode="json"), sort_keys=True, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()


def _each(one: Operation) -> str:
    """What one unit of an operation is sold for."""
    return _money(Decimal(str(one.minutes)) * Decimal(one.hour_price) / 60)


def _money(amount: Decimal) -> str:
    return f"{amount.quantize(_FOUR_PLACES):f}"
