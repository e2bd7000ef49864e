"""What a job watches, as people type it, with the sensing input it hangs on."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fitouts.forms.towing import ComponentField
from fitouts.models import SensePoint, VehiclePosition
from quoting.forms.lines import PositionChoice
from quoting.sizing.brief_wiring import INPUT_OF
from quoting.sizing.wiring_records import InputUse
from quoting.wording.outputs import INPUT_KIND


class SenseForm(forms.ModelForm):  # type: ignore[type-arg]
    """Something that is to be watched."""

    position = PositionChoice(
        VehiclePosition.objects.none(), label=gettext_lazy("where"), empty_label=gettext_lazy("choose")
    )
    component = ComponentField(
        label=gettext_lazy("sensor"),
        required=False,
        help_text=gettext_lazy("Empty: the design chooses one. A voltage or a contact needs none."),
    )
    input = forms.ChoiceField(label=gettext_lazy("sensing input"), required=False)

    class Meta:
        model = SensePoint
        fields = ["name", "what", "position", "component"]

    def __init__(self, *args: Any, inputs: tuple[InputUse, ...] = (), **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.inputs = inputs
        fields: Any = self.fields
        fields["position"].of(self.instance.fitout)
        fields["component"].offering("component")
        if self.instance.component_id:
            self.initial["component"] = self.instance.component
        fields["input"].choices = [("", _("as the design gives it")), *((_code(u), _words(u)) for u in inputs)]
        place = getattr(self.instance, "input_place", None) if self.instance.pk else None
        if place is not None:
            kind = INPUT_OF[self.instance.what]
            kept = f"{kind}.{place.unit}.{place.channel}"
            self.initial["input"] = kept
            if kept not in dict(fields["input"].choices):
                words = _("input %(channel)d of unit %(unit)d, which the design has not") % {
                    "channel": place.channel,
                    "unit": place.unit,
                }
                fields["input"].choices.append((kept, words))

    def _post_clean(self) -> None:
        """The service checks what is watched as a whole; here only the entries are read."""

    def clean(self) -> dict[str, Any]:
        values = super().clean() or {}
        kind = (values.get("input") or "").partition(".")[0]
        wanted = INPUT_OF.get(values.get("what", ""))
        if kind and wanted and kind != wanted:
            self.add_error(
                "input",
                _("That input reads: %(has)s. This wants: %(wants)s.")
                % {"has": INPUT_KIND[kind], "wants": INPUT_KIND[wanted]},
            )
        return values

    @property
    def place(self) -> tuple[int, int] | None:
        """Unit and channel of the input that was given, from 1."""
        code = self.cleaned_data.get("input") or ""
        if not code:
            return None
        _kind, unit, channel = code.split(".")
        return int(unit), int(channel)


def _code(use: InputUse) -> str:
    return f"{use.sense}.{use.unit}.{use.channel}"


def _words(use: InputUse) -> str:
    words = _("%(name)s %(unit)d, %(kind)s input %(channel)d") % {
        "name": use.name,
        "unit": use.unit,
        "kind": INPUT_KIND.get(use.sense, use.sense),
        "channel": use.channel,
    }
    return _("%(input)s (now: %(watched)s)") % {"input": words, "watched": use.watched} if use.watched else words
