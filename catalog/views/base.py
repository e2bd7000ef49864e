"""What every page of the catalogue shares: sign-in, roles, lists, forms that lose nothing."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.contrib.auth.mixins import LoginRequiredMixin
from django.core.exceptions import PermissionDenied
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.generic import DetailView, FormView, View
from django_filters.views import FilterView
from django_tables2 import SingleTableMixin

from catalog import bulk, services
from catalog.changes import changes_of
from catalog.conflicts import watch
from catalog.paging import LongListPaginator
from catalog.rules import can_edit_catalogue, can_see_money
from catalog.templatetags.quantities import currency_symbol
from catalog.views.picking import PickRows

PER_PAGE = 30


class Reader(LoginRequiredMixin):
    """Somebody of the workshop."""

    request: HttpRequest
    section = "component"
    """Which list of the catalogue is here."""

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        more = {
            "section": self.section,
            "can_edit": can_edit_catalogue(self.request.user),
            "sees_money": can_see_money(self.request.user),
        }
        return super().get_context_data(**{**more, **kwargs})  # type: ignore[misc]

    @property
    def currency(self) -> str:
        """The sign of the workshop's money, as it stands in heads and beside entries."""
        return currency_symbol(getattr(self.request, "workshop", None))


class Editor(Reader):
    """Somebody who keeps the catalogue; everybody else is refused."""

    def dispatch(self, request: HttpRequest, *args: Any, **kwargs: Any) -> Any:
        if request.user.is_authenticated and not can_edit_catalogue(request.user):
            raise PermissionDenied
        return super().dispatch(request, *args, **kwargs)  # type: ignore[misc]


class ListPage(Reader, PickRows, SingleTableMixin, FilterView):
    """A filtered, sorted, paged table."""

    rows: Any
    """Query of the rows that a person may see."""

    def get_queryset(self) -> QuerySet[Any]:
        return type(self).rows(self.request.user)

    def get_filterset_kwargs(self, filterset_class: Any) -> dict[str, Any]:
        # always bound, so that retired rows stay out of an unfiltered list as well
        return {**super().get_filterset_kwargs(filterset_class), "data": self.request.GET}

    def get_table_kwargs(self) -> dict[str, Any]:
        return {"reader": self.request.user, "currency": self.currency}

    def get_table_pagination(self, table: Any) -> dict[str, Any]:
        return {"per_page": PER_PAGE, "paginator_class": LongListPaginator}

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        context = super().get_context_data(**kwargs)
        context["is_filtered"] = any(v for k, v in self.request.GET.items() if k not in ("page", "sort", "pick"))
        return context


class RecordPage(Reader, DetailView):
    """One record with the history of its changes."""

    rows: Any

    def get_queryset(self) -> QuerySet[Any]:
        return type(self).rows(self.request.user)

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        context = super().get_context_data(changes=changes_of(self.object, reader=self.request.user), **kwargs)
        if context["can_edit"] and not self.object.is_retired:
            context["uses"] = self.uses()
        return context

    def uses(self) -> list[str]:
        """What still uses this record, each in a phrase, for whoever thinks of retiring it."""
        try:
            return bulk.uses_of(bulk.get(self.section), [self.object.pk])
        except bulk.UnknownBulkType:
            return []


class FormPage(Editor, FormView):
    """A form; what it refuses is shown again as it was typed."""

    template_name = "catalog/record_form.html"
    form_class: Any
    record: Any = None
    done = ""

    def get_title(self) -> str:
        raise NotImplementedError

    def get_form_kwargs(self) -> dict[str, Any]:
        return {**super().get_form_kwargs(), "record": self.record}

    def form_valid(self, form: Any) -> HttpResponse:
        saved = form.save(by=self.request.user)
        if saved is None:
            return self.form_invalid(form)
        messages.success(self.request, _("%(name)s is saved.") % {"name": saved})
        return HttpResponseRedirect(self.url_of(saved))

    def form_invalid(self, form: Any) -> HttpResponse:
        return self.render_to_response(self.get_context_data(form=form), status=422)

    def url_of(self, saved: Any) -> str:
        return reverse(f"catalog:{self.section}_detail", args=[saved.pk])

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        back = self.url_of(self.record) if self.record else reverse(f"catalog:{self.section}_list")
        return super().get_context_data(title=self.get_title(), back=back, record=self.record, **kwargs)


class EditPage(FormPage):
    """The form of a record that is there already."""

    rows: Any

    def dispatch(self, request: HttpRequest, *args: Any, **kwargs: Any) -> Any:
        if can_edit_catalogue(request.user):
            self.record = get_object_or_404(type(self).rows(request.user), pk=kwargs["pk"])
        return super().dispatch(request, *args, **kwargs)

    def get_form(self, form_class: Any = None) -> Any:
        form = super().get_form(form_class)
        watch(form, self.record, self.request.POST, reader=self.request.user)
        return form

    def get_title(self) -> str:
        return _("Change %(name)s") % {"name": self.record}


class StateChange(Editor, View):
    """Retire or restore, by POST only."""

    rows: Any
    service: Any
    words = ""

    def post(self, request: HttpRequest, pk: int) -> HttpResponse:
        record = get_object_or_404(type(self).rows(request.user), pk=pk)
        type(self).service(record, by=request.user)
        messages.success(request, str(self.words) % {"name": record})
        return redirect(f"catalog:{self.section}_detail", pk=pk)


def state_changes(section: str, rows: Any) -> tuple[Any, Any]:
    """The views that retire a record and take it back into use."""
    made = [
        (services.retire, gettext_lazy("%(name)s is retired. Jobs that have it keep it.")),
        (services.restore, gettext_lazy("%(name)s is in use again.")),
    ]
    views = [
        type(
            "Change",
            (StateChange,),
            {"section": section, "rows": staticmethod(rows), "service": staticmethod(s), "words": w},
        )
        for s, w in made
    ]
    return views[0], views[1]
