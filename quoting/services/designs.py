"""Working a job out, keeping the result under a key, and seeing what has changed since."""

from __future__ import annotations

import json
import time
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from catalog.models import Component
from fitouts.models import Fitout, User
from quoting.models import Design
from quoting.services.briefs import BriefIncomplete, make_brief
from quoting.services.compared_held import held, space
from quoting.services.compared_wiring import only_placed, wiring
from quoting.sizing.appraisal import METHOD_VERSION, Appraisal
from quoting.sizing.appraise import appraise, brief_sha256
from quoting.sizing.brief import Brief
from quoting.sizing.errors import SizingError
from quoting.sizing.trace import Figure


def work_out(fitout: Fitout, *, by: User | None) -> Design:
    """Work a job out and keep the result as its next design.

    The same inputs as the latest design's give that design again, never a twin.
    Raises BriefIncomplete with everything that is missing, or SizingError for a value that cannot be.
    """
    brief = make_brief(fitout)
    key = brief_sha256(brief)
    latest = fitout.designs.first()
    if latest is not None and latest.key == key:
        return latest
    began = time.perf_counter()
    appraisal = appraise(brief)
    took_ms = round(1000 * (time.perf_counter() - began))
    return keep(
        fitout,
        {
            "brief": brief.model_dump(mode="json"),
            "appraisal": appraisal.model_dump(mode="json"),
            "key": key,
            "method_version": METHOD_VERSION,
            "took_ms": took_ms,
        },
        by=by,
    )


@transaction.atomic
def keep(fitout: Fitout, values: Mapping[str, Any], *, by: User | None) -> Design:
    """Keep what was worked out as the job's next design; where the newest has the same key, that one again."""
    Fitout.objects.select_for_update().get(pk=fitout.pk)
    latest = fitout.designs.first()
    if latest is not None and latest.key == values["key"]:
        return latest
    return Design.objects.create(fitout=fitout, number=1 + (latest.number if latest else 0), made_by=by, **values)


def latest_of(fitout: Fitout) -> Design | None:
    return fitout.designs.select_related("made_by").first()


def appraisal_of(design: Design) -> Appraisal:
    """The kept Appraisal as the sizing made it."""
    return appraisal_from(design.appraisal)


def appraisal_from(kept: Mapping[str, Any]) -> Appraisal:
    """An Appraisal as JSON keeps it, made one again."""
    return Appraisal.model_validate_json(json.dumps(kept))


def figures_of(design: Design) -> dict[str, Figure]:
    """The kept figures with their sums, without the rest of the Appraisal."""
    return {code: Figure.model_validate_json(json.dumps(one)) for code, one in design.appraisal["figures"].items()}


def brief_of(design: Design) -> Brief:
    """The Brief a design was made from."""
    return Brief.model_validate_json(json.dumps(design.brief))


def is_current(design: Design, fitout: Fitout) -> bool:
    """Would working it out now start from the same inputs and method?"""
    try:
        return brief_sha256(make_brief(fitout)) == design.key
    except (BriefIncomplete, SizingError):
        return False


@dataclass(frozen=True, slots=True)
class Change:
    """One input that differs from what the design was made from."""

    part: str
    """``loads``, ``trip``, ``vehicle``, ``wishes``, ``policy``, ``catalogue``, ``method``, ``title``, ``missing``; of
    wiring ``senses``, ``changes``, ``existing``, ``layout``, ``inputs``, ``kept``; of choosing ``picks``, ``room``,
    and of offers ``prices``, ``stock``, ``steer``."""
    words: str


def changes_since(design: Design, fitout: Fitout, now: Brief | None = None) -> tuple[Change, ...]:
    """What has changed since a design was made; empty when nothing has. ``now`` saves making the Brief again."""
    try:
        now = now or make_brief(fitout)
    except BriefIncomplete as error:
        return tuple(Change("missing", m.words) for m in error.missing)
    except SizingError as error:
        return (Change("missing", str(error)),)
    if brief_sha256(now) == design.key:
        return ()
    names = {c["key"]: c["name"] for c in design.appraisal.get("circuits", ()) if c.get("key")}
    today = now.model_dump(mode="json")
    return tuple(compare(in_todays_fields(design.brief, today), today, design.method_version, names))


