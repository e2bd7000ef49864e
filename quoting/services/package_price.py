"""What a package would cost today: worked out on a stand-in vehicle, priced as a quote is, kept under a key.

The stand-in is the vehicle that the package was kept from, as its survey said; an older package, which has no
survey in it, stands on the usual positions and runs of its body.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.db import transaction
from django.db.models import Prefetch
from django.utils import timezone
from django.utils.translation import gettext as _

from catalog.models import AssemblyVersion, Component, LabourOperation, Site
from catalog.queries_assemblies import whole_lines
from fitouts.models import Fitout, FitoutAssembly, JobPackage, Markup, Requirement, TripStop, User, Workshop
from fitouts.services.fitouts import COPIED_WISHES, LINE_FIELDS, STOP_FIELDS
from fitouts.starter_sets import Spot, StarterSet, suggested
from quoting import words
from quoting.models import PackagePrice
from quoting.services import assemblies, briefs, pricing
from quoting.services.brief_vehicle import usual_size
from quoting.sizing import brief as sizing_brief
from quoting.sizing.appraisal import Appraisal
from quoting.sizing.appraise import appraise, brief_sha256
from quoting.sizing.brief import Brief
from quoting.sizing.errors import SizingError

MONEY = ("parts", "labour", "sundries", "net", "tax", "total", "cost")


class PackageNotPriced(Exception):
    """The package cannot be worked out as it is; the text says what it lacks."""


@dataclass(frozen=True, slots=True)
class StandIn:
    """The vehicle that stands in, in the words of a Brief, and which it is."""

    values: dict[str, Any]
    which: str
    """``kept``: the vehicle it was kept from; ``usual``: the usual positions of its body."""


def brief_of(package: JobPackage) -> tuple[Brief, str]:
    """The Brief of a package on its stand-in vehicle, and which that is.

    Raises :class:`PackageNotPriced` with what it lacks, SizingError for a value that cannot be.
    """
    content = package.content
    if content.get("trailer_places") or any(line.get("on_trailer") for line in content["lines"]):
        raise PackageNotPriced(
            _("Some of it sits on a trailer, which stays with the job. Open a job from it to price it.")
        )
    if not content["lines"] or not content["stops"]:
        raise PackageNotPriced(_("It has no line in its audit, or no stop in its trip. There is nothing to work out."))
    wishes = Fitout(**{k: v for k, v in content["wishes"].items() if k in COPIED_WISHES})
    lines = [Requirement(**{f: line[f] for f in LINE_FIELDS}) for line in content["lines"]]
    stand_in = _stand_in(package, briefs.roles_needed(wishes, lines))
    raw = {
        "title": package.name,
        "vehicle": stand_in.values,
        "loads": _loads(content, lines, stand_in),
        "senses": _senses(content, stand_in),
        "trip": [briefs.stop_values(stop) for stop in stops_of(content)],
        "wishes": briefs.wish_values(wishes),
        "policy": briefs.policy_values(),
        "catalogue": briefs.catalogue_values(),
    }
    return sizing_brief.read(raw), stand_in.which


def _stand_in(package: JobPackage, roles: list[str]) -> StandIn:
    survey, places = package.content.get("survey"), dict(package.content["places"])
    if survey and survey["positions"]:
        values, which = dict(survey["values"]), "kept"
        values["body"] = values.pop("body_material", "unknown")
        spots = [_spot(p) for p in survey["positions"]]
        runs = [(r["a"], r["b"], r["length_m"], r["bundled"]) for r in survey["runs"]]
    else:
        usual = suggested(package.body)
        if usual is None:
            words = _("It keeps no survey, and no usual positions are known for the body “%(body)s”.")
            raise PackageNotPriced(words % {"body": package.body or "–"})
        values, which = {"nominal_v": package.content["wishes"]["system_v"], "alternator_control": "fixed"}, "usual"
        spots = [_usual_spot(usual, s) for s in usual.spots]
        runs = [(a, b, length_m, 1) for a, b, length_m in usual.runs]
        places = _usual_places(usual) | {r: n for r, n in places.items() if n in [s.name for s in usual.spots]}
    keys = {spot["name"]: f"p{i}" for i, spot in enumerate(spots)}
    lacking = [role for role in roles if places.get(role) not in keys]
    if lacking:
        names = ", ".join(briefs.ROLE_WORDS[role]() for role in lacking)
        raise PackageNotPriced(_("It does not say where these sit: %(names)s.") % {"names": names})
    positions = [{"key": keys[spot["name"]], **spot} for spot in spots]
    ways = [{"a": keys[a], "b": keys[b], "length_m": m, "bundled": n} for a, b, m, n in runs]
    return StandIn(
        {
            **values,
            **usual_size(package.body, "usual"),
            "name": f"{package.make} {package.model}"[:120],
            "positions": positions,
            "runs": ways,
            "places": {role: keys[name] for role, name in places.items() if name in keys},
        },
        which,
    )


def _spot(kept: Mapping[str, Any]) -> dict[str, Any]:
    """A position of a kept survey; packages of before say less."""
    values = {name: kept.get(name) for name in ("name", "ambient_c", "engine_space", "x_m", "y_m")}
    usual = values["x_m"] is not None and not kept.get("is_measured", True)
    return {**values, "aired": kept.get("aired", False), "usual_place": usual}


def _usual_spot(usual: StarterSet, spot: Spot) -> dict[str, Any]:
    x_m, y_m = usual.place_m(spot, None, None)
    values = {"name": spot.name, "ambient_c": spot.ambient_c, "engine_space": spot.engine_space}
    return {**values, "x_m": x_m, "y_m": y_m, "usual_place": True}


def _usual_places(usual: StarterSet) -> dict[str, str]:
    return {spot.role: spot.name for spot in usual.spots if spot.role}


def _loads(content: dict[str, Any], lines: list[Requirement], stand_in: StandIn) -> list[dict[str, Any]]:
    keys = {p["name"]: p["key"] for p in stand_in.values["positions"]}
    return [
        {**briefs.line_values(line), "key": str(i), "position": keys.get(values.get("position"))}
        for i, (values, line) in enumerate(zip(content["lines"], lines, strict=True), start=1)
    ]


def _senses(content: Mapping[str, Any], stand_in: StandIn) -> list[dict[str, Any]]:
    """What is watched at the positions that the stand-in has; packages of before watch nothing."""
    keys = {p["name"]: p["key"] for p in stand_in.values["positions"]}
    found = [row for row in content.get("senses", ()) if row["position"] in keys and not row["on_trailer"]]
    return [
        {"key": str(i), "name": row["name"], "what": row["what"], "position": keys[row["position"]]}
        for i, row in enumerate(found, start=1)
    ]


def stops_of(content: Mapping[str, Any]) -> list[TripStop]:
    """The stops of a package, of no job. Raises :class:`PackageNotPriced` for a site that is gone."""
    sites = Site.objects.in_bulk([stop["site_id"] for stop in content["stops"]])
    found = []
    for stop in content["stops"]:
        site = sites.get(stop["site_id"])
        if site is None:
            raise PackageNotPriced(_("The site “%(name)s” is no longer in the list.") % {"name": stop["site"]})
        values = {f: stop[f] for f in STOP_FIELDS if f in stop}
        found.append(TripStop(site=site, **values))
    return found


def taken_by(package: JobPackage) -> list[FitoutAssembly]:
    """The assemblies in a package, with their lines; of no job."""
    many = {x["version_id"]: x["quantity"] for x in package.content.get("assemblies", ())}
    rows = AssemblyVersion.objects.filter(pk__in=many).select_related("assembly").order_by("pk")
    versions = rows.prefetch_related(Prefetch("lines", whole_lines()))
    return [FitoutAssembly(version=version, quantity=many[version.pk]) for version in versions]


def key_of(package: JobPackage, brief: Brief, workshop: Workshop) -> str:
    """Under what a price is kept: everything that it follows from."""
    today = timezone.localdate()
    rate = pricing.tax_rate_on(today)
    said = [
        brief_sha256(brief),
        sorted((x["version_id"], x["quantity"]) for x in package.content.get("assemblies", ())),
        [
            str(getattr(workshop, name))
            for name in (
                "labour_rate",
                "labour_cost",
                "licensed_rate",
                "sundries_ratio",
                "tax_rounding",
                "half_cent",
                "round_total_to",
            )
        ],
        [str(rate.ratio), rate.name] if rate else [],
        [[group, str(ratio)] for group, ratio in Markup.objects.order_by("group").values_list("group", "ratio")],
        [
            [pk, str(cost), str(own), mass]
            for pk, cost, own, mass in Component.objects.order_by("pk").values_list(
                "pk", "cost", "sell_price", "mass_kg"
            )
        ],
        list(
            LabourOperation.objects.order_by("pk").values_list("code", "minutes_per_unit", "is_licensed", "retired_at")
        ),
    ]
    return hashlib.sha256(json.dumps(said, default=str).encode()).hexdigest()


def price(package: JobPackage, *, by: User | None) -> PackagePrice:
    """Price a package as of now, or give the kept price back when nothing has moved since.

    Raises :class:`PackageNotPriced`, SizingError, or what pricing refuses, all in words.
    """
    workshop = Workshop.objects.get()
    brief, which = brief_of(package)
    key = key_of(package, brief, workshop)
    kept = PackagePrice.objects.filter(package=package, key=key).first()
    if kept is not None:
        return kept
    result = _result(package, brief, which, workshop)
    with transaction.atomic():
        row, _made = PackagePrice.objects.update_or_create(
            package=package, defaults={"key": key, "result": result, "made_at": timezone.now(), "made_by": by}
        )
    return row


def is_stale(package: JobPackage, kept: PackagePrice) -> bool:
    """Whether pricing it now would start from something else."""
    try:
        brief, _which = brief_of(package)
    except (PackageNotPriced, SizingError):
        return True
    return key_of(package, brief, Workshop.objects.get()) != kept.key


def _result(package: JobPackage, brief: Brief, which: str, workshop: Workshop) -> dict[str, Any]:
    appraisal = appraise(brief)
    counts = assemblies.counts_of(appraisal, sum(load.quantity for load in brief.loads))
    try:
        bill = assemblies.with_uses(appraisal.bill, assemblies.uses_of(taken_by(package), counts))
        lines = pricing.price_bill(appraisal, workshop, bill)
    except (pricing.NoPrice, assemblies.TooMany) as error:
        raise PackageNotPriced(str(error)) from None
    totals = pricing.total_up([x.amount for x in lines], Decimal(0), workshop, timezone.localdate())
    labour = sum((x.amount for x in lines if x.group == pricing.LABOUR), Decimal(0))
    sundries = sum((x.amount for x in lines if x.group == pricing.SUNDRIES), Decimal(0))
    money = {
        "parts": totals.lines - labour - sundries,
        "labour": labour,
        "sundries": sundries,
        "net": totals.net,
        "tax": totals.tax,
        "total": totals.total,
        "cost": sum((x.unit_cost * x.quantity for x in lines), Decimal(0)).quantize(Decimal("0.01")),
    }
    return {
        "stand_in": which,
        "money": {name: str(money[name]) for name in MONEY},
        "hours": str(sum((x.quantity for x in lines if x.group == pricing.LABOUR), Decimal(0))),
        "mass_kg": round(sum(line.mass_kg for line in bill), 3),
        **_facts(appraisal),
    }


def _facts(appraisal: Appraisal) -> dict[str, Any]:
    battery = appraisal.figures.get("battery.got_ah") or appraisal.figures.get("battery.asked_ah")
    return {
        "day_wh": appraisal.value("day.energy_wh"),
        "battery_ah": battery.value if battery else None,
        "circuit_count": len(appraisal.circuits),
        "open": [words.shortfall_words(s) for s in appraisal.shortfalls]
        + [words.finding_words(f)[1] for f in appraisal.findings if f.level == "danger"],
    }
