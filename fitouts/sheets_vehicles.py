"""Columns of a table of vehicles, read and limited as the forms read and limit them."""

from __future__ import annotations

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone
from django.utils.translation import gettext as _

from catalog.sheets.columns import Column, of_form
from catalog.sheets.entries import Day, Text
from catalog.sheets.sheet_type import RowError
from fitouts.forms.vehicles import NO_ENGINE, SurveyForm, VehicleForm, vin_sentence
from fitouts.models import Vehicle
from fitouts.vin import VinError, read_vin

WHAT_IT_IS = tuple(VehicleForm.base_fields)
MEASURED = tuple(name for name in SurveyForm.base_fields if name not in WHAT_IT_IS)


class Vin(Text):
    """A VIN in capitals, its check digit held against the rest where law asks for one."""

    def taken(self, cell: str, decimal: str) -> Any:
        try:
            return read_vin(Text(forms.CharField(max_length=40)).taken(cell, decimal))[0]
        except VinError as error:
            raise ValidationError(vin_sentence(error)) from None

    @property
    def allowed(self) -> str:
        return _("17 characters, never I, O or Q")


class Plate(Text):
    """A registration in capitals with single spaces."""

    def taken(self, cell: str, decimal: str) -> Any:
        return self.field.clean(" ".join(super().taken(cell, decimal).upper().split()))


class PastDay(Day):
    """A day that has come."""

    def taken(self, cell: str, decimal: str) -> Any:
        day = super().taken(cell, decimal)
        if day > timezone.localdate():
            raise ValidationError(_("This day is still to come."))
        return day


def vehicle_columns() -> tuple[Column, ...]:
    """Columns of identity, electrics and survey. What a trailer has not is asked for only of what has an engine."""
    entries: dict[str, Any] = {
        "vin": {"entry": Vin(forms.CharField(max_length=17))},
        "registration": {"entry": Plate(VehicleForm.base_fields["registration"])},
        "surveyed_on": {"entry": PastDay(SurveyForm.base_fields["surveyed_on"])},
        "alternator_control": {"required": False},
        "body_material": {"required": False},
    }
    pairs = [(name, VehicleForm.base_fields[name]) for name in WHAT_IT_IS]
    pairs += [(name, SurveyForm.base_fields[name]) for name in MEASURED]
    return tuple(of_form(name, field, **entries.get(name, {})) for name, field in pairs)


def check_vehicle(fields: dict[str, Any]) -> dict[str, Any]:
    """How the values go together; returns what is said for it. Raises :class:`RowError`."""
    problems: dict[str, str] = {}
    if fields["is_trailer"]:
        for name, nothing in NO_ENGINE.items():
            if fields[name] not in (nothing, None, "", False):
                problems[name] = _("A trailer has no engine; leave this empty.")
    elif not fields["alternator_control"]:
        problems["alternator_control"] = _("It is missing: how is the alternator controlled?")
    highest = fields["nominal_v"] * 4 / 3
    for name in ("hot_idle_v", "cranking_v"):
        if fields[name] is not None and fields[name] > highest:
            words = _("%(volts)g V is too much for a %(nominal)d V vehicle: at most %(highest)g V.")
            problems[name] = words % {"volts": fields[name], "nominal": fields["nominal_v"], "highest": highest}
    if problems:
        raise RowError(problems)
    said = {"body_material": fields["body_material"] or Vehicle.BodyMaterial.UNKNOWN}
    return said | NO_ENGINE if fields["is_trailer"] else said
