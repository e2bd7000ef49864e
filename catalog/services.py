"""Every way in which the catalogue changes. Pages, imports and starter data all come through here."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import Any

from django.core.exceptions import PermissionDenied, ValidationError
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from catalog import finding, kinds, library, services_assemblies
from catalog.kinds.base import Kind
from catalog.kinds.uses import WAYS
from catalog.models import MONTHS, Appliance, Component, LabourOperation, PriceChange, Site, Supplier
from catalog.models.base import Retirable
from catalog.models.site import SERIES_LIMITS
from catalog.rules import can_edit_catalogue
from catalog.specs import rating_text
from catalog.words import problem_sentence


class SpecificationRefused(ValidationError):
    """A specification with every sentence about it, by field."""


def clean_spec(kind: Kind, raw: Mapping[str, Any]) -> dict[str, Any]:
    """The specification as it is stored, or :class:`SpecificationRefused` with a sentence for each fault."""
    try:
        return kind.clean(raw)
    except kinds.SpecError as error:
        found: dict[str, list[str]] = {}
        for problem in error.problems:
            found.setdefault(problem.field, []).append(problem_sentence(kind, problem))
        raise SpecificationRefused(found) from None


@transaction.atomic
def save_component(
    kind: str,
    raw: Mapping[str, Any],
    *,
    name: str,
    cost: Decimal,
    by: Any,
    maker: str = "",
    part_number: str = "",
    supplier: Supplier | None = None,
    sell_price: Decimal | None = None,
    mass_kg: float = 0.0,
    stock: int = 0,
    lead_days: int = 0,
    notes: str = "",
    component: Component | None = None,
) -> Component:
    """Add a component, or change ``component``; a moved cost leaves a PriceChange.

    Raises SpecificationRefused for the specification, ValidationError for everything else, PermissionDenied.
    """
    _may_edit(by)
    declaration = kinds.get(kind)
    if component is not None and component.kind != kind:
        raise ValidationError(_("A component keeps its kind. Add a new component instead."))
    spec = clean_spec(declaration, raw)
    before = None if component is None else component.cost
    row = component or Component()
    row.name, row.maker, row.part_number = name.strip(), maker.strip(), part_number.strip()
    for field, value in derived(declaration, spec, row.name).items():
        setattr(row, field, value)
    row.supplier, row.cost, row.sell_price = supplier, cost, sell_price
    row.mass_kg, row.stock, row.lead_days, row.notes = mass_kg, stock, lead_days, notes.strip()
    _save(row, by)
    if before is None or before != row.cost:
        price_change(row, str(supplier or ""), by).save()
    return row


def derived(kind: Kind, spec: Mapping[str, Any], name: str) -> dict[str, Any]:
    """Fields of a component that hold its checked specification or follow from it and its name."""
    return {
        "kind": kind.code,
        "kind_version": kind.version,
        "specification": spec,
        "rating": rating_text(kind, spec),
        "sort_key": _sort_key(name),
    }


def price_change(component: Component, supplier_name: str, by: Any) -> PriceChange:
    """The step that a moved cost leaves, not saved yet."""
    return PriceChange(
        component=component,
        cost=component.cost,
        supplier_name=supplier_name,
        changed_by_id=getattr(by, "pk", None),
    )


def _sort_key(name: str) -> str:
    """The name in small letters with every number as wide as the next.

    >>> _sort_key("Ambry FB-7.5") < _sort_key("Ambry FB-10")
    True
    """
    return re.sub(r"\d+(?:\.\d+)?", lambda match: f"{float(match[0]):012.3f}", name.lower())[:200]


def copy_component(component: Component, *, by: Any) -> Component:
    """A new component with the same values; its part number is left empty, because two cannot share one."""
    return save_component(
        component.kind,
        component.specification,
        name=_("Copy of %(name)s") % {"name": component.name[:100]},
        maker=component.maker,
        supplier=component.supplier,
        cost=component.cost,
        sell_price=component.sell_price,
        mass_kg=component.mass_kg,
        lead_days=component.lead_days,
        notes=component.notes,
        by=by,
    )


def set_stock(component: Component, stock: int, *, by: Any) -> Component:
    """Count the shelf."""
    _may_edit(by)
    component.stock = stock
    return _save(component, by)


def save_supplier(values: Mapping[str, Any], *, by: Any, supplier: Supplier | None = None) -> Supplier:
    return _save_values(supplier or Supplier(), values, by)


def save_labour(values: Mapping[str, Any], *, by: Any, operation: LabourOperation | None = None) -> LabourOperation:
    return _save_values(operation or LabourOperation(), values, by)


def save_site(values: Mapping[str, Any], *, by: Any, site: Site | None = None) -> Site:
    """Add or change a place of the workshop's own; the rows that came with the program stay as published."""
    if site is not None and not site.is_own:
        raise ValidationError(
            _("This row came with the program and stays as published. Add a row of your own instead.")
        )
    row = site or Site(is_own=True)
    changed = [name for name in CLIMATE if name in values and getattr(row, name) != values[name]]
    if row.made_from and "made_from" not in values and changed:
        values = {**values, "made_from": "", "likely_error_ratio": None}
    return _save_values(row, values, by)


