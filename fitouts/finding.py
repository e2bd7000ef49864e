"""What of customers, vehicles and what is in them can be found by typing words."""

from __future__ import annotations

from typing import Any

from django.db.models import QuerySet
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from catalog.findables import address, joined
from catalog.finding import Hit, findable, follows
from fitouts import queries
from fitouts.models import Contact, Customer, FoundPart, InstalledComponent, Instrument, JobPackage, Vehicle
from fitouts.rules import can_run_workshop, is_staff_member


def _for_staff(model: Any) -> Any:
    def rows(user: Any) -> QuerySet[Any]:
        return model.objects.all() if is_staff_member(user) else model.objects.none()

    return rows


def _customer(row: Customer, user: Any) -> Hit:
    sub = joined(row.phone, row.email) or row.get_kind_display()
    return Hit(row.name, sub, reverse("customer", args=[row.pk]), bool(row.retired_at or row.erased_at))


def _contact(row: Contact, user: Any) -> Hit:
    owner = row.customer
    sub = joined(owner.name, row.job_title, row.phone)
    return Hit(row.name, sub, reverse("customer", args=[owner.pk]), bool(owner.retired_at or owner.erased_at))


def _vehicle_words(row: Vehicle) -> str:
    return f"{row.registration or _('no plate')} {row}"


def _vehicle(row: Vehicle, user: Any) -> Hit:
    sub = joined(row.customer.name, row.year, row.vin and _("VIN %(vin)s") % {"vin": row.vin})
    return Hit(_vehicle_words(row), sub, reverse("vehicle", args=[row.pk]), bool(row.retired_at))


def _numbered(name: str, serial: str, batch: str = "") -> str:
    """A part with what is stamped on it."""
    if serial and batch:
        return _("%(name)s, serial %(serial)s, batch %(batch)s") % {"name": name, "serial": serial, "batch": batch}
    if serial:
        return _("%(name)s, serial %(serial)s") % {"name": name, "serial": serial}
    return _("%(name)s, batch %(batch)s") % {"name": name, "batch": batch} if batch else name


def _installed(row: InstalledComponent, user: Any) -> Hit:
    system = row.system
    words = _numbered(row.name, row.serial, row.batch)
    url = address("system", system.pk, otherwise=reverse("vehicle", args=[system.vehicle_id]))
    return Hit(words, joined(_vehicle_words(system.vehicle), row.part_number), url, bool(row.removed_on))


def _found(row: FoundPart, user: Any) -> Hit:
    words = _numbered(row.name, row.serial)
    url = address("job", row.fitout_id, otherwise=reverse("vehicle", args=[row.vehicle_id]))
    return Hit(words, joined(_vehicle_words(row.vehicle), row.get_plan_display()), url)


def _instrument(row: Instrument, user: Any) -> Hit:
    until = row.calibrated_until
    sub = _("calibration good until %(day)s") % {"day": f"{until:%Y-%m-%d}"} if until else _("no calibration noted")
    url = reverse("instrument_edit", args=[row.pk]) if can_run_workshop(user) else ""
    return Hit(str(row), sub, url, bool(row.retired_at))


def _package(row: JobPackage, user: Any) -> Hit:
    off = bool(row.retired_at or row.replaced_at)
    url = address("package", row.pk, otherwise=address("job_add"))
    return Hit(row.name, joined(f"{row.make} {row.model}", row.body, _("version %(n)s") % {"n": row.version}), url, off)


def _of_vehicle(row: Vehicle) -> tuple[object, ...]:
    return row.make, row.model, row.body, row.year or "", row.customer.name


def declare() -> None:
    """Called once, when the app is ready."""
    findable(
        "customer",
        Customer,
        label=gettext_lazy("Customer"),
        texts=lambda row: (row.name, row.email),
        keys=lambda row: (row.phone, row.business_no),
        line=_customer,
        visible=queries.customers_for,
        page="customer",
    )
    findable(
        "contact",
        Contact,
        label=gettext_lazy("Contact"),
        texts=lambda row: (row.name, row.email, row.job_title),
        keys=lambda row: (row.phone,),
        line=_contact,
        visible=queries.contacts_for,
        related=("customer",),
    )
    findable(
        "vehicle",
        Vehicle,
        label=gettext_lazy("Vehicle"),
        texts=_of_vehicle,
        keys=lambda row: (row.registration, row.vin),
        line=_vehicle,
        visible=queries.vehicles_for,
        related=("customer",),
        page="vehicle",
    )
    findable(
        "installed",
        InstalledComponent,
        label=gettext_lazy("Installed part"),
        texts=lambda row: (row.name,),
        keys=lambda row: (row.serial, row.batch, row.part_number),
        line=_installed,
        visible=_for_staff(InstalledComponent),
        related=("system__vehicle",),
    )
    findable(
        "found",
        FoundPart,
        label=gettext_lazy("Found part"),
        texts=lambda row: (row.name, row.label_words),
        keys=lambda row: (row.serial,),
        line=_found,
        visible=_for_staff(FoundPart),
        related=("vehicle",),
    )
    findable(
        "instrument",
        Instrument,
        label=gettext_lazy("Instrument"),
        texts=lambda row: (row.name,),
        keys=lambda row: (row.serial,),
        line=_instrument,
        visible=_for_staff(Instrument),
    )
    findable(
        "package",
        JobPackage,
        label=gettext_lazy("Package"),
        texts=lambda row: (row.name, row.make, row.model, row.body),
        line=_package,
        visible=_for_staff(JobPackage),
        page="package",
    )
    follows("vehicle", "customer", lambda row: Vehicle.objects.filter(customer=row.pk))
