"""The bare table page: sign-in, the first rows of a list, and a plain template. What lists are held against."""

from __future__ import annotations

from typing import Any

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.template import Context, Engine
from django.urls import path

from catalog.models import Appliance, Component
from fitouts.config import urls
from fitouts.models import Customer, Fitout, Vehicle

ROWS = {
    "component": (Component.objects.select_related("supplier").order_by("sort_key", "pk"), 30),
    "appliance": (Appliance.objects.order_by("name"), 30),
    "customer": (Customer.objects.order_by("name", "pk"), 40),
    "vehicle": (Vehicle.objects.select_related("customer").order_by("registration", "pk"), 40),
    "job": (Fitout.objects.select_related("customer", "vehicle", "assigned_to").order_by("-number"), 50),
}
COLUMNS = {
    "component": ("name", "kind", "rating", "mass_kg", "cost", "stock", "lead_days", "supplier"),
    "appliance": ("name", "group", "bus", "use", "start_multiple", "source"),
    "customer": ("name", "kind", "phone", "email", "pk", "created_at"),
    "vehicle": ("registration", "make", "customer", "nominal_v", "surveyed_on", "pk"),
    "job": ("number", "title", "customer", "vehicle", "stage", "assigned_to", "created_at"),
}
PLAIN = Engine().from_string(
    "<!doctype html><title>Bare</title><table>{% for row in rows %}<tr>"
    "{% for cell in row %}<td>{{ cell }}</td>{% endfor %}</tr>{% endfor %}</table>"
)


@login_required(login_url="/")
def bare(request: HttpRequest, about: str) -> HttpResponse:
    rows, count = ROWS[about]
    table: list[list[Any]] = [[getattr(row, name) for name in COLUMNS[about]] for row in rows.all()[:count]]
    return HttpResponse(PLAIN.render(Context({"rows": table})))


urlpatterns = [path("bare/<str:about>/", bare), *urls.urlpatterns]
