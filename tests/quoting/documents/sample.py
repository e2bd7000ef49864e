"""Invented snapshots: the geologist's field wagon of ``tests/examples``, worked out, priced and fitted.

The engineering is the sizing's own; prices, people, serials and readings are made up here and agree with each other.
"""

from __future__ import annotations

import copy
import json
from collections.abc import Callable
from decimal import Decimal
from functools import lru_cache
from pathlib import Path
from typing import Any

from quoting import money
from quoting.sizing import brief
from quoting.sizing.appraise import appraise

EXAMPLE = Path(__file__).parents[2] / "examples" / "field_wagon.json"
CHECKSUM = "2ee52c656a1e3069" + "0" * 48
WORKSHOP = {
    "name": "Kestrel Flat Auto Electrical",
    "address": "8 Siding Street\nKestrel Flat",
    "phone": "(02) 5550 0142",
    "email": "bench@kestrelflat.example",
    "business_no": "00 000 000 417",
    "country": "AU",
    "currency": "AUD",
    "language": "en_AU",
    "time_zone": "Australia/Adelaide",
    "emergency_number": "000",
}
PERSONAL = {
    "customer": {
        "kind": "organisation",
        "name": "Oyelaran Geological",
        "address": "12 Cutbank Road\nKestrel Flat",
        "phone": "(02) 5550 0177",
        "email": "marit@oyelaran.example",
        "business_no": "00 000 000 512",
    },
    "contact": {"name": "Marit Oyelaran", "phone": "0491 570 156", "email": "marit@oyelaran.example"},
    "vehicle": {"registration": "KFX 417", "vin": ""},
}
EXCLUSIONS = "Repairs to what is in the vehicle already.\nUpholstery and drawers, other than what is named above."
TERMS = (
    "Twenty per cent on acceptance, the rest on delivery.\n"
    "Work carries a warranty of twenty-four months; parts that of their makers.\n"
    "Parts stay ours until they are paid for."
)


def _as_it_is(raw: dict[str, Any]) -> None:
    """The wagon with everything."""


def without_mains(raw: dict[str, Any]) -> None:
    """Nothing at mains voltage: no inverter, no inlet."""
    raw["loads"] = [load for load in raw["loads"] if load.get("bus") != "ac"]
    raw["wishes"] = {**raw.get("wishes", {}), "mains_charging": False, "shore_inlet": False}


def by_hand(raw: dict[str, Any]) -> None:
    """Two circuits settled by hand, one of them against a rule."""
    raw["changes"] = [
        {
            "circuit": "load:lights",
            "area_mm2": 6.0,
            "reason": "Sturdier behind the tail-light panel",
            "by": "Ines Okafor-Brandt",
        },
        {"circuit": "load:radio", "area_mm2": 2.5, "rating_a": 60.0, "reason": "A larger one was at hand"},
    ]


def without_parts(raw: dict[str, Any]) -> None:
    """An empty catalogue: every need a shortfall."""
    raw["catalogue"] = []


Change = Callable[[dict[str, Any]], None]


@lru_cache(maxsize=6)
def _worked(change: Change = _as_it_is) -> tuple[dict[str, Any], dict[str, Any]]:
    raw = json.loads(EXAMPLE.read_text(encoding="utf-8"))
    change(raw)
    asked = brief.read(raw)
    return json.loads(asked.model_dump_json()), json.loads(appraise(asked).model_dump_json())


def _common(change: Change) -> dict[str, Any]:
    asked, got = copy.deepcopy(_worked(change))
    used = {line["part"] for line in got["bill"]} | {each["part"] for each in got["chosen"]}
    parts = {
        part["key"]: {name: part[name] for name in ("kind", "name", "part_number", "spec", "mass_kg")}
        for part in asked["catalogue"]
        if part["key"] in used
    }
    return {
        "workshop": copy.deepcopy(WORKSHOP),
        "job": {"number": "0417", "title": "Geologist’s field wagon", "kind": "new"},
        "vehicle": {"name": "Ostler Farrow wagon", "year": 2021, "odometer_km": 84210, "nominal_v": 12},
        "brief": {**asked, "catalogue": []},
        "appraisal": got,
        "parts": parts,
    }


