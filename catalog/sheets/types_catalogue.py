"""Tables of appliances, labour, suppliers and sites.

Appliances have one type of table for each way of use, as components have one for each kind: which columns a new
appliance needs hangs on the way, so a table of one way has only columns that mean something in every row.
"""

from __future__ import annotations

from functools import cached_property
from typing import Any

from django.db.models import QuerySet
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from catalog.form_fields import QuantityField
from catalog.forms import ApplianceForm, LabourForm, SiteForm, SupplierForm
from catalog.kinds.base import Kind, SpecError
from catalog.models import MONTHS, Appliance, LabourOperation, MadeFrom, Site, Supplier
from catalog.models.site import SERIES_LIMITS, SERIES_UNITS
from catalog.services import CLIMATE, check_appliance
from catalog.sheets.columns import Column, of_form
from catalog.sheets.declared import declared_entry
from catalog.sheets.entries import Choice, Quantity
from catalog.sheets.matching import Index, OneFieldIndex
from catalog.sheets.sheet_type import RowError, SheetType, Values
from catalog.sheets.types_components import SPEC, unlike
from catalog.words import problem_sentence


class _Named(SheetType):
    """Records that are found by their name, which is theirs alone."""

    def index(self) -> Index:
        return OneFieldIndex(self.model._default_manager.values_list("name", "pk"))


class SupplierSheet(_Named):
    code = "supplier"
    words = gettext_lazy("suppliers")
    group = gettext_lazy("Others")
    model = Supplier
    about = "supplier"
    columns = tuple(of_form(name, field) for name, field in SupplierForm.base_fields.items())


class LabourSheet(SheetType):
    code = "labour"
    words = gettext_lazy("labour operations")
    group = gettext_lazy("Others")
    model = LabourOperation
    about = "labour"
    finds = ("code",)
    columns = tuple(
        of_form(name, field, **({"required": False, "default": "workshop practice"} if name == "source" else {}))
        for name, field in LabourForm.base_fields.items()
    )

    def index(self) -> Index:
        return OneFieldIndex(LabourOperation.objects.values_list("code", "pk"), "code")


class ApplianceSheet(_Named):
    """Appliances of one way of use."""

    group = gettext_lazy("Appliances")
    model = Appliance
    about = "appliance"

    def __init__(self, way: Kind) -> None:
        self.way, self.code = way, f"appliance:{way.code}"
        self.words = way.label

    @property
    def label(self) -> str:
        return _("Appliances: %(way)s") % {"way": _(self.way.label)}

    @cached_property
    def columns(self) -> tuple[Column, ...]:  # type: ignore[override]
        plain = []
        for name, field in ApplianceForm.base_fields.items():
            more: dict[str, Any] = {}
            if name not in ("name", "group"):
                more = {"required": False, "default": _default(name)}
            plain.append(of_form(name, field, **more))
        head = [column for column in plain if column.name in ("name", "group", "bus")]
        use = [
            Column(
                SPEC + field.name,
                field.label,
                declared_entry(field),
                required=field.required and field.default is None,
                note=field.help,
                default=field.default,
            )
            for field in self.way.fields
        ]
        return unlike((*head, *use, *(column for column in plain if column not in head)))

    def current(self, record: Any) -> Values:
        values = {c.name: getattr(record, c.name) for c in self.columns if not c.name.startswith(SPEC)}
        for field in self.way.fields:
            values[SPEC + field.name] = record.use.get(field.name, field.default)
        return values

    def fields(self, values: Values, record: Any, index: Any) -> Values:
        fields = {name: value for name, value in values.items() if not name.startswith(SPEC)}
        if record is not None and record.way != self.way.code:
            words = _("“%(name)s” is kept as “%(way)s”; a table does not change the way of use.")
            raise RowError({"name": words % {"name": record, "way": record.get_way_display()}})
        problems: dict[str, str] = {}
        raw = {f.name: values[SPEC + f.name] for f in self.way.fields if values[SPEC + f.name] is not None}
        try:
            fields |= {"way": self.way.code, "use": self.way.clean(raw)}
        except SpecError as error:
            for problem in error.problems:
                problems[SPEC + problem.field] = problem_sentence(self.way, problem)
        if problems:
            raise RowError(problems)
        check_appliance(fields)
        return fields

    def rows_for(self, user: Any) -> QuerySet[Any]:
        return super().rows_for(user).filter(way=self.way.code)


def _default(name: str) -> Any:
    """What the model gives a field that is not told; words that stand for nothing count as none."""
    field: Any = Appliance._meta.get_field(name)
    return field.get_default() if field.has_default() else None


SERIES_HEADS = {
    "ghi_kwh_m2_day": gettext_lazy("Sun"),
    "tmin_c": gettext_lazy("Mean minimum"),
    "tmax_c": gettext_lazy("Mean maximum"),
}


def _months() -> list[Column]:
    columns = []
    for series, (low, high) in SERIES_LIMITS.items():
        for month in MONTHS:
            field = QuantityField(unit=SERIES_UNITS[series], minimum=low, maximum=high)
            head: dict[str, Any] = {"prefix": SERIES_HEADS[series], "note": SiteForm.TITLES[series]}
            columns.append(Column(f"{series}_{month}", month, Quantity(field), required=True, **head))
    return columns


MADE = ("made_from", "likely_error_ratio")
"""How an estimate or a file is told from a row that was typed, in tables too."""


def _made() -> tuple[Column, ...]:
    """Columns that the form of a typed place does not have: empty, the row is a typed one."""
    error = QuantityField(unit="%", minimum=0.001, maximum=1, factor=100, required=False)
    return (
        Column("made_from", gettext_lazy("Figures come from"), Choice(MadeFrom.choices), default=""),
        Column("likely_error_ratio", gettext_lazy("Likely error of a month's sun"), Quantity(error)),
    )


class SiteSheet(_Named):
    """Places; those that came with the program stay as published."""

    code = "site"
    words = gettext_lazy("places and their climate")
    group = gettext_lazy("Others")
    model = Site
    about = "site"
    columns = (*(of_form(name, field) for name, field in SiteForm.base_fields.items()), *_months(), *_made())

    def current(self, record: Any) -> Values:
        values = {name: getattr(record, name) for name in (*SiteForm.base_fields, *MADE)}
        for series in SERIES_LIMITS:
            for month, value in zip(MONTHS, getattr(record, series), strict=True):
                values[f"{series}_{month}"] = value
        return values

    def settled(self, values: Values, record: Any) -> Values:
        """A climate written over where nothing new is said of its making counts as typed, as on the page."""
        if record is None or not record.made_from:
            return values
        old = self.current(record)
        is_said = any(values[name] != old[name] for name in MADE)
        is_moved = any(values[name] != old[name] for name in old if name.startswith(CLIMATE))
        return values if is_said or not is_moved else {**values, "made_from": "", "likely_error_ratio": None}

    def fields(self, values: Values, record: Any, index: Any) -> Values:
        fields = {name: values[name] for name in (*SiteForm.base_fields, *MADE)}
        fields["country"] = fields["country"].upper()
        for series in SERIES_LIMITS:
            fields[series] = [values[f"{series}_{month}"] for month in MONTHS]
        fields["is_own"] = True if record is None else record.is_own
        return fields

    def refusal(self, record: Any) -> str:
        if not record.is_own:
            words = _("“%(name)s” came with the program and stays as published. Give your own place another name.")
            return words % {"name": record}
        return super().refusal(record)

    def column_of(self, field: str) -> str:
        return f"{field}_{MONTHS[0]}" if field in SERIES_LIMITS else super().column_of(field)
