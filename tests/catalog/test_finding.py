"""Words, the index of them, and what is found by typing."""

from __future__ import annotations

import io
from datetime import UTC, datetime

import pytest
from django.core.management import CommandError, call_command
from django.db import connection
from django.urls import reverse
from hypothesis import given, settings
from hypothesis import strategies as st

from catalog import services
from catalog.finding import FINDABLE, begins_with, index_all, index_if_empty, index_rows, keys_with
from catalog.finding_search import find, opened
from catalog.finding_words import LONGEST, asked_words, compact, folded, kept_words
from catalog.models import Component, RecentItem, SearchWord
from catalog.recent import note
from fitouts.models import Contact, Customer, Fitout, InstalledComponent, InstalledSystem, Instrument, User, Vehicle
from fitouts.services import customers, vehicles
from quoting.models import Quote
from tests.factories.jobs import make_user
from tests.seen import seen

# --- Words -----------------------------------------------------------------------------------------------

TEXTS = st.text(st.characters(codec="utf-8"), max_size=60)


@pytest.mark.parametrize(
    ("typed", "kept"),
    [
        ("LD 12-100", ["ld12100", "ld", "12", "100", "12-100", "LD12", "ld-12-100"]),
        ("Ångström 12.8 V", ["angstrom", "12.8 V", "12,8", "12.8V", "ANGST"]),
        ("12 volt pump", ["12 V", "12v", "volt", "pump"]),
        ("mara.quill@venn.example", ["mara", "quill", "venn.example", "mara.quill@venn"]),
        ("O'Hare & Sons, 24/7", ["ohare", "hare", "sons", "24/7"]),
        ("Größe Œuvre", ["grosse", "œuvre"]),
    ],
)
def test_text_is_found_as_people_type_it(typed, kept):
    words = kept_words([typed])

    for text in kept:
        assert all(any(has.startswith(word) for has in words) for word in asked_words(text)), text


@pytest.mark.parametrize("typed", ["KF 417 V", "kf417v", "KF417", "417 V", "417v", "kf-417-v", "KF 417 v"])
def test_plate_is_found_with_and_without_its_spaces(typed):
    words = kept_words([], ["KF 417 V"])

    assert all(any(has.startswith(word) for has in words) for word in asked_words(typed))


@pytest.mark.parametrize("typed", ["01632 960 417", "01632960417", "960 417", "960417", "01632"])
def test_phone_is_found_by_its_digits(typed):
    words = kept_words([], ["(01632) 960-417"])

    assert all(any(has.startswith(word) for has in words) for word in asked_words(typed))


@settings(max_examples=300, deadline=None)
@given(TEXTS, TEXTS)
def test_words_never_fail_and_fit_their_column(text, key):
    words = kept_words([text], [key])

    assert all(0 < len(word) <= LONGEST for word in words)
    assert {folded(word) for word in words} == words
    asked_words(text), compact(key)


@settings(max_examples=300, deadline=None)
@given(TEXTS, st.data())
def test_record_is_found_by_each_of_its_words_and_their_beginnings(text, data):
    words = kept_words([text])

    for whole in text.split():
        for typed in (whole, whole[: data.draw(st.integers(2, max(2, len(whole))))]):
            for word in asked_words(typed):
                assert any(has.startswith(word) for has in words), (typed, word, words)


# --- The index -------------------------------------------------------------------------------------------


def words_of(about: str, row) -> set[str]:
    return set(SearchWord.objects.filter(about=about, row_id=row.pk).values_list("word", flat=True))


@pytest.fixture
def customer(estimator) -> Customer:
    return customers.add_customer(by=estimator, name="Venn Field Geology", phone="01632 960 417")


@pytest.fixture
def vehicle(customer, estimator) -> Vehicle:
    return vehicles.add_vehicle(
        customer, by=estimator, make="Halvard", model="Tor 3.0", registration="KF 417 V", vin="6T1BE42K76X123456"
    )


@pytest.fixture
def job(customer, vehicle) -> Fitout:
    return Fitout.objects.create(number="26-0003", title="Quiet fridge", customer=customer, vehicle=vehicle)