def _offer(got: dict[str, Any], costs: dict[str, str]) -> dict[str, Any]:
    lines = []
    for line in got["bill"]:
        quantity = Decimal(str(line["quantity"]))
        if line["group"] == "labour":
            unit, price = "h", Decimal("118.00")
            quantity = max(quantity / 4, Decimal("0.5")).quantize(Decimal("0.1"))
        else:
            unit, price = line["unit"], money.marked_up(Decimal(costs.get(line["part"], "4")), Decimal("0.35"))
        lines.append(
            {
                "group": line["group"],
                "name": line["name"].replace("_", " "),
                "quantity": f"{quantity:f}",
                "unit": unit,
                "unit_price": f"{price:f}",
                "amount": f"{money.line_amount(quantity, price):f}",
                "mass_kg": line["mass_kg"],
                "rule": line["rule"],
            }
        )
    return offer_of(lines)


def offer_of(lines: list[dict[str, Any]], discount_ratio: str = "0.05") -> dict[str, Any]:
    """Add lines up by the project's own rule."""
    parts = sum((Decimal(x["amount"]) for x in lines if x["group"] != "labour"), Decimal(0))
    labour = sum((Decimal(x["amount"]) for x in lines if x["group"] == "labour"), Decimal(0))
    sundries = money.round_to(parts * Decimal("0.03"))
    sums = money.totals(
        [parts, labour, sundries],
        tax_ratio=Decimal("0.10"),
        discount_ratio=Decimal(discount_ratio),
        deposit_ratio=Decimal("0.2"),
        round_total_to=Decimal("0.05"),
    )
    return {
        "name": "steady",
        "lines": lines,
        "parts": f"{parts:f}",
        "labour": f"{labour:f}",
        "sundries": f"{sundries:f}",
        "discount": f"{sums.discount:f}",
        "discount_ratio": discount_ratio,
        "net": f"{sums.net:f}",
        "tax_name": "GST",
        "tax_ratio": "0.10",
        "tax": f"{sums.tax:f}",
        "rounding": f"{sums.rounding:f}",
        "total": f"{sums.total:f}",
        "deposit": f"{sums.deposit:f}",
        "mass_kg": round(sum(float(x["mass_kg"]) for x in lines), 3),
    }


def quote_body(change: Change = _as_it_is) -> dict[str, Any]:
    """A frozen quote, revision B."""
    asked = _worked(change)[0]
    body = _common(change)
    return {
        "schema": "loomwright.quote/1",
        **body,
        "quote": {
            "number": "Q-0417",
            "revision": "B",
            "replaces": "A",
            "replaces_issued_on": "2026-03-05",
            "issued_on": "2026-03-12",
            "valid_until": "2026-04-11",
            "days_off_road": 3,
            "note": "The roof rack stays; the panel goes on top of it, on its own feet.",
            "travellers": "two people, five days out",
            "reused": "The refrigerator and the satellite terminal are yours and stay.",
            "exclusions": EXCLUSIONS,
            "terms": TERMS,
            "variation_rate": "118.00",
        },
        "design": {"number": 2, "made_on": "2026-03-11"},
        "offer": _offer(body["appraisal"], {part["key"]: part["cost"] for part in asked["catalogue"]}),
    }


