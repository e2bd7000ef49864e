"""Pages of components."""

from __future__ import annotations

from itertools import groupby
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils.translation import gettext as _
from django.views.generic import TemplateView, View

from catalog import kinds, services
from catalog.capability_words import sentence
from catalog.filters import ComponentFilter
from catalog.forms import ComponentForm
from catalog.kinds.base import GROUPS
from catalog.queries import components_for, people_by_id, price_changes_of
from catalog.rules import can_see_money
from catalog.specs import columns
from catalog.tables import ComponentTable
from catalog.views.base import Editor, EditPage, FormPage, ListPage, RecordPage, state_changes


class ComponentList(ListPage):
    rows = staticmethod(components_for)
    filterset_class = ComponentFilter
    table_class = ComponentTable
    template_name = "catalog/component_list.html"


class ComponentDetail(RecordPage):
    rows = staticmethod(components_for)
    template_name = "catalog/component_detail.html"
    context_object_name = "component"

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        component = self.object
        context = super().get_context_data(**kwargs)
        try:
            kind = component.declaration
        except kinds.UnknownKind:
            return context
        spec = _as_declared_now(kind, component.specification)
        context |= {"kind": kind, "rows": columns(kind, spec)}
        if spec is not component.specification:
            context |= {"can_do": [sentence(c) for c in kind.capabilities(spec)], "own_draw": kind.own_draw(spec)}
        if can_see_money(self.request.user):
            steps = list(price_changes_of(component)[:60])
            people = people_by_id({step.changed_by_id for step in steps})
            context["price_steps"] = [(step, people.get(step.changed_by_id, "")) for step in steps]
        return context


def _as_declared_now(kind: kinds.Kind, kept: dict[str, Any]) -> dict[str, Any]:
    """The specification with what its kind has gained since it was kept; as kept where it no longer passes."""
    try:
        return kind.clean(kept)
    except kinds.SpecError:
        return kept


class ComponentAdd(Editor, TemplateView):
    """First: which kind."""

    template_name = "catalog/component_add.html"

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        order = {code: i for i, (code, _words) in enumerate(GROUPS)}
        words = dict(GROUPS)
        found = sorted(kinds.all_kinds(), key=lambda kind: order.get(kind.group, 99))
        groups = [(words.get(g, g), list(members)) for g, members in groupby(found, key=lambda kind: kind.group)]
        return super().get_context_data(groups=groups, **kwargs)


class _ComponentForm:
    """What adding and changing a component have in common."""

    form_class: Any = ComponentForm
    kind: kinds.Kind
    record: Any
    currency: str

    def get_form_kwargs(self) -> dict[str, Any]:
        kwargs = super().get_form_kwargs()  # type: ignore[misc]
        kwargs["component"] = kwargs.pop("record")
        return {**kwargs, "kind": self.kind, "currency": self.currency}


class ComponentAddKind(_ComponentForm, FormPage):
    def dispatch(self, request: HttpRequest, *args: Any, **kwargs: Any) -> Any:
        try:
            self.kind = kinds.get(kwargs["kind"])
        except kinds.UnknownKind:
            raise Http404 from None
        return super().dispatch(request, *args, **kwargs)

    def get_title(self) -> str:
        return _("Add a %(kind)s") % {"kind": _(self.kind.label)}


class ComponentEdit(_ComponentForm, EditPage):
    rows = staticmethod(components_for)

    @property
    def kind(self) -> kinds.Kind:  # type: ignore[override]
        try:
            return self.record.declaration
        except kinds.UnknownKind:
            raise Http404 from None


class ComponentCopy(Editor, View):
    def post(self, request: HttpRequest, pk: int) -> HttpResponse:
        original = get_object_or_404(components_for(request.user), pk=pk)
        copy = services.copy_component(original, by=request.user)
        messages.success(request, _("This is the copy. Give it its own name and part number."))
        return redirect("catalog:component_edit", pk=copy.pk)


ComponentRetire, ComponentRestore = state_changes("component", components_for)
