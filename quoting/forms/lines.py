"""One line of the power audit as people type it. Its entries come from the declaration of its way of use."""

from __future__ import annotations

from typing import Any

from django import forms
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from catalog.forms import LoadForm, QuantityField
from catalog.kinds.uses import WAYS
from catalog.models.appliance import LINE_VALUES
from catalog.quantities import format_quantity
from catalog.services import clean_spec
from fitouts.models import Fitout, Requirement, User, VehiclePosition
from fitouts.services import audit, towing
from quoting.services.briefs import check_line
from quoting.sizing.errors import SizingError

COLUMNS = ("name", "quantity", *LINE_VALUES, "position", "circuit")


def way_choices() -> list[tuple[str, str]]:
    return [(code, _(way.label)) for code, way in WAYS.items()]


class PositionChoice(forms.ModelChoiceField):  # type: ignore[type-arg]
    """Positions of a job: its vehicle's by name, its trailer's said to be so."""

    fitout: Fitout | None = None

    def of(self, fitout: Fitout) -> None:
        """Offer the positions of this job."""
        self.fitout, self.queryset = fitout, towing.positions_for(fitout)

    def label_from_instance(self, position: Any) -> str:
        return position.name if self.fitout is None else towing.position_words(self.fitout, position)


class LineForm(LoadForm):
    """A line with one way of use; the other ways' entries come when the way is changed."""

    name = forms.CharField(label=gettext_lazy("Load"), max_length=120)
    quantity = QuantityField(label=gettext_lazy("How many"), minimum=1, maximum=500, whole=True, initial="1")
    bus = forms.ChoiceField(label=gettext_lazy("Fed from"), choices=Requirement.Bus.choices)
    way = forms.ChoiceField(label=gettext_lazy("Way of use"), choices=way_choices)
    shed_below_ratio = QuantityField(
        label=gettext_lazy("Sheds below"), unit="%", minimum=0, maximum=0.95, factor=100, required=False
    )
    always_live = forms.BooleanField(label=gettext_lazy("Always live when parked"), required=False)
    essential = forms.BooleanField(label=gettext_lazy("Essential"), required=False)
    position = PositionChoice(
        VehiclePosition.objects.none(), label=gettext_lazy("Sits at"), required=False, empty_label=gettext_lazy("board")
    )
    circuit = forms.CharField(label=gettext_lazy("Shares circuit"), max_length=60, required=False)
    critical = forms.BooleanField(label=gettext_lazy("Critical circuit"), required=False)
    at_once = forms.BooleanField(label=gettext_lazy("Counts in the peak"), required=False, initial=True)

    FIRST = ("name", "quantity", "bus", "way")
    OFTEN = ("shed_below_ratio", "always_live", "essential")
    SELDOM = (
        "window_start_h",
        "window_end_h",
        "start_multiple",
        "start_s",
        "power_factor",
        "min_voltage_v",
        "restart_voltage_v",
        "position",
        "circuit",
        "critical",
        "at_once",
    )

    def __init__(
        self, *args: Any, fitout: Fitout, way: str = "steady", line: Requirement | None = None, **kwargs: Any
    ) -> None:
        self.fitout, self.line = fitout, line
        self.use = way if way in WAYS else "steady"
        initial: dict[str, Any] = {"way": self.use}
        if line is not None:
            initial |= {name: getattr(line, name) for name in COLUMNS}
        super().__init__(*args, initial={**initial, **kwargs.pop("initial", {})}, **kwargs)
        positions: Any = self.fields["position"]
        positions.of(fitout)
        kind = WAYS[self.use]
        same = line is not None and line.way == self.use
        kept = line.use if line is not None else {}
        start = {f.name: kept.get(f.name, f.default) for f in kind.fields} if not same else kept
        self.add_spec_fields(kind, start)
        key = line.pk if line is not None and line.pk else None
        self.auto_id = f"id_line_{key or 'new'}_%s"
        again = reverse("line_edit", args=[fitout.pk, key]) if key else reverse("line_add", args=[fitout.pk])
        self.fields["way"].widget.attrs |= {
            "hx-get": again,
            "hx-include": "closest form",
            "hx-params": "not csrfmiddlewaretoken",
            "hx-target": "closest tr",
            "hx-swap": "outerHTML",
        }

    def first(self) -> list[forms.BoundField]:
        return [self[name] for name in self.FIRST]

    def uses(self) -> list[forms.BoundField]:
        return [self[name] for name in self.spec_names()]

    def often(self) -> list[forms.BoundField]:
        return [self[name] for name in self.OFTEN]

    def seldom(self) -> list[forms.BoundField]:
        return [self[name] for name in self.SELDOM]

    def seldom_open(self) -> bool:
        """Something in the folded part is wrong and must be seen."""
        return any(name in self.errors for name in self.SELDOM)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        low, again = cleaned.get("min_voltage_v"), cleaned.get("restart_voltage_v")
        if low is not None and again is not None and again < low:
            self.add_error(
                "restart_voltage_v",
                _("It is %(again)s, below the %(low)s it works down to.")
                % {"again": format_quantity(again, "V"), "low": format_quantity(low, "V")},
            )
        return cleaned

    def values(self) -> dict[str, Any]:
        """What the line is to hold; only after ``is_valid``."""
        values = {name: self.cleaned_data[name] for name in COLUMNS}
        return {**values, "way": self.use, "use": clean_spec(self.kind, self.spec())}

    def draft(self) -> Requirement | None:
        """The line as typed, unsaved, or ``None`` with the reason in ``errors``."""
        if not self.is_valid():
            return None
        line = Requirement(fitout=self.fitout, pk=self.line.pk if self.line else None)
        audit.with_values(line, self.values())
        try:
            check_line(line)
        except SizingError as error:
            self.refuse(error)
            return None
        return line

    def save(self, *, by: User) -> Requirement | None:
        """Add or change the line; ``None`` when it was refused, with the reasons in ``errors``."""
        try:
            if self.line is None or self.line.pk is None:
                values = self.values() | {"appliance": self.line.appliance if self.line else None}
                return audit.add_line(self.fitout, values, by=by, check=check_line)
            return audit.change_line(self.line, self.values(), by=by, check=check_line)
        except SizingError as error:
            self.refuse(error)
        except audit.LineRefused as error:
            self.add_error(None, str(error))
        return None

    def refuse(self, error: SizingError) -> None:
        """Put a refusal of the sizing beside the entry it is about."""
        name = error.field.rsplit(".", 1)[-1]
        for target in (f"spec_{name}", name):
            if target in self.fields:
                self.add_error(target, refusal_words(error))
                return
        self.add_error(None, str(error))


def refusal_words(error: SizingError) -> str:
    """What is wrong with one entry, without naming it again."""
    if error.message:
        return f"{error.message[0].upper()}{error.message[1:]}."
    if error.code == "missing":
        return _("It is missing.")
    bounds = [
        _("at least %s") % format_quantity(error.minimum, error.unit) if error.minimum is not None else "",
        _("at most %s") % format_quantity(error.maximum, error.unit) if error.maximum is not None else "",
    ]
    value = format_quantity(error.value, error.unit) if isinstance(error.value, int | float) else str(error.value)
    return _("It is %(value)s; it must be %(bounds)s.") % {
        "value": value,
        "bounds": _(" and ").join(b for b in bounds if b) or _("another"),
    }
