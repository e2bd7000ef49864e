"""What goes into a snapshot: everything a paper prints, copied, so that later edits never reach it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.utils import timezone

from catalog.models import AssemblyVersion
from fitouts.models import Fitout, Workshop
from quoting.models import Design, Offer, Revision
from quoting.services import found_facts, offered, plans

QUOTE_SCHEMA = "loomwright.quote/1"
DESIGN_SCHEMA = "loomwright.design/1"
AS_BUILT_SCHEMA = "loomwright.as_built/1"


def common(fitout: Fitout, design: Design | None, workshop: Workshop) -> dict[str, Any]:
    """What every snapshot of a job has: workshop, job, vehicle, Brief, Appraisal, the parts in them."""
    if design is None:
        brief, appraisal = plans.brief_without_design(fitout), plans.without_design(fitout).model_dump(mode="json")
    else:
        brief, appraisal = {**design.brief, "catalogue": []}, design.appraisal
    return {
        "workshop": {
            "name": workshop.name,
            "address": workshop.address,
            "phone": workshop.phone,
            "email": workshop.email,
            "business_no": workshop.business_no,
            "country": workshop.country,
            "currency": workshop.currency,
            "language": workshop.language,
            "time_zone": workshop.time_zone,
            "emergency_number": workshop.emergency_number,
        },
        "job": {"number": fitout.number, "title": fitout.title, "kind": fitout.kind},
        "vehicle": {
            "name": str(fitout.vehicle),
            "year": fitout.vehicle.year,
            "odometer_km": fitout.vehicle.odometer_km,
            "nominal_v": fitout.vehicle.nominal_v,
        },
        "trailer": _trailer(fitout),
        "brief": brief,
        "appraisal": appraisal,
        "parts": parts_of(design) if design else {},
    }


def _trailer(fitout: Fitout) -> dict[str, Any] | None:
    """The trailer that makes one system with the vehicle, and what either may still carry."""
    if fitout.trailer is None:
        return None
    return {
        "name": str(fitout.trailer),
        "year": fitout.trailer.year,
        "payload_left_kg": fitout.trailer.payload_left_kg,
        "tow_payload_left_kg": fitout.vehicle.payload_left_kg,
    }


def parts_of(design: Design) -> dict[str, Any]:
    """The specifications of the parts a design uses, by key, without their cost."""
    return parts_in(design.appraisal, design.brief)


def parts_in(appraisal: Mapping[str, Any], brief: Mapping[str, Any]) -> dict[str, Any]:
    """The specifications of the parts that an Appraisal uses, by key, out of its Brief's catalogue."""
    used = {line["part"] for line in appraisal["bill"] if line["part"]}
    used |= {chosen["part"] for chosen in appraisal["chosen"]}
    return {
        part["key"]: {field: part[field] for field in ("kind", "name", "part_number", "spec", "mass_kg")}
        for part in brief["catalogue"]
        if part["key"] in used
    }


def personal(fitout: Fitout) -> dict[str, Any]:
    """Who it is about. Kept apart, under its own key, so that it can be erased."""
    customer = fitout.customer
    contact = customer.contacts.first()
    return {
        "customer": {
            "kind": customer.kind,
            "name": customer.name,
            "address": customer.address,
            "phone": customer.phone,
            "email": customer.email,
            "business_no": customer.business_no,
        },
        "contact": None if contact is None else {"name": contact.name, "phone": contact.phone, "email": contact.email},
        "vehicle": {"registration": fitout.vehicle.registration, "vin": fitout.vehicle.vin},
        "trailer": None
        if fitout.trailer is None
        else {"registration": fitout.trailer.registration, "vin": fitout.trailer.vin},
    }


