"""Many records at once: shown, done whole or not at all, undone where nobody changed them since."""

from __future__ import annotations

from decimal import Decimal

import pytest
from django.core.exceptions import PermissionDenied
from django.urls import reverse

from catalog import bulk, services
from catalog.finding import index_all
from catalog.forms_bulk import (
    ApplianceChangeForm,
    ComponentChangeForm,
    LabourChangeForm,
    RepriceForm,
    RestoreForm,
    RetireForm,
    rounded,
)
from catalog.models import Appliance, BulkAction, BulkChange, Component, LabourOperation, PriceChange, Supplier
from catalog.services_bulk import BulkRefused, do, plan
from catalog.services_undo import can_undo, undo, undo_plan
from fitouts.models import Customer, User
from fitouts.services import customers
from tests.catalog.conftest import add_component
from tests.factories.jobs import make_user


@pytest.fixture
def manager(workshop) -> User:
    return make_user(User.Role.MANAGER, display_name="Orla Penn")


@pytest.fixture
def three(estimator) -> list[Component]:
    costs = ("100", "12.34", "0.02")
    return [
        add_component("Larkham LF-100", by=estimator, name=f"Battery {i}", part_number="", cost=cost, sell_price=None)
        for i, cost in enumerate(costs)
    ]


def deed_of(form_class, **entries):
    data = {f"{form_class.code}-{name}": value for name, value in entries.items()}
    form = form_class(data, plural="Records")
    assert form.is_valid(), form.errors
    return form.deed()


def reprice(**entries):
    return deed_of(RepriceForm, **{"field": "cost", "way": "percent", "value": "4", "step": "0.01", **entries})


def done(about, deed, rows, by) -> BulkAction:
    one, keys = bulk.get(about), [row.pk for row in rows]
    mark = plan(one, deed, one.model._default_manager.filter(pk__in=keys)).mark
    return do(one, deed, keys, seen=mark, by=by)


def costs_of(rows) -> list[str]:
    return [str(Component.objects.get(pk=row.pk).cost.normalize()) for row in rows]


@pytest.mark.parametrize(
    ("amount", "step", "expected"),
    [
        ("12.375", "0.05", "12.40"),  # half up
        ("12.374", "0.05", "12.35"),
        ("12.34", "0.10", "12.30"),
        ("12.35", "0.10", "12.40"),
        ("0.5", "1", "1"),
        ("12.345", "0.01", "12.35"),
    ],
)
def test_price_is_rounded_half_up_to_the_step(amount, step, expected):
    assert rounded(Decimal(amount), Decimal(step)) == Decimal(expected)


@pytest.mark.parametrize(
    ("entries", "expected"),
    [
        ({"value": "4"}, ["104", "12.83", "0.02"]),  # 12.34 × 1.04 = 12.8336
        ({"value": "4", "step": "0.05"}, ["104", "12.85", "0"]),
        ({"value": "-10", "step": "0.10"}, ["9E+1", "11.1", "0"]),
        ({"way": "amount", "value": "1.50"}, ["101.5", "13.84", "1.52"]),
        ({"way": "set", "value": "7"}, ["7", "7", "7"]),
    ],
)
def test_reprice(three, estimator, entries, expected):
    done("component", reprice(**entries), three, estimator)

    assert costs_of(three) == expected


def test_reprice_is_kept_with_its_steps_history_and_person(three, estimator):
    action = done("component", reprice(), three, estimator)

    assert (action.deed, action.words, action.by_id) == ("reprice", "Cost of 2 components raised by 4 %", estimator.pk)
    changes = [(c.row_id, c.before, c.after) for c in action.changes.all()]
    assert changes == [
        (three[0].pk, {"cost": "100.0000"}, {"cost": "104.0000"}),
        (three[1].pk, {"cost": "12.3400"}, {"cost": "12.8300"}),
    ]
    steps = PriceChange.objects.filter(component=three[1])
    assert next((s.cost, s.changed_by_id, s.supplier_name) for s in steps) == (
        Decimal("12.83"),
        estimator.pk,
        str(three[1].supplier),
    )
    assert three[1].history.first().history_user_id == estimator.pk
    assert three[1].history.first().history_type == "~"
    assert PriceChange.objects.filter(component=three[2]).count() == 1  # 0.02 rounds to itself


