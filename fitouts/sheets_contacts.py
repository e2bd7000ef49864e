"""The contact that stands in a customer's row of a table."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django.utils import timezone
from django.utils.translation import gettext as _

from catalog.bulk_values import is_as_left, kept, put_back
from catalog.sheets.limits import SheetRefused
from catalog.sheets.matching import folded
from catalog.sheets.saving import index_words
from catalog.sheets.sheet_type import RowError, SheetType, Told, Values
from fitouts.models import Contact

FIELDS = ("name", "job_title", "phone", "email")


def contact_of(type: SheetType, given: Values, record: Any) -> tuple[Values, list[Told]]:
    """What a row asks of one contact of its customer, for :func:`save_contacts`, and the changes in words."""
    asked = {name: given[f"contact_{name}"] for name in FIELDS if given.get(f"contact_{name}")}
    if not asked:
        return {}, []
    there = list(record.contacts.all()) if record is not None else []
    contact = _meant(asked, there)
    old = {name: getattr(contact, name, "") for name in asked}
    moved = {name: value for name, value in asked.items() if value != old[name]}
    if not moved:
        return {}, []
    told = [(type.column(f"contact_{name}").label, old[name], value, "") for name, value in moved.items()]
    before = None if contact is None else kept(contact, moved)
    return {"contact": {"pk": getattr(contact, "pk", None), "before": before, "after": moved}}, told


def _meant(asked: Values, there: list[Any]) -> Any:
    name = asked.get("name")
    if name:
        return next((contact for contact in there if folded(contact.name) == folded(name)), None)
    if len(there) == 1:
        return there[0]
    raise RowError({"contact_name": _("The contact’s name is missing: whose are these details?")})


def save_contacts(saved: Iterable[tuple[Any, Values]], *, by: Any) -> None:
    """Write the contacts of saved customers, with history. Raises :class:`SheetRefused` when one changed since."""
    asked = [(customer, row, row["beside"]["contact"]) for customer, row in saved if row["beside"].get("contact")]
    if not asked:
        return
    new = [Contact(customer=customer, **one["after"]) for customer, _row, one in asked if one["pk"] is None]
    Contact.objects.bulk_create(new, batch_size=500)
    known = Contact.objects.select_for_update().in_bulk([one["pk"] for _c, _row, one in asked if one["pk"]])
    for customer, row, one in asked:
        if one["pk"] is None:
            continue
        contact = known.get(one["pk"])
        if contact is None or not is_as_left(contact, one["before"]):
            words = _("The contact of “%(name)s” (row %(row)d) changed since the check; nothing was saved.")
            raise SheetRefused(words % {"name": customer, "row": row["row"]})
        put_back(contact, one["after"])
    if known:
        Contact.objects.bulk_update(known.values(), FIELDS, batch_size=100)
    history: Any = Contact.history  # type: ignore[attr-defined]
    now = timezone.now()
    history.bulk_history_create(new, batch_size=500, default_user=by, default_date=now)
    history.bulk_history_create(list(known.values()), batch_size=500, update=True, default_user=by, default_date=now)
    index_words("contact", [*new, *known.values()])
