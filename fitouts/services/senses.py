"""What a job watches: tanks, temperatures, voltages. Each is checked whole before it is kept."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Max
from django.utils.translation import gettext as _

from catalog.kinds.capabilities import Capability, CurrentSensing, TankSensing, TemperatureSensing
from catalog.models import Component
from fitouts.models import Fitout, SensePoint, User
from fitouts.services import towing
from fitouts.services.keeping import keep, signed

MOST_SENSES = 100
TELLS: dict[str, type[Capability]] = {
    SensePoint.What.TANK: TankSensing,
    SensePoint.What.TEMPERATURE: TemperatureSensing,
    SensePoint.What.CURRENT: CurrentSensing,
}
"""What a sensor must be able to do, by what is watched. A voltage or a contact is read without one."""


@transaction.atomic
def add(fitout: Fitout, *, by: User | None, **values: Any) -> SensePoint:
    """Watch one thing more. Raises ``ValidationError`` naming each wrong field."""
    if fitout.sense_points.count() >= MOST_SENSES:
        raise ValidationError(_("At most %(most)s things are watched in one job.") % {"most": MOST_SENSES})
    last = fitout.sense_points.aggregate(last=Max("place"))["last"]
    return _keep(SensePoint(fitout=fitout, place=0 if last is None else last + 1), values, by)


@transaction.atomic
def change(point: SensePoint, *, by: User | None, **values: Any) -> SensePoint:
    """Change what is watched, where, or by what; on refusal the saved one stays as it was."""
    return _keep(point, values, by)


@transaction.atomic
def remove(point: SensePoint, *, by: User | None) -> None:
    """Watch it no more; its history stays."""
    signed(point, by).delete()


def tells(component: Component, what: str) -> bool:
    """Whether a component of the catalogue tells what is watched."""
    kind = component.declaration
    wanted = TELLS.get(what)
    return wanted is not None and any(
        isinstance(c, wanted) for c in kind.capabilities(kind.clean(component.specification))
    )


def contents(fitout: Fitout) -> list[dict[str, Any]]:
    """What a job watches, with positions by name: what another job or a package can use."""
    found = []
    for point in fitout.sense_points.select_related("position"):
        on_trailer, name = towing.named(fitout, point.position)
        found.append(
            {
                "name": point.name,
                "what": point.what,
                "component": point.component_id,
                "position": name,
                "on_trailer": on_trailer,
            }
        )
    return found


def put(fitout: Fitout, rows: Iterable[dict[str, Any]], *, by: User | None) -> int:
    """Watch these; what sits at a position that this vehicle lacks is left out. Returns how many."""
    rows, positions, count = list(rows), towing.by_name(fitout), 0
    wanted = [row["component"] for row in rows if row["component"]]
    known = set(Component.objects.filter(pk__in=wanted).values_list("pk", flat=True))
    for place, row in enumerate(rows, start=fitout.sense_points.count()):
        position = positions.get((bool(row["on_trailer"]), row["position"]))
        if position is None:
            continue
        component = row["component"] if row["component"] in known else None
        point = SensePoint(fitout=fitout, place=place, name=row["name"], what=row["what"], position=position)
        point.component_id = component
        signed(point, by).save()
        count += 1
    return count


def _keep(point: SensePoint, values: dict[str, Any], by: User | None) -> SensePoint:
    position, component = values.get("position"), values.get("component")
    what = values.get("what", point.what)
    wrong: dict[str, str] = {}
    if position is not None and not towing.has_position(point.fitout, position):
        wrong["position"] = _("“%(name)s” is not a position of this job's vehicle.") % {"name": position.name}
    if component is not None and not tells(component, what):
        kind = SensePoint.What(what).label if what in SensePoint.What.values else what
        wrong["component"] = _("“%(name)s” does not tell this: %(what)s.") % {"name": component.name, "what": kind}
    if wrong:
        raise ValidationError(wrong)
    return keep(point, values, by)