def test_negative_price_is_refused_by_name_and_nothing_done(three, estimator):
    with pytest.raises(BulkRefused, match=r"Battery 1: it would cost −1\.66; a price must be at least 0.*Battery 2"):
        done("component", reprice(way="amount", value="-14"), three, estimator)

    assert costs_of(three) == ["1E+2", "12.34", "0.02"]
    assert not BulkAction.objects.exists()


def test_own_price_made_by_markup_stays_so(three, battery, estimator):
    done("component", reprice(field="sell_price", value="10"), [*three, battery], estimator)

    battery.refresh_from_db()
    assert battery.sell_price == Decimal("1246.49")  # 1133.17 × 1.1 = 1246.487
    assert Component.objects.filter(pk__in=[r.pk for r in three], sell_price=None).count() == 3


def test_fields_are_changed_only_where_filled_in(three, battery, estimator):
    supplier = services.save_supplier({"name": "Tarrow Wholesale"}, by=estimator)

    deed = deed_of(ComponentChangeForm, supplier=str(supplier.pk), lead_days="12", by_markup="on")
    action = done("component", deed, [*three, battery], estimator)

    battery.refresh_from_db()
    assert (battery.supplier, battery.lead_days, battery.sell_price) == (supplier, 12, None)
    assert battery.mass_kg > 0
    assert action.words == "Records, 4 changed: supplier, lead time, own selling price dropped"


def test_appliances_and_labour(estimator):
    use = {"power_w": 40.0, "hours_per_day": 5.0, "duty_ratio": 1.0}
    lamp = services.save_appliance("steady", use, {"name": "Work lights", "group": "light"}, by=estimator)
    trim = services.save_labour({"code": "trim", "name": "Trim refitted", "minutes_per_unit": 90.0}, by=estimator)

    done("appliance", deed_of(ApplianceChangeForm, group="tools", essential="yes"), [lamp], estimator)
    done("labour", deed_of(LabourChangeForm, percent="110"), [trim], estimator)

    lamp, trim = Appliance.objects.get(), LabourOperation.objects.get()
    assert (lamp.group, lamp.essential, trim.minutes_per_unit) == ("tools", True, 99.0)
    assert index_all(check=True) == 0  # an appliance is found by its group


def test_labour_beyond_its_range_is_refused_by_name(estimator):
    trim = services.save_labour({"code": "trim", "name": "Trim refitted", "minutes_per_unit": 900.0}, by=estimator)

    with pytest.raises(BulkRefused, match="Trim refitted: Ensure this value is less than or equal to 2400"):
        done("labour", deed_of(LabourChangeForm, percent="400"), [trim], estimator)

    trim.refresh_from_db()
    assert trim.minutes_per_unit == 900.0


@pytest.mark.parametrize(
    ("form_class", "entries", "words"),
    [
        (RepriceForm, {"field": "cost", "way": "percent", "value": "-101", "step": "1"}, "at least −100 %"),
        (RepriceForm, {"field": "cost", "way": "set", "value": "-1", "step": "1"}, "at least 0"),
        (RepriceForm, {"field": "cost", "way": "set", "value": "1,500", "step": "1"}, "can mean 1.5 or 1500"),
        (RepriceForm, {"field": "cost", "way": "set", "value": "", "step": "1"}, "Enter an amount"),
        (ComponentChangeForm, {}, "Fill in at least one entry"),
        (ComponentChangeForm, {"lead_days": "721"}, "at most 720"),
        (LabourChangeForm, {"percent": "5"}, "at least 10"),
    ],
)
def test_wrong_entries_are_refused_in_words(db, form_class, entries, words):
    form = form_class({f"{form_class.code}-{name}": value for name, value in entries.items()})

    assert not form.is_valid()
    assert words in str(form.errors).replace("\xa0", " ")


