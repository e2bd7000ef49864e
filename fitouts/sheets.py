"""Tables of customers, each with one contact, and of vehicles with what the survey measured."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django.db.models import QuerySet
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from catalog.form_fields import QuantityField
from catalog.sheets.columns import Column, of_form
from catalog.sheets.entries import Quantity, Text
from catalog.sheets.matching import Index, Unclear
from catalog.sheets.registry import register
from catalog.sheets.sheet_type import RowError, SheetType, Told, Values
from fitouts.forms.customers import ContactForm, CustomerForm
from fitouts.models import Customer, Vehicle
from fitouts.rules import can_edit_customers, is_staff_member
from fitouts.sheets_contacts import contact_of, save_contacts
from fitouts.sheets_matching import Garage, People
from fitouts.sheets_vehicles import MEASURED, WHAT_IT_IS, check_vehicle, vehicle_columns

GROUP = gettext_lazy("Customers and vehicles")


class _OfPeople(SheetType):
    """What the tables of customers and of vehicles share: the office brings them in, everybody may read them."""

    group = GROUP

    def can_import(self, user: Any) -> bool:
        return can_edit_customers(user)

    def can_export(self, user: Any) -> bool:
        return is_staff_member(user)


def number_column(name: str, label: Any, note: Any) -> Column:
    """The column with a record's own number, by which an export finds it again."""
    entry = Quantity(QuantityField(minimum=1, maximum=10**12, whole=True))
    return Column(name, label, entry, note=note, apart=True)


class CustomerSheet(_OfPeople):
    """Customers. The contact of a row is found among the customer's by name; a new name is another contact."""

    code = "customer"
    words = gettext_lazy("customers")
    model = Customer
    about = "customer"
    finds = ("number", "name")
    CONTACT = ("name", "job_title", "phone", "email")
    columns = (
        number_column("number", gettext_lazy("number"), gettext_lazy("As exported; leave it empty for new customers.")),
        *(
            of_form(name, CustomerForm.base_fields[name], **({"required": False} if name == "kind" else {}))
            for name in ("name", "kind", "phone", "email", "business_no", "address", "notes")
        ),
        *(
            of_form(f"contact_{name}", ContactForm.base_fields[name], prefix=gettext_lazy("Contact:"), apart=True)
            for name in CONTACT
        ),
    )

    def index(self) -> Index:
        return People(Customer.objects.values_list("pk", "name", "email", "retired_at"))

    def records(self) -> QuerySet[Any]:
        return Customer.objects.prefetch_related("contacts")

    def fields(self, values: Values, record: Any, index: Any) -> Values:
        fields = super().fields(values, record, index)
        return fields | {"name": " ".join(fields["name"].split()), "kind": fields["kind"] or Customer.Kind.PERSON}

    def refusal(self, record: Any) -> str:
        if record.erased_at:
            return _("This customer was erased; nothing is written to it any more.")
        return super().refusal(record)

    def stands_apart(self, record: Any) -> Values:
        first = next(iter(record.contacts.all()), None)
        shown = {f"contact_{name}": getattr(first, name, "") for name in self.CONTACT}
        return {"number": record.pk, **shown}

    def beside(self, given: Values, record: Any, index: Any) -> tuple[Values, list[Told]]:
        return contact_of(self, given, record)

    def write_beside(self, saved: Iterable[tuple[Any, Values]], *, by: Any) -> None:
        save_contacts(saved, by=by)


class VehicleSheet(_OfPeople):
    """Vehicles: what they are, and what the survey measured. A table never moves a vehicle to another customer."""

    code = "vehicle"
    words = gettext_lazy("vehicles")
    model = Vehicle
    about = "vehicle"
    finds = ("vin", "registration", "number")
    columns = (
        number_column("number", gettext_lazy("number"), gettext_lazy("As exported; leave it empty for new vehicles.")),
        number_column("customer_number", gettext_lazy("customer’s number"), gettext_lazy("As customers are exported.")),
        Column(
            "customer_name",
            gettext_lazy("customer’s name"),
            Text(CustomerForm.base_fields["name"]),
            note=gettext_lazy("A new vehicle needs its customer: by number, or by name and e-mail."),
            apart=True,
        ),
        Column(
            "customer_email", gettext_lazy("customer’s e-mail"), Text(CustomerForm.base_fields["email"]), apart=True
        ),
        *vehicle_columns(),
    )

    def index(self) -> Index:
        return Garage()

    def records(self) -> QuerySet[Any]:
        return Vehicle.objects.select_related("customer")

    def fields(self, values: Values, record: Any, index: Any) -> Values:
        fields = {name: values[name] for name in (*WHAT_IT_IS, *MEASURED)}
        fields |= check_vehicle(fields)
        if record is None:
            fields["customer_id"] = self._owner(values, index)
            if index.is_retired(fields["customer_id"]):
                words = _("The customer is retired. Take them back into use first, or leave this row out.")
                raise RowError({"customer_name": words})
        return fields

    def _owner(self, given: Values, index: Any) -> int | None:
        try:
            return index.owner(given)  # type: ignore[no-any-return]
        except Unclear as error:
            raise RowError({error.column: str(error)}) from None

    def beside(self, given: Values, record: Any, index: Any) -> tuple[Values, list[Told]]:
        """Nothing is written beside a vehicle; a row that gives it to somebody else is refused."""
        named = {"customer_number", "customer_name"} & given.keys()
        if record is not None and named and self._owner(given, index) != record.customer_id:
            words = _("“%(vehicle)s” belongs to %(owner)s; a table does not move a vehicle to another customer.")
            raise RowError({min(named): words % {"vehicle": record, "owner": record.customer.name}})
        return {}, []

    def stands_apart(self, record: Any) -> Values:
        owner = record.customer
        return {
            "number": record.pk,
            "customer_number": owner.pk,
            "customer_name": owner.name,
            "customer_email": owner.email,
        }

    def name_of(self, values: Values, record: Any) -> str:
        if record is not None:
            return f"{record.registration} {record}".strip()
        return " ".join(str(values[name]) for name in ("registration", "make", "model") if values.get(name))


def register_all() -> None:
    """Called once, when the app is ready."""
    register(CustomerSheet())
    register(VehicleSheet())
