"""What the demo's people do about choosing: roofs and battery spaces measured, offers worked out, a fleet sized."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from fitouts.models import Fitout, User, Vehicle
from fitouts.services import space, steering
from quoting.models import BackgroundJob, FleetRun, Proposal, Revision, Selection
from quoting.services import background, fleets, proposals, quotes, selections

ROOFS: dict[str, tuple[dict[str, Any], ...]] = {
    "family": ({"name": "Roof, between the bars", "length_m": 1.95, "width_m": 1.2, "x_m": 1.9, "y_m": 0.0},),
    "camper": (
        {
            "name": "Lid",
            "length_m": 2.3,
            "width_m": 1.5,
            "x_m": 1.6,
            "y_m": 0.0,
            "taken": [{"x_m": 0.9, "y_m": 0.5, "length_m": 0.5, "width_m": 0.5}],
        },
    ),
}
SPACES: dict[str, tuple[dict[str, Any], ...]] = {
    "family": ({"name": "Left side, behind the drawers", "length_mm": 780, "width_mm": 360, "height_mm": 330},),
}
"""By vehicle."""

STEERED: dict[str, dict[str, Any]] = {
    "family": {"budget": Decimal("16500.00"), "prefer_stock": True},
    "wagon": {"most_lead_days": 14},
}
QUOTED: dict[str, tuple[str, ...]] = {"wagon": ("lean", "steady")}
"""Which offers stand in a quote side by side; Steady leads."""
CHOSEN = ("wagon", "family")
"""Vehicles whose job has offers worked out."""

TRUCKS = ("truck2", "truck3", "truck4", "truck5", "truck6", "truck7")
SHORT_ROOF = {"truck5": 1.6}
"""Two seats more, and less of a roof. [m]"""


def measure(vehicle: Vehicle, key: str, by: User) -> None:
    """Where a vehicle has room for panels and batteries."""
    for area in ROOFS.get(key, ()):
        space.add_area(vehicle, by=by, **area)
    for box in SPACES.get(key, ()):
        space.add_space(vehicle, by=by, **box)


def choose(fitout: Fitout, key: str, by: User) -> None:
    """Work three offers out; where they are quoted, take the Steady one."""
    if key not in CHOSEN or fitout.kind != Fitout.Kind.NEW:
        return
    steering.set_steering(fitout, STEERED[key], by=by)
    selection = selections.ask(fitout, by=by)
    _now(selection.job)
    if key in QUOTED:
        proposals.take(_system(selection, "steady"), by=by)


def draft(fitout: Fitout, key: str, by: User) -> Revision:
    """Draft the quote, of several offers where the job has them."""
    names = QUOTED.get(key, ()) if fitout.kind == Fitout.Kind.NEW else ()
    if not names:
        return quotes.draft(fitout, by=by)
    selection = selections.made_of(fitout)
    assert selection is not None
    return quotes.draft(fitout, by=by, systems=[_system(selection, name) for name in names])


def size_trucks(source: Fitout, fleet: Mapping[str, Vehicle], by: User) -> FleetRun:
    """Six of the council's trucks by the brief of the first; each was surveyed."""
    run = fleets.start([fleet[key] for key in TRUCKS], name="Tree-survey trucks 2 to 7", by=by, source=source)
    _now(run.job)
    return run


def _system(selection: Selection, offer: str) -> Proposal:
    return Proposal.objects.select_related("selection__fitout").get(selection=selection, offer=offer, number=0)


def _now(job: BackgroundJob | None) -> None:
    """Do the work of a row here and now: its message goes out with the demo's transaction, and finds it done."""
    assert job is not None
    background.run(job.pk)
    job.refresh_from_db()
    if job.state != BackgroundJob.State.DONE:
        raise RuntimeError(f"{job}: {job.reason}")