def test_change_since_the_look_is_refused(three, estimator):
    one, keys = bulk.get("component"), [row.pk for row in three]
    seen = plan(one, reprice(), Component.objects.filter(pk__in=keys)).mark
    Component.objects.filter(pk=keys[0]).update(cost=Decimal("200"))

    with pytest.raises(BulkRefused, match="changed since they were shown"):
        do(one, reprice(), keys, seen=seen, by=estimator)

    assert not BulkAction.objects.exists()


def test_two_at_once_the_second_must_look_again(three, estimator, manager):
    one, keys = bulk.get("component"), [row.pk for row in three]
    seen = plan(one, reprice(), Component.objects.filter(pk__in=keys)).mark
    do(one, reprice(), keys, seen=seen, by=estimator)

    with pytest.raises(BulkRefused, match="look once more"):
        do(one, reprice(), keys, seen=seen, by=manager)

    assert costs_of(three)[0] == "104"


def test_technician_does_nothing_in_bulk(three, technician):
    with pytest.raises(PermissionDenied):
        done("component", reprice(), three, technician)


def test_too_many_are_refused(three, monkeypatch):
    monkeypatch.setattr("catalog.services_bulk.MOST", 2)

    with pytest.raises(BulkRefused, match="3 are too many at once; at most 2"):
        plan(bulk.get("component"), reprice(), Component.objects.all())


# --- Undo ------------------------------------------------------------------------------------------------


def test_undo_puts_back_what_nobody_changed(three, estimator, django_assert_num_queries):
    action = done("component", reprice(), three, estimator)
    Component.objects.filter(pk=three[0].pk).update(cost=Decimal("150"))

    todo = undo_plan(action)
    told = undo(action, seen=todo.mark, by=estimator)

    assert [str(row) for row in todo.changed_since] == ["Battery 0"]
    assert [one.row.pk for one in told.back] == [three[1].pk]
    assert costs_of(three) == ["1.5E+2", "12.34", "0.02"]
    assert [str(c.cost) for c in PriceChange.objects.filter(component=three[1])] == ["12.3400", "12.8300", "12.3400"]
    action.refresh_from_db()
    assert action.undone_by_id == estimator.pk


def test_undo_twice_does_nothing(three, estimator):
    action = done("component", reprice(), three, estimator)
    mark = undo_plan(action).mark
    undo(action, seen=mark, by=estimator)
    rows = three[0].history.count()

    assert undo(action, seen=mark, by=estimator) is None
    assert three[0].history.count() == rows


def test_undo_must_be_looked_at_and_be_true_still(three, estimator):
    action = done("component", reprice(), three, estimator)
    seen = undo_plan(action).mark
    Component.objects.filter(pk=three[0].pk).update(cost=Decimal("150"))

    for mark in ("", seen):
        with pytest.raises(BulkRefused, match="changed since"):
            undo(action, seen=mark, by=estimator)

    assert costs_of(three)[1] == "12.83"


def test_nothing_left_to_undo_is_said(three, estimator):
    action = done("component", reprice(), three, estimator)
    Component.objects.update(cost=Decimal("150"))

    with pytest.raises(BulkRefused, match="nothing is left to put back"):
        undo(action, seen=undo_plan(action).mark, by=estimator)


def test_who_may_undo_what(three, estimator, manager, technician):
    other = make_user(User.Role.ESTIMATOR, "other")
    first = done("component", reprice(), three, estimator)
    last = done("component", reprice(), three, estimator)
    theirs = done("component", reprice(), three, other)

    allowed = {
        person.username: [can_undo(person, action) for action in (first, last, theirs)]
        for person in (estimator, other, manager, technician)
    }
    assert allowed == {
        "estimator": [False, True, False],
        "other": [False, False, True],
        "manager": [True, True, True],
        "technician": [False, False, False],
    }
    with pytest.raises(PermissionDenied):
        undo(first, seen=undo_plan(first).mark, by=estimator)


