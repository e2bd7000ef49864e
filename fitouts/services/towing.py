"""Tow vehicle and trailer as one: how they are joined, and which positions a job of both may use."""

from __future__ import annotations

from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Case, Min, Q, QuerySet, Value, When
from django.utils.translation import gettext as _

from catalog.kinds.capabilities import Coupling
from catalog.models import Component
from fitouts.models import Fitout, Hitch, User, Vehicle, VehiclePosition
from fitouts.services.keeping import keep, signed


@transaction.atomic
def join(tow: Vehicle, *, by: User | None, **values: Any) -> Hitch:
    """Join a trailer of the same customer to a tow vehicle.

    ``values``: trailer, tow_position, trailer_position, length_m, coupling. Raises ``ValidationError`` naming each
    wrong field.
    """
    return _keep(Hitch(tow=tow), values, by)


@transaction.atomic
def change_join(hitch: Hitch, *, by: User | None, **values: Any) -> Hitch:
    """Change how the two are joined; designs keep their figures until they are worked out again."""
    return _keep(hitch, values, by)


@transaction.atomic
def part(hitch: Hitch, *, by: User | None) -> None:
    """Take the joint back. Jobs of the two then say that it is missing."""
    signed(hitch, by).delete()


def check_hitch(hitch: Hitch) -> None:
    """Raise ``ValidationError`` for a joint of one vehicle, of two owners, or at somebody else's positions."""
    wrong: dict[str, str] = {}
    trailer = hitch.trailer if hitch.trailer_id else None
    if hitch.tow.is_trailer:
        wrong["trailer"] = _("%(name)s is a trailer itself; a trailer is joined to what tows it.") % {"name": hitch.tow}
    elif trailer is not None:
        words = _trailer_refusal(hitch.tow, trailer)
        if words:
            wrong["trailer"] = words
    if hitch.tow_position_id and hitch.tow_position.vehicle_id != hitch.tow_id:
        wrong["tow_position"] = _("“%(name)s” is not a position of %(vehicle)s.") % {
            "name": hitch.tow_position.name,
            "vehicle": hitch.tow,
        }
    if hitch.trailer_position_id and trailer and hitch.trailer_position.vehicle_id != trailer.pk:
        wrong["trailer_position"] = _("“%(name)s” is not a position of %(vehicle)s.") % {
            "name": hitch.trailer_position.name,
            "vehicle": trailer,
        }
    if hitch.coupling is not None and not couples(hitch.coupling):
        wrong["coupling"] = _("“%(name)s” does not couple a trailer.") % {"name": hitch.coupling.name}
    if wrong:
        raise ValidationError(wrong)


def _trailer_refusal(tow: Vehicle, trailer: Vehicle) -> str:
    if trailer.pk == tow.pk:
        return _("A vehicle cannot tow itself.")
    if trailer.customer_id != tow.customer_id:
        return _("%(name)s belongs to somebody else.") % {"name": trailer}
    if not trailer.is_trailer:
        return _("%(name)s is no trailer. Say on its page that it is towed.") % {"name": trailer}
    if trailer.retired_at:
        return _("%(name)s is retired.") % {"name": trailer}
    return ""


def couples(component: Component) -> bool:
    """Whether a component of the catalogue joins a trailer, by what it can do."""
    kind = component.declaration
    return any(isinstance(c, Coupling) for c in kind.capabilities(kind.clean(component.specification)))


def couplings() -> list[Component]:
    """Components in use that couple, for a list to choose from. One of each kind is asked what its kind can do."""
    rows = Component.objects.in_use()
    samples = rows.order_by().values_list("kind").annotate(sample=Min("pk"))
    found = Component.objects.in_bulk([sample for _kind, sample in samples])
    kinds = [component.kind for component in found.values() if couples(component)]
    return [component for component in rows.filter(kind__in=kinds) if couples(component)]


def hitch_of(fitout: Fitout) -> Hitch | None:
    """How tow vehicle and trailer of a job are joined; ``None`` while nobody has said."""
    if fitout.trailer_id is None:
        return None
    rows = Hitch.objects.select_related("tow_position", "trailer_position", "coupling")
    return rows.filter(tow=fitout.vehicle_id, trailer=fitout.trailer_id).first()


def trailers_behind(vehicle: Vehicle) -> QuerySet[Vehicle]:
    """Trailers joined to a vehicle."""
    return Vehicle.objects.filter(towed_by__tow=vehicle, retired_at=None).distinct()


def check_trailer(vehicle: Vehicle, trailer: Vehicle | None) -> str:
    """Why a job of this vehicle cannot have that trailer, in a sentence; empty when it can."""
    if trailer is None:
        return ""
    if vehicle.is_trailer:
        return _("This vehicle is a trailer itself. Choose the tow vehicle and put the trailer behind it.")
    words = _trailer_refusal(vehicle, trailer)
    if words:
        return words
    if not Hitch.objects.filter(tow=vehicle, trailer=trailer).exists():
        return _("%(trailer)s is not joined to %(vehicle)s. Join the two on the vehicle's page first.") % {
            "trailer": trailer,
            "vehicle": vehicle,
        }
    return ""


def positions_for(fitout: Fitout) -> QuerySet[VehiclePosition]:
    """Positions that a job may use: its vehicle's, then its trailer's."""
    mine = Q(vehicle=fitout.vehicle_id)
    if fitout.trailer_id:
        mine |= Q(vehicle=fitout.trailer_id)
    rows = VehiclePosition.objects.filter(mine)
    if fitout.trailer_id:
        towed = Case(When(vehicle=fitout.trailer_id, then=Value(1)), default=Value(0))
        return rows.annotate(towed=towed).order_by("towed", "pk")
    return rows


def has_position(fitout: Fitout, position: VehiclePosition) -> bool:
    return position.vehicle_id in (fitout.vehicle_id, fitout.trailer_id)


def named(fitout: Fitout, position: VehiclePosition) -> tuple[bool, str]:
    """A position as another job knows it again: whether it is the trailer's, and its name."""
    return position.vehicle_id == fitout.trailer_id, position.name


def by_name(fitout: Fitout) -> dict[tuple[bool, str], VehiclePosition]:
    """Positions of a job by what :func:`named` says of them."""
    return {named(fitout, position): position for position in positions_for(fitout)}


def position_words(fitout: Fitout, position: VehiclePosition) -> str:
    """A position by name, the trailer's said to be so."""
    if fitout.trailer_id and position.vehicle_id == fitout.trailer_id:
        return _("Trailer: %(name)s") % {"name": position.name}
    return position.name


def uses_trailer(fitout: Fitout) -> bool:
    """Whether a line, a place or something watched of a job sits on its trailer."""
    if fitout.trailer_id is None:
        return False
    at = {"position__vehicle": fitout.trailer_id}
    return any(rows.filter(**at).exists() for rows in (fitout.requirements, fitout.placements, fitout.sense_points))


def _keep(hitch: Hitch, values: dict[str, Any], by: User | None) -> Hitch:
    for name, value in values.items():
        setattr(hitch, name, value)
    check_hitch(hitch)
    return keep(hitch, {}, by)
