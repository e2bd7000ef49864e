"""Customers and their contacts."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST
from django_filters.views import FilterView
from django_tables2 import SingleTableMixin

from catalog.changes import changes
from catalog.conflicts import watch
from catalog.paging import LongListPaginator
from catalog.views.picking import PickRows
from fitouts import queries
from fitouts.filters import CustomerFilter
from fitouts.forms.customers import ContactForm, CustomerForm
from fitouts.models import Contact, Customer
from fitouts.rules import can_edit_customers, is_staff_member
from fitouts.services import customers
from fitouts.tables import CustomerTable
from fitouts.views.access import RuleRequired, StaffRequest, needs
from fitouts.views.posting import carry_out


class CustomerList(RuleRequired, PickRows, SingleTableMixin, FilterView):
    pick_about = "customer"
    rule = staticmethod(is_staff_member)
    template_name = "fitouts/customer_list.html"
    table_class = CustomerTable
    filterset_class = CustomerFilter
    table_pagination = {"per_page": 40, "paginator_class": LongListPaginator}
    strict = False

    def get_queryset(self) -> Any:
        return queries.customer_list(self.request.user)

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        context = super().get_context_data(**kwargs)
        context["may_edit"] = can_edit_customers(self.request.user)
        table = context["table"]
        table.empty_text = _("No customer like that. Look for less, or tick “Retired too”.")
        return context


@needs(is_staff_member)
def customer(request: StaffRequest, pk: int) -> HttpResponse:
    found = get_object_or_404(queries.customers_for(request.user), pk=pk)
    contact_rows = Contact.history.filter(customer_id=found.pk)
    context = {
        "customer": found,
        "contacts": found.contacts.all(),
        "vehicles": queries.vehicle_list(request.user).filter(customer=found),
        "jobs": queries.jobs_of(customer=found),
        "installed": queries.installed_in(vehicle__customer=found),
        "changes": changes((_("Customer"), found.history.all()), (_("Contact"), contact_rows)),
        "may_edit": can_edit_customers(request.user) and not found.erased_at,
    }
    return render(request, "fitouts/customer.html", context)


@needs(can_edit_customers)
def customer_add(request: StaffRequest) -> HttpResponse:
    form = CustomerForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        made = carry_out(form, customers.add_customer, by=request.user, **form.cleaned_data)
        if made:
            messages.success(request, _("Customer added. Now add a vehicle."))
            return redirect("customer", made.pk)
    return render(request, "fitouts/customer_form.html", {"form": form, "back": reverse("customer_list")})


@needs(can_edit_customers)
def customer_edit(request: StaffRequest, pk: int) -> HttpResponse:
    found = get_object_or_404(queries.customers_for(request.user), pk=pk)
    form = CustomerForm(request.POST or None, instance=found)
    watch(form, found, request.POST, reader=request.user)
    if (
        request.method == "POST"
        and form.is_valid()
        and carry_out(form, customers.change_customer, found, by=request.user, **form.cleaned_data)
    ):
        messages.success(request, _("Saved. Papers already issued keep what they said."))
        return redirect("customer", found.pk)
    context = {"form": form, "customer": Customer.objects.get(pk=pk), "back": reverse("customer", args=[pk])}
    return render(request, "fitouts/customer_form.html", context)


@require_POST
@needs(can_edit_customers)
def customer_retire(request: StaffRequest, pk: int) -> HttpResponse:
    """Retire a customer, or bring one back."""
    found = get_object_or_404(queries.customers_for(request.user), pk=pk)
    if found.retired_at:
        try:
            customers.restore_customer(found, by=request.user)
        except ValidationError as refused:
            messages.error(request, " ".join(refused.messages))
        else:
            messages.success(request, _("The customer is back in the lists."))
    else:
        customers.retire_customer(found, by=request.user)
        messages.success(request, _("Retired. Nothing was deleted; “Retired too” in the list finds them again."))
    return redirect("customer", pk)


@needs(can_edit_customers)
def contact_add(request: StaffRequest, pk: int) -> HttpResponse:
    found = get_object_or_404(queries.customers_for(request.user), pk=pk)
    form = ContactForm(request.POST or None, instance=Contact(customer=found))
    if (
        request.method == "POST"
        and form.is_valid()
        and carry_out(form, customers.add_contact, found, by=request.user, **form.cleaned_data)
    ):
        return redirect("customer", found.pk)
    context = {"form": form, "customer": found, "back": reverse("customer", args=[pk])}
    return render(request, "fitouts/contact_form.html", context)


@needs(can_edit_customers)
def contact_edit(request: StaffRequest, pk: int) -> HttpResponse:
    found = get_object_or_404(queries.contacts_for(request.user), pk=pk)
    form = ContactForm(request.POST or None, instance=found)
    watch(form, found, request.POST, reader=request.user)
    if (
        request.method == "POST"
        and form.is_valid()
        and carry_out(form, customers.change_contact, found, by=request.user, **form.cleaned_data)
    ):
        return redirect("customer", found.customer_id)
    context = {
        "form": form,
        "contact": found,
        "customer": found.customer,
        "back": reverse("customer", args=[found.customer_id]),
    }
    return render(request, "fitouts/contact_form.html", context)


@require_POST
@needs(can_edit_customers)
def contact_remove(request: StaffRequest, pk: int) -> HttpResponse:
    found = get_object_or_404(queries.contacts_for(request.user), pk=pk)
    customers.remove_contact(found, by=request.user)
    messages.success(request, _("Contact removed."))
    return redirect("customer", found.customer_id)
