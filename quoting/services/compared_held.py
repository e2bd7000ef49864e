"""In what two Briefs differ about the parts a job is held to, the room they leave, and the room in the vehicle."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from django.utils.translation import gettext as _

from quoting.models import OfferName
from quoting.wording.roles import role_words

Raw = Mapping[str, Any]
Said = tuple[str, str]
"""Part of the Brief, and a sentence."""


def held(before: Raw, now: Raw) -> Iterator[Said]:
    """A sentence for each difference; fields that one of the two does not know count as empty."""
    old, new = _picks(before), _picks(now)
    roles = sorted(role for role in {*old, *new} if old.get(role) != new.get(role))
    if roles:
        names = ", ".join(role_words(role) for role in roles)
        if not new:
            yield "picks", _("The job is held to no parts any more; it chooses freely.")
        elif not old:
            yield "picks", _("The job is held to parts now: %(names)s.") % {"names": names}
        else:
            yield "picks", _("The job is held to other parts: %(names)s.") % {"names": names}
    if before.get("room") != now.get("room") and (now.get("room") or not roles):
        yield "room", _room(now.get("room"))


def space(before: Raw, now: Raw) -> Iterator[Said]:
    """Differences in where there is room, of the two vehicles."""
    if list(before.get("roof") or ()) != list(now.get("roof") or ()):
        yield "vehicle", _("The roof areas of the vehicle were changed.")
    if list(before.get("battery_spaces") or ()) != list(now.get("battery_spaces") or ()):
        yield "vehicle", _("The battery spaces of the vehicle were changed.")


def _picks(brief: Raw) -> dict[str, tuple[Any, ...]]:
    return {
        pick["role"]: (pick["part"], pick.get("quantity", 1), pick.get("series", 1))
        for pick in brief.get("picks") or ()
    }


def _room(room: Raw | None) -> str:
    if not room:
        return _("No more than the need itself is asked: the job follows no offer.")
    return _("It asks the room of the offer %(offer)s now.") % {"offer": OfferName(room["offer"]).label}
