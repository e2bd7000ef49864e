"""Where all positions of a vehicle are, in one form: typed, or set on the plan by a script that fills it in."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from django import forms
from django.forms.boundfield import BoundField
from django.utils.translation import gettext as _

from fitouts.forms.fields import QuantityField
from fitouts.forms.vehicles import check_place
from fitouts.models import Vehicle, VehiclePosition


class PlacesOnPlanForm(forms.Form):
    """Two entries for each position; ``seen`` tells which places the form was opened on."""

    def __init__(
        self, entries: Mapping[str, Any] | None, *, vehicle: Vehicle, positions: Sequence[VehiclePosition]
    ) -> None:
        self.vehicle, self.positions = vehicle, positions
        self.seen = stamp(positions)
        super().__init__(entries)
        for position in positions:
            for name, low, high in (("x_m", 0.0, 25.0), ("y_m", -2.0, 2.0)):
                self.fields[f"p{position.pk}-{name}"] = QuantityField(
                    label=_label(position, name),
                    unit="m",
                    minimum=low,
                    maximum=high,
                    required=False,
                    initial=getattr(position, name),
                )

    def clean(self) -> dict[str, Any]:
        values = super().clean() or {}
        for position in self.positions:
            check_place(self, values, self.vehicle, f"p{position.pk}-")
        if str(self.data.get("seen", "")) != self.seen:
            self.add_error(
                None,
                _(
                    "Somebody else moved or renamed a position while the plan was open here. Nothing of yours is saved "
                    "yet. Look at the places, then save again to put yours in their place."
                ),
            )
        return values

    @property
    def places(self) -> dict[int, tuple[float | None, float | None]]:
        """What was entered, by position."""
        return {p.pk: (self.cleaned_data[f"p{p.pk}-x_m"], self.cleaned_data[f"p{p.pk}-y_m"]) for p in self.positions}

    @property
    def rows(self) -> Iterator[tuple[VehiclePosition, BoundField, BoundField]]:
        """Each position with its two entries."""
        for position in self.positions:
            yield position, self[f"p{position.pk}-x_m"], self[f"p{position.pk}-y_m"]


def _label(position: VehiclePosition, name: str) -> str:
    words = _("%(name)s: behind the front") if name == "x_m" else _("%(name)s: right of the middle")
    return words % {"name": position.name}


def stamp(positions: Sequence[VehiclePosition]) -> str:
    """Which state of a vehicle's places this is."""
    said = ";".join(f"{p.pk},{p.name},{p.x_m},{p.y_m}" for p in positions)
    return hashlib.sha256(said.encode()).hexdigest()[:16]
