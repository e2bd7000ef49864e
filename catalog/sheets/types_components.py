"""Tables of components, one type for each kind, and price lists across all kinds."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cached_property
from typing import Any

from django.db.models import QuerySet
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from catalog import kinds, services
from catalog.forms import ComponentForm
from catalog.kinds.base import Kind, SpecError
from catalog.models import Component, PriceChange, Supplier
from catalog.sheets.columns import Column, of_form
from catalog.sheets.declared import declared_entry
from catalog.sheets.entries import entry_for
from catalog.sheets.matching import Index, LeftOut, Names, Unclear, folded
from catalog.sheets.sheet_type import RowError, SheetType, Values
from catalog.words import problem_sentence

SPEC = "spec_"
"""Before the names of a specification's columns."""
MONEY = ("cost", "sell_price")
PLAIN = ("name", "maker", "part_number", *MONEY, "mass_kg", "stock", "lead_days", "notes")
"""Columns that are fields of the record as they stand."""


class Stock(Index):
    """Every component by part number, and those of one kind by name; suppliers by name."""

    def __init__(self, kind: str = "") -> None:
        self.kind = kind
        self.names, self.numbers = Names(), Names()
        self.suppliers = Names(Supplier.objects.values_list("name", "pk"))
        self.supplier_names = dict(Supplier.objects.values_list("pk", "name"))
        for row in Component.objects.values_list("pk", "kind", "name", "maker", "part_number", "supplier_id"):
            if row[4]:
                self.numbers.add(row[4], row)
            if row[1] == kind:
                self.names.add(row[2], row)

    def by_number(self, given: Values) -> list[Any]:
        """Components with the part number of a row, of the row's maker when it names one."""
        found = self.numbers.of(given["part_number"])
        if given.get("maker"):
            return Names((row[3], row) for row in found).of(given["maker"])
        unnamed = [row for row in found if not row[3]]
        return unnamed or found

    def supplier_id(self, name: str) -> int | None:
        """Number of a supplier. Raises :class:`RowError` when there is none of that name."""
        if not name:
            return None
        found = self.suppliers.of(name)
        if not found:
            words = _("No supplier is called “%(name)s”. Add the supplier first.") % {"name": name}
            raise RowError({"supplier": words})
        return int(found[0])

    def find(self, given: Values) -> int | None:
        number, name = given.get("part_number"), given.get("name")
        if number:
            found = self.by_number(given)
            if len(found) > 1:
                words = _("Several makers have the part number “%(number)s”; say whose it is.")
                raise Unclear("part_number", words % {"number": number})
            if found:
                return self._of_this_kind(found[0])
        if not name:
            return None
        named = self.names.of(name)
        if number:
            named = [row for row in named if not row[4]]
        if len(named) > 1:
            words = _("%(count)d of this kind are called “%(name)s”; say which by maker and part number.")
            raise Unclear("name", words % {"count": len(named), "name": name})
        return named[0][0] if named else None

    def _of_this_kind(self, row: Any) -> int:
        if row[1] == self.kind:
            return int(row[0])
        words = _("This part number is in the catalogue as another kind: “%(name)s”, %(kind)s.")
        raise Unclear("part_number", words % {"name": row[2], "kind": _kind_words(row[1])})

    def key(self, values: Values) -> tuple[str, ...]:
        if values.get("part_number"):
            return ("part", folded(values.get("maker")), folded(values["part_number"]))
        return ("name", folded(values.get("name")))


def _kind_words(code: str) -> str:
    try:
        return _(kinds.get(code).label)
    except kinds.UnknownKind:
        return code


class _Components(SheetType):
    """What the tables of components and the price lists share."""

    model = Component
    about = "component"

    def records(self) -> QuerySet[Any]:
        return Component.objects.select_related("supplier")

    def write_beside(self, saved: Iterable[tuple[Any, Values]], *, by: Any) -> None:
        """A moved cost leaves a PriceChange, as it does when a person types it."""
        moved = [record for record, row in saved if "cost" in row["after"]]
        names = dict(Supplier.objects.values_list("pk", "name"))
        PriceChange.objects.bulk_create(
            [services.price_change(record, names.get(record.supplier_id, ""), by) for record in moved], batch_size=500
        )


