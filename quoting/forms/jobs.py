"""Opening a job and what is known about it besides power."""

from __future__ import annotations

from typing import Any

from django import forms
from django.db import transaction
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from catalog.typed import TypedRecordField
from fitouts.models import Fitout, JobPackage, User, Vehicle
from fitouts.services import fitouts, towing
from quoting.services.carried import carry_over


class TrailerChoice(forms.ModelChoiceField):  # type: ignore[type-arg]
    """Trailers that are joined to something, under the name of their owner."""

    def label_from_instance(self, trailer: Any) -> str:
        return " · ".join(w for w in (trailer.customer.name, str(trailer), trailer.registration) if w)


class PackageChoice(forms.ModelChoiceField):  # type: ignore[type-arg]
    def label_from_instance(self, package: Any) -> str:
        return f"{package.name} ({package.make} {package.model})"


def colleagues() -> Any:
    return User.objects.filter(is_active=True)


class JobDetails(forms.Form):
    """Fields that a new job and an open one share."""

    title = forms.CharField(
        label=gettext_lazy("Title"), max_length=120, help_text=gettext_lazy("As “Touring wagon, desert crossing”.")
    )
    enquiry = forms.CharField(
        label=gettext_lazy("What they asked for"),
        max_length=4000,
        required=False,
        widget=forms.Textarea(attrs={"rows": 4}),
    )
    travellers = forms.CharField(label=gettext_lazy("Who travels"), max_length=80, required=False)
    assigned_to = forms.ModelChoiceField(
        User.objects.none(),
        label=gettext_lazy("Looked after by"),
        required=False,
        empty_label=gettext_lazy("nobody yet"),
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        people: Any = self.fields["assigned_to"]
        people.queryset = colleagues()


class NewJobForm(JobDetails):
    """A job from nothing, from an earlier one, or from a package."""

    vehicle = TypedRecordField(
        Vehicle.objects.none(),
        about="vehicle",
        address="vehicle_names",
        label=gettext_lazy("Vehicle"),
        help_text=gettext_lazy("Its registration, or some words of owner and model."),
    )
    trailer = TypedRecordField(
        Vehicle.objects.none(),
        about="vehicle",
        address="vehicle_names",
        label=gettext_lazy("With its trailer"),
        required=False,
        help_text=gettext_lazy("Joined to the vehicle on its page. A trailer alone is chosen as the vehicle."),
    )
    kind = forms.ChoiceField(
        label=gettext_lazy("What it is"),
        choices=Fitout.Kind.choices,
        initial=Fitout.Kind.NEW,
        required=False,
        help_text=gettext_lazy(
            "An upgrade begins with what is in the vehicle; a fault is found and mended without a design."
        ),
    )
    source = forms.CharField(
        label=gettext_lazy("Start from job"),
        max_length=12,
        required=False,
        help_text=gettext_lazy("Its number, as 26-0417. Audit, trip, wishes and places are copied."),
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )
    package = PackageChoice(
        JobPackage.objects.none(),
        label=gettext_lazy("or from a package"),
        required=False,
        empty_label=gettext_lazy("none"),
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        vehicles: Any = self.fields["vehicle"]
        vehicles.queryset = (
            Vehicle.objects.filter(retired_at=None, customer__retired_at=None)
            .select_related("customer")
            .order_by("customer__name", "registration")
        )
        trailers: Any = self.fields["trailer"]
        trailers.queryset = (
            vehicles.queryset.filter(is_trailer=True, towed_by__isnull=False).distinct().select_related("customer")
        )
        for name in ("vehicle", "trailer"):
            field: Any = self.fields[name]
            field.offering(name)
            self.initial[name] = field.keyed(self.initial.get(name, ""))
        packages: Any = self.fields["package"]
        packages.queryset = JobPackage.objects.filter(retired_at=None, replaced_at=None)

    def sections(self) -> list[tuple[str, list[forms.BoundField]]]:
        return [
            (_("Whose, and what"), [self[n] for n in ("vehicle", "trailer", "kind", "title", "enquiry")]),
            (_("People"), [self[n] for n in ("travellers", "assigned_to")]),
            (_("Begin with"), [self[n] for n in ("source", "package")]),
        ]

    def clean_source(self) -> Fitout | None:
        number = self.cleaned_data["source"].strip()
        if not number:
            return None
        job = Fitout.objects.filter(number=number).select_related("vehicle").first()
        if job is None:
            raise forms.ValidationError(_("There is no job “%(number)s”.") % {"number": number})
        return job

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if cleaned.get("source") and cleaned.get("package"):
            self.add_error("package", _("Start from a job or from a package, not both."))
        return cleaned

    def save(self, *, by: User) -> Fitout | None:
        """Open the job; ``None`` when it was refused, with the reason in ``errors``."""
        values = self.cleaned_data
        details = {name: values[name] for name in ("enquiry", "assigned_to", "travellers", "trailer")}
        details["kind"] = values["kind"] or Fitout.Kind.NEW
        vehicle, title = values["vehicle"], values["title"]
        try:
            if values["source"]:
                return self._begun(values["source"], vehicle, title, details, by)
            if values["package"]:
                return fitouts.open_from_package(values["package"], vehicle, by=by, title=title, **details)
            return fitouts.open_job(vehicle.customer, vehicle, title, by=by, **details)
        except fitouts.JobNotOpened as error:
            self.add_error(error.field or None, str(error))
            return None

    @staticmethod
    @transaction.atomic
    def _begun(source: Fitout, vehicle: Vehicle, title: str, details: dict[str, Any], by: User) -> Fitout:
        """From an earlier job, with what is known of the circuits of the same vehicle."""
        fitout = fitouts.open_from(source, vehicle, by=by, title=title, **details)
        carry_over(source, fitout, by=by)
        return fitout


class DetailsForm(JobDetails):
    """What is known about an open job besides power."""

    booked_from = forms.DateField(
        label=gettext_lazy("In the bay from"),
        required=False,
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
    )
    booked_to = forms.DateField(
        label=gettext_lazy("In the bay to"),
        required=False,
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
    )
    trailer = TrailerChoice(
        Vehicle.objects.none(),
        label=gettext_lazy("With its trailer"),
        required=False,
        empty_label=gettext_lazy("no trailer"),
        help_text=gettext_lazy("Trailers joined to this vehicle on its page."),
    )
    reused = forms.CharField(
        label=gettext_lazy("Parts reused or supplied by the customer"),
        max_length=1000,
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
    )

    def __init__(self, *args: Any, fitout: Fitout, **kwargs: Any) -> None:
        self.fitout = fitout
        super().__init__(*args, initial={n: getattr(fitout, n) for n in fitouts.DETAIL_FIELDS}, **kwargs)
        behind: Any = self.fields["trailer"]
        behind.queryset = towing.trailers_behind(fitout.vehicle).select_related("customer")
        if fitout.vehicle.is_trailer:
            del self.fields["trailer"]

    def save(self, *, by: User) -> bool:
        try:
            fitouts.change_details(self.fitout, dict(self.cleaned_data), by=by)
        except fitouts.JobNotOpened as error:
            self.add_error("booked_to" if error.field == "booked_to" else "trailer", str(error))
            return False
        return True
