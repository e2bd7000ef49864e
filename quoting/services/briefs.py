"""From the workshop's rows to a Brief: the only place that knows both. Keys in a Brief are primary keys as text."""

from __future__ import annotations

import json
from collections.abc import Collection
from dataclasses import dataclass
from typing import Any, TypeVar

from django.urls import reverse
from django.utils.translation import gettext as _
from pydantic import BaseModel, ValidationError

from catalog.models import Appliance, Component
from catalog.models.appliance import LINE_VALUES
from fitouts.models import Fitout, Requirement, TripStop, VehiclePosition, Workshop
from fitouts.services import towing
from fitouts.services.fitouts import STOP_VALUES, WISH_VALUES
from quoting.models import JobPicks
from quoting.services import brief_catalogue, brief_circuits, kept
from quoting.services.brief_vehicle import air_values, not_joined, runs_of, vehicle_values
from quoting.sizing import loads as sizing_loads
from quoting.sizing.brief import Brief, Load, Stop, Wishes, from_validation
from quoting.sizing.brief_choosing import Pick, Room
from quoting.sizing.errors import SizingError
from quoting.sizing.inverter import assumed_curve
from quoting.sizing.policy import Policy

M = TypeVar("M", bound=BaseModel)
STAND_IN_C = 25.0
"""Air that a refrigerator is counted at while the trip has no stop. [°C] C, common practice."""


@dataclass(frozen=True, slots=True)
class Missing:
    """Something a design cannot be made without, and where to put it."""

    code: str
    words: str
    page: str
    """Name of the page: ``job`` or ``vehicle``."""
    pk: int
    part: str = ""

    @property
    def url(self) -> str:
        return reverse(self.page, args=[self.pk]) + (f"#{self.part}" if self.part else "")


class BriefIncomplete(Exception):
    """The job cannot be worked out yet; ``missing`` lists everything it waits for."""

    def __init__(self, missing: list[Missing]) -> None:
        self.missing = tuple(missing)
        super().__init__(" ".join(m.words for m in missing))


def make_brief(fitout: Fitout, *, held: bool = True) -> Brief:
    """Make the Brief of a job from its rows, the catalogue in use and the workshop's policy.

    ``held``: with the parts that the job is held to, and the room of the offer they came from.

    Raises
    ------
    BriefIncomplete
        With everything that is missing, each with a link to where it goes.
    SizingError
        If a stored value cannot be, which only rows written past the services can hold.
    """
    lines = list(fitout.requirements.all())
    stops = list(fitout.stops.select_related("site"))
    missing = what_is_missing(fitout, lines, stops)
    if missing:
        raise BriefIncomplete(missing)
    raw: dict[str, Any] = {
        "title": fitout.title,
        "vehicle": vehicle_values(fitout),
        "loads": [line_values(line) for line in lines],
        "trip": [stop_values(stop) for stop in stops],
        "wishes": wish_values(fitout),
        "policy": policy_values(),
        "kept": kept.kept_values(fitout),
        **brief_circuits.circuit_values(fitout),
        **(held_values(fitout) if held else {}),
    }
    named = {int(row["part"]) for row in (*raw["kept"], *raw["senses"], *raw.get("picks", ())) if row["part"]}
    return _read(Brief, raw | {"catalogue": catalogue_values(fitout, named)})


def held_values(fitout: Fitout) -> dict[str, Any]:
    """The parts that a job is held to and the room of their offer; nothing where it chooses freely.

    A part that was retired since says so; one that was removed from the catalogue altogether is chosen anew.
    """
    row = JobPicks.objects.filter(fitout_id=fitout.pk).first()
    if row is None:
        return {}
    keys = [int(pick["part"]) for pick in row.picks]
    there = dict(Component.objects.filter(pk__in=keys).values_list("pk", "retired_at"))
    picks = [
        {**pick, "retired": there[key] is not None} for key, pick in zip(keys, row.picks, strict=True) if key in there
    ]
    return {"picks": picks, "room": row.room}


def held_to(brief: Brief, picks: tuple[Pick, ...], room: Room) -> Brief:
    """A Brief held to some parts and the room of their offer. Raises SizingError for a part that it does not have."""
    try:
        return Brief.model_validate(dict(brief) | {"picks": picks, "room": room})
    except ValidationError as error:
        raise from_validation(error) from None