def quote_body(revision: Revision, offer: Offer, workshop: Workshop, replaces: Revision | None) -> dict[str, Any]:
    fitout = revision.quote.fitout
    today = timezone.localdate()
    return {
        "schema": QUOTE_SCHEMA,
        **common(fitout, revision.design, workshop),
        "quote": {
            "number": revision.quote.number,
            "revision": revision.letter,
            "replaces": replaces.letter if replaces else None,
            "replaces_issued_on": _day(replaces),
            "issued_on": today.isoformat(),
            "valid_until": revision.valid_until.isoformat() if revision.valid_until else None,
            "days_off_road": revision.days_off_road,
            "note": revision.note,
            "travellers": fitout.travellers,
            "reused": fitout.reused,
            "exclusions": workshop.exclusions,
            "terms": workshop.terms,
            "variation_rate": _plain(workshop.labour_rate),
        },
        "design": plans.design_facts(revision.design),
        "assemblies": assembly_facts(revision),
        "as_found": found_facts.found_facts(fitout),
        "offer": offer_body(offer),
        **_side_by_side(revision, offer),
    }


def _side_by_side(revision: Revision, leading: Offer) -> dict[str, Any]:
    """The offers of a quote that has several, each with its lines, what it was proved to do and its parts."""
    offers = offered.offers_of(revision)
    if len(offers) < 2:
        return {}
    bodies, parts = [], parts_of(revision.design) if revision.design else {}
    for offer in offers:
        assert offer.proposal is not None  # several offers are always those of a selection
        proposal = offer.proposal
        parts |= parts_in(proposal.appraisal, proposal.selection.brief or {"catalogue": []})
        told = ("role", "name", "rating", "quantity", "kept")
        bodies.append(
            {
                **offer_body(offer),
                "leads": offer.pk == leading.pk,
                "facts": {name: value for name, value in proposal.facts.items() if name in FACTS},
                "chosen": [{name: chosen.get(name) for name in told} for chosen in proposal.appraisal["chosen"]],
            }
        )
    return {"offers": bodies, "parts": parts}


FACTS = (
    "capacity_ah", "array_w", "days_without_charging", "dark_chance_ratio", "dark_high_ratio", "battery_years",
    "cost_per_year", "spare_outputs", "lead_days", "waits_for",
)  # fmt: skip
"""What of a proposal's facts a customer compares offers by. Prices are the offer's own."""


def assembly_facts(revision: Revision) -> list[dict[str, Any]]:
    """Which assemblies are in a quote, at which version, how many; their parts stand in the lines of the offer."""
    priced = dict(revision.assemblies)
    versions = AssemblyVersion.objects.filter(pk__in=priced).select_related("assembly").order_by("pk")
    return [{"name": v.assembly.name, "version": v.number, "quantity": priced[v.pk]} for v in versions]


def offer_body(offer: Offer) -> dict[str, Any]:
    lines = list(offer.lines.all())
    return {
        "name": offer.name,
        "lines": [
            {
                "group": line.group,
                "name": line.name,
                "quantity": _plain(line.quantity),
                "unit": line.unit,
                "unit_price": _plain(line.unit_price),
                "amount": _plain(line.amount),
                "mass_kg": line.mass_kg,
                "rule": line.rule,
            }
            for line in lines
        ],
        **{
            name: _plain(getattr(offer, name))
            for name in ("parts", "labour", "sundries", "discount", "net", "tax", "rounding", "total", "deposit")
        },
        "discount_ratio": _plain(offer.revision.discount_ratio),
        "tax_name": offer.tax_name,
        "tax_ratio": _plain(offer.tax_ratio),
        "mass_kg": round(sum(line.mass_kg for line in lines), 3),
    }


def design_body(design: Design, workshop: Workshop) -> dict[str, Any]:
    return {
        "schema": DESIGN_SCHEMA,
        **common(design.fitout, design, workshop),
        "design": {
            "number": design.number,
            "made_on": timezone.localtime(design.made_at).date().isoformat(),
            "made_by": str(design.made_by or ""),
        },
    }


def _plain(value: Any) -> str:
    """A decimal as text without exponent or needless zeros, two places at least for money."""
    text = f"{value:f}"
    whole, _dot, part = text.partition(".")
    part = part.rstrip("0")
    return f"{whole}.{part:<02}" if len(part) <= 2 else f"{whole}.{part}"


def _day(revision: Revision | None) -> str | None:
    if revision is None or revision.issued_at is None:
        return None
    return timezone.localtime(revision.issued_at).date().isoformat()
