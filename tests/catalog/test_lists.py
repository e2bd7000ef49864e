"""Every other list of the catalogue asks the database a fixed number of times, and history keeps its secrets."""

from __future__ import annotations

from decimal import Decimal

import pytest
from django.urls import reverse

from catalog import library, services
from catalog.changes import changes_of
from catalog.models import Site
from tests.catalog.conftest import add_component


def fill(section: str, count: int, by) -> None:
    for i in range(count):
        if section == "appliance":
            entry = library.APPLIANCES[i % len(library.APPLIANCES)]
            values = {"name": f"{entry['name']} {i}", "group": entry["group"], "bus": entry["bus"], **entry["values"]}
            services.save_appliance(entry["way"], entry["use"], values, by=by)
        elif section == "labour":
            services.save_labour({**library.LABOUR[0], "code": f"op_{i}", "notes": "own times"}, by=by)
        elif section == "supplier":
            supplier = services.save_supplier({"name": f"Supplier {i}"}, by=by)
            add_component("Larkham LF-100", by=by, name=f"Battery {i}", part_number="", supplier=supplier)
    if section == "site":
        services.load_sites(library.site_rows()[:count], by=by)


@pytest.mark.parametrize("count", [3, 60])
@pytest.mark.parametrize(("section", "queries"), [("appliance", 7), ("labour", 7), ("supplier", 7), ("site", 8)])
def test_list_asks_the_database_a_fixed_number_of_times(
    desk, estimator, section, queries, count, django_assert_num_queries
):
    fill(section, count, estimator)

    with django_assert_num_queries(queries):
        response = desk.get(reverse(f"catalog:{section}_list"))

    assert response.context["table"].paginator.count == count


def test_supplier_page_asks_the_database_a_fixed_number_of_times(desk, estimator, django_assert_num_queries):
    supplier = services.save_supplier({"name": "Sorrel Supplies"}, by=estimator)
    for i in range(60):
        add_component("Larkham LF-100", by=estimator, name=f"Battery {i}", part_number="", supplier=supplier)

    with django_assert_num_queries(9):
        desk.get(reverse("catalog:supplier_detail", args=[supplier.pk]))


def test_step_that_only_moved_money_is_no_step_for_a_technician(battery, estimator, technician):
    services.save_component(
        "battery",
        battery.specification,
        name=battery.name,
        maker=battery.maker,
        part_number=battery.part_number,
        supplier=battery.supplier,
        cost=Decimal("815.55"),
        sell_price=Decimal("1201.44"),
        mass_kg=battery.mass_kg,
        stock=battery.stock,
        lead_days=battery.lead_days,
        component=battery,
        by=estimator,
    )

    told = changes_of(battery, reader=estimator)
    kept = changes_of(battery, reader=technician)

    assert [(f.label, f.before, f.after) for f in told[0].fields] == [
        ("Cost", "798.00", "815.55"),
        ("Own selling price", "1\u202f133.17", "1\u202f201.44"),
    ]
    assert [change.kind for change in told] == ["changed", "added"]
    assert [change.kind for change in kept] == ["added"]


def test_suppliers_in_a_history_are_named_in_one_query(battery, estimator, django_assert_num_queries):
    for i in range(20):
        battery.supplier = services.save_supplier({"name": f"Supplier {i}"}, by=estimator)
        battery.save()

    with django_assert_num_queries(3):
        told = changes_of(battery, reader=estimator)

    assert [(f.label, f.before, f.after) for f in told[0].fields] == [("Supplier", "Supplier 18", "Supplier 19")]


def test_specification_is_told_value_by_value(battery, estimator):
    battery.specification = {**battery.specification, "capacity_ah": 105.0}
    battery.save()

    fields = changes_of(battery, reader=estimator)[0].fields

    assert [(f.label, "100" in f.before, "105" in f.after) for f in fields] == [("Capacity", True, True)]


@pytest.mark.parametrize(
    ("query", "names"),
    [({"country": "NZL"}, 7), ({"q": "coonamble nsw"}, 1), ({"q": "nowhere"}, 0), ({}, 102)],
)
def test_places_are_found(desk, estimator, query, names):
    services.load_sites(library.site_rows(), by=estimator)
    if "country" in query:
        names = Site.objects.filter(country=query["country"]).count()
        assert names > 0

    response = desk.get(reverse("catalog:site_list"), query)

    assert response.context["table"].paginator.count == names
