"""Working on many records at once: pick, say what, look, do; and undo."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.generic import TemplateView, View

from catalog import bulk, services_bulk, services_undo
from catalog.bulk_shown import Line, lines_of
from catalog.forms_bulk import DeedForm, by_how_much
from catalog.models import BulkAction
from catalog.queries import people_by_id
from catalog.views.base import Editor

SHOWN = 20
ACTIONS_SHOWN = 40
LONGEST_QUERY = 1000


@dataclass(frozen=True)
class Selection:
    """Which records: those ticked, or all that a filter shows."""

    one: bulk.BulkType
    picked: tuple[int, ...]
    all_of: str | None
    """The filter, as it stands behind the list's address; ``None`` for ticked ones."""
    rows: tuple[Any, ...]

    @classmethod
    def read(cls, one: bulk.BulkType, entries: QueryDict, request: HttpRequest) -> Selection:
        rows = one.rows(request.user)
        if entries.get("which") == "all":
            query = entries.get("query", "")[:LONGEST_QUERY].replace("\0", "")
            filtered = one.filterset(QueryDict(query), queryset=rows, request=request)
            found = filtered.qs if filtered.is_valid() else rows.none()
            return cls(one, (), query, tuple(found[: bulk.MOST + 1]))
        name = "page_row" if entries.get("which") == "page" else "row"
        keys = [int(k) for k in entries.getlist(name)[: bulk.MOST] if k.isascii() and k.isdigit() and len(k) <= 18]
        return cls(one, tuple(dict.fromkeys(keys)), None, tuple(rows.filter(pk__in=keys)))

    @property
    def back(self) -> str:
        query = f"?{self.all_of}" if self.all_of else ""
        return reverse(self.one.list_name) + query


class BulkPage(Editor, View):
    """What to do with the records that were picked; what would come of it; and the doing."""

    request: HttpRequest

    def dispatch(self, request: HttpRequest, *args: Any, **kwargs: Any) -> Any:
        if not request.user.is_authenticated:
            return self.handle_no_permission()
        try:
            self.one = bulk.get(kwargs["about"])
        except bulk.UnknownBulkType:
            raise Http404 from None
        if not self.one.may(request.user):
            raise PermissionDenied
        return super().dispatch(request, *args, **kwargs)

    def get(self, request: HttpRequest, about: str) -> HttpResponse:
        return self._choose(Selection.read(self.one, request.GET, request))

    def post(self, request: HttpRequest, about: str) -> HttpResponse:
        picked = Selection.read(self.one, request.POST, request)
        made = next((f for f in self.one.forms if f.code == request.POST.get("deed")), None)
        if made is None or not picked.rows:
            return self._choose(picked, status=422)
        form = self._form(made, request.POST)
        if not form.is_valid():
            return self._choose(picked, refused=form, status=422)
        try:
            if request.POST.get("seen"):
                return self._do(picked, form, request.POST["seen"])
            return self._show(picked, form)
        except services_bulk.BulkRefused as error:
            messages.error(request, str(error))
            return self._choose(picked, refused=form, status=422)

    def _form(self, made: Any, entries: Any = None) -> DeedForm:
        form: DeedForm = made(entries, currency=self.currency, plural=str(self.one.plural))
        return form

    def _choose(self, picked: Selection, *, refused: DeedForm | None = None, status: int = 200) -> HttpResponse:
        forms = [refused if refused and refused.code == f.code else self._form(f) for f in self.one.forms]
        onward = [way for way in self.one.onward if way.may(self.request.user)]
        return self._page("catalog/bulk.html", picked, status, forms=forms, onward=onward)

    def _show(self, picked: Selection, form: DeedForm, status: int = 200) -> HttpResponse:
        deed = form.deed()
        todo = services_bulk.plan(self.one, deed, picked.rows)
        totals = None
        if deed.money and todo.moved:
            before, after = todo.total(deed.money, after=False), todo.total(deed.money, after=True)
            totals = (before, after, by_how_much(before, after))
        retires = deed.code == BulkAction.Deed.RETIRE
        more = {
            "form": form,
            "words": deed.words(len(todo.moved)),
            "plan": todo,
            "lines": lines_of(todo.moved[:SHOWN]),
            "rest": max(0, len(todo.moved) - SHOWN),
            "totals": totals,
            "refusal": services_bulk.refusal(todo) if todo.refused else "",
            "uses": bulk.uses_of(self.one, [moved.row.pk for moved in todo.moved]) if retires else [],
        }
        return self._page("catalog/bulk_look.html", picked, 422 if todo.refused else status, **more)

    def _do(self, picked: Selection, form: DeedForm, seen: str) -> HttpResponse:
        keys = [row.pk for row in picked.rows]
        try:
            action = services_bulk.do(self.one, form.deed(), keys, seen=seen, by=self.request.user)
        except services_bulk.BulkRefused as error:
            messages.error(self.request, str(error))
            again = Selection.read(self.one, self.request.POST, self.request)
            return self._show(again, form, status=422)
        messages.success(self.request, _("%(words)s. It can be undone here.") % {"words": action.words})
        return redirect("catalog:bulk_actions")

    def _page(self, template: str, picked: Selection, status: int, **more: Any) -> HttpResponse:
        context = {
            "one": self.one,
            "section": self.one.section,
            "picked": picked,
            "count": len(picked.rows),
            "too_many": len(picked.rows) > bulk.MOST,
            "most": bulk.MOST,
            "names": [str(row) for row in picked.rows[:6]],
            **more,
        }
        return render(self.request, template, context, status=status)