class ComponentSheet(_Components):
    """Components of one kind: the columns every component has, and those that the kind declares."""

    group = gettext_lazy("Components")
    finds = ("part_number", "name")
    follows = ("kind", "kind_version", "rating", "sort_key")

    def __init__(self, kind: Kind) -> None:
        self.kind, self.code, self.words = kind, f"component:{kind.code}", kind.plural

    @cached_property
    def columns(self) -> tuple[Column, ...]:  # type: ignore[override]
        form = ComponentForm.base_fields
        money = {name: {"is_money": True} for name in MONEY}
        empty: dict[str, Any] = {"stock": {"required": False, "default": 0}}
        empty["lead_days"] = {"required": False, "default": 0}
        plain = [of_form(name, form[name], **{**money.get(name, {}), **empty.get(name, {})}) for name in PLAIN]
        supplier = Column("supplier", form["supplier"].label, entry_for(form["maker"]), note=SUPPLIER_HELP)
        spec = [
            Column(
                SPEC + field.name,
                field.label,
                declared_entry(field),
                required=field.required and field.default is None and field.type != "boolean",
                note=field.help,
                default=field.default,
            )
            for field in self.kind.fields
        ]
        return unlike((*plain[:3], *spec, *plain[3:6], supplier, *plain[6:]))

    def index(self) -> Stock:
        return Stock(self.kind.code)

    def current(self, record: Any) -> Values:
        values = {name: getattr(record, name) for name in PLAIN}
        values["supplier"] = record.supplier.name if record.supplier else ""
        for field in self.kind.fields:
            values[SPEC + field.name] = record.specification.get(field.name, field.default)
        return values

    def fields(self, values: Values, record: Any, index: Stock) -> Values:
        fields = {name: values[name] for name in PLAIN}
        problems: dict[str, str] = {}
        try:
            fields["supplier_id"] = index.supplier_id(values["supplier"])
        except RowError as error:
            problems |= error.problems
        raw = {field.name: values[SPEC + field.name] for field in self.kind.fields}
        try:
            spec = self.kind.clean({name: value for name, value in raw.items() if value is not None})
        except SpecError as error:
            for problem in error.problems:
                words = problem_sentence(self.kind, problem)
                problems[SPEC + problem.field] = " ".join(filter(None, (problems.get(SPEC + problem.field), words)))
        if problems:
            raise RowError(problems)
        return fields | services.derived(self.kind, spec, fields["name"])

    def column_of(self, field: str) -> str:
        return "supplier" if field == "supplier" else super().column_of(field)

    def rows_for(self, user: Any) -> QuerySet[Any]:
        return super().rows_for(user).filter(kind=self.kind.code)


SUPPLIER_HELP = gettext_lazy("By name, as the supplier stands in the catalogue.")


def unlike(columns: Iterable[Column]) -> tuple[Column, ...]:
    """The columns with no two heads alike: the later one has its name behind it."""
    from dataclasses import replace

    seen: set[str] = set()
    out = []
    for column in columns:
        if column.head.casefold() in seen:
            column = replace(column, words=f"{column.label}, {column.name.removeprefix(SPEC).replace('_', ' ')}")
        seen.add(column.head.casefold())
        out.append(column)
    return tuple(out)


class PriceSheet(_Components):
    """A price list: what parts of any kind cost now. Parts that the workshop does not have are left out."""

    code = "prices"
    words = gettext_lazy("price list")
    group = gettext_lazy("Prices")
    finds = ("part_number",)

    @cached_property
    def columns(self) -> tuple[Column, ...]:  # type: ignore[override]
        form = ComponentForm.base_fields
        finds: dict[str, Any] = {"apart": True}
        return (
            of_form("part_number", form["part_number"], required=True, aliases=("article", "part", "sku"), **finds),
            of_form("maker", form["maker"], **finds, note=gettext_lazy("Needed where two makers share a number.")),
            Column("supplier", form["supplier"].label, entry_for(form["maker"]), note=SUPPLIER_HELP, **finds),
            of_form("cost", form["cost"], is_money=True, aliases=("new cost", "price", "net price")),
            of_form("sell_price", form["sell_price"], is_money=True, aliases=("new selling price", "selling price")),
            of_form("lead_days", form["lead_days"], default=0),
        )

    def index(self) -> Stock:
        return _PricedStock()

    def current(self, record: Any) -> Values:
        names = ("cost", "sell_price", "lead_days")
        return {name: getattr(record, name) for name in names}

    def stands_apart(self, record: Any) -> Values:
        supplier = record.supplier.name if record.supplier else ""
        return {"part_number": record.part_number, "maker": record.maker, "supplier": supplier}

    def can_export(self, user: Any) -> bool:
        return self.can_import(user)

    def rows_for(self, user: Any) -> QuerySet[Any]:
        return super().rows_for(user).exclude(part_number="")

    def name_of(self, values: Values, record: Any) -> str:
        return str(record) if record is not None else str(values.get("part_number") or "")


class _PricedStock(Stock):
    def find(self, given: Values) -> int | None:
        if not given.get("part_number"):
            raise Unclear("part_number", _("The part number is missing: it says whose price this is."))
        found = self.by_number(given)
        if given.get("supplier"):
            try:
                supplier_id = self.supplier_id(given["supplier"])
            except RowError as error:
                raise Unclear("supplier", error.problems["supplier"]) from None
            found = [row for row in found if row[5] == supplier_id]
        if len(found) > 1:
            names = ", ".join(f"{row[3]} {row[2]}" for row in found[:4])
            words = _("Several components have this part number (%(names)s); add the maker.")
            raise Unclear("part_number", words % {"names": names})
        if not found:
            raise LeftOut
        return int(found[0][0])
