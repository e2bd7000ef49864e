"""Forms of the catalogue: built from declarations, numbers typed as people write them."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.db.models import Q
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from catalog import services
from catalog.form_fields import AmountField, CurveField, ListField, QuantityField, field_for
from catalog.kinds.base import Kind
from catalog.kinds.uses import WAYS
from catalog.models import MONTHS, Appliance, Component, LabourOperation, Site, Supplier
from catalog.models.site import SERIES_LIMITS, SERIES_UNITS
from catalog.services import APPLIANCE_LIMITS
from catalog.specs import typed_field

SPEC = "spec_"
"""Before the names of a specification's entries, so that none meets a column's name."""

__all__ = ["AmountField", "CurveField", "ListField", "QuantityField"]


class KeptForm(forms.Form):
    """A form whose ``save`` calls one service; what the service refuses comes back beside its entry."""

    def __init__(self, *args: Any, record: Any = None, **kwargs: Any) -> None:
        self.record = record
        if record is not None:
            kwargs["initial"] = {**_initial(record, self.base_fields), **(kwargs.get("initial") or {})}
        super().__init__(*args, **kwargs)

    def save(self, *, by: Any) -> Any:
        """Call the service; ``None`` when it refused, with the reasons in ``errors``."""
        try:
            return self.call(by)
        except ValidationError as error:
            self.take(error)
            return None

    def call(self, by: Any) -> Any:
        raise NotImplementedError

    def take(self, error: ValidationError, prefix: str = "") -> None:
        """Put each message beside its entry, or above the form when it has none."""
        if not hasattr(error, "error_dict"):
            self.add_error(None, error)
            return
        for name, messages in error.message_dict.items():
            target = f"{prefix}{name}" if f"{prefix}{name}" in self.fields else name
            for message in messages:
                self.add_error(target if target in self.fields else None, message)

    def sections(self) -> list[tuple[str, list[forms.BoundField]]]:
        return [(title, [self[name] for name in names if name in self.fields]) for title, names in self.parts()]

    def parts(self) -> list[tuple[str, list[str]]]:
        return []


class SpecForm(KeptForm):
    """A form with the entries of one declaration."""

    kind: Kind

    def add_spec_fields(self, kind: Kind, spec: Mapping[str, Any] | None) -> None:
        self.kind = kind
        for declared in kind.fields:
            self.fields[SPEC + declared.name] = field_for(declared)
            if spec is not None:
                self.initial.setdefault(SPEC + declared.name, typed_field(declared, spec.get(declared.name)))

    def spec_names(self) -> list[str]:
        return [SPEC + declared.name for declared in self.kind.fields]

    def spec_parts(self) -> list[tuple[str, list[str]]]:
        """The specification proper, then its sections under headings of their own."""
        sections: dict[str, list[str]] = {"": []}
        for declared in self.kind.fields:
            sections.setdefault(declared.section, []).append(SPEC + declared.name)
        return [(_(title) if title else _("Specification"), names) for title, names in sections.items() if names]

    def spec(self) -> dict[str, Any]:
        values = {f.name: self.cleaned_data.get(SPEC + f.name) for f in self.kind.fields}
        return {name: value for name, value in values.items() if value not in (None, "")}

    def clean(self) -> dict[str, Any]:
        cleaned: dict[str, Any] = super().clean() or self.cleaned_data
        if not any(name.startswith(SPEC) for name in self.errors):
            try:
                services.clean_spec(self.kind, self.spec())
            except services.SpecificationRefused as error:
                self.take(error, SPEC)
        return cleaned


class ComponentForm(SpecForm):
    """One component of one kind."""

    name = forms.CharField(
        label=gettext_lazy("Name"), max_length=120, help_text=gettext_lazy("As it reads on a quote.")
    )
    maker = forms.CharField(label=gettext_lazy("Maker"), max_length=80, required=False)
    part_number = forms.CharField(label=gettext_lazy("Part number"), max_length=80, required=False)
    supplier = forms.ModelChoiceField(
        Supplier.objects.none(), label=gettext_lazy("Supplier"), required=False, empty_label=gettext_lazy("none")
    )
    cost = AmountField(label=gettext_lazy("Cost"), minimum=Decimal(0))
    sell_price = AmountField(
        label=gettext_lazy("Own selling price"),
        minimum=Decimal(0),
        required=False,
        help_text=gettext_lazy("Without tax. Left empty, cost and markup make it."),
    )
    mass_kg = QuantityField(label=gettext_lazy("Mass"), unit="kg", minimum=0, maximum=2000)
    stock = QuantityField(label=gettext_lazy("On the shelf"), minimum=0, maximum=1000000, whole=True)
    lead_days = QuantityField(label=gettext_lazy("Lead time"), unit="d", minimum=0, maximum=720, whole=True)
    notes = forms.CharField(
        label=gettext_lazy("Notes"), max_length=2000, required=False, widget=forms.Textarea(attrs={"rows": 3})
    )

    def __init__(
        self, *args: Any, kind: Kind, component: Component | None = None, currency: str = "", **kwargs: Any
    ) -> None:
        self.component = component
        initial = (
            {"mass_kg": "", "stock": "0", "lead_days": "0"} if component is None else _initial(component, self.COLUMNS)
        )
        super().__init__(*args, initial={**initial, **(kwargs.pop("initial", None) or {})}, **kwargs)
        per_metre = kind.priced_per == "metre"
        fields: dict[str, Any] = self.fields
        fields["cost"].help_text = (
            _("What the workshop pays for a metre, without tax.")
            if per_metre
            else _("What the workshop pays, without tax.")
        )
        for name in ("cost", "sell_price"):
            fields[name].unit = f"{currency}/m" if per_metre and currency else currency
        if per_metre:
            fields["mass_kg"].label = _("Mass of a metre")
            fields["stock"].unit = "m"
        in_use = Q(retired_at=None) if component is None else Q(retired_at=None) | Q(pk=component.supplier_id)
        fields["supplier"].queryset = Supplier.objects.filter(in_use)
        self.add_spec_fields(kind, component.specification if component else _defaults(kind))

    COLUMNS = (
        "name",
        "maker",
        "part_number",
        "supplier",
        "cost",
        "sell_price",
        "mass_kg",
        "stock",
        "lead_days",
        "notes",
    )

    def parts(self) -> list[tuple[str, list[str]]]:
        return [
            (_("What it is"), ["name", "maker", "part_number", "mass_kg"]),
            *self.spec_parts(),
            (_("Buying and stock"), ["supplier", "cost", "sell_price", "stock", "lead_days", "notes"]),
        ]

    def call(self, by: Any) -> Component:
        columns = {name: self.cleaned_data[name] for name in self.COLUMNS}
        return services.save_component(self.kind.code, self.spec(), by=by, component=self.component, **columns)


class SupplierForm(KeptForm):
    name = forms.CharField(label=gettext_lazy("Name"), max_length=120)
    contact = forms.CharField(label=gettext_lazy("Contact"), max_length=120, required=False)
    email = forms.EmailField(label=gettext_lazy("E-mail"), required=False)
    phone = forms.CharField(label=gettext_lazy("Phone"), max_length=40, required=False)
    account_no = forms.CharField(label=gettext_lazy("Our account number"), max_length=60, required=False)
    closes_at = forms.TimeField(
        label=gettext_lazy("Takes orders until"), required=False, help_text=gettext_lazy("As 16:30.")
    )
    notes = forms.CharField(
        label=gettext_lazy("Notes"), max_length=2000, required=False, widget=forms.Textarea(attrs={"rows": 3})
    )

    def call(self, by: Any) -> Supplier:
        return services.save_supplier(self.cleaned_data, by=by, supplier=self.record)


class LabourForm(KeptForm):
    name = forms.CharField(label=gettext_lazy("Operation"), max_length=120)
    code = forms.CharField(
        label=gettext_lazy("Code"),
        max_length=40,
        help_text=gettext_lazy("What a bill asks for, as fit_battery: small letters, digits, underscores."),
    )
    unit = forms.ChoiceField(label=gettext_lazy("Per"), choices=LabourOperation.Unit.choices)
    minutes_per_unit = QuantityField(label=gettext_lazy("Time"), unit="min", minimum=0.1, maximum=2400)
    is_licensed = forms.BooleanField(label=gettext_lazy("For licensed people only"), required=False)
    source = forms.CharField(
        label=gettext_lazy("Source of the figure"), max_length=200, initial=gettext_lazy("workshop practice")
    )
    notes = forms.CharField(
        label=gettext_lazy("Notes"), max_length=2000, required=False, widget=forms.Textarea(attrs={"rows": 3})
    )

    def call(self, by: Any) -> LabourOperation:
        return services.save_labour(self.cleaned_data, by=by, operation=self.record)


class LoadForm(SpecForm):
    """When a load runs, how it starts and what voltage it bears: of an appliance and of a line of an audit alike."""

    window_start_h = QuantityField(label=gettext_lazy("Used from"), unit="h", minimum=0, maximum=24, initial="0")
    window_end_h = QuantityField(label=gettext_lazy("Used until"), unit="h", minimum=0, maximum=24, initial="24")
    power_factor = QuantityField(label=gettext_lazy("Power factor"), minimum=0.1, maximum=1, initial="1")
    start_multiple = QuantityField(
        label=gettext_lazy("Starts at"),
        unit=gettext_lazy("× running"),
        minimum=1,
        maximum=12,
        initial="1",
        read_unit="",
    )
    start_s = QuantityField(label=gettext_lazy("Start lasts"), unit="s", minimum=0, maximum=60, initial="0")
    min_voltage_v = QuantityField(label=gettext_lazy("Works down to"), unit="V", minimum=5, maximum=60, required=False)
    restart_voltage_v = QuantityField(
        label=gettext_lazy("Starts again at"), unit="V", minimum=5, maximum=60, required=False
    )


class ApplianceForm(LoadForm):
    """An appliance with one way of use, whose entries come from the way's declaration."""

    name = forms.CharField(label=gettext_lazy("Appliance"), max_length=120)
    group = forms.ChoiceField(label=gettext_lazy("Group"), choices=Appliance.Group.choices)
    bus = forms.ChoiceField(label=gettext_lazy("Fed from"), choices=Appliance.Bus.choices)
    shed_below_ratio = QuantityField(
        label=gettext_lazy("Let go below charge of"), unit="%", minimum=0, maximum=0.95, factor=100, required=False
    )
    essential = forms.BooleanField(label=gettext_lazy("Essential"), required=False)
    always_live = forms.BooleanField(label=gettext_lazy("Always live when parked up"), required=False)
    critical = forms.BooleanField(label=gettext_lazy("Critical circuit (smaller voltage drop)"), required=False)
    at_once = forms.BooleanField(label=gettext_lazy("Counts in the coincident peak"), required=False, initial=True)
    source = forms.CharField(
        label=gettext_lazy("Source of the figures"), max_length=200, initial=gettext_lazy("common practice")
    )
    notes = forms.CharField(
        label=gettext_lazy("Notes"), max_length=2000, required=False, widget=forms.Textarea(attrs={"rows": 3})
    )

    def __init__(self, *args: Any, way: str, record: Appliance | None = None, **kwargs: Any) -> None:
        self.way = way
        super().__init__(*args, record=record, **kwargs)
        if record is not None and record.shed_below_ratio is not None:
            self.initial["shed_below_ratio"] = record.shed_below_ratio
        same_way = record is not None and record.way == way
        self.add_spec_fields(WAYS[way], record.use if record is not None and same_way else _defaults(WAYS[way]))

    def parts(self) -> list[tuple[str, list[str]]]:
        columns = [name for name in APPLIANCE_LIMITS if name != "shed_below_ratio"]
        ticks = ["essential", "shed_below_ratio", "always_live", "critical", "at_once"]
        return [
            (_("What it is"), ["name", "group", "bus"]),
            (_("Use: %(way)s") % {"way": _(self.kind.label)}, self.spec_names()),
            (_("When and how it starts"), columns),
            (_("What it may ask"), ticks),
            (_("Where it comes from"), ["source", "notes"]),
        ]

    def call(self, by: Any) -> Appliance:
        values = {name: value for name, value in self.cleaned_data.items() if not name.startswith(SPEC)}
        return services.save_appliance(self.way, self.spec(), values, by=by, appliance=self.record)