def in_todays_fields(kept: dict[str, Any], today: dict[str, Any]) -> dict[str, Any]:
    """A kept Brief with the usual value in each field that is newer than it: nobody has changed those."""
    try:
        brief = Brief.model_validate_json(json.dumps(kept)).model_dump(mode="json")
        known = kept["vehicle"]
        usual = {k: v for k, v in today["vehicle"].items() if k.startswith("usual_") and k not in known}
        return {**brief, "vehicle": {**brief["vehicle"], **usual}}
    except ValueError:  # today's limits are narrower than what was kept
        return dict(kept)


def compare(
    before: dict[str, Any],
    now: dict[str, Any],
    method_version: str = METHOD_VERSION,
    names: Mapping[str, str] | None = None,
) -> Iterator[Change]:
    """Name the inputs in which two Briefs differ; ``names`` are those of circuits by key."""
    yield from _rows("loads", before["loads"], now["loads"])
    yield from _stops(before["trip"], now["trip"])
    yield from _fields("wishes", before["wishes"], now["wishes"], _("wishes"))
    yield from _vehicle(before["vehicle"], now["vehicle"])
    for part, words in (*held(before, now), *wiring(before, now, names)):
        yield Change(part, words)
    yield from _fields("policy", before["policy"], now["policy"], _("the workshop's policy"))
    yield from _catalogue(before["catalogue"], now["catalogue"])
    if before["title"] != now["title"]:
        yield Change("title", _("The job's title was changed."))
    if method_version != METHOD_VERSION:
        words = _("The method is now version %(now)s; this design was made by %(before)s.")
        yield Change("method", words % {"now": METHOD_VERSION, "before": method_version})


def _rows(part: str, before: list[dict[str, Any]], now: list[dict[str, Any]]) -> Iterator[Change]:
    old = {row["key"]: row for row in before}
    new = {row["key"]: row for row in now}
    for key in new.keys() - old.keys():
        yield Change(part, _("“%(name)s” was added to the power audit.") % {"name": new[key]["name"]})
    for key in old.keys() - new.keys():
        yield Change(part, _("“%(name)s” was taken out of the power audit.") % {"name": old[key]["name"]})
    for key in [k for k in new if k in old and new[k] != old[k]]:
        yield Change(part, _("“%(name)s” was changed in the power audit.") % {"name": new[key]["name"]})
    shared = [k for k in old if k in new]
    if shared != [k for k in new if k in old]:
        yield Change(part, _("The lines of the power audit are in another order."))


def _stops(before: list[dict[str, Any]], now: list[dict[str, Any]]) -> Iterator[Change]:
    if len(before) != len(now):
        words = ngettext("The trip now has %(n)d stop", "The trip now has %(n)d stops", len(now)) % {"n": len(now)}
        yield Change("trip", _("%(words)s, before %(before)d.") % {"words": words, "before": len(before)})
    for old, new in zip(before, now, strict=False):
        if _told(old) != _told(new):
            yield Change("trip", _("The stop “%(name)s” was changed.") % {"name": new["site"]["name"]})


def _told(stop: dict[str, Any]) -> dict[str, Any]:
    """A stop without what is not said of its site: an older design knows fewer fields."""
    return {**stop, "site": {name: value for name, value in stop["site"].items() if value is not None}}


def _fields(part: str, before: dict[str, Any], now: dict[str, Any], where: str) -> Iterator[Change]:
    names = [name for name in now if before.get(name) != now[name]]
    if names:
        words = ", ".join(INPUT_WORDS.get(name, lambda n=name: n.replace("_", " "))() for name in names)
        yield Change(part, _("Changed in %(where)s: %(names)s.") % {"where": where, "names": words})


