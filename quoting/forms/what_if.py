"""What somebody tries on a design: sliders that begin where the design stands; what is not moved is left as it is."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlencode

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from catalog.form_fields import QuantityField
from catalog.models import Appliance
from catalog.quantities import QuantityError, parse, typed
from catalog.typed import TypedRecordField
from quoting import words
from quoting.forms.lines import refusal_words
from quoting.services import briefs
from quoting.sizing.brief import Brief, Stop
from quoting.sizing.errors import SizingError
from quoting.sizing.outlook import Trial


@dataclass(frozen=True, slots=True)
class Dial:
    """One slider: its range as it is dragged, in the unit shown; ``of`` the Trial's and the stop's value."""

    of: str
    label: Any
    unit: str
    low: float
    high: float
    by: float
    factor: float = 1.0
    at_rest: float | None = None
    """Where it stands when nothing is tried; ``None``: where the stop has it."""
    sign: str = ""
    """``+``: printed with its sign."""


DIALS = {
    "days": Dial("days", gettext_lazy("Stays"), "d", 0.5, 30, 0.5),
    "month": Dial("month", gettext_lazy("Month"), "", 1, 12, 1),
    "shade": Dial("shade_ratio", gettext_lazy("Shade"), "%", 0, 100, 5, 100),
    "driving": Dial("driving_h_per_day", gettext_lazy("Driving a day"), "h", 0, 12, 0.25),
    "mains": Dial("mains_h_per_day", gettext_lazy("Mains a day"), "h", 0, 24, 0.5),
    "sun": Dial("sun_ratio", gettext_lazy("Sun of the weather"), "%", 0, 150, 5, 100, at_rest=1.0),
    "warmer": Dial("warmer_k", gettext_lazy("Warmer or colder"), "K", -20, 20, 1, at_rest=0.0, sign="+"),
}
LIMITS = {"days": (0.5, 60.0), "month": (1, 12), "shade": (0, 1), "driving": (0, 24), "mains": (0, 24), "sun": (0, 1.5)}
LIMITS["warmer"] = (-30, 30)
"""What may be tried, stored values; a slider goes no further than is usual, an address may."""
TICKS = ("worn", "drift")


class Slider(forms.NumberInput):
    input_type = "range"


def _dial_field(name: str) -> QuantityField:
    dial = DIALS[name]
    low, high = LIMITS[name]
    return QuantityField(
        label=dial.label,
        unit=dial.unit,
        minimum=low,
        maximum=high,
        factor=dial.factor,
        whole=name == "month",
        required=False,
        widget=Slider(attrs={"step": typed(dial.by), "autocomplete": "off"}),
    )


class WhatIfForm(forms.Form):
    """A trial, as the address or the page's sliders say it."""

    stop = forms.TypedChoiceField(label=gettext_lazy("Tried at"), coerce=int, empty_value=None, required=False)
    at = forms.CharField(widget=forms.HiddenInput, required=False, max_length=3)
    days = _dial_field("days")
    month = _dial_field("month")
    shade = _dial_field("shade")
    driving = _dial_field("driving")
    mains = _dial_field("mains")
    sun = _dial_field("sun")
    warmer = _dial_field("warmer")
    appliance = TypedRecordField(
        Appliance.objects.none(),
        about="appliance",
        address="appliance_names",
        label=gettext_lazy("Add an appliance"),
        required=False,
    )
    quantity = QuantityField(
        label=gettext_lazy("How many"), unit="", minimum=1, maximum=500, whole=True, required=False
    )
    worn = forms.BooleanField(label=gettext_lazy("Battery worn"), required=False)
    drift = forms.BooleanField(label=gettext_lazy("Battery monitor drifts"), required=False)

    def __init__(self, entries: Mapping[str, Any] | None, *, brief: Brief) -> None:
        self.brief = brief
        self.chosen = _index((entries or {}).get("stop", ""), brief)
        self.rest = at_rest(brief, self.chosen)
        began = at_rest(brief, _index((entries or {}).get("at", (entries or {}).get("stop", "")), brief))
        super().__init__(
            {**self._filled(entries or {}, began), "at": "" if self.chosen is None else str(self.chosen)},
            auto_id="id_what_if_%s",
        )
        stops = [
            (str(k), f"{k + 1}. {stop.site.name}, {words.MONTHS[stop.month - 1]}") for k, stop in enumerate(brief.trip)
        ]
        where_field: Any = self.fields["stop"]
        where_field.choices = [("", _("every stop")), *stops] if len(stops) > 1 else [("", stops[0][1][3:])]
        appliance: Any = self.fields["appliance"]
        appliance.queryset = Appliance.objects.in_use()
        appliance.offering("appliance")
        for name, dial in DIALS.items():
            here = self.rest[name] * dial.factor
            high = min(LIMITS[name][1] * dial.factor, max(dial.high, here))
            self.fields[name].widget.attrs |= {
                "min": typed(min(dial.low, here)),
                "max": typed(high),
            }

    def _filled(self, entries: Mapping[str, Any], began: dict[str, float]) -> dict[str, Any]:
        """What was sent; sliders that were not, or were not moved, stand where this stop has them."""
        filled: dict[str, Any] = {name: entries[name] for name in entries if name in self.base_fields}
        for name, dial in DIALS.items():
            sent = filled.get(name)
            if sent in (None, "") or is_at_rest(name, sent, began[name]):
                filled[name] = typed(round(min(self.rest[name], LIMITS[name][1]) * dial.factor, 9))
        filled.setdefault("quantity", "1")
        return filled

    # --- For the page --------------------------------------------------------------------------------

    def dials(self) -> list[DialShown]:
        return [self._shown(name) for name in DIALS]

    def _shown(self, name: str) -> DialShown:
        value = str(self.data[name])
        rests = is_at_rest(name, value, self.rest[name])
        mixed = self.is_mixed(name)
        return DialShown(
            field=self[name],
            rests_at=typed(round(min(self.rest[name], LIMITS[name][1]) * DIALS[name].factor, 9)),
            says=_("as each has it") if rests and mixed else dial_words(name, value),
            rest=_("as each has it") if mixed else dial_words(name, typed(self.rest[name] * DIALS[name].factor)),
            unit=DIALS[name].unit,
            sign=DIALS[name].sign,
            is_mixed=mixed,
            is_moved=not rests,
            months="|".join(str(month) for month in words.MONTHS) if name == "month" else "",
        )

    def is_mixed(self, name: str) -> bool:
        """The stops tried at do not have one value in common."""
        if self.chosen is not None or DIALS[name].at_rest is not None:
            return False
        return len({_of_stop(name, stop) for stop in self.brief.trip}) > 1

    @property
    def is_moved(self) -> bool:
        """Anything is tried at all."""
        moved = any(not is_at_rest(name, self.data[name], self.rest[name]) for name in DIALS)
        return moved or any(self.data.get(name) for name in (*TICKS, "appliance"))

    def address(self) -> str:
        """What was moved and nothing else, as the query of an address that can be kept."""
        kept = [("stop", str(self.chosen))] if self.chosen is not None else []
        kept += [(n, str(self.data[n])) for n in DIALS if not is_at_rest(n, self.data[n], self.rest[n])]
        kept += [(name, "on") for name in TICKS if self.data.get(name)]
        if self.data.get("appliance"):
            kept += [(name, str(self.data.get(name, ""))) for name in ("appliance", "quantity")]
        return urlencode(kept)

    def slots(self) -> list[forms.BoundField]:
        """Every entry with a place for what is wrong with it."""
        return [self[name] for name in ("stop", *DIALS, "appliance", "quantity")]

    # --- What is tried -------------------------------------------------------------------------------

    def trial(self) -> Trial | None:
        """The trial, or ``None`` with the reasons in ``errors``."""
        if not self.is_valid():
            return None
        moved = {
            dial.of: self.cleaned_data[name]
            for name, dial in DIALS.items()
            if not is_at_rest(name, self.data[name], self.rest[name])
        }
        ticked = {name: bool(self.cleaned_data[name]) for name in TICKS}
        appliance = self.cleaned_data["appliance"]
        try:
            added = (
                (briefs.appliance_load(appliance, f"tried-{appliance.pk}", self.cleaned_data["quantity"] or 1),)
                if appliance
                else ()
            )
        except SizingError as error:
            self.add_error("appliance", refusal_words(error))
            return None
        return Trial(stop=self.chosen, added=added, **moved, **ticked)

    def refuse(self, error: SizingError) -> None:
        """Put what the sizing refused at its field."""
        last = error.field.rsplit(".", 1)[-1]
        name = next((name for name, dial in DIALS.items() if dial.of == last), None)
        if name is None and "added" in error.field:
            name = "appliance"
        self.add_error(name, refusal_words(error))


