"""The trip, stop by stop; what sits where; and what the owner wishes. Checked before kept, as the audit is."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from django.db import transaction
from django.db.models import Max
from django.utils.translation import gettext as _

from fitouts.models import Fitout, Placement, TripStop, User, VehiclePosition
from fitouts.services import towing
from fitouts.services.audit import LineRefused, reorder
from fitouts.services.fitouts import STOP_FIELDS, WISH_FIELDS

StopCheck = Callable[[TripStop], None]
WishCheck = Callable[[Fitout], None]
MOST_STOPS = 60


class PlaceRefused(Exception):
    """Something cannot sit there; the text says why."""


@transaction.atomic
def add_stop(fitout: Fitout, values: dict[str, Any], *, by: User | None, check: StopCheck) -> TripStop:
    """Add a stop at the end of the trip."""
    if fitout.stops.count() >= MOST_STOPS:
        raise LineRefused(_("A trip has at most %(most)s stops.") % {"most": MOST_STOPS})
    last = fitout.stops.aggregate(last=Max("place"))["last"]
    return _write(TripStop(fitout=fitout, place=0 if last is None else last + 1), values, by, check)


@transaction.atomic
def change_stop(stop: TripStop, values: dict[str, Any], *, by: User | None, check: StopCheck) -> TripStop:
    """Change a stop; on refusal the saved one stays as it was."""
    return _write(stop, values, by, check)


@transaction.atomic
def remove_stop(stop: TripStop, *, by: User | None) -> None:
    """Take a stop out; its history stays."""
    stop._history_user = by  # type: ignore[attr-defined]
    stop.delete()


@transaction.atomic
def order_stops(fitout: Fitout, keys: Sequence[int], *, by: User | None) -> None:
    """Put the stops into the given order of keys; all of them, each once."""
    reorder({stop.pk: stop for stop in fitout.stops.all()}, keys, by)


@transaction.atomic
def set_places(fitout: Fitout, places: Mapping[str, VehiclePosition | None]) -> None:
    """Say what sits where; ``None`` takes the answer back. Roles not named stay as they are."""
    for role, position in places.items():
        if position is None:
            fitout.placements.filter(role=role).delete()
            continue
        if not towing.has_position(fitout, position):
            raise PlaceRefused(_("“%(name)s” is a position of another vehicle.") % {"name": position.name})
        Placement.objects.update_or_create(fitout=fitout, role=role, defaults={"position": position})


@transaction.atomic
def set_wishes(fitout: Fitout, values: dict[str, Any], *, by: User | None, check: WishCheck) -> Fitout:
    """Save what the owner wishes of the system; on refusal the saved wishes stay."""
    unknown = set(values) - set(WISH_FIELDS)
    if unknown:
        raise TypeError(f"a job has no wish {sorted(unknown)[0]!r}")
    for field, value in values.items():
        setattr(fitout, field, value)
    check(fitout)
    fitout._history_user = by  # type: ignore[attr-defined]
    fitout.save(update_fields=[*values, "changed_at"])
    return fitout


def _write(stop: TripStop, values: dict[str, Any], by: User | None, check: StopCheck) -> TripStop:
    unknown = set(values) - set(STOP_FIELDS) - {"site"}
    if unknown:
        raise TypeError(f"a stop has no field {sorted(unknown)[0]!r}")
    for field, value in values.items():
        setattr(stop, field, value)
    check(stop)
    stop._history_user = by  # type: ignore[attr-defined]
    stop.save()
    return stop