def test_index_follows_change_and_removal(customer, vehicle, estimator):
    vehicles.change_vehicle(vehicle, by=estimator, registration="ZZ 1")

    assert {"zz1", "1", "halvard", "venn"} <= words_of("vehicle", vehicle)
    assert "kf417v" not in words_of("vehicle", vehicle)

    contact = customers.add_contact(customer, by=estimator, name="Ines Tarrow")
    assert find(estimator, "tarrow").hits[0].about == "contact"
    customers.remove_contact(contact, by=estimator)
    assert find(estimator, "tarrow").hits == ()


def test_vehicle_and_job_follow_their_owner_and_plate(customer, vehicle, job, estimator):
    customers.change_customer(customer, by=estimator, name="Orrin Surveys")
    vehicles.change_vehicle(vehicle, by=estimator, registration="ZZ 1")

    assert [found.about for found in find(estimator, "orrin").hits] == ["customer", "vehicle", "job"]
    assert find(estimator, "venn").hits == ()
    assert {found.about for found in find(estimator, "zz1").hits} == {"vehicle", "job"}
    assert index_all(check=True) == 0


def test_save_that_moves_no_word_writes_none(vehicle, estimator, django_assert_num_queries):
    with django_assert_num_queries(1):
        assert index_rows("vehicle", [vehicle]) == 0


def test_refused_service_leaves_the_index_as_it_was(battery, estimator):
    before = words_of("component", battery)

    with pytest.raises(services.ValidationError):
        services.save_component(
            battery.kind,
            battery.specification,
            name="Nameless",
            cost=battery.cost,
            mass_kg=-1,
            by=estimator,
            component=battery,
        )

    assert words_of("component", battery) == before


def test_rows_written_in_bulk_are_indexed_when_asked(db, estimator):
    Customer.objects.bulk_create([Customer(name=f"Tarrow {n}") for n in range(3)])
    assert find(estimator, "tarrow").hits == ()

    index_rows("customer", Customer.objects.all())

    assert len(find(estimator, "tarrow").hits) == 3


def test_command_checks_and_mends(customer, vehicle, battery):
    SearchWord.objects.filter(word="halvard").delete()
    SearchWord.objects.create(about="vehicle", row_id=vehicle.pk, word="stray")
    SearchWord.objects.create(about="customer", row_id=987_654, word="nobody")
    SearchWord.objects.create(about="no-such-kind", row_id=1, word="nothing")

    with pytest.raises(CommandError, match="4 words are wrong"):
        call_command("index_words", check=True, stdout=io.StringIO())
    told = io.StringIO()
    call_command("index_words", stdout=told)
    call_command("index_words", check=True, stdout=told)

    assert "Vehicle: 1 records, 2 words put right" in told.getvalue()
    assert told.getvalue().endswith("Every record is found by its words.\n")


def test_old_database_is_indexed_once(customer, vehicle):
    SearchWord.objects.all().delete()

    assert index_if_empty() is True
    assert index_if_empty() is False
    assert index_all(check=True) == 0


def test_starter_catalogue_is_indexed_as_it_is_loaded(estimator):
    services.load_starter(by=estimator)

    assert index_all(check=True) == 0
    assert SearchWord.objects.filter(about="component").values("row_id").distinct().count() == Component.objects.count()


# --- What is found ---------------------------------------------------------------------------------------


def said(user, text) -> list[tuple[str, str]]:
    return [(found.about, found.hit.words) for found in find(user, text).hits]


