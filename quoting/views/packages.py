"""Packages: their list, the page of a version, its price on request, retired and taken back."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe
from django_tables2 import RequestConfig

from fitouts.models import Fitout, JobPackage
from fitouts.services import packages
from fitouts.services.fitouts import PackageNameTaken, contents
from fitouts.views.access import needs
from quoting import rules
from quoting.queries import packages as queries
from quoting.services import package_price
from quoting.sizing.errors import SizingError
from quoting.tables_packages import PackageTable
from quoting.views.page import person

PER_PAGE = 30


@require_safe
@needs()
def package_list(request: HttpRequest) -> HttpResponse:
    """The version in force of every package; retired ones on request."""
    with_retired = request.GET.get("retired") == "on"
    rows = queries.for_list(request.user)
    rows = rows if with_retired else rows.filter(retired_at=None)
    table = PackageTable(rows, sees_money=rules.can_see_money(request.user), currency=_currency(request))
    RequestConfig(request, paginate={"per_page": PER_PAGE}).configure(table)
    return render(request, "quoting/package_list.html", {"table": table, "with_retired": with_retired})


def _currency(request: HttpRequest) -> Any:
    return getattr(request, "workshop", None)


@require_safe
@needs()
def package_detail(request: HttpRequest, pk: int) -> HttpResponse:
    package = get_object_or_404(queries.visible_to(request.user), pk=pk)
    context = {
        "view": queries.view_of(package, with_price=rules.can_see_money(request.user)),
        "package": package,
        "can_edit": rules.can_open_job(request.user),
        "sees_money": rules.can_see_money(request.user),
    }
    return render(request, "quoting/package.html", context)


def _back(request: HttpRequest, pk: int, act: Callable[[], Any], done: str) -> HttpResponse:
    try:
        act()
    except (package_price.PackageNotPriced, SizingError) as error:
        messages.error(request, str(error))
    else:
        messages.success(request, done)
    return redirect("package_detail", pk=pk)


@require_POST
@needs(rules.can_see_money)
def package_price_ask(request: HttpRequest, pk: int) -> HttpResponse:
    """Work the package out on its stand-in vehicle and price it as of now."""
    package = get_object_or_404(queries.visible_to(request.user), pk=pk)
    by = person(request)
    return _back(request, pk, lambda: package_price.price(package, by=by), _("The package is priced as of now."))


@require_POST
@needs(rules.can_open_job)
def package_retire(request: HttpRequest, pk: int) -> HttpResponse:
    package = get_object_or_404(queries.visible_to(request.user), pk=pk)
    done = _("“%(name)s” is retired. Jobs opened from it stay as they are.") % {"name": package.name}
    by = person(request)
    return _back(request, pk, lambda: packages.retire(package, by=by), done)


@require_POST
@needs(rules.can_open_job)
def package_restore(request: HttpRequest, pk: int) -> HttpResponse:
    package = get_object_or_404(queries.visible_to(request.user), pk=pk)
    done = _("“%(name)s” is in use again.") % {"name": package.name}
    by = person(request)
    return _back(request, pk, lambda: packages.restore(package, by=by), done)


def ask_for_next(request: HttpRequest, fitout: Fitout, taken: PackageNameTaken) -> HttpResponse:
    """The name is in use: show what this job would change, and ask whether it is the next version."""
    package: JobPackage = taken.package
    context = {
        "fitout": fitout,
        "package": package,
        "number": package.version + 1,
        "differences": packages.differences(package.content, contents(fitout)),
    }
    return render(request, "quoting/package_taken.html", context, status=422)


package_urls = [
    path("jobs/packages/", package_list, name="package_list"),
    path("jobs/packages/<int:pk>/", package_detail, name="package_detail"),
    path("jobs/packages/<int:pk>/price/", package_price_ask, name="package_price"),
    path("jobs/packages/<int:pk>/retire/", package_retire, name="package_retire"),
    path("jobs/packages/<int:pk>/restore/", package_restore, name="package_restore"),
]
