"""Pages of long lists: rows counted once and only so far, a page read by its keys.

Counting a hundred thousand rows to print "1 to 30 of 104,212" costs more than the page itself, so the count stops at
:data:`COUNTED_TO`. A page far down first walks keys alone, along an index, and then reads its own rows.
"""

from __future__ import annotations

from typing import Any

from django.core.paginator import EmptyPage, Page, PageNotAnInteger, Paginator
from django.db.models import QuerySet
from django.db.models.sql.where import WhereNode
from django.utils.functional import cached_property
from django.utils.translation import gettext as _
from django_tables2.rows import BoundRows

from catalog.quantities import format_number

COUNTED_TO = 10_000
"""Beyond so many rows a list only says that there are more."""
MOST_PER_PAGE = 200
"""Rows that an address may ask for at once."""


def count_up_to(rows: QuerySet[Any], most: int = COUNTED_TO) -> int:
    """How many rows there are, or ``most + 1`` when there are more."""
    return rows.order_by().values("pk")[: most + 1].count()


def count_words(count: int, most: int = COUNTED_TO) -> str:
    """What a person reads of a count made by :func:`count_up_to`."""
    return _("more than %(n)s") % {"n": format_number(most)} if count > most else format_number(count)


class LongListPaginator(Paginator):  # type: ignore[type-arg]
    """Pages of a table over a query. Asks the database three times, however many rows there are."""

    def __init__(self, object_list: BoundRows, per_page: int, **kwargs: Any) -> None:
        super().__init__(object_list, max(1, min(int(per_page), MOST_PER_PAGE)), **kwargs)
        self.table_rows = object_list
        self._reached = 0

    @property
    def rows(self) -> QuerySet[Any]:
        """The query of the table, in a certain order."""
        return settled(self.table_rows.data.data)

    @cached_property
    def count(self) -> int:  # type: ignore[override]
        return count_up_to(self.rows)

    @property
    def count_words(self) -> str:
        return count_words(self.count)

    @property
    def num_pages(self) -> int:  # type: ignore[override]
        """Pages known of: those counted, or as far as somebody has gone beyond."""
        return max(1, -(-min(self.count, COUNTED_TO) // self.per_page), self._reached)

    def validate_number(self, number: Any) -> int:
        try:
            page = int(number or 1)
        except (TypeError, ValueError):
            raise PageNotAnInteger(_("A page has a whole number.")) from None
        if page < 1 or (page > self.num_pages and self.count <= COUNTED_TO):
            raise EmptyPage(_("There is no such page."))
        return page

    def page(self, number: Any) -> Page:  # type: ignore[type-arg]
        """One page, its rows read by their keys.

        Raises PageNotAnInteger or EmptyPage, which django-tables2 answers with the first or the last page.
        """
        page = self.validate_number(number)
        bottom = (page - 1) * self.per_page
        rows = self.rows
        # the row after the last tells whether there is another page
        keys = list(rows.values_list("pk", flat=True)[bottom : bottom + self.per_page + 1])
        if not keys and page > 1:
            raise EmptyPage(_("There is no such page."))
        self._reached = page + (len(keys) > self.per_page)
        keys = keys[: self.per_page]
        found = {row.pk: row for row in _by_key(rows, keys)}
        records = [found[key] for key in keys if key in found]
        return _Page(BoundRows(data=records, table=self.table_rows.table), page, self)


class _Page(Page):  # type: ignore[type-arg]
    def end_index(self) -> int:
        return max(0, self.start_index() + len(self.object_list) - 1)


def _by_key(rows: QuerySet[Any], keys: list[Any]) -> QuerySet[Any]:
    """The rows of these keys with all that stands beside them; what found the keys is not asked a second time."""
    bare = rows.order_by()
    bare.query.where = WhereNode()
    return bare.filter(pk__in=keys)


def settled(rows: QuerySet[Any]) -> QuerySet[Any]:
    """The same rows with ties settled by key, in the direction of the order, so that one index can give both."""
    order = rows.query.order_by or rows.model._meta.ordering or ["pk"]
    names = [name for name in order if isinstance(name, str)]
    if any(name.lstrip("-") in ("pk", "id") for name in names):
        return rows
    falls = bool(names) and names[0].startswith("-")
    return rows.order_by(*order, "-pk" if falls else "pk")