@dataclass(frozen=True, slots=True)
class DialShown:
    """A slider as the page shows it."""

    field: forms.BoundField
    rests_at: str
    says: str
    rest: str
    unit: str
    sign: str
    is_mixed: bool
    is_moved: bool
    months: str


def at_rest(brief: Brief, stop: int | None) -> dict[str, float]:
    """Where each slider stands when nothing is tried, stored values: at a stop, or at the first of all."""
    where = brief.trip[stop or 0]
    return {name: dial.at_rest if dial.at_rest is not None else _of_stop(name, where) for name, dial in DIALS.items()}


def is_at_rest(name: str, sent: Any, rest: float) -> bool:
    """What a slider sent is nearer to its rest than half a step: it can stand no nearer."""
    dial = DIALS[name]
    try:
        value = parse(str(sent), dial.unit)
    except QuantityError:
        return False
    return abs(value - min(rest, LIMITS[name][1]) * dial.factor) < dial.by / 2


def dial_words(name: str, shown: str) -> str:
    """A slider's value with its unit, a month by its name; the text itself when it is no number."""
    dial = DIALS[name]
    try:
        value = parse(shown, dial.unit)
    except QuantityError:
        return shown
    if name == "month":
        return str(words.MONTHS[int(value) - 1]) if value in range(1, 13) else shown
    sign = dial.sign if value > 0 else ""
    return f"{sign}{words.number_words(value, dial.unit)}"


def _of_stop(name: str, stop: Stop) -> float:
    return float(getattr(stop, DIALS[name].of))


def _index(text: Any, brief: Brief) -> int | None:
    """The stop an address names; ``None`` for all, and for what names none (the field then says so)."""
    text = str(text or "")
    index = int(text) if text.isascii() and text.isdigit() and len(text) < 4 else -1
    return index if 0 <= index < len(brief.trip) and len(brief.trip) > 1 else None