def test_everything_is_found(customer, vehicle, job, battery, technician, estimator):
    contact = Contact.objects.create(customer=customer, name="Ines Tarrow", phone="01632 960 999")
    system = InstalledSystem.objects.create(
        vehicle=vehicle, fitout=job, title="Steady", delivered_on="2026-01-05", snapshot_sha256="0" * 64
    )
    InstalledComponent.objects.create(
        system=system, role="battery", name="Larkham LF-100", serial="KF001-007", batch="L2604", part_number="LF100P"
    )
    Instrument.objects.create(name="Clamp meter", serial="C-17")
    Quote.objects.create(fitout=job, number="Q26-0009")
    services.save_supplier({"name": "Tarrow Wholesale", "phone": "01632 960 555"}, by=estimator)
    services.save_labour({"code": "fit_battery", "name": "Battery fitted", "minutes_per_unit": 40.0}, by=estimator)

    asked = {
        "larkham": ("component", "Larkham LF-100"),
        "01632960999": ("contact", contact.name),
        "fit_battery": ("labour", "Battery fitted"),
        "1632 960 555": None,
        "01632 960 555": ("supplier", "Tarrow Wholesale"),
        "kf417v": ("vehicle", "KF 417 V Halvard Tor 3.0"),
        "6t1be42k76x123456": ("vehicle", "KF 417 V Halvard Tor 3.0"),
        "26-0003": ("job", "26-0003 Quiet fridge"),
        "q26-0009": ("quote", "Quote Q26-0009"),
        "kf001-007": ("installed", "Larkham LF-100, serial KF001-007, batch L2604"),
        "l2604": ("installed", "Larkham LF-100, serial KF001-007, batch L2604"),
        "c-17": ("instrument", "Clamp meter C-17"),
        "venn": ("customer", "Venn Field Geology"),
    }
    for text, first in asked.items():
        for user in (technician, estimator):
            assert next(iter(said(user, text)), None) == first, text


def test_exact_numbers_then_whole_words_then_beginnings_then_recent(customer, estimator):
    def plate(text):
        return vehicles.add_vehicle(customer, by=estimator, make="Brindle", model="Carrier", registration=text)

    longer, whole, exact = plate("KF 41 77"), plate("Q KF 41"), plate("KF 41")
    RecentItem.objects.create(owner_id=estimator.pk, about="vehicle", row_id=longer.pk, seen_at=datetime.now(UTC))

    assert [found.pk for found in find(estimator, "kf41").hits] == [exact.pk, whole.pk, longer.pk]

    other = plate("KF 41 10")
    assert [found.pk for found in find(estimator, "kf41").hits][2:] == [longer.pk, other.pk]


def test_recent_one_is_found_among_very_many(customer, estimator):
    Customer.objects.bulk_create([Customer(name=f"Arden {n:03}") for n in range(60)])
    index_rows("customer", Customer.objects.all())
    last = Customer.objects.get(name="Arden 059")
    for about, pk in (("customer", last.pk), ("customer", customer.pk)):
        RecentItem.objects.create(owner_id=estimator.pk, about=about, row_id=pk, seen_at=datetime.now(UTC))

    assert next(found.hit.words for found in find(estimator, "arden", 5).hits) == "Arden 059"
    assert "Venn Field Geology" not in {found.hit.words for found in find(estimator, "arden", 100).hits}


def test_retired_ones_are_last_and_dimmed(customer, estimator):
    old = vehicles.add_vehicle(customer, by=estimator, make="Brindle", model="Carrier", registration="KF 41")
    vehicles.retire_vehicle(old, by=estimator)
    new = vehicles.add_vehicle(customer, by=estimator, make="Brindle", model="Carrier", registration="KF 41 77")

    assert [(found.pk, found.hit.off) for found in find(estimator, "kf41").hits] == [(new.pk, False), (old.pk, True)]


def test_every_word_must_be_in_the_record(customer, vehicle, estimator):
    assert said(estimator, "halvard venn tor") == [("vehicle", "KF 417 V Halvard Tor 3.0")]
    assert said(estimator, "halvard brindle") == []
    assert said(estimator, "%' OR 1=1 --") == []
    assert said(estimator, "--") == []


def test_shared_beginning_says_that_there_is_more(estimator):
    Customer.objects.bulk_create([Customer(name=f"Arden {n:03}") for n in range(60)])
    Customer.objects.create(name="A")
    index_rows("customer", Customer.objects.all())

    answer = find(estimator, "a", 10)

    assert answer.more is True
    assert len(answer.hits) == 10
    assert answer.hits[0].hit.words == "A"
    assert find(estimator, "arden 059", 10).more is False


def test_words_in_very_many_records_are_not_looked_through_to_the_end(estimator, monkeypatch):
    monkeypatch.setattr("catalog.finding_search.LOOKED_THROUGH", 5)
    Customer.objects.bulk_create([Customer(name=f"Arden {'Tor' if n % 2 else 'Venn'} {n:03}") for n in range(40)])
    index_rows("customer", Customer.objects.all())

    none = find(estimator, "tor venn")
    some = find(estimator, "arden 039")

    assert (none.hits, none.more) == ((), True)
    assert ([found.hit.words for found in some.hits], some.more) == (["Arden Tor 039"], False)