def what_is_missing(fitout: Fitout, lines: list[Requirement], stops: list[TripStop]) -> list[Missing]:
    """Everything a design waits for, in the order of the page."""
    found: list[Missing] = []
    if not lines:
        found.append(Missing("loads", _("The power audit has no line. Add what will run."), "job", fitout.pk, "audit"))
    if not stops:
        found.append(Missing("trip", _("The trip has no stop. Add where and when it goes."), "job", fitout.pk, "trip"))
    if not fitout.chemistries:
        found.append(
            Missing("chemistries", _("No battery chemistry is allowed. Tick at least one."), "job", fitout.pk, "wishes")
        )
    positions = {p.pk: p for p in towing.positions_for(fitout)}
    unnamed = _without_positions(fitout, positions)
    if unnamed:
        return found + unnamed
    hitch = towing.hitch_of(fitout)
    if fitout.trailer_id and hitch is None:
        words = _("Join the trailer to the vehicle: nobody has said where the socket sits.")
        found.append(Missing("hitch", words, "vehicle", fitout.vehicle_id, "towing"))
    for question in kept.questions(kept.kept_parts(fitout)):
        found.append(Missing(f"kept_{question.part.pk}", question.words, "job", fitout.pk, "found"))
    placed = {p.role: p.position_id for p in fitout.placements.all()}
    for role in roles_needed(fitout, lines):
        if role not in placed:
            words = _("Nobody has said where it sits: %(what)s.") % {"what": ROLE_WORDS[role]()}
            found.append(Missing(f"place_{role}", words, "job", fitout.pk, "places"))
    ends = [placed[r] for r in roles_needed(fitout, lines) if r in placed]
    ends += [line.position_id for line in lines if line.position_id]
    apart = not_joined(positions, runs_of(fitout), hitch, ends)
    if apart and not (fitout.trailer_id and hitch is None):
        names = ", ".join(f"“{towing.position_words(fitout, p)}”" for p in apart)
        words = _("No cable way leads to %(names)s. Add the runs to the survey.") % {"names": names}
        found.append(Missing("runs", words, "vehicle", fitout.vehicle_id))
    return found


def _without_positions(fitout: Fitout, positions: dict[int, VehiclePosition]) -> list[Missing]:
    """The vehicle, and the trailer, whose survey names no position."""
    surveyed = {p.vehicle_id for p in positions.values()}
    found = []
    if fitout.vehicle_id not in surveyed:
        words = _("The survey names no positions in the vehicle. Name them first.")
        found.append(Missing("positions", words, "vehicle", fitout.vehicle_id))
    if fitout.trailer_id and fitout.trailer_id not in surveyed:
        words = _("The survey names no positions on the trailer. Name them first.")
        found.append(Missing("positions_trailer", words, "vehicle", fitout.trailer_id))
    return found


def roles_needed(fitout: Fitout, lines: list[Requirement]) -> list[str]:
    """What must have a place before this job can be worked out."""
    roles = ["battery", "board"]
    if fitout.engine_charging:
        roles.insert(0, "starter")
    if fitout.engine_charging or fitout.mains_charging or fitout.solar_charging:
        roles.append("charger")
    if any(line.bus == Requirement.Bus.AC for line in lines):
        roles.append("inverter")
    if fitout.solar_charging:
        roles.append("array")
    if fitout.mains_charging and fitout.shore_inlet:
        roles.append("inlet")
    return roles


ROLE_WORDS = {
    "starter": lambda: _("starter battery"),
    "battery": lambda: _("auxiliary battery"),
    "board": lambda: _("distribution board"),
    "charger": lambda: _("chargers"),
    "inverter": lambda: _("inverter"),
    "array": lambda: _("solar panels"),
    "inlet": lambda: _("shore inlet"),
    "converter": lambda: _("voltage converter"),
}


def line_values(line: Requirement) -> dict[str, Any]:
    """A line of the audit as the Brief wants it."""
    return {
        "key": str(line.pk or "new"),
        "name": line.name,
        "use": {**line.use, "way": line.way},
        "position": str(line.position_id) if line.position_id else None,
        "circuit": line.circuit.strip() or None,
        **{name: getattr(line, name) for name in ("quantity", *LINE_VALUES)},
    }