CLIMATE = ("latitude_deg", "longitude_deg", "elevation_m", *SERIES_LIMITS)
"""What an estimate or a file said; once a person writes something else there, the row counts as typed."""


def save_appliance(
    way: str, use: Mapping[str, Any], values: Mapping[str, Any], *, by: Any, appliance: Appliance | None = None
) -> Appliance:
    """Add or change an appliance; ``use`` holds the values of its one way of use.

    Raises SpecificationRefused for ``use``, ValidationError for the rest, PermissionDenied.
    """
    _may_edit(by)
    if way not in WAYS:
        raise ValidationError({"way": _("Choose a way of use.")})
    row = appliance or Appliance()
    row.way, row.use = way, clean_spec(WAYS[way], use)
    check_appliance(values)
    return _save_values(row, values, by)


def copy_appliance(appliance: Appliance, *, by: Any) -> Appliance:
    """A new appliance with the same values and the next free name."""
    values = {name: value for name, value in appliance.line().items() if name not in ("use", "way")}
    values |= {"group": appliance.group, "source": appliance.source, "notes": appliance.notes}
    values["name"] = _free_name(_("Copy of %(name)s") % {"name": appliance.name[:90]})
    return save_appliance(appliance.way, appliance.use, values, by=by)


def _free_name(wanted: str) -> str:
    taken = set(Appliance.objects.filter(name__startswith=wanted).values_list("name", flat=True))
    names = (wanted if i == 1 else f"{wanted} {i}" for i in range(1, len(taken) + 2))
    return next(name for name in names if name not in taken)


APPLIANCE_LIMITS: dict[str, tuple[float, float, str]] = {
    "window_start_h": (0, 24, "h"),
    "window_end_h": (0, 24, "h"),
    "power_factor": (0.1, 1, ""),
    "start_multiple": (1, 12, ""),
    "start_s": (0, 60, "s"),
    "min_voltage_v": (5, 60, "V"),
    "restart_voltage_v": (5, 60, "V"),
    "shed_below_ratio": (0, 0.95, ""),
}
"""Ranges of a line of the power audit, as in the Brief. [unit]"""


def check_appliance(values: Mapping[str, Any]) -> None:
    """Hold the values of an appliance against the ranges of a line of the audit. Raises ValidationError."""
    found = {}
    for name, (low, high, unit) in APPLIANCE_LIMITS.items():
        value = values.get(name)
        if value is not None and not low <= value <= high:
            message = _("It is %(value)g %(unit)s; it must be at least %(low)g and at most %(high)g %(unit)s.")
            found[name] = ValidationError(message, params={"value": value, "unit": unit, "low": low, "high": high})
    cut, restart = values.get("min_voltage_v"), values.get("restart_voltage_v")
    if cut is not None and restart is not None and restart < cut:
        found["restart_voltage_v"] = ValidationError(_("It must not be below the lowest working voltage."))
    if found:
        raise ValidationError(found)


@transaction.atomic
def load_sites(rows: Iterable[Mapping[str, str]], *, by: Any) -> int:
    """Take in rows with the columns of ``library/sites.csv``; a known name is brought up to date.

    Returns how many rows were taken. All or nothing: a faulty row is named and nothing is kept.
    """
    _may_edit(by)
    known = {site.name: site for site in Site.objects.all()}
    taken = 0
    for number, row in enumerate(rows, start=2):
        site = known.get(row.get("name", "")) or Site()
        if site.pk and site.is_own:
            continue
        try:
            values = _site_values(row)
            _save_values(site, values, by)
        except (KeyError, ValueError, ValidationError) as error:
            detail = "; ".join(error.messages) if isinstance(error, ValidationError) else str(error)
            message = _("Line %(number)d (%(name)s): %(detail)s")
            raise ValidationError(message % {"number": number, "name": row.get("name", ""), "detail": detail}) from None
        taken += 1
    return taken


SITE_COLUMNS = {"ghi_kwh_m2_day": "ghi", "tmin_c": "tmin", "tmax_c": "tmax"}