def _vehicle(before: dict[str, Any], now: dict[str, Any]) -> Iterator[Change]:
    lists = ("positions", "runs", "places", "hitch", "roof", "battery_spaces")
    plain = [{k: v for k, v in side.items() if k not in lists} for side in (before, now)]
    yield from _fields("vehicle", plain[0], plain[1], _("the vehicle's survey"))
    if before["positions"] != now["positions"]:
        placed = only_placed(before["positions"], now["positions"])
        drawn, changed = _("Positions were placed otherwise on the plan."), _("The vehicle's positions were changed.")
        yield Change("vehicle", drawn if placed else changed)
    if before["runs"] != now["runs"]:
        yield Change("vehicle", _("The vehicle's cable ways were changed."))
    if before.get("hitch") != now.get("hitch"):
        yield Change("vehicle", _("How the trailer is joined was changed."))
    if before["places"] != now["places"]:
        yield Change("vehicle", _("What sits where was changed."))
    for part, words in space(before, now):
        yield Change(part, words)


def _catalogue(before: list[dict[str, Any]], now: list[dict[str, Any]]) -> Iterator[Change]:
    old = {part["key"]: part for part in before}
    new = {part["key"]: part for part in now}
    added, gone = [k for k in new if k not in old], [k for k in old if k not in new]
    # of a very large catalogue a Brief holds a part, and what is no longer in that part need not be gone
    there = set(Component.objects.in_use().filter(pk__in=gone).values_list("pk", flat=True)) if gone else set()
    groups = (
        (
            _("Other components are looked at now: %(names)s.") if there else _("Added to the catalogue: %(names)s."),
            [new[k]["name"] for k in added],
        ),
        (_("No longer in the catalogue: %(names)s."), [old[k]["name"] for k in gone if int(k) not in there]),
        (_("Changed in the catalogue: %(names)s."), [new[k]["name"] for k in new if k in old and new[k] != old[k]]),
    )
    if there and not added:
        yield Change("catalogue", _("Fewer components of the catalogue are looked at now."))
    for words, names in groups:
        if names:
            some = ", ".join(names[:5]) + (_(" and %(n)d more") % {"n": len(names) - 5} if len(names) > 5 else "")
            yield Change("catalogue", words % {"names": some})


INPUT_WORDS = {
    "system_v": lambda: _("house bus"),
    "autonomy_days": lambda: _("days of autonomy"),
    "chemistries": lambda: _("battery chemistries"),
    "engine_charging": lambda: _("charging while driving"),
    "mains_charging": lambda: _("charging from mains"),
    "solar_charging": lambda: _("charging from the sun"),
    "solar_share_ratio": lambda: _("share from the sun"),
    "shore_inlet": lambda: _("shore inlet"),
    "panel_tilt_deg": lambda: _("tilt of the panels"),
    "panel_azimuth_deg": lambda: _("where the panels face"),
    "pinned": lambda: _("components asked for"),
    "banned": lambda: _("components ruled out"),
    "name": lambda: _("name"),
    "nominal_v": lambda: _("system voltage"),
    "alternator_control": lambda: _("alternator control"),
    "alternator_a": lambda: _("alternator rating"),
    "hot_idle_a": lambda: _("alternator output at hot idle"),
    "hot_idle_v": lambda: _("voltage at hot idle"),
    "own_draw_a": lambda: _("own draw under way"),
    "standing_draw_a": lambda: _("standing draw"),
    "starter_ah": lambda: _("starter battery"),
    "starter_ohm": lambda: _("starter battery's resistance"),
    "cranking_v": lambda: _("lowest cranking voltage"),
    "idle_stop": lambda: _("idle stop"),
    "hybrid": lambda: _("hybrid or electric"),
    "roof_length_m": lambda: _("roof length"),
    "roof_width_m": lambda: _("roof width"),
    "payload_left_kg": lambda: _("payload left"),
    "length_m": lambda: _("length over all"),
    "width_m": lambda: _("width over all"),
    "body": lambda: _("what carries the floor"),
    "trailer_length_m": lambda: _("the trailer's length"),
    "trailer_width_m": lambda: _("the trailer's width"),
    "trailer_body": lambda: _("what carries the trailer's floor"),
    "is_trailer": lambda: _("whether it is towed"),
    "usual_length_m": lambda: _("usual length of its form"),
    "usual_width_m": lambda: _("usual width of its form"),
    "usual_trailer_length_m": lambda: _("usual length of the trailer's form"),
    "usual_trailer_width_m": lambda: _("usual width of the trailer's form"),
}