def stop_values(stop: TripStop) -> dict[str, Any]:
    return {"site": stop.site.as_brief(), **{name: getattr(stop, name) for name in STOP_VALUES}}


def appliance_load(appliance: Appliance, key: str, quantity: int) -> Load:
    """An appliance of the catalogue as a load. Raises SizingError for a value that cannot be."""
    values = {name: getattr(appliance, name) for name in ("name", *LINE_VALUES)}
    return _read(Load, {"key": key, "quantity": quantity, "use": {**appliance.use, "way": appliance.way}, **values})


def wish_values(fitout: Fitout) -> dict[str, Any]:
    """What the owner wishes; what a supplier sells who is ruled out is ruled out with it."""
    return {
        **{name: getattr(fitout, name) for name in WISH_VALUES},
        "pinned": [str(key) for key in fitout.pinned],
        "banned": [str(key) for key in brief_catalogue.ruled_out(fitout)],
    }


def policy_values() -> dict[str, Any]:
    """The workshop's overrides; what it leaves alone comes from the defaults."""
    return dict(Workshop.objects.values_list("engineering", flat=True).first() or {})


def catalogue_values(fitout: Fitout | None = None, named: Collection[int] = ()) -> list[dict[str, Any]]:
    """The components that a design of this job chooses from, as the sizing reads them; see ``brief_catalogue``.

    ``named``: keys of those that it counts on by name, which are among them whatever they are.
    """
    return brief_catalogue.values_for(fitout, named)


def check_line(line: Requirement) -> None:
    """Refuse a line that no figure can be made from: :class:`SizingError` with field, value, range and unit."""
    load = _read(Load, line_values(line))
    policy = _read(Policy, policy_values())
    try:
        sizing_loads.work_out(
            _one_load(load, policy, line.fitout), stand_in_stop(), assumed_curve(1.0, policy.inverter_assumed_ratio)
        )
    except SizingError as error:
        error.field = error.field.removeprefix("loads[0].")
        raise


def check_stop(stop: TripStop) -> None:
    """Refuse a stop that cannot be."""
    _read(Stop, stop_values(stop))


def check_wishes(fitout: Fitout) -> None:
    """Refuse wishes that cannot be."""
    _read(Wishes, wish_values(fitout))


def stand_in_stop() -> Stop:
    """A place without weather, for lines that are looked at before the trip is known."""
    site = {
        "name": "-",
        "latitude_deg": 0.0,
        "longitude_deg": 0.0,
        "ghi_kwh_m2_day": [0.0] * 12,
        "tmin_c": [STAND_IN_C] * 12,
        "tmax_c": [STAND_IN_C] * 12,
    }
    return _read(Stop, {"site": site, "month": 1, "days": 1.0, "driving_h_per_day": 0.0})


def loads_only(lines: list[Requirement], fitout: Fitout, stops: list[TripStop]) -> Brief:
    """A Brief with loads, trip, wishes and policy, and where loads stand: enough to add an audit up."""
    standing = {line.position_id: air_values(line.position) for line in lines if line.position is not None}
    vehicle = {**_NO_VEHICLE, "positions": list(standing.values())} if standing else _NO_VEHICLE
    trip = [stop_values(stop) for stop in stops] or [stand_in_stop().model_dump(mode="json")]
    raw = {
        "title": fitout.title or "-",
        "vehicle": vehicle,
        "loads": [line_values(line) for line in lines],
        "trip": trip,
        "wishes": wish_values(fitout),
        "policy": policy_values(),
    }
    return _read(Brief, raw)


_NO_VEHICLE = {
    "name": "-",
    "nominal_v": 12,
    "alternator_control": "none",
    "positions": [{"key": "-", "name": "-"}],
}


def _one_load(load: Load, policy: Policy, fitout: Fitout) -> Brief:
    raw = {
        "title": "-",
        "vehicle": _NO_VEHICLE,
        "loads": [load.model_copy(update={"position": None}).model_dump(mode="json")],
        "trip": [stand_in_stop().model_dump(mode="json")],
        "wishes": {"system_v": fitout.system_v},
        "policy": policy.model_dump(mode="json"),
    }
    return _read(Brief, raw)


def _read(model: type[M], raw: dict[str, Any]) -> M:
    try:
        return model.model_validate_json(json.dumps(raw, allow_nan=True))
    except ValidationError as error:
        raise from_validation(error) from None
