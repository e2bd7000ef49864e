"""What people settle about a circuit, and what they write down of one that lies in the vehicle already."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from catalog.form_fields import QuantityField
from catalog.kinds.capabilities import Conducting, Protecting
from catalog.quantities import format_number
from fitouts.forms.fields import RatioField
from quoting.sizing.appraisal import Circuit
from quoting.sizing.brief import Brief
from quoting.sizing.brief_wiring import CHANGEABLE, says_something
from quoting.sizing.parts import Catalogue
from quoting.wording.settled import CHOICE_WORDS, value_words

BLANK = ("", gettext_lazy("as worked out"))


def _number(text: Any) -> float | None:
    return float(text) if text not in ("", None) else None


def _choice(label: Any, **more: Any) -> forms.TypedChoiceField:
    return forms.TypedChoiceField(label=label, required=False, coerce=_number, empty_value=None, **more)


class CircuitChangeForm(forms.Form):
    """One circuit by hand. What is left empty stays as it is worked out."""

    area_mm2 = _choice(gettext_lazy("Conductor"))
    insulation_c = _choice(gettext_lazy("Insulation class"))
    rating_a = _choice(
        gettext_lazy("Device rating"),
        help_text=gettext_lazy("At each end that has one. Never over what the cable carries."),
    )
    form = forms.ChoiceField(label=gettext_lazy("Kind of device"), required=False)
    run_m = QuantityField(
        label=gettext_lazy("Length one way"),
        unit="m",
        minimum=0.1,
        maximum=100,
        required=False,
        help_text=gettext_lazy("Measured along the way it is laid."),
    )
    drop_limit_ratio = RatioField(
        label=gettext_lazy("Drop limit"),
        minimum=0.005,
        maximum=0.15,
        required=False,
        help_text=gettext_lazy("In place of the policy's, from the battery post to the load."),
    )
    return_by = forms.ChoiceField(label=gettext_lazy("Return"), required=False)
    reason = forms.CharField(
        label=gettext_lazy("Why"),
        min_length=3,
        max_length=300,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text=gettext_lazy("It stands on every paper beside the change. Leave customers' names out."),
    )

    def __init__(self, *args: Any, brief: Brief, circuit: Circuit, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.auto_id = f"id_{circuit.tag}_%s"
        self.circuit = circuit
        parts = Catalogue(brief)
        fields: Any = self.fields
        worked = {one.field: one.before for one in circuit.changed}
        wires = [a.can for a in parts.having(Conducting)]
        fields["area_mm2"].choices = self._offer("area_mm2", {c.area_mm2 for c in wires}, worked, circuit.area_mm2)
        classes = {c.insulation_c for c in wires}
        fields["insulation_c"].choices = self._offer("insulation_c", classes, worked, circuit.insulation_c)
        self._devices(parts, worked)
        fields["return_by"].choices = [BLANK, *((code, str(say())) for code, say in CHOICE_WORDS["return_by"].items())]
        if not getattr(brief.policy, "chassis_return_allowed", False) and circuit.return_by != "chassis":
            del self.fields["return_by"]
        run = worked.get("run_m", circuit.run_m)
        fields["run_m"].widget.attrs["placeholder"] = format_number(round(float(run or 0), 2))
        limit = worked.get("drop_limit_ratio", circuit.drop_limit_ratio)
        if isinstance(limit, float) and limit < 1:
            fields["drop_limit_ratio"].widget.attrs["placeholder"] = format_number(round(100 * limit, 2))

    def _devices(self, parts: Catalogue, worked: dict[str, Any]) -> None:
        """Ratings and kinds that the catalogue has; none for a circuit without a device."""
        own = [d for d in self.circuit.devices if d.what in ("fuse", "breaker")]
        if not own:
            del self.fields["rating_a"], self.fields["form"]
            return
        fields: Any = self.fields
        ratings = {a.can.rating_a for a in parts.having(Protecting)}
        fields["rating_a"].choices = self._offer("rating_a", ratings, worked, own[0].rating_a)
        was = value_words("form", worked.get("form", own[0].what))
        forms_ = [(code, str(say())) for code, say in CHOICE_WORDS["form"].items()]
        fields["form"].choices = [("", _("as worked out: %(value)s") % {"value": was}), *forms_]

    @staticmethod
    def _offer(name: str, values: Iterable[float], worked: dict[str, Any], now: float) -> list[tuple[str, str]]:
        """What there is, after what was worked out."""
        was = value_words(name, worked.get(name, now))
        blank = ("", _("as worked out: %(value)s") % {"value": was})
        return [blank, *((repr(float(v)), value_words(name, v)) for v in sorted(values))]

    def clean_reason(self) -> str:
        reason = str(self.cleaned_data["reason"])
        if not says_something(reason):
            raise forms.ValidationError(_("Say in words why: it stands on every paper."), code="empty")
        return reason

    def values(self) -> dict[str, Any]:
        """What was settled, by name."""
        return {name: self.cleaned_data.get(name) or None for name in CHANGEABLE}

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if not self.errors and not any(self.values().values()):
            raise forms.ValidationError(_("Nothing is changed yet. Settle at least one value."), code="nothing")
        return cleaned


def initial_of(values: dict[str, Any], reason: str) -> dict[str, Any]:
    """A kept change as the form is filled with it: choices by their text."""
    chosen = ("area_mm2", "insulation_c", "rating_a")
    return {**values, **{n: repr(float(values[n])) for n in chosen if values.get(n) is not None}, "reason": reason}