class SiteForm(KeptForm):
    """A place of the workshop's own, twelve values in each of three rows."""

    name = forms.CharField(label=gettext_lazy("Place"), max_length=120)
    country = forms.CharField(
        label=gettext_lazy("Country"), min_length=3, max_length=3, help_text=gettext_lazy("Three letters, as AUS.")
    )
    latitude_deg = QuantityField(
        label=gettext_lazy("Latitude"),
        unit="°",
        minimum=-66.5,
        maximum=66.5,
        help_text=gettext_lazy("South is negative."),
    )
    longitude_deg = QuantityField(
        label=gettext_lazy("Longitude"),
        unit="°",
        minimum=-180,
        maximum=180,
        help_text=gettext_lazy("West is negative."),
    )
    elevation_m = QuantityField(label=gettext_lazy("Elevation"), unit="m", minimum=-450, maximum=6000)
    record_low_c = QuantityField(label=gettext_lazy("Record low"), unit="°C", minimum=-70, maximum=30, required=False)
    source = forms.CharField(label=gettext_lazy("Source"), max_length=200)
    notes = forms.CharField(
        label=gettext_lazy("Notes"), max_length=2000, required=False, widget=forms.Textarea(attrs={"rows": 3})
    )

    TITLES = {
        "ghi_kwh_m2_day": gettext_lazy("Sun on the flat, monthly mean of a day"),
        "tmin_c": gettext_lazy("Mean daily minimum"),
        "tmax_c": gettext_lazy("Mean daily maximum"),
    }

    def __init__(self, *args: Any, record: Site | None = None, **kwargs: Any) -> None:
        super().__init__(*args, record=record, **kwargs)
        for series, (low, high) in SERIES_LIMITS.items():
            for i, month in enumerate(MONTHS):
                self.fields[f"{series}_{month}"] = QuantityField(
                    label=month.capitalize(), unit=SERIES_UNITS[series], minimum=low, maximum=high
                )
                if record is not None:
                    self.initial[f"{series}_{month}"] = getattr(record, series)[i]

    def parts(self) -> list[tuple[str, list[str]]]:
        place = ["name", "country", "latitude_deg", "longitude_deg", "elevation_m", "record_low_c", "source", "notes"]
        months = [(str(title), [f"{series}_{month}" for month in MONTHS]) for series, title in self.TITLES.items()]
        return [(_("Where"), place), *months]

    def call(self, by: Any) -> Site:
        values = {name: self.cleaned_data[name] for name in self.base_fields}
        values["country"] = values["country"].upper()
        for series in SERIES_LIMITS:
            values[series] = [self.cleaned_data[f"{series}_{month}"] for month in MONTHS]
        return services.save_site(values, by=by, site=self.record)


def _initial(record: Any, names: Any) -> dict[str, Any]:
    return {name: getattr(record, name) for name in names}


def _defaults(kind: Kind) -> dict[str, Any]:
    return {f.name: f.default for f in kind.fields}