def test_what_an_import_added_is_retired(estimator):
    supplier = services.save_supplier({"name": "Tarrow Wholesale", "phone": "1"}, by=estimator)
    changed = services.save_supplier({"name": "Orrin", "phone": "2"}, by=estimator)
    action = BulkAction.objects.create(about="supplier", deed="import", words="Suppliers", by_id=estimator.pk)
    BulkChange.objects.create(action=action, row_id=supplier.pk, before=None, after={"name": "Tarrow Wholesale"})
    BulkChange.objects.create(action=action, row_id=changed.pk, before={"phone": "1"}, after={"phone": "2"})
    BulkChange.objects.create(action=action, row_id=987_654, before=None, after={"name": "Gone"})

    todo = undo_plan(action)
    undo(action, seen=todo.mark, by=estimator)

    supplier.refresh_from_db()
    changed.refresh_from_db()
    assert (supplier.is_retired, changed.phone, todo.gone) == (True, "1", 1)
    assert supplier.history.first().history_user_id == estimator.pk


def test_name_taken_since_is_refused_whole(estimator):
    one = services.save_supplier({"name": "New name"}, by=estimator)
    services.save_supplier({"name": "Old name"}, by=estimator)
    action = BulkAction.objects.create(about="supplier", deed="import", words="Suppliers", by_id=estimator.pk)
    BulkChange.objects.create(action=action, row_id=one.pk, before={"name": "Old name"}, after={"name": "New name"})

    with pytest.raises(BulkRefused, match="taken by another record"):
        undo(action, seen=undo_plan(action).mark, by=estimator)

    action.refresh_from_db()
    assert action.undone_at is None


def test_retire_and_take_back(estimator):
    rows = [customers.add_customer(by=estimator, name=f"Customer {n}") for n in range(3)]
    customers.retire_customer(rows[0], by=estimator)

    action = done("customer", deed_of(RetireForm), rows, estimator)
    assert Customer.objects.filter(retired_at=None).count() == 0
    undo(action, seen=undo_plan(action).mark, by=estimator)
    assert list(Customer.objects.filter(retired_at=None)) == rows[1:]
    done("customer", deed_of(RestoreForm), rows, estimator)
    assert Customer.objects.filter(retired_at=None).count() == 3


# --- Pages -----------------------------------------------------------------------------------------------


def look(client, about="component", **entries):
    return client.post(reverse("catalog:bulk", args=[about]), entries)


REPRICE = {
    "deed": "reprice",
    "reprice-field": "cost",
    "reprice-way": "percent",
    "reprice-value": "4",
    "reprice-step": "0.01",
}


def test_ticked_rows_are_repriced_and_undone_from_the_pages(desk, three):
    keys = [three[0].pk, three[1].pk]
    chosen = desk.get(reverse("catalog:bulk", args=["component"]), {"which": "ticked", "row": keys})
    assert "2 records picked" in chosen.content.decode()

    shown = look(desk, row=keys, **REPRICE)
    text = shown.content.decode()
    assert "Cost of 2 components raised by 4" in text
    assert all(figure in text for figure in ("100.00", "104.00", "+4.00", "112.34", "116.83", "+4.49"))
    assert costs_of(three) == ["1E+2", "12.34", "0.02"]

    after = look(desk, row=keys, seen=shown.context["plan"].mark, **REPRICE)
    assert after.status_code == 302
    assert costs_of(three) == ["104", "12.83", "0.02"]

    action = BulkAction.objects.get()
    assert reverse("catalog:bulk_undo", args=[action.pk]) in desk.get(after["Location"]).content.decode()
    asked = desk.get(reverse("catalog:bulk_undo", args=[action.pk]))
    desk.post(reverse("catalog:bulk_undo", args=[action.pk]), {"seen": asked.context["plan"].mark})
    assert costs_of(three) == ["1E+2", "12.34", "0.02"]
    again = desk.post(reverse("catalog:bulk_undo", args=[action.pk]), {"seen": asked.context["plan"].mark}, follow=True)
    assert "It was undone already." in again.content.decode()


