"""A selection of three offers made by a few lines of arithmetic on a job's design: whole, and the same every time."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django.utils import timezone

from fitouts.models import Fitout, User
from quoting.models import BackgroundJob, Proposal, Selection
from quoting.services import designs, steering
from quoting.sizing.appraisal import METHOD_VERSION
from quoting.sizing.brief_choosing import OFFERS, Pick
from quoting.sizing.policy import DEFAULT_OFFERS
from quoting.sizing.selecting.records import (
    Candidate,
    Clash,
    Facts,
    Miss,
    NearMiss,
    OfferMade,
    Said,
    Solved,
    WishPrice,
)
from quoting.sizing.selecting.records import Selection as Record

PRICE = {"lean": "6120.40", "steady": "7044.10", "roomy": "9310.95"}
DARK = {"lean": (0.11, 0.17), "steady": (0.03, 0.066), "roomy": (0.0, 0.019)}
TAX = Decimal("1.1")


def make_facts(price: str, dark: tuple[float, float] | None = (0.03, 0.066), **changes: Any) -> Facts:
    """Facts of a system; the dearer, the heavier and the longer it lasts."""
    share = float(price) / 7000
    values: dict[str, Any] = {
        "price": price,
        "parts_price": f"{Decimal(price) * Decimal('0.7'):.2f}",
        "mass_kg": round(58 * share, 2),
        "dark_chance_ratio": dark[0] if dark else None,
        "dark_high_ratio": dark[1] if dark else None,
        "days_without_charging": round(2.1 * share, 2),
        "flat_days": round(3.4 * share, 2),
        "battery_years": round(11 * share, 1),
        "cost_per_year": f"{Decimal(price) / 11:.2f}",
        "spare_outputs": 2,
        "lead_days": 9,
        "waits_for": "Ridgeway 120 controller",
        "capacity_ah": round(200 * share),
        "array_w": round(300 * share),
        "warnings": 1,
    }
    return Facts(**values | changes)


def make_record(
    picks: tuple[Pick, ...],
    *,
    without: tuple[str, ...] = (),
    said: Said | None = None,
    names: tuple[str, str] = ("Sill 100", "Sill 200"),
    brief_sha256: str = "0" * 64,
) -> Record:
    """Three offers, or a clash in place of each one ``without``; four candidates besides."""
    said = said or Said(code="lacks_no_cheaper", params={})
    made = tuple(_offer(offer, picks, said, names) for offer in OFFERS if offer not in without)
    candidates = [
        Candidate(
            key=f"c-{one.offer}", offer=one.offer, picks=one.picks, room=one.room, facts=one.facts, holds=True,
            frontier=True,
        )
        for one in made
    ]  # fmt: skip
    for number, (price, dark, holds) in enumerate(
        (("5790.00", 0.24, False), ("6840.30", 0.085, True), ("8020.00", 0.02, True), ("7990.00", 0.06, False))
    ):
        candidates.append(
            Candidate(
                key=f"t-{number}",
                offer="steady",
                picks=(),
                room=DEFAULT_OFFERS["steady"].room("steady"),
                facts=make_facts(price, (dark, min(1.0, dark + 0.05))),
                holds=holds,
                fails=() if holds else (said,),
            )
        )
    return Record(
        method_version=METHOD_VERSION,
        brief_sha256=brief_sha256,
        offers=made,
        candidates=tuple(candidates),
        clashes={offer: make_clash() for offer in without},
    )


def make_clash() -> Clash:
    return Clash(
        together=(
            Miss(code="capacity_ah", asked=260.0, best=200.0, short_by=60.0, unit="Ah"),
            Miss(code="budget", asked=4000.0, best=5210.5, short_by=1210.5, unit=""),
        ),
        change=(Miss(code="budget", asked=4000.0, best=5210.5, short_by=1210.5, unit=""),),
        limits=(Miss(code="budget", asked=4000.0, best=6300.0, short_by=2300.0, unit=""),),
    )


def _offer(offer: Any, picks: tuple[Pick, ...], said: Said, names: tuple[str, str]) -> OfferMade:
    room = DEFAULT_OFFERS[offer].room(offer)
    battery = next(pick for pick in picks if pick.role == "battery")
    return OfferMade(
        offer=offer,
        objective=DEFAULT_OFFERS[offer].objective,
        room=room.model_copy(update={"battery_ratio": room.battery_ratio * 1.15}) if offer == "steady" else room,
        picks=picks,
        facts=make_facts(PRICE[offer], DARK[offer]),
        why=said,
        lacks=(said,),
        solved=Solved(options=412, rows=37, bound=4310.0, objective=4310.0, gap_ratio=0.0, optimal=True, rounds=2),
        proofs=3,
        near_misses=(
            NearMiss(
                role="battery", part=battery.part, name=names[0], quantity=2, instead=battery.part,
                instead_name=names[1], instead_quantity=1, more="84.50", more_mass_kg=-1.2, moves=("engine_charger",),
            ),
            NearMiss(role="monitor", part=battery.part, name="Tally 300", quantity=1),
        ),
        wish_prices=(
            WishPrice(wish=said, more="640.00" if offer == "lean" else "0"),
            WishPrice(wish=Said(code="prefer_stock", params={}), more="85.00"),
        ),
    )  # fmt: skip


def make_selection(fitout: Fitout, by: User | None, **changes: Any) -> Selection:
    """The newest selection of a job that has a design, made, with a proposal for each of its offers."""
    design = designs.latest_of(fitout)
    assert design is not None
    picks = tuple(
        Pick(role=one["role"], part=one["part"], quantity=one["quantity"], series=one["series"])
        for one in design.appraisal["chosen"]
        if one["role"] != "sensor"
    )
    record = make_record(picks, **changes)
    newest = fitout.selections.first()
    selection = Selection.objects.create(
        fitout=fitout,
        number=1 + (newest.number if newest else 0),
        key="k" * 64,
        method_version=METHOD_VERSION,
        brief=design.brief,
        steer=steering.steer_of(Fitout.objects.get(pk=fitout.pk), designs.brief_of(design)).model_dump(mode="json"),
        result=record.model_dump(mode="json"),
        took_ms=1240,
        made_by=by,
        made_at=timezone.now(),
    )
    for one in record.offers:
        make_proposal(selection, one.offer, one.facts, design.appraisal, by=by, room=one.room.model_dump(mode="json"))
    return selection


def make_proposal(
    selection: Selection, offer: str, facts: Facts, appraisal: dict[str, Any], *, by: User | None, **columns: Any
) -> Proposal:
    """A system of a selection; Roomy has a battery more than the design it is made of."""
    chosen = [dict(one) for one in appraisal["chosen"]]
    if offer == "roomy":
        for one in chosen:
            if one["role"] == "battery":
                one["quantity"], one["parallel"] = one["quantity"] + 1, one["parallel"] + 1
    net = Decimal(facts.price)
    values: dict[str, Any] = {
        "room": DEFAULT_OFFERS[offer].room(offer).model_dump(mode="json"),  # type: ignore[arg-type]
        "picks": [
            {"role": c["role"], "part": c["part"], "quantity": c["quantity"], "series": c["series"], "by_hand": False}
            for c in chosen
            if c["role"] != "sensor"
        ],
        "facts": facts.model_dump(mode="json"),
        "appraisal": {**appraisal, "chosen": chosen},
        "key": f"{offer}{columns.get('number', 0)}".ljust(64, "0"),
        "net": net,
        "total": (net * TAX).quantize(Decimal("0.01")),
        "made_by": by,
    }
    return Proposal.objects.create(selection=selection, offer=offer, **values | columns)


def make_job_under_way(fitout: Fitout, by: User | None, state: str = "running", **columns: Any) -> Selection:
    """A selection that a worker has not made yet."""
    job = BackgroundJob.objects.create(
        kind="select", queue=BackgroundJob.Queue.HEAVY, state=state, by=by, payload={}, **columns
    )
    newest = fitout.selections.first()
    return Selection.objects.create(
        fitout=fitout, number=1 + (newest.number if newest else 0), key="r" * 64, method_version=METHOD_VERSION,
        made_by=by, job=job,
    )  # fmt: skip
