"""Lists kept under a name: each person their own, and no kept filter ever breaks a page."""

from __future__ import annotations

import pytest
from django.core.exceptions import ValidationError
from django.http import QueryDict
from django.urls import reverse

from catalog import saved_filters, services
from catalog.models import SavedFilter

LISTS = [
    "catalog:component_list",
    "catalog:appliance_list",
    "catalog:labour_list",
    "catalog:supplier_list",
    "catalog:site_list",
    "customer_list",
    "vehicle_list",
    "job_list",
]


def keep(client, **entries):
    values = {"page": "catalog:component_list", "name": "To order", "query": "kind=battery&q=lark&page=3&pick=1"}
    return client.post(reverse("catalog:filter_keep"), {**values, **entries})


def test_query_is_kept_without_page_and_empty_entries():
    entries = QueryDict("q=12 V&kind=&page=2&sort=-cost&pick=1&a=1&a=2&a=")

    assert saved_filters.present_query(entries) == "a=1&a=2&q=12+V&sort=-cost"


@pytest.mark.parametrize("page", LISTS)
def test_every_list_keeps_chooses_renames_and_removes(desk, page):
    url = reverse(page)
    assert 'action="/catalogue/filters/keep/"' not in desk.get(url).content.decode()
    offered = desk.get(url, {"q": "lark"}).content.decode()
    assert "Keep this filter" in offered
    assert "csrfmiddlewaretoken" in offered.partition("filters/keep/")[2].partition("</form>")[0]

    kept = keep(desk, page=page, query="q=lark&sort=name")
    assert kept["Location"] == f"{url}?q=lark&sort=name"
    saved = SavedFilter.objects.get()
    text = desk.get(kept["Location"]).content.decode()
    assert 'aria-current="true">To order' in text
    assert "Keep this filter" not in text

    desk.post(reverse("catalog:filter_rename", args=[saved.pk]), {"name": "Ordered"})
    assert ">Ordered</a>" in desk.get(url).content.decode()
    gone = desk.post(reverse("catalog:filter_remove", args=[saved.pk]))
    assert gone["Location"] == url
    assert not SavedFilter.objects.exists()


def test_nobody_sees_or_touches_anothers(desk, client, technician):
    assert "To order" in desk.get(keep(desk)["Location"]).content.decode()
    saved = SavedFilter.objects.get()
    client.force_login(technician)

    assert "To order" not in client.get(reverse("catalog:component_list")).content.decode()
    assert client.post(reverse("catalog:filter_rename", args=[saved.pk]), {"name": "Mine"}).status_code == 404
    assert client.post(reverse("catalog:filter_remove", args=[saved.pk])).status_code == 404
    assert keep(client).status_code == 302  # the same name for another person


@pytest.mark.parametrize(
    ("entries", "words"),
    [
        ({"name": "  "}, "Give the filter a name"),
        ({"name": "x" * 61}, "has 61 characters; at most 60"),
        ({"query": "page=2"}, "there is nothing to keep"),
        ({"query": "q=" + "x" * 1000}, "has 1002 characters; at most 1000"),
        ({"page": "no-such-list"}, "There is no such list"),
        ({"page": "job"}, "There is no such list"),
    ],
)
def test_what_cannot_be_kept_is_said_and_shown_again(desk, entries, words):
    response = keep(desk, **entries)

    assert response.status_code == 422
    assert words in response.content.decode()
    assert entries.get("name", "To order") in response.content.decode()
    assert not SavedFilter.objects.exists()


def test_name_taken_is_refused(desk):
    keep(desk)

    refused = keep(desk, query="q=other")

    assert refused.status_code == 422
    assert "You keep a filter called “To order” for this list already." in refused.content.decode()
    assert SavedFilter.objects.get().query == "kind=battery&q=lark"


def test_at_most_thirty(desk, estimator):
    for n in range(saved_filters.MOST):
        saved_filters.keep(user=estimator, page="job_list", name=f"Filter {n}", query="q=x")

    with pytest.raises(ValidationError, match="You keep 30 filters"):
        saved_filters.keep(user=estimator, page="job_list", name="One more", query="q=x")


def test_filter_whose_entries_are_gone_says_so_and_opens(desk, estimator):
    supplier = services.save_supplier({"name": "Tarrow Wholesale"}, by=estimator)
    query = f"colour=red&kind=no-such-kind&sort=nothing&supplier={supplier.pk}9&page=x"
    SavedFilter.objects.create(owner_id=estimator.pk, page="catalog:component_list", name="Old", query=query)

    there = desk.get(reverse("catalog:component_list"))
    opened = desk.get(f"{reverse('catalog:component_list')}?{query}")

    assert "partly out of date" in there.content.decode()
    assert "This list no longer has: colour, page." in there.content.decode()
    assert opened.status_code == 200


@pytest.mark.parametrize("count", [3, 30])
def test_kept_filters_cost_one_query(desk, estimator, count, django_assert_num_queries):
    for n in range(count):
        saved_filters.keep(user=estimator, page="catalog:labour_list", name=f"Filter {n}", query=f"q={n}")
    desk.get(reverse("catalog:labour_list"))

    with django_assert_num_queries(6):
        desk.get(reverse("catalog:labour_list"))
