"""Two jobs that begin with what somebody else built: one is made safe and enlarged, one only mended. Invented."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from catalog.models import Component, LabourOperation
from fitouts.models import Fitout, FoundPart, User
from fitouts.services import found
from quoting.demo.jobs import EVENING, cools, recharge, steady
from quoting.models import Revision
from quoting.services import hand_lines

UPGRADE: dict[str, Any] = {
    "vehicle": "ute",
    "title": "Fencing ute, made safe and enlarged",
    "enquiry": "Came with a kit from somewhere else. Lights flicker, the second battery never lasts the night.",
    "travellers": "two people",
    "kind": "upgrade",
    "until": "quoted",
    "wishes": {"autonomy_days": 1.0, "solar_share_ratio": 0.4, "mains_charging": False, "shore_inlet": False},
    "lines": (
        cools("Lunch refrigerator, 40 L", 45, 0.3, at="Tailgate"),
        recharge("Driver and saw packs", 90, 4, 120, bus="ac", at="Tailgate", shed_below_ratio=0.3, **EVENING),
        steady("Work lights", 40, 2, at="Tailgate", **EVENING),
        steady("Two-way radio", 12, 8, at="Cabin", critical=True, window_start_h=6.0, window_end_h=18.0),
    ),
    "stops": ({"like": "Birchip", "month": 6, "days": 2, "driving_h_per_day": 2.0},),
}
UPGRADE_PARTS: tuple[dict[str, Any], ...] = (
    {
        "name": "Lead-acid battery, second",
        "at": "Cargo area, left",
        "label_words": "95 Ah, no maker named",
        "plan": "replace",
        "notes": "9.8 V after an hour of 5 A.",
    },
    {"name": "Relay that joins the batteries", "at": "Starter battery", "label_words": "140 A", "plan": "remove"},
    {
        "name": "Solar panel, framed",
        "at": "Roof",
        "label_words": "260 W, 37 V open",
        "serial": "P-7731",
        "like": ("solar_panel", "260 W"),
        "plan": "keep",
    },
    {"name": "Voltage display", "at": "Cabin", "plan": "keep", "notes": "Reads 0.2 V low."},
)
UPGRADE_DEFECTS: tuple[dict[str, Any], ...] = (
    {
        "level": "danger",
        "words": "No fuse at the starter battery on the cable to the cargo area",
        "at": "Starter battery",
        "measured": "13 mm² over 5 m, unprotected",
        "remedy": "The cable is taken out; the new feed is fused where it begins",
    },
    {
        "level": "warning",
        "words": "Crimps of the lighting feed loose, one browned",
        "at": "Cargo area, board",
        "measured": "0.9 V dropped at 6 A",
        "remedy": "Feed renewed from the new board",
    },
    {"level": "info", "words": "Battery tray rusted through at one corner", "at": "Cargo area, left"},
)
FAULT: dict[str, Any] = {
    "vehicle": "truck7",
    "title": "Tree-survey truck 7, flat on Mondays",
    "enquiry": "Two Mondays in a row it did not start. Someone added a radio last winter.",
    "travellers": "",
    "kind": "fault",
    "until": "delivered",
    "wishes": {},
    "lines": (),
    "stops": (),
}
FAULT_PARTS: tuple[dict[str, Any], ...] = (
    {"name": "Radio, behind the seat", "at": "Cabin", "serial": "R 20933", "plan": "keep"},
)
FAULT_DEFECTS: tuple[dict[str, Any], ...] = (
    {
        "level": "danger",
        "words": "Radio fed from the battery post with no fuse",
        "at": "Chassis, starter batteries",
        "measured": "2.5 mm² over 6 m, unprotected",
        "remedy": "Fuse fitted at the post, rated to the cable",
    },
    {
        "level": "warning",
        "words": "Radio stays on with the key out",
        "at": "Cabin",
        "measured": "0.41 A asleep, after 40 minutes",
        "remedy": "Feed moved to a circuit that the key switches",
    },
    {"level": "info", "words": "Terminal cover of the left battery missing", "at": "Chassis, starter batteries"},
)


AS_IT_CAME = {"cranking_before_v": 17.6, "battery_at_rest_v": 25.2}
"""Readings that only say how the truck came; nothing is asked of them. [V]"""


def write_down(fitout: Fitout, by: User) -> None:
    """What the technician found in the two vehicles."""
    sets = {Fitout.Kind.UPGRADE: (UPGRADE_PARTS, UPGRADE_DEFECTS), Fitout.Kind.FAULT: (FAULT_PARTS, FAULT_DEFECTS)}
    if fitout.kind not in sets:
        return
    parts, defects = sets[Fitout.Kind(fitout.kind)]
    spots = {p.name: p for p in fitout.vehicle.positions.all()}
    for values in parts:
        own = {k: v for k, v in values.items() if k not in ("at", "like")}
        kind, rating = values.get("like", ("", ""))
        alike = Component.objects.in_use().filter(kind=kind, rating__startswith=rating).order_by("cost", "pk").first()
        found.add_part(fitout, by=by, position=spots[values["at"]], component=alike, **own)
    for values in defects:
        own = {k: v for k, v in values.items() if k != "at"}
        part: FoundPart | None = fitout.found_parts.filter(position=spots[values["at"]]).first()
        found.add_defect(fitout, by=by, position=spots[values["at"]], part=part, **own)


def price_by_hand(revision: Revision) -> None:
    """What mending takes, from the catalogue."""
    for kind, rating in (("fuse_holder", ""), ("fuse", "15 A")):
        rows = Component.objects.in_use().filter(kind=kind, rating__startswith=rating)
        part = rows.order_by("cost", "pk").first()
        if part is not None:
            hand_lines.add_part(revision, part, Decimal(1))
    cable = Component.objects.in_use().filter(kind="cable", rating__startswith="2.5 mm²").order_by("cost", "pk").first()
    if cable is not None:
        hand_lines.add_part(revision, cable, Decimal(4))
    for code, quantity in (("fault_finding", 2), ("fit_device", 1), ("terminate", 6), ("run_cable_m", 4)):
        hand_lines.add_labour(revision, LabourOperation.objects.get(code=code), Decimal(quantity))


def settle_rest(fitout: Fitout, by: User) -> None:
    """What no step mended is left, with its reason."""
    for defect in fitout.defects.filter(mended_at=None, left_because=""):
        found.leave(defect, "The cover is on order; the owner fits it", by=by)


__all__ = ["AS_IT_CAME", "FAULT", "UPGRADE", "price_by_hand", "settle_rest", "write_down"]