def test_all_that_the_filter_shows(desk, three, battery):
    entries = {"which": "all", "query": "q=battery+0&sort=-cost"}
    chosen = desk.get(reverse("catalog:bulk", args=["component"]), entries)
    assert [row.pk for row in chosen.context["picked"].rows] == [three[0].pk]

    shown = look(desk, **entries, **REPRICE)
    add_component("Larkham LF-100", by=battery.history.first().history_user, name="Battery 0 b", part_number="")
    refused = look(desk, **entries, seen=shown.context["plan"].mark, **REPRICE)

    assert refused.status_code == 422
    assert "look once more" in refused.content.decode()
    assert "Do it to 2 records" in refused.content.decode()


def test_wrong_entry_comes_back_as_it_was_typed(desk, three):
    response = look(desk, row=[three[0].pk], **{**REPRICE, "reprice-value": "four"})

    assert response.status_code == 422
    assert 'value="four"' in response.content.decode()
    assert f'name="row" value="{three[0].pk}"' in response.content.decode()


def test_retiring_says_what_still_uses_the_records(desk, battery):
    supplier = Supplier.objects.get(pk=battery.supplier_id)

    text = look(desk, "supplier", row=[supplier.pk], deed="retire").content.decode()

    assert "1 component in use" in text
    assert "Do it to 1 record" in text


@pytest.mark.parametrize("entries", [{}, {"row": "x"}, {"row": "99999999"}, {"which": "all", "query": "kind=nonsense"}])
def test_nothing_picked_is_said(desk, entries):
    response = desk.get(reverse("catalog:bulk", args=["component"]), entries)

    assert "Nothing is picked" in response.content.decode()
    assert desk.get(reverse("catalog:bulk", args=["nonsense"])).status_code == 404


def test_lists_offer_boxes_only_when_asked_and_allowed(desk, client, three, technician):
    url = reverse("catalog:component_list")
    shown = desk.get(url, {"q": "battery"}).content.decode()
    assert 'name="row"' not in shown
    assert 'href="?q=battery&amp;pick=1"' in shown
    text = desk.get(url, {"pick": "1", "q": "battery"}).content.decode()
    assert text.count('name="row"') == 3
    assert 'name="query" value="q=battery"' in text

    client.force_login(technician)
    text = client.get(url, {"pick": "1"}).content.decode()
    assert 'name="row"' not in text
    assert "Pick rows" not in text


def test_technician_is_refused_and_sees_no_price(client, three, technician, estimator):
    action = done("component", reprice(), three, estimator)
    client.force_login(technician)

    answers = [
        client.get(reverse("catalog:bulk", args=["component"]), {"row": three[0].pk}),
        look(client, row=[three[0].pk], **REPRICE),
        client.get(reverse("catalog:bulk_actions")),
        client.get(reverse("catalog:bulk_undo", args=[action.pk])),
        client.post(reverse("catalog:bulk_undo", args=[action.pk]), {"seen": undo_plan(action).mark}),
    ]

    assert [answer.status_code for answer in answers] == [403] * 5
    assert all("104" not in answer.content.decode() for answer in answers)


@pytest.mark.parametrize("count", [3, 60])
def test_pages_ask_the_database_a_fixed_number_of_times(desk, estimator, count, django_assert_num_queries):
    rows = [services.save_supplier({"name": f"Supplier {n}"}, by=estimator) for n in range(count)]
    keys = [row.pk for row in rows]
    for row in rows:
        done("supplier", deed_of(RetireForm), [row], estimator)
    with django_assert_num_queries(4):
        desk.get(reverse("catalog:bulk", args=["supplier"]), {"row": keys})
    with django_assert_num_queries(4):
        look(desk, "supplier", row=keys, deed="restore")
    with django_assert_num_queries(7):
        desk.get(reverse("catalog:bulk_actions"))
