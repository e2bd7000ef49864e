"""The engineering policy as a form: every value with its default, range, source and what it changes."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.forms.boundfield import BoundField
from django.utils.translation import gettext as _

from catalog.form_fields import QuantityField
from catalog.kinds.capabilities import CHEMISTRIES
from catalog.quantities import format_quantity
from catalog.words import range_words
from fitouts.models import User
from quoting.queries.policy import label_of, unit_of
from quoting.services import policy as service
from quoting.sizing.brief_choosing import OFFERS
from quoting.sizing.policy import ChemistryPolicy, OfferPolicy, Policy
from quoting.wording.policy import CHEMISTRY, CHOICES, OFFER, SECTIONS
from quoting.wording.steps_choosing import OFFER as OFFER_NAME

PERCENT = 100.0
COMMON = "common practice"
"""Source of most values; the page says so once."""


def _limits(info: Any) -> tuple[float | None, float | None]:
    low = next((m.ge for m in info.metadata if getattr(m, "ge", None) is not None), None)
    high = next((m.le for m in info.metadata if getattr(m, "le", None) is not None), None)
    return low, high


class PolicyField(QuantityField):
    """A value of the policy; ``differs`` says that it is not at its default."""

    differs = False


class PolicyChoice(forms.TypedChoiceField):
    """A value of the policy that is one of a few."""

    differs = False
    unit = ""


@dataclass(frozen=True, slots=True)
class Section:
    """Values that belong together: how many are not at their default, and whether one was refused."""

    title: Any
    fields: list[BoundField]
    differing: int
    refused: bool


def _entry(name: str, info: Any, label: str, changes: str, default: Any, in_force: Any) -> PolicyField | PolicyChoice:
    """A field for one value of the policy, with its hint. A source is named where there is one to look up."""
    if not isinstance(default, float | int) or isinstance(default, bool):
        return _choice(name, info, label, changes, default, in_force)
    ratio = name.endswith("_ratio")
    unit = "%" if ratio else unit_of(info)
    factor = PERCENT if ratio else 1.0
    low, high = _limits(info)
    differs = in_force != default
    hint = (_("Set here; default %(default)s,%(range)s.") if differs else _("Default %(default)s,%(range)s.")) % {
        "default": format_quantity(default * factor, unit),
        "range": range_words(low, high, unit, factor),
    }
    hint = _with_effect(hint, info, changes)
    whole = info.annotation is int
    field = PolicyField(label=label, unit=unit, minimum=low, maximum=high, factor=factor, whole=whole, help_text=hint)
    field.initial, field.differs = in_force, differs
    return field


def _choice(name: str, info: Any, label: str, changes: str, default: Any, in_force: Any) -> PolicyChoice:
    """A list to pick from: yes and no, or what the words of the policy list."""
    choices = [(code, str(words)) for code, words in CHOICES.get(name, {}).items()]
    coerce: Callable[[str], Any] = str
    if isinstance(default, bool):
        choices, coerce = [("False", _("no")), ("True", _("yes"))], _is_true
    differs = in_force != default
    hint = _("Set here; default %(default)s.") if differs else _("Default %(default)s.")
    hint = _with_effect(hint % {"default": dict(choices)[str(default)]}, info, changes)
    field = PolicyChoice(label=label, choices=choices, coerce=coerce, help_text=hint)
    field.initial, field.differs = str(in_force), differs
    return field


def _is_true(value: str) -> bool:
    return value == "True"


def _with_effect(hint: str, info: Any, changes: str) -> str:
    hint = f"{hint} {_('Changes %(changes)s.') % {'changes': changes}}"
    if (source := (info.json_schema_extra or {}).get("source", "")) != COMMON:
        hint = f"{hint} {_('Source: %(source)s.') % {'source': source}}"
    return hint


class PolicyForm(forms.Form):
    """Every value of :class:`quoting.sizing.policy.Policy`, in parts, and those of each chemistry and offer."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        in_force, usual = service.current(), Policy()
        super().__init__(*args, **kwargs)
        for _code, _head, values in SECTIONS:
            for name, changes in values.items():
                info = Policy.model_fields[name]
                default, now = getattr(usual, name), getattr(in_force, name)
                self.fields[name] = _entry(name, info, label_of(name), str(changes), default, now)
        for code, _words in CHEMISTRIES:
            for name, (label, changes) in CHEMISTRY.items():
                info = ChemistryPolicy.model_fields[name]
                default, now = (getattr(policy.chemistries[code], name) for policy in (usual, in_force))
                self.fields[f"{code}.{name}"] = _entry(name, info, str(label), str(changes), default, now)
        for offer in OFFERS:
            for name, (label, changes) in OFFER.items():
                info = OfferPolicy.model_fields[name]
                default, now = (getattr(policy.offers[offer], name) for policy in (usual, in_force))
                self.fields[f"{offer}.{name}"] = _entry(name, info, str(label), str(changes), default, now)

    @property
    def folds(self) -> Iterator[Section]:
        """Parts of the page in order, each to be folded."""
        for _code, title, values in SECTIONS:
            yield self._section(title, values)
        for code, words in CHEMISTRIES:
            head = _("Battery: %(chemistry)s") % {"chemistry": _(words)}
            yield self._section(head, [f"{code}.{name}" for name in CHEMISTRY])
        for offer in OFFERS:
            head = _("Offer: %(offer)s") % {"offer": OFFER_NAME[offer]}
            yield self._section(head, [f"{offer}.{name}" for name in OFFER])

    def _section(self, title: Any, names: Iterable[str]) -> Section:
        fields = [self[name] for name in names]
        differing = sum(1 for field in fields if getattr(field.field, "differs", False))
        return Section(title, fields, differing, any(field.errors for field in fields))

    def save(self, *, by: User) -> bool:
        """Set the policy; what it refuses stands on the form."""
        plain = {name: value for name, value in self.cleaned_data.items() if "." not in name}
        chemistries: dict[str, dict[str, float]] = {}
        offers: dict[str, dict[str, Any]] = {}
        for name, value in self.cleaned_data.items():
            code, dot, key = name.partition(".")
            if dot:
                (offers if code in OFFERS else chemistries).setdefault(code, {})[key] = value
        try:
            service.set_policy(plain, chemistries, by=by, offers=offers)
        except ValidationError as refused:
            self.add_error(None, refused)
            return False
        return True
