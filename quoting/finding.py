"""What of jobs and quotes can be found by typing words."""

from __future__ import annotations

from typing import Any

from django.db.models import QuerySet
from django.urls import reverse
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from catalog.findables import joined
from catalog.finding import Hit, findable, follows
from fitouts.models import Fitout, Stage
from quoting.models import FleetRun, Quote
from quoting.queries import fleets, jobs

OVER = (Stage.CANCELLED, Stage.LOST)


def _job_texts(row: Fitout) -> tuple[object, ...]:
    vehicle = row.vehicle
    return row.title, row.customer.name, vehicle.make, vehicle.model


def _job(row: Fitout, user: Any) -> Hit:
    sub = joined(row.customer.name, row.vehicle.registration or str(row.vehicle), row.get_stage_display())
    return Hit(f"{row.number} {row.title}", sub, reverse("job", args=[row.pk]), row.stage in OVER)


def _quote(row: Quote, user: Any) -> Hit:
    job = row.fitout
    sub = joined(f"{job.number} {job.title}", job.customer.name)
    return Hit(_("Quote %(number)s") % {"number": row.number}, sub, f"{reverse('job', args=[job.pk])}#quote")


def _quotes(user: Any) -> QuerySet[Quote]:
    return Quote.objects.filter(fitout__in=jobs.visible_to(user))


def _fleet(row: FleetRun, user: Any) -> Hit:
    begun = date_format(row.made_at, "j M Y")
    return Hit(row.name, joined(str(row.source or row.package), begun), reverse("fleet", args=[row.pk]))


def declare() -> None:
    """Called once, when the app is ready, after the apps below."""
    findable(
        "job",
        Fitout,
        label=gettext_lazy("Job"),
        texts=_job_texts,
        keys=lambda row: (row.number, row.vehicle.registration),
        line=_job,
        visible=jobs.visible_to,
        related=("customer", "vehicle"),
        page="job",
    )
    findable(
        "quote",
        Quote,
        label=gettext_lazy("Quote"),
        texts=lambda row: (),
        keys=lambda row: (row.number,),
        line=_quote,
        visible=_quotes,
        related=("fitout__customer",),
    )
    findable(
        "fleet",
        FleetRun,
        label=gettext_lazy("Fleet"),
        texts=lambda row: (row.name,),
        keys=lambda row: (),
        line=_fleet,
        visible=fleets.visible_to,
        related=("source", "package"),
        page="fleet",
    )
    follows("job", "customer", lambda row: Fitout.objects.filter(customer=row.pk))
    follows("job", "vehicle", lambda row: Fitout.objects.filter(vehicle=row.pk))
