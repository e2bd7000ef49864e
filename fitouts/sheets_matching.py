"""Which customer or vehicle a row of a table means."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django.utils.translation import gettext as _

from catalog.sheets.matching import Index, Names, Unclear, folded
from fitouts.models import Customer, Vehicle


class People(Index):
    """Customers by number, or by name and e-mail. ``before`` stands before the names of the columns."""

    def __init__(self, rows: Iterable[tuple[Any, ...]], before: str = "") -> None:
        self.before = before
        self.known: dict[int, tuple[Any, ...]] = {}
        self.names = Names()
        for row in rows:
            self.known[row[0]] = row
            self.names.add(row[1], row)

    def find(self, given: dict[str, Any]) -> int | None:
        number = given.get(f"{self.before}number")
        if number is not None:
            return self._numbered(number)
        name, email = given.get(f"{self.before}name"), given.get(f"{self.before}email")
        if not name:
            return None
        found = self.names.of(name)
        if email:
            same = [row for row in found if folded(row[2]) == folded(email)]
            found = same or [row for row in found if not row[2]]
        in_use = [row for row in found if not row[3]] or found
        if len(in_use) > 1:
            words = _("%(count)d customers are called “%(name)s”; say which by number or e-mail.")
            raise Unclear(f"{self.before}name", words % {"count": len(in_use), "name": name})
        return in_use[0][0] if in_use else None

    def _numbered(self, number: int) -> int:
        if number not in self.known:
            words = _("No customer has the number %(number)d. Leave it empty for a new one.")
            raise Unclear(f"{self.before}number", words % {"number": number})
        return number

    def key(self, values: dict[str, Any]) -> tuple[str, ...]:
        return ("customer", folded(values.get("name")), folded(values.get("email")))


class Garage(Index):
    """Vehicles by VIN, registration and number; and their customers."""

    def __init__(self) -> None:
        self.people = People(Customer.objects.values_list("pk", "name", "email", "retired_at"), "customer_")
        self.vins, self.plates = Names(), Names()
        self.numbers: set[int] = set()
        for row in Vehicle.objects.values_list("pk", "vin", "registration", "retired_at"):
            self.numbers.add(row[0])
            if row[1]:
                self.vins.add(row[1], row)
            if row[2]:
                self.plates.add(row[2], row)

    def find(self, given: dict[str, Any]) -> int | None:
        found = {
            "vin": self._one("vin", self.vins, given.get("vin")),
            "registration": self._one("registration", self.plates, given.get("registration")),
            "number": self._numbered(given.get("number")),
        }
        named = {name: pk for name, pk in found.items() if pk is not None}
        if len(set(named.values())) > 1:
            words = _("VIN, registration and number of this row belong to different vehicles here.")
            raise Unclear(min(named), words)
        return next(iter(named.values()), None)

    def _one(self, column: str, names: Names, text: str | None) -> int | None:
        found = names.of(text) if text else []
        in_use = [row for row in found if not row[3]] or found
        if len(in_use) > 1:
            words = _("%(count)d vehicles have “%(text)s”; say which by its number.")
            raise Unclear(column, words % {"count": len(in_use), "text": text})
        return in_use[0][0] if in_use else None

    def _numbered(self, number: int | None) -> int | None:
        if number is not None and number not in self.numbers:
            words = _("No vehicle has the number %(number)d. Leave it empty for a new one.")
            raise Unclear("number", words % {"number": number})
        return number

    def owner(self, given: dict[str, Any]) -> int:
        """Number of the customer that a row names. Raises :class:`Unclear` when it names none, or none that is here."""
        found = self.people.find(given)
        if found is None:
            name = given.get("customer_name")
            if not name:
                raise Unclear("customer_name", _("The customer is missing: whose vehicle is it?"))
            raise Unclear(
                "customer_name", _("No customer “%(name)s” is here. Add the customer first.") % {"name": name}
            )
        return found

    def is_retired(self, customer_id: int) -> bool:
        return self.people.known[customer_id][3] is not None

    def key(self, values: dict[str, Any]) -> tuple[str, ...]:
        """New vehicles without VIN and plate are never taken for one another."""
        mark = values.get("vin") or values.get("registration")
        return ("vehicle", folded(mark)) if mark else ("", "")
