"""The engineering policy as a form: every value with its default, range, source and what it changes."""

from __future__ import annotations

from collections.abc import Iterator
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
from quoting.queries.policy import label_of
from quoting.services import policy as service
from quoting.sizing.policy import ChemistryPolicy, Policy
from quoting.wording.policy import CHEMISTRY, SECTIONS

PERCENT = 100.0


def _limits(info: Any) -> tuple[float | None, float | None]:
    low = next((m.ge for m in info.metadata if getattr(m, "ge", None) is not None), None)
    high = next((m.le for m in info.metadata if getattr(m, "le", None) is not None), None)
    return low, high


def _entry(name: str, info: Any, label: str, changes: str, default: Any) -> QuantityField:
    """A field for one value of the policy, with its hint."""
    extra = info.json_schema_extra or {}
    ratio = name.endswith("_ratio")
    unit = "%" if ratio else extra.get("unit", "")
    factor = PERCENT if ratio else 1.0
    low, high = _limits(info)
    hint = _("Default %(default)s,%(range)s. Changes %(changes)s. Source: %(source)s.") % {
        "default": format_quantity(default * factor, unit),
        "range": range_words(low, high, unit, factor),
        "changes": changes,
        "source": extra.get("source", ""),
    }
    whole = info.annotation is int
    return QuantityField(
        label=label, unit=unit, minimum=low, maximum=high, factor=factor, whole=whole, help_text=hint
    )  # fmt: skip


class PolicyForm(forms.Form):
    """Every value of :class:`quoting.sizing.policy.Policy`, in parts, and those of each chemistry."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        in_force, usual = service.current(), Policy()
        super().__init__(*args, **kwargs)
        for _code, _head, values in SECTIONS:
            for name, changes in values.items():
                info = Policy.model_fields[name]
                field = _entry(name, info, label_of(name), str(changes), getattr(usual, name))
                field.initial = getattr(in_force, name)
                self.fields[name] = field
        for code, _words in CHEMISTRIES:
            for name, (label, changes) in CHEMISTRY.items():
                info = ChemistryPolicy.model_fields[name]
                default = getattr(usual.chemistries[code], name)
                field = _entry(name, info, str(label), str(changes), default)
                field.initial = getattr(in_force.chemistries[code], name)
                self.fields[f"{code}.{name}"] = field

    @property
    def sections(self) -> Iterator[tuple[Any, list[BoundField]]]:
        for _code, title, values in SECTIONS:
            yield title, [self[name] for name in values]
        for code, words in CHEMISTRIES:
            yield _("Battery: %(chemistry)s") % {"chemistry": _(words)}, [self[f"{code}.{name}"] for name in CHEMISTRY]

    def save(self, *, by: User) -> bool:
        """Set the policy; what it refuses stands on the form."""
        plain = {name: value for name, value in self.cleaned_data.items() if "." not in name}
        chemistries: dict[str, dict[str, float]] = {}
        for name, value in self.cleaned_data.items():
            code, dot, key = name.partition(".")
            if dot:
                chemistries.setdefault(code, {})[key] = value
        try:
            service.set_policy(plain, chemistries, by=by)
        except ValidationError as refused:
            self.add_error(None, refused)
            return False
        return True
