"""Keeping, renaming and removing a list's filter: each person their own."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.generic import View

from catalog import saved_filters
from catalog.models import SavedFilter
from catalog.views.base import Reader


class NameForm(forms.Form):
    """A name, and what it is for."""

    page = forms.CharField(widget=forms.HiddenInput, required=False, max_length=60)
    query = forms.CharField(widget=forms.HiddenInput, required=False)
    name = forms.CharField(label=gettext_lazy("Name of the filter"), required=False)


class _Naming(Reader, View):
    def _answer(self, request: HttpRequest, form: NameForm, save: Any, back: str) -> HttpResponse:
        try:
            if form.is_valid():
                saved: SavedFilter = save(form.cleaned_data)
                messages.success(request, _("Kept as “%(name)s”.") % {"name": saved.name})
                return redirect(saved_filters.address_of(saved.page, saved.query))
        except ValidationError as refused:
            form.add_error(None, refused) if not hasattr(refused, "error_dict") else form.add_error(
                "name", refused.messages
            )
        return render(request, "catalog/filter_form.html", {"form": form, "back": back}, status=422)


class FilterKeep(_Naming):
    def post(self, request: HttpRequest) -> HttpResponse:
        form = NameForm(request.POST)
        try:
            back = saved_filters.address_of(request.POST.get("page", ""), request.POST.get("query", ""))
        except ValidationError:
            back = ""
        return self._answer(request, form, lambda values: saved_filters.keep(user=request.user, **values), back)


class FilterRename(_Naming):
    def post(self, request: HttpRequest, pk: int) -> HttpResponse:
        saved = get_object_or_404(saved_filters.of(request.user), pk=pk)
        back = saved_filters.address_of(saved.page, saved.query)
        return self._answer(request, NameForm(request.POST), lambda v: saved_filters.rename(saved, v["name"]), back)


class FilterRemove(Reader, View):
    def post(self, request: HttpRequest, pk: int) -> HttpResponse:
        saved = get_object_or_404(saved_filters.of(request.user), pk=pk)
        back = saved_filters.address_of(saved.page, "")
        saved.delete()
        messages.success(request, _("The filter “%(name)s” is removed.") % {"name": saved.name})
        return redirect(back)
