"""How the engineering policy changed, and what stands on an earlier one."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from catalog.changes import Change, FieldChange
from catalog.kinds.capabilities import CHEMISTRIES
from catalog.quantities import format_number, format_quantity
from catalog.queries import people_by_id
from fitouts.models import Fitout, Stage, Workshop
from quoting.models import Revision
from quoting.services.policy import flat
from quoting.sizing.brief_choosing import OFFERS
from quoting.sizing.policy import ChemistryPolicy, OfferPolicy, Policy
from quoting.wording.policy import CHEMISTRY, CHOICES, OFFER
from quoting.wording.steps_choosing import OFFER as OFFER_NAME

PERCENT = 100.0

OPEN = (Stage.ENQUIRY, Stage.SURVEYED, Stage.QUOTED)


def policy_changes(limit: int = 30) -> list[Change]:
    """Who changed which value, when, from what to what; the newest first. Two queries."""
    rows: list[Any] = list(Workshop.history.order_by("-history_date", "-history_id")[: limit * 10])
    people = people_by_id({row.history_user_id for row in rows})
    found = []
    for row, before in pairwise(rows):
        if row.engineering == before.engineering:
            continue
        old, new = flat(before.engineering), flat(row.engineering)
        fields = tuple(FieldChange(label_of(n), said(n, old[n]), said(n, new[n])) for n in new if old[n] != new[n])
        by = people.get(row.history_user_id, _("the server"))
        found.append(Change(row.history_date, by, "changed", _("Engineering policy changed"), fields))
    return found[:limit]


def jobs_to_look_at() -> tuple[int, int]:
    """Jobs before acceptance that have a design, and issued revisions that keep the policy they were made under."""
    designed = Fitout.objects.filter(stage__in=OPEN, designs__isnull=False).distinct().count()
    issued = Revision.objects.filter(state=Revision.State.ISSUED).count()
    return designed, issued


def said(name: str, value: Any) -> str:
    """A value of the policy as its form shows it."""
    key = name.partition(".")[2] or name
    model: Any = _model_of(name)
    if isinstance(value, bool):
        return _("yes") if value else _("no")
    if isinstance(value, str):
        return str(CHOICES.get(key, {}).get(value, value))
    if key.endswith("_ratio"):
        return format_quantity(value * PERCENT, "%")
    unit = unit_of(model.model_fields[key])
    return format_quantity(value, unit) if unit else format_number(value)


def _model_of(name: str) -> Any:
    """Which record a value of the policy is in."""
    code, dot, _key = name.partition(".")
    if not dot:
        return Policy
    return OfferPolicy if code in OFFERS else ChemistryPolicy


def unit_of(info: Any) -> str:
    """The unit of a value of the policy as people write it."""
    unit = str((info.json_schema_extra or {}).get("unit", ""))
    return {"ohm": "Ω"}.get(unit, unit)


def label_of(name: str) -> str:
    """What a value of the policy is called on its form."""
    code, dot, key = name.partition(".")
    if not dot:
        return _(str(Policy.model_fields[name].description)).rstrip(".")
    if code in OFFERS:
        return f"{OFFER_NAME[code]}: {OFFER[key][0]}"
    words = CHEMISTRY[key][0] if key in CHEMISTRY else ChemistryPolicy.model_fields[key].description
    return f"{_(dict(CHEMISTRIES)[code])}: {words}"


def differing_words(count: int) -> str:
    """How many values differ from their defaults, in a sentence."""
    if not count:
        return _("Every value is at its default.")
    return ngettext(
        "%(n)d value differs from its default.", "%(n)d values differ from their defaults.", count
    ) % {"n": count}  # fmt: skip
