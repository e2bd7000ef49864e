"""What a fleet run begins with, beside the vehicles."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fitouts.models import Fitout, JobPackage
from quoting.forms.jobs import PackageChoice
from quoting.models import FleetRun, OfferName


class FleetForm(forms.Form):
    """One brief for many vehicles."""

    name = forms.CharField(
        label=gettext_lazy("Name"),
        max_length=120,
        help_text=gettext_lazy("The title of every job that is opened, as “Tree-survey trucks”."),
    )
    source = forms.CharField(
        label=gettext_lazy("By the brief of job"),
        max_length=12,
        required=False,
        help_text=gettext_lazy("Its number, as 26-0417. Audit, trip, wishes, places and assemblies are copied."),
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )
    package = PackageChoice(
        JobPackage.objects.none(),
        label=gettext_lazy("or of a package"),
        required=False,
        empty_label=gettext_lazy("none"),
    )
    parts = forms.ChoiceField(
        label=gettext_lazy("Components"),
        choices=FleetRun.Parts.choices,
        widget=forms.RadioSelect,
        initial=FleetRun.Parts.SAME,
        help_text=gettext_lazy(
            "The same parts in all are bought together and kept spare together; circuits are each vehicle's own."
        ),
    )
    offer = forms.ChoiceField(
        label=gettext_lazy("Chosen as"),
        choices=OfferName.choices,
        initial=OfferName.STEADY,
        required=False,
        help_text=gettext_lazy("Where they are chosen anew: by what the workshop's policy asks of that offer."),
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        packages: Any = self.fields["package"]
        packages.queryset = JobPackage.objects.filter(retired_at=None, replaced_at=None)

    def sections(self) -> list[tuple[str, list[forms.BoundField]]]:
        return [
            (_("The brief"), [self[n] for n in ("name", "source", "package")]),
            (_("The components"), [self[n] for n in ("parts", "offer")]),
        ]

    def clean_source(self) -> Fitout | None:
        number = self.cleaned_data["source"].strip()
        if not number:
            return None
        job = Fitout.objects.filter(number=number).select_related("vehicle").first()
        if job is None:
            raise forms.ValidationError(_("There is no job “%(number)s”.") % {"number": number})
        return job

    def clean_offer(self) -> str:
        return str(self.cleaned_data["offer"] or OfferName.STEADY)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if cleaned.get("source") and cleaned.get("package"):
            self.add_error("package", _("Begin with a job or with a package, not both."))
        elif not self.errors and not cleaned.get("source") and not cleaned.get("package"):
            self.add_error("source", _("Say which job, or which package, has the brief."))
        return cleaned