def test_number_of_statements_is_the_same_for_three_and_sixty(estimator, django_assert_num_queries):
    for count in (3, 60):
        Customer.objects.bulk_create([Customer(name=f"Arden Tor {n:03}") for n in range(count)])
        index_rows("customer", Customer.objects.all())
        with django_assert_num_queries(4):  # counts, keys, recent, customers
            assert find(estimator, "arden tor").hits


def explained(rows) -> str:
    return rows.explain().lower()


def test_list_looks_the_words_up_in_the_index(db):
    if connection.vendor == "postgresql":
        # with a handful of words any index is as good
        words = [SearchWord(about="vehicle", row_id=n, word=f"k{n}v{m}") for n in range(2000) for m in range(4)]
        SearchWord.objects.bulk_create(words)
        with connection.cursor() as cursor:
            cursor.execute("ANALYZE catalog_searchword")

    plan = explained(keys_with("vehicle", "kf41"))

    assert "search_word_in_kind" in plan
    condition = begins_with("kf41")
    assert ("word__startswith" in condition) is (connection.vendor == "postgresql")
    if connection.vendor == "postgresql":
        assert "~>=~" in plan


# --- Pages -----------------------------------------------------------------------------------------------


def test_page_and_suggestions_work_without_script(desk, vehicle, job):
    page = desk.get(reverse("find"), {"q": "kf 417"})
    offers = desk.get(reverse("find_suggest"), {"q": "kf 417"})

    assert [row.about for row in page.context["answer"].hits] == ["vehicle", "job"]
    assert f'href="{reverse("vehicle", args=[vehicle.pk])}"' in page.content.decode()
    assert f'id="found-vehicle-{vehicle.pk}"' in offers.content.decode()
    assert 'action="/find/"' in desk.get(reverse("catalog:component_list")).content.decode()
    assert desk.get(reverse("find"), {"q": "nothing\0 <b>"}).status_code == 200


def test_technician_finds_components_without_money(client, technician, battery):
    client.force_login(technician)

    text = seen(client.get(reverse("find"), {"q": "larkham"}))

    assert "Larkham LF-100" in text
    assert "798" not in text
    assert "1133" not in text


def test_opened_records_are_recent_for_who_opened_them(desk, client, vehicle, customer, battery, technician, estimator):
    desk.get(reverse("vehicle", args=[vehicle.pk]))
    desk.get(reverse("catalog:component_detail", args=[battery.pk]))
    desk.get(reverse("vehicle", args=[vehicle.pk]))
    desk.head(reverse("customer", args=[customer.pk]))
    desk.get(reverse("customer", args=[customer.pk]), headers={"HX-Request": "true"})
    desk.get(reverse("customer", args=[987_654]))
    desk.get(reverse("vehicle_edit", args=[vehicle.pk]))

    assert [(found.about, found.pk) for found in opened(estimator, 12)] == [
        ("vehicle", vehicle.pk),
        ("component", battery.pk),
    ]
    assert opened(technician, 12) == ()
    assert [row.about for row in desk.get(reverse("find")).context["lately"]] == ["vehicle", "component"]


def test_opening_costs_one_statement(desk, estimator, battery, django_assert_num_queries):
    url = reverse("catalog:component_detail", args=[battery.pk])
    desk.get(url)
    with django_assert_num_queries(1):
        note(estimator, "component", battery.pk)
    assert RecentItem.objects.count() == 1


def test_all_kinds_have_a_label_and_a_line(customer, vehicle, job, battery, estimator):
    manager = make_user(User.Role.MANAGER, "odile")

    shown = {
        about: one.line(row, manager)
        for about, one in FINDABLE.items()
        if (row := one.visible(manager).first()) is not None
    }

    assert {"customer", "vehicle", "job", "component"} <= shown.keys()
    assert all(hit.words and hit.url for hit in shown.values())
    assert all(str(one.label) for one in FINDABLE.values())
