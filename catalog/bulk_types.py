"""What of the catalogue can be worked on many at once."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from django.utils.translation import gettext_lazy, ngettext

from catalog import filters, forms_bulk, queries
from catalog.bulk import BulkType, declare, used_by
from catalog.models import Appliance, Assembly, Component, LabourOperation, Site, Supplier
from catalog.rules import can_edit_catalogue


def phrase(one: str, many: str, rows: Callable[[Sequence[int]], Any]) -> Callable[[Sequence[int]], str]:
    """What uses records, told with its number: ``phrase("%(n)d assembly", "%(n)d assemblies", rows)``."""

    def words(keys: Sequence[int]) -> str:
        count = rows(keys).distinct().count()
        return ngettext(one, many, count) % {"n": count} if count else ""

    return words


def _declare(section: str, plural: Any, model: Any, rows: Any, filterset: Any, *forms: Any) -> None:
    declare(
        BulkType(
            about=section,
            section=section,
            plural=plural,
            model=model,
            rows=rows,
            filterset=filterset,
            list_name=f"catalog:{section}_list",
            page_name=f"catalog:{section}_detail",
            may=can_edit_catalogue,
            forms=(*forms, *forms_bulk.STATE_FORMS),
        )
    )


def declare_all() -> None:
    """Called once, when the app is ready."""
    own = forms_bulk
    _declare(
        "component",
        gettext_lazy("Components"),
        Component,
        queries.components_for,
        filters.ComponentFilter,
        own.RepriceForm,
        own.ComponentChangeForm,
    )
    _declare(
        "appliance",
        gettext_lazy("Appliances"),
        Appliance,
        queries.appliances_for,
        filters.ApplianceFilter,
        own.ApplianceChangeForm,
    )
    _declare(
        "labour",
        gettext_lazy("Labour operations"),
        LabourOperation,
        queries.labour_for,
        filters.LabourFilter,
        own.LabourChangeForm,
    )
    _declare(
        "supplier",
        gettext_lazy("Suppliers"),
        Supplier,
        queries.suppliers_for,
        filters.SupplierFilter,
        own.SupplierChangeForm,
    )
    _declare("site", gettext_lazy("Places"), Site, queries.sites_for, filters.SiteFilter)
    in_assemblies = ("%(n)d assembly", "%(n)d assemblies")
    used_by(
        "component",
        phrase(*in_assemblies, lambda keys: Assembly.objects.filter(versions__lines__component__in=keys)),
    )
    used_by("labour", phrase(*in_assemblies, lambda keys: Assembly.objects.filter(versions__lines__labour__in=keys)))
    used_by(
        "supplier",
        phrase(
            "%(n)d component in use",
            "%(n)d components in use",
            lambda keys: Component.objects.in_use().filter(supplier__in=keys),
        ),
    )
