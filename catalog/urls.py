"""Pages of the catalogue, under /catalogue/."""

from __future__ import annotations

from django.urls import path

from catalog.views import assemblies as a
from catalog.views import bulk as b
from catalog.views import components as c
from catalog.views import filters as f
from catalog.views import records as r

app_name = "catalog"

urlpatterns = [
    path("", c.ComponentList.as_view(), name="component_list"),
    path("components/add/", c.ComponentAdd.as_view(), name="component_add"),
    path("components/add/<slug:kind>/", c.ComponentAddKind.as_view(), name="component_add_kind"),
    path("components/<int:pk>/", c.ComponentDetail.as_view(), name="component_detail"),
    path("components/<int:pk>/edit/", c.ComponentEdit.as_view(), name="component_edit"),
    path("components/<int:pk>/copy/", c.ComponentCopy.as_view(), name="component_copy"),
    path("components/<int:pk>/retire/", c.ComponentRetire.as_view(), name="component_retire"),
    path("components/<int:pk>/restore/", c.ComponentRestore.as_view(), name="component_restore"),
    path("appliances/", r.ApplianceList.as_view(), name="appliance_list"),
    path("appliances/add/", r.ApplianceAdd.as_view(), name="appliance_add"),
    path("appliances/add/<slug:way>/", r.ApplianceAddWay.as_view(), name="appliance_add_way"),
    path("appliances/<int:pk>/", r.ApplianceDetail.as_view(), name="appliance_detail"),
    path("appliances/<int:pk>/edit/", r.ApplianceEdit.as_view(), name="appliance_edit"),
    path("appliances/<int:pk>/copy/", r.ApplianceCopy.as_view(), name="appliance_copy"),
    path("appliances/<int:pk>/retire/", r.ApplianceRetire.as_view(), name="appliance_retire"),
    path("appliances/<int:pk>/restore/", r.ApplianceRestore.as_view(), name="appliance_restore"),
    path("labour/", r.LabourList.as_view(), name="labour_list"),
    path("labour/add/", r.LabourAdd.as_view(), name="labour_add"),
    path("labour/<int:pk>/", r.LabourDetail.as_view(), name="labour_detail"),
    path("labour/<int:pk>/edit/", r.LabourEdit.as_view(), name="labour_edit"),
    path("labour/<int:pk>/retire/", r.LabourRetire.as_view(), name="labour_retire"),
    path("labour/<int:pk>/restore/", r.LabourRestore.as_view(), name="labour_restore"),
    path("assemblies/", a.AssemblyList.as_view(), name="assembly_list"),
    path("assemblies/add/", a.AssemblyAdd.as_view(), name="assembly_add"),
    path("assemblies/<int:pk>/", a.AssemblyDetail.as_view(), name="assembly_detail"),
    path("assemblies/<int:pk>/edit/", a.AssemblyEdit.as_view(), name="assembly_edit"),
    path("assemblies/<int:pk>/copy/", a.AssemblyCopy.as_view(), name="assembly_copy"),
    path("assemblies/<int:pk>/retire/", a.AssemblyRetire.as_view(), name="assembly_retire"),
    path("assemblies/<int:pk>/restore/", a.AssemblyRestore.as_view(), name="assembly_restore"),
    path("bulk/", b.BulkActions.as_view(), name="bulk_actions"),
    path("bulk/<int:pk>/undo/", b.BulkUndo.as_view(), name="bulk_undo"),
    path("bulk/<slug:about>/", b.BulkPage.as_view(), name="bulk"),
    path("filters/keep/", f.FilterKeep.as_view(), name="filter_keep"),
    path("filters/<int:pk>/rename/", f.FilterRename.as_view(), name="filter_rename"),
    path("filters/<int:pk>/remove/", f.FilterRemove.as_view(), name="filter_remove"),
    path("suppliers/", r.SupplierList.as_view(), name="supplier_list"),
    path("suppliers/add/", r.SupplierAdd.as_view(), name="supplier_add"),
    path("suppliers/<int:pk>/", r.SupplierDetail.as_view(), name="supplier_detail"),
    path("suppliers/<int:pk>/edit/", r.SupplierEdit.as_view(), name="supplier_edit"),
    path("suppliers/<int:pk>/retire/", r.SupplierRetire.as_view(), name="supplier_retire"),
    path("suppliers/<int:pk>/restore/", r.SupplierRestore.as_view(), name="supplier_restore"),
    path("sites/", r.SiteList.as_view(), name="site_list"),
    path("sites/add/", r.SiteAdd.as_view(), name="site_add"),
    path("sites/<int:pk>/", r.SiteDetail.as_view(), name="site_detail"),
    path("sites/<int:pk>/edit/", r.SiteEdit.as_view(), name="site_edit"),
    path("sites/<int:pk>/retire/", r.SiteRetire.as_view(), name="site_retire"),
    path("sites/<int:pk>/restore/", r.SiteRestore.as_view(), name="site_restore"),
]
