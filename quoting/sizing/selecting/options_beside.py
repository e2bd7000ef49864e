"""What a part brings onto the bill wherever it is fitted: what holds it, by the rules of the bill."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from catalog.kinds.capabilities import Panel
from catalog.kinds.capabilities_fitting import Consuming, Mounting
from quoting.sizing.bill_mounts import ADHESIVE_ML_PER_M2, HELD, SEALANT_ML_PER_PANEL, holds, thing_of
from quoting.sizing.parts import Catalogue
from quoting.sizing.selecting.records import Market


@dataclass(frozen=True, slots=True)
class Beside:
    """What comes with an option."""

    price: float = 0.0
    mass_kg: float = 0.0


NOTHING = Beside()


def beside_each(parts: Catalogue, market: Market, role: str, part: str) -> Beside:
    """What holds one piece of a part: the mounting that the bill takes, sealant or adhesive."""
    if role not in HELD:
        return NOTHING
    if role == "panel" and parts.can(part, Panel).flexible:
        can = parts.can(part, Panel)
        return _used(parts, market, "adhesive", can.length_m * can.width_m * ADHESIVE_ML_PER_M2)
    thing = thing_of(parts, role, part)
    mounting = next((a.part.key for a in parts.having(Mounting) if holds(a.can, thing)), None)
    held = of(parts, market, [mounting] if mounting else [])
    if role != "panel":
        return held
    sealed = _used(parts, market, "sealant", SEALANT_ML_PER_PANEL)
    return Beside(held.price + sealed.price, held.mass_kg + sealed.mass_kg)


def _used(parts: Catalogue, market: Market, what: str, amount_ml: float) -> Beside:
    tubes = [a for a in parts.having(Consuming) if a.can.what == what and a.can.unit == "ml"]
    if not tubes:
        return NOTHING
    best = min(tubes, key=lambda a: (float(a.cost) / a.can.pack, a.order))
    share = amount_ml / best.can.pack
    return Beside(share * float(market.price(best.part.key)), share * best.part.mass_kg)


def of(parts: Catalogue, market: Market, keys: Iterable[str]) -> Beside:
    """So many parts together."""
    keys = list(keys)
    return Beside(float(sum(market.price(key) for key in keys)), math.fsum(parts.part(key).mass_kg for key in keys))
