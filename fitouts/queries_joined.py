"""Which rows of a vehicle that tows or is towed: what happened to it alone, and as half of one system."""

from __future__ import annotations

from django.db.models import Q, QuerySet

from fitouts.models import Defect, Fitout, Hitch, InstalledComponent, InstalledSystem, Vehicle


def jobs_with(vehicle: Vehicle) -> QuerySet[Fitout]:
    """Jobs of a vehicle, those that it is only the trailer of among them."""
    rows = Fitout.objects.filter(Q(vehicle=vehicle) | Q(trailer=vehicle))
    return rows.select_related("customer", "vehicle")


def systems_in(vehicle: Vehicle) -> QuerySet[InstalledSystem]:
    """Systems that a vehicle has a part in: its own, and those of a tow vehicle with it as the trailer."""
    rows = InstalledSystem.objects.filter(Q(vehicle=vehicle) | Q(fitout__trailer=vehicle))
    return rows.select_related("fitout", "vehicle")


def installed_with(vehicle: Vehicle) -> QuerySet[InstalledComponent]:
    """Components of :func:`systems_in`, those removed left out."""
    return (
        InstalledComponent.objects.filter(removed_on=None, system__removed_on=None)
        .filter(Q(system__vehicle=vehicle) | Q(system__fitout__trailer=vehicle))
        .select_related("system", "system__vehicle", "system__fitout")
        .order_by("-system__delivered_on", "system", "pk")
    )


def hitches_of(**end: Vehicle) -> QuerySet[Hitch]:
    """Joints of a tow vehicle (``tow=``) or of a trailer (``trailer=``), with all that a row shows."""
    rows = Hitch.objects.filter(**end)
    return rows.select_related("tow", "trailer", "tow_position", "trailer_position", "coupling")


MOST_DEFECTS = 40


def defects_of(vehicle: Vehicle) -> QuerySet[Defect]:
    """What was found wrong in a vehicle, in any job of it, the newest first; the last so many."""
    rows = Defect.objects.filter(Q(fitout__vehicle=vehicle) | Q(fitout__trailer=vehicle))
    return rows.select_related("fitout").order_by("-pk")[:MOST_DEFECTS]