def side_by_side(body: dict[str, Any]) -> dict[str, Any]:
    """The same quote with two offers beside the one that leads: what a selection froze. Their systems are made up."""
    chosen = [
        {name: one.get(name) for name in ("role", "name", "rating", "quantity", "kept")}
        for one in body["appraisal"]["chosen"]
    ]
    facts = {
        "capacity_ah": 200.0, "array_w": 400.0, "days_without_charging": 1.62, "dark_chance_ratio": 0.035,
        "dark_high_ratio": 0.07, "battery_years": 9.4, "cost_per_year": "412.60", "spare_outputs": 1, "lead_days": 6,
        "waits_for": "Inverter",
    }  # fmt: skip
    lean = {**facts, "dark_chance_ratio": 0.125, "dark_high_ratio": 0.18, "days_without_charging": 1.08}
    lean |= {"lead_days": 0, "spare_outputs": 0}
    roomy = {**facts, "dark_chance_ratio": 0.0, "dark_high_ratio": 0.019, "days_without_charging": 2.9}
    roomy |= {"capacity_ah": 400.0}
    half, other = offer_of(body["offer"]["lines"][:9]), offer_of(body["offer"]["lines"])
    fewer = [one for one in chosen if one["role"] != "inverter"]
    more = [{**one, "quantity": 2} if one["role"] == "battery" else one for one in chosen]
    offers = [
        {**half, "name": "lean", "leads": False, "facts": lean, "chosen": fewer},
        {**body["offer"], "name": "steady", "leads": True, "facts": facts, "chosen": chosen},
        {**other, "name": "roomy", "leads": False, "facts": roomy, "chosen": more},
    ]
    return {**body, "offers": offers}


def design_body(change: Change = _as_it_is) -> dict[str, Any]:
    """A frozen design with no quote."""
    return {
        "schema": "loomwright.design/1",
        **_common(change),
        "design": {"number": 2, "made_on": "2026-03-11", "made_by": "Ines Okafor-Brandt"},
    }


def as_built_body(change: Change = _as_it_is) -> dict[str, Any]:
    """The system as it left the workshop, every reading of the extra-low-voltage part taken."""
    body = _common(change)
    got = body["appraisal"]
    return {
        "schema": "loomwright.as_built/1",
        **body,
        "quote": {"number": "Q-0417", "revision": "B"},
        "design": {"number": 2, "made_on": "2026-03-11"},
        "fitted": [
            {
                "key": f"{each['role']}:{number}",
                "name": each["name"],
                "part_number": each["part_number"],
                "role": each["role"],
                "serial": f"{each['part_number'][:2]}26-{1040 + 7 * number}",
                "batch": "26-02" if each["role"] == "battery" else "",
                "settings_asked": each["setting"],
                "settings_entered": each["setting"],
            }
            for number, each in enumerate(got["chosen"])
        ],
        "readings": [_reading(each) for each in got["expectations"] if not each["licensed"]],
        "instruments": [
            {"name": "Clamp meter, AC and DC", "serial": "2207-118", "calibrated_until": "2027-03-31"},
            {"name": "Multimeter, 4½ digits", "serial": "61 044", "calibrated_until": "2026-11-30"},
            {"name": "Thermal camera", "serial": "TK-0093", "calibrated_until": None},
        ],
        "ticks": [],
        "delivered_on": "2026-04-03",
        "retorque_due_on": "2026-07-02",
        "odometer_km": 84316,
        "certificate_no": "CC-20417",
        "found": "No. 17 first read too high. Lug at the socket pressed again, then within its limit.",
        "test_conditions": {"air_c": 24.0, "battery_c": 26.0, "charge_ratio": 0.86, "rested_h": 2.0},
    }


def _reading(asked: dict[str, Any]) -> dict[str, Any]:
    low, high = asked["minimum"], asked["maximum"]
    value = None
    if asked["answer"] == "number":
        if low and high:
            value = (low + high) / 2
        elif high is not None:
            value = high * 0.8
        else:
            value = (low or 0) * 1.04
        value = round(value, 3)
    return {
        **{name: asked[name] for name in ("key", "code", "params", "group", "unit", "minimum", "maximum")},
        "value": value,
        "answer": True if asked["answer"] == "yes" else None,
        "passed": True,
        "safety": asked["safety"],
        "licensed": asked["licensed"],
        "licence_no": "",
        "by": "Ines Okafor-Brandt",
        "at": "2026-04-02",
        "instrument": "Multimeter, 4½ digits 61 044",
    }
