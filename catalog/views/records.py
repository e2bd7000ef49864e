"""Pages of appliances, labour operations, suppliers and sites."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils.translation import gettext as _
from django.views.generic import TemplateView, View

from catalog import services
from catalog.filters import ApplianceFilter, LabourFilter, SiteFilter, SupplierFilter
from catalog.forms import ApplianceForm, LabourForm, SiteForm, SupplierForm
from catalog.kinds.uses import WAYS
from catalog.queries import appliances_for, components_for, labour_for, sites_for, suppliers_for
from catalog.site_chart import site_chart
from catalog.specs import columns
from catalog.tables import ApplianceTable, LabourTable, SiteTable, SupplierTable
from catalog.views.base import Editor, EditPage, FormPage, ListPage, RecordPage, state_changes
from catalog.words import labour_time


class ApplianceList(ListPage):
    section = "appliance"
    rows = staticmethod(appliances_for)
    filterset_class = ApplianceFilter
    table_class = ApplianceTable
    template_name = "catalog/appliance_list.html"


class ApplianceDetail(RecordPage):
    section = "appliance"
    rows = staticmethod(appliances_for)
    template_name = "catalog/appliance_detail.html"
    context_object_name = "appliance"

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        way = WAYS[self.object.way]
        return super().get_context_data(way=way, rows=columns(way, self.object.use), **kwargs)


class ApplianceAdd(Editor, TemplateView):
    """First: which way of use."""

    section = "appliance"
    template_name = "catalog/appliance_add.html"

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        return super().get_context_data(ways=list(WAYS.values()), **kwargs)


class ApplianceAddWay(FormPage):
    section = "appliance"
    form_class = ApplianceForm

    def get_form_kwargs(self) -> dict[str, Any]:
        if self.kwargs["way"] not in WAYS:
            raise Http404
        return {**super().get_form_kwargs(), "way": self.kwargs["way"]}

    def get_title(self) -> str:
        return _("Add an appliance")


class ApplianceEdit(EditPage):
    section = "appliance"
    rows = staticmethod(appliances_for)
    form_class = ApplianceForm

    def get_form_kwargs(self) -> dict[str, Any]:
        way = self.request.GET.get("way", self.record.way)
        return {**super().get_form_kwargs(), "way": way if way in WAYS else self.record.way}

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        context = super().get_context_data(**kwargs)
        return context | {"ways": [way for way in WAYS.values() if way.code != context["form"].way]}


class ApplianceCopy(Editor, View):
    def post(self, request: HttpRequest, pk: int) -> HttpResponse:
        original = get_object_or_404(appliances_for(request.user), pk=pk)
        copy = services.copy_appliance(original, by=request.user)
        messages.success(request, _("This is the copy. Give it its own name."))
        return redirect("catalog:appliance_edit", pk=copy.pk)


ApplianceRetire, ApplianceRestore = state_changes("appliance", appliances_for)


class LabourList(ListPage):
    section = "labour"
    rows = staticmethod(labour_for)
    filterset_class = LabourFilter
    table_class = LabourTable
    template_name = "catalog/labour_list.html"


class LabourDetail(RecordPage):
    section = "labour"
    rows = staticmethod(labour_for)
    template_name = "catalog/labour_detail.html"
    context_object_name = "operation"

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        time = labour_time(self.object.minutes_per_unit, self.object.unit)
        return super().get_context_data(time=time, **kwargs)


class LabourAdd(FormPage):
    section = "labour"
    form_class = LabourForm

    def get_title(self) -> str:
        return _("Add a labour operation")


class LabourEdit(EditPage):
    section = "labour"
    rows = staticmethod(labour_for)
    form_class = LabourForm


LabourRetire, LabourRestore = state_changes("labour", labour_for)


class SupplierList(ListPage):
    section = "supplier"
    rows = staticmethod(suppliers_for)
    filterset_class = SupplierFilter
    table_class = SupplierTable
    template_name = "catalog/supplier_list.html"


class SupplierDetail(RecordPage):
    section = "supplier"
    rows = staticmethod(suppliers_for)
    template_name = "catalog/supplier_detail.html"
    context_object_name = "supplier"

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        parts = components_for(self.request.user).in_use().filter(supplier=self.object)[:100]
        return super().get_context_data(components=parts, **kwargs)


class SupplierAdd(FormPage):
    section = "supplier"
    form_class = SupplierForm

    def get_title(self) -> str:
        return _("Add a supplier")


class SupplierEdit(EditPage):
    section = "supplier"
    rows = staticmethod(suppliers_for)
    form_class = SupplierForm


SupplierRetire, SupplierRestore = state_changes("supplier", suppliers_for)


class SiteList(ListPage):
    section = "site"
    rows = staticmethod(sites_for)
    filterset_class = SiteFilter
    table_class = SiteTable
    template_name = "catalog/site_list.html"


class SiteDetail(RecordPage):
    section = "site"
    rows = staticmethod(sites_for)
    template_name = "catalog/site_detail.html"
    context_object_name = "site"

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        site = self.object
        chart = site_chart(site.ghi_kwh_m2_day, site.tmin_c, site.tmax_c, site.likely_error_ratio)
        return super().get_context_data(chart=chart, mean_ghi=sum(site.ghi_kwh_m2_day) / 12, **kwargs)


class SiteAdd(FormPage):
    section = "site"
    form_class = SiteForm

    def get_title(self) -> str:
        return _("Add a place")


class SiteEdit(EditPage):
    """Only the workshop's own rows: those that came with the program stay as published."""

    section = "site"
    form_class = SiteForm

    @staticmethod
    def rows(user: Any) -> Any:
        return sites_for(user).filter(is_own=True)


SiteRetire, SiteRestore = state_changes("site", sites_for)