class BulkActions(Editor, TemplateView):
    """What was done to many records at once, the latest first, each with its way back."""

    section = ""
    template_name = "catalog/bulk_actions.html"

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        actions = list(services_undo.actions_for(self.request.user)[:ACTIONS_SHOWN])
        people = people_by_id({key for action in actions for key in (action.by_id, action.undone_by_id)})
        last = services_undo.last_of(self.request.user)
        is_manager = self.request.user.role == "manager"  # type: ignore[union-attr]
        rows = [
            {
                "action": action,
                "by": people.get(action.by_id, _("the server")),
                "undone_by": people.get(action.undone_by_id, ""),
                "may_undo": not action.undone_at and (is_manager or (last is not None and last.pk == action.pk)),
            }
            for action in actions
        ]
        return super().get_context_data(rows=rows, is_manager=is_manager, **kwargs)


class BulkUndo(Editor, View):
    """What undoing would put back and what it would leave; and the undoing."""

    def get(self, request: HttpRequest, pk: int) -> HttpResponse:
        action = get_object_or_404(services_undo.actions_for(request.user), pk=pk)
        return self._show(request, action)

    def post(self, request: HttpRequest, pk: int) -> HttpResponse:
        action = get_object_or_404(services_undo.actions_for(request.user), pk=pk)
        try:
            done = services_undo.undo(action, seen=request.POST.get("seen", ""), by=request.user)
        except services_bulk.BulkRefused as error:
            messages.error(request, str(error))
            return self._show(request, action, status=422)
        if done is None:
            messages.info(request, _("It was undone already. Nothing was touched."))
        else:
            count = len(done.back)
            words = ngettext("Undone: %(n)d record is as before.", "Undone: %(n)d records are as before.", count)
            messages.success(request, words % {"n": count})
        return redirect("catalog:bulk_actions")

    def _show(self, request: HttpRequest, action: BulkAction, status: int = 200) -> HttpResponse:
        one = bulk.get(action.about)
        todo = services_undo.undo_plan(action)
        lines = [
            Line(str(back.row), _("in use"), _("retired"), "")
            if back.retires
            else next(
                iter(lines_of([services_bulk.Moved(back.row, back.change.after, back.change.before or {})])), None
            )
            for back in todo.back[:SHOWN]
        ]
        context = {
            "one": one,
            "section": one.section,
            "action": action,
            "plan": todo,
            "lines": [line for line in lines if line],
            "rest": max(0, len(todo.back) - SHOWN),
            "added": sum(back.retires for back in todo.back),
            "since": [str(row) for row in todo.changed_since[:SHOWN]],
            "since_rest": max(0, len(todo.changed_since) - SHOWN),
            "may_undo": services_undo.can_undo(request.user, action),
            "is_manager": request.user.role == "manager",  # type: ignore[union-attr]
        }
        return render(request, "catalog/bulk_undo.html", context, status=status)
