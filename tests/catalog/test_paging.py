"""Long lists: counted once and so far, every row on one page and on one only."""

from __future__ import annotations

import pytest
from django.urls import reverse

from catalog import paging
from catalog.models import Component, Supplier

pytestmark = pytest.mark.django_db


@pytest.fixture
def forty_alike():
    """Forty components that nothing but their key tells apart in a list."""
    common = {"kind": "label", "kind_version": 1, "name": "Alike", "sort_key": "alike", "cost": "1"}
    Component.objects.bulk_create(Component(**common, part_number=f"P{n}", stock=n % 2) for n in range(40))


def page_of(desk, page, **more):
    return desk.get(reverse("catalog:component_list"), {"page": page, **more}).context["table"]


@pytest.mark.parametrize("sort", ["name", "-name", "stock", "-stock", "kind", "-mass_kg"])
def test_every_row_is_on_one_page_and_on_one_only(desk, forty_alike, sort):
    shown = [row.record.pk for page in (1, 2) for row in page_of(desk, page, sort=sort).paginated_rows]

    assert sorted(shown) == sorted(Component.objects.values_list("pk", flat=True))


def test_a_page_says_where_it_stands(desk, forty_alike):
    table = page_of(desk, 2)

    assert (table.page.start_index(), table.page.end_index(), table.paginator.count) == (31, 40, 40)
    assert (table.page.has_next(), table.page.has_previous()) == (False, True)


def test_beyond_the_cap_a_list_says_more_than_and_still_goes_on(desk, forty_alike, monkeypatch):
    monkeypatch.setattr(paging, "COUNTED_TO", 30)
    monkeypatch.setattr(paging.count_up_to, "__defaults__", (30,))
    monkeypatch.setattr(paging.count_words, "__defaults__", (30,))

    first, last = page_of(desk, 1), page_of(desk, 2)

    assert first.paginator.count_words == "more than 30"
    assert first.page.has_next() is True
    assert (last.page.start_index(), last.page.end_index(), last.page.has_next()) == (31, 40, False)
    assert page_of(desk, 3).page.number == 1  # nothing there: the last page counted


@pytest.mark.parametrize(("page", "shown"), [("0", 1), ("99", 2), ("x", 1), ("", 1)])
def test_a_page_that_is_not_there_gives_one_that_is(desk, forty_alike, page, shown):
    assert page_of(desk, page).page.number == shown


def test_an_address_cannot_ask_for_every_row_at_once(desk, forty_alike):
    assert page_of(desk, 1, per_page=100_000).paginator.per_page == paging.MOST_PER_PAGE
    assert page_of(desk, 1, per_page=-5).paginator.per_page == 1


def test_settled_leaves_an_order_with_a_key_alone():
    assert paging.settled(Supplier.objects.order_by("name", "-pk")).query.order_by == ("name", "-pk")
    assert paging.settled(Supplier.objects.order_by("-name")).query.order_by == ("-name", "-pk")
