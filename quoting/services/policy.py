"""The workshop's engineering policy: what it sets otherwise than the defaults. Nothing issued follows it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext as _
from pydantic import ValidationError as Refused

from catalog.kinds.capabilities import CHEMISTRIES
from catalog.quantities import format_quantity
from fitouts.models import User, Workshop
from fitouts.services.keeping import keep
from quoting.sizing.brief import from_validation
from quoting.sizing.policy import ChemistryPolicy, OfferPolicy, Policy, conflicts

GROUPS: dict[str, type[ChemistryPolicy] | type[OfferPolicy]] = {"chemistries": ChemistryPolicy, "offers": OfferPolicy}
"""Values that a policy has several times over: of each chemistry, of each offer."""


def current() -> Policy:
    """The policy in force: defaults, and what the workshop sets otherwise."""
    return Policy.model_validate(Workshop.objects.values_list("engineering", flat=True).first() or {})


@transaction.atomic
def set_policy(
    values: Mapping[str, Any],
    chemistries: Mapping[str, Mapping[str, float]],
    *,
    by: User | None,
    offers: Mapping[str, Mapping[str, Any]] | None = None,
) -> dict[str, Any]:
    """Set engineering values, each chemistry's and each offer's beside them; what equals its default is not stored.

    Returns what is stored. Raises ``ValidationError`` with field, value, range and unit; nothing is half saved.
    """
    workshop = Workshop.objects.select_for_update().get()
    before = current()
    whole = before.model_dump(mode="json") | dict(values)
    for code, changed in chemistries.items():
        if code not in whole["chemistries"]:
            raise ValidationError(_("There is no chemistry “%s”.") % code)
        whole["chemistries"][code] |= dict(changed)
    for code, asked in (offers or {}).items():
        if code not in whole["offers"]:
            raise ValidationError(_("There is no offer “%s”.") % code)
        whole["offers"][code] |= dict(asked)
    try:
        policy = Policy.model_validate(whole)
    except Refused as error:
        raise ValidationError(str(from_validation(error))) from None
    if refusals := {each[0]: _conflict(*each) for each in conflicts(policy)}:
        raise ValidationError(refusals)
    stored = overrides(policy)
    if stored != (workshop.engineering or {}):
        keep(workshop, {"engineering": stored}, by)
    return stored


def _conflict(name: str, value: float, over: str, limit: float) -> str:
    """Why two values do not go together, both by their labels."""
    code, dot, _key = name.partition(".")
    if dot:
        return _("%(chemistry)s: an ordinary day (%(daily)g %%) must not go deeper than the deepest (%(most)g %%).") % {
            "chemistry": dict(CHEMISTRIES)[code],
            "daily": value * 100,
            "most": limit * 100,
        }
    return _("%(name)s must be lower than %(over)s.") % {"name": _labelled(name, value), "over": _labelled(over, limit)}


def _labelled(name: str, value: float) -> str:
    """A value of the policy with what it is."""
    info: Any = Policy.model_fields[name]
    return f"“{info.description.rstrip('.')}” ({format_quantity(value, info.json_schema_extra['unit'])})"


def overrides(policy: Policy) -> dict[str, Any]:
    """What a policy sets otherwise than the defaults. A chemistry or offer that differs in a value is stored whole."""
    usual = Policy()
    names = [name for name in Policy.model_fields if name not in GROUPS]
    stored = {name: getattr(policy, name) for name in names if getattr(policy, name) != getattr(usual, name)}
    for group in GROUPS:
        members, defaults = getattr(policy, group), getattr(usual, group)
        other = {code: one.model_dump(mode="json") for code, one in members.items() if one != defaults[code]}
        stored |= {group: other} if other else {}
    return stored


def flat(stored: Mapping[str, Any]) -> dict[str, Any]:
    """Every value of a stored policy under one name: ``drop_other_ratio``, ``agm.tail_h``, ``lean.battery_ratio``."""
    policy = Policy.model_validate(stored or {})
    out = {name: getattr(policy, name) for name in Policy.model_fields if name not in GROUPS}
    for group, model in GROUPS.items():
        for code, one in getattr(policy, group).items():
            out |= {f"{code}.{name}": getattr(one, name) for name in model.model_fields}
    return out