def _site_values(row: Mapping[str, str]) -> dict[str, Any]:
    series = {name: [float(row[f"{column}_{month}"]) for month in MONTHS] for name, column in SITE_COLUMNS.items()}
    return {
        "name": row["name"],
        "country": row["country"],
        "latitude_deg": float(row["lat"]),
        "longitude_deg": float(row["lon"]),
        "elevation_m": float(row["elev_m"] or 0),
        "source": row["programme"],
        "notes": row.get("source_file", ""),
        **{name: series[name] for name in SERIES_LIMITS},
    }


def retire(row: Retirable, *, by: Any) -> Retirable:
    """Take a record out of use; jobs that have it keep it."""
    _may_edit(by)
    if row.retired_at is None:
        row.retired_at = timezone.now()
        _write(row, by)
    return row


def restore(row: Retirable, *, by: Any) -> Retirable:
    _may_edit(by)
    if row.retired_at is not None:
        row.retired_at = None
        _write(row, by)
    return row


def _may_edit(by: Any) -> None:
    if not can_edit_catalogue(by):
        raise PermissionDenied


def _save_values(row: Any, values: Mapping[str, Any], by: Any) -> Any:
    _may_edit(by)
    for name, value in values.items():
        setattr(row, name, value.strip() if isinstance(value, str) else value)
    return _save(row, by)


def _save(row: Any, by: Any) -> Any:
    row.full_clean()
    return _write(row, by)


@transaction.atomic
def _write(row: Any, by: Any) -> Any:
    """The row, its history and the words it is found by, together or not at all."""
    row._history_user = by
    row.save()
    return row


@transaction.atomic
def load_starter(by: Any) -> dict[str, int]:
    """Fill an empty catalogue with the library, checked and kept with history as a person's clicks are.

    What is there already by name is left alone, so loading twice adds nothing. Returns how many of each were added.
    The many rows are written together: a first start waits for this.
    """
    _may_edit(by)
    suppliers = {row.name: row for row in Supplier.objects.all()}
    added = dict.fromkeys(("suppliers", "components", "appliances", "labour", "sites"), 0)
    for values in library.SUPPLIERS:
        if values["name"] not in suppliers:
            suppliers[values["name"]] = save_supplier(values, by=by)
            added["suppliers"] += 1
    names = set(Component.objects.values_list("name", flat=True))
    components = [_starter_component(e, suppliers) for e in library.COMPONENTS if e["name"] not in names]
    added["components"] = _add_many("component", components, by)
    steps = [price_change(row, str(row.supplier or ""), by) for row in components]
    PriceChange.objects.bulk_create(steps, batch_size=AT_ONCE)
    names = set(Appliance.objects.values_list("name", flat=True))
    appliances = [_starter_appliance(e) for e in library.APPLIANCES if e["name"] not in names]
    added["appliances"] = _add_many("appliance", appliances, by)
    codes = set(LabourOperation.objects.values_list("code", flat=True))
    labour = [LabourOperation(**{"source": library.SOURCE, **v}) for v in library.LABOUR if v["code"] not in codes]
    added["labour"] = _add_many("labour", labour, by)
    if not Site.objects.exists():
        added["sites"] = load_sites(library.site_rows(), by=by)
    added["assemblies"] = services_assemblies.load_starter(library.ASSEMBLIES, by=by)
    return added


AT_ONCE = 500


def _starter_component(entry: Mapping[str, Any], suppliers: Mapping[str, Supplier]) -> Component:
    kind = kinds.get(entry["kind"])
    columns = {name: value for name, value in entry.items() if name not in ("kind", "spec", "supplier", "cost")}
    return Component(
        **columns,
        **derived(kind, clean_spec(kind, entry["spec"]), entry["name"]),
        supplier=suppliers[entry["supplier"]],
        cost=Decimal(entry["cost"]),
    )


def _starter_appliance(entry: Mapping[str, Any]) -> Appliance:
    check_appliance(entry["values"])
    columns = {name: entry[name] for name in ("name", "group", "bus", "way")}
    return Appliance(
        **columns, **entry["values"], use=clean_spec(WAYS[entry["way"]], entry["use"]), source=library.SOURCE
    )


def _add_many(about: str, rows: list[Any], by: Any) -> int:
    """Check and add new rows of one model with their history and their words, in a few statements."""
    if not rows:
        return 0
    pointing = [field.name for field in rows[0]._meta.concrete_fields if field.is_relation]
    for row in rows:
        row.full_clean(exclude=pointing, validate_unique=False, validate_constraints=False)  # the database holds these
    model: Any = type(rows[0])
    model.objects.bulk_create(rows, batch_size=AT_ONCE)
    model.history.bulk_history_create(rows, batch_size=AT_ONCE, default_user=by, default_date=timezone.now())
    finding.index_rows(about, rows)
    return len(rows)
