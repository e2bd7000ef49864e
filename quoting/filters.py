"""What the list of jobs can be narrowed by."""

from __future__ import annotations

from typing import Any

import django_filters
from django import forms
from django.db.models import QuerySet
from django.utils.translation import gettext_lazy as _

from fitouts.models import Fitout, Stage, User
from quoting.queries import jobs

OPEN = "open"
CLOSED_STAGES = (Stage.CLOSED, Stage.CANCELLED, Stage.LOST)


class JobFilter(django_filters.FilterSet):  # type: ignore[misc]
    q = django_filters.CharFilter(
        label=_("Number, title, customer or registration"),
        method="search",
        max_length=120,
        widget=forms.TextInput(attrs={"type": "search", "autocomplete": "off"}),
    )
    stage = django_filters.ChoiceFilter(
        label=_("Stage"),
        choices=[(OPEN, _("all under way")), *Stage.choices],
        method="by_stage",
        empty_label=_("every stage"),
    )
    assigned_to = django_filters.ModelChoiceFilter(
        label=_("Looked after by"), queryset=User.objects.filter(is_active=True), empty_label=_("anybody")
    )

    class Meta:
        model = Fitout
        fields: list[str] = []

    def search(self, rows: QuerySet[Fitout], name: str, value: str) -> QuerySet[Fitout]:
        return jobs.search(rows, value)

    def by_stage(self, rows: QuerySet[Fitout], name: str, value: str) -> QuerySet[Fitout]:
        return rows.exclude(stage__in=CLOSED_STAGES) if value == OPEN else rows.filter(stage=value)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
