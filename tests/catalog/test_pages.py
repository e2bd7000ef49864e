"""Pages of the catalogue: what one can do, what a role may not see, what a wrong entry does."""

from __future__ import annotations

import re
from decimal import Decimal

import pytest
from django.urls import reverse

from catalog import library, services
from catalog.models import Appliance, Component, LabourOperation, PriceChange, Site, Supplier
from catalog.specs import typed_field
from tests.catalog.conftest import add_component, entry_of

FUSE = {
    "name": "Ambry HF-200",
    "maker": "Ambry",
    "part_number": "HF-200",
    "cost": "41,80",
    "mass_kg": "180 g",
    "stock": "0",
    "lead_days": "3",
    "spec_rating_a": "200 A",
    "spec_breaking_a": "20 kA",
    "spec_series": "class_t",
    "spec_max_v": "125",
    "spec_resistance_ohm": "0,2 mΩ",
    "spec_min_opening_s_at_2x": "1",
}


def text_of(response) -> str:
    """The words of a page, spaces made plain."""
    plain = re.sub(r"<[^>]+>", " ", response.content.decode())
    return re.sub(r"\s+", " ", plain.replace("\u202f", " ").replace("\xa0", " "))


def entries_of(component) -> dict[str, str]:
    """What the edit form of a component holds, as a browser would send it back."""
    out = {
        "name": component.name,
        "maker": component.maker,
        "part_number": component.part_number,
        "supplier": component.supplier_id or "",
        "cost": str(component.cost),
        "sell_price": "" if component.sell_price is None else str(component.sell_price),
        "mass_kg": str(component.mass_kg),
        "stock": str(component.stock),
        "lead_days": str(component.lead_days),
        "notes": component.notes,
    }
    for field in component.declaration.fields:
        value = typed_field(field, component.specification[field.name])
        if value not in ("", False, []):
            out[f"spec_{field.name}"] = "on" if value is True else value
    return out


def test_component_is_added_from_typed_quantities(desk):
    response = desk.post(reverse("catalog:component_add_kind", args=["fuse"]), FUSE)

    fuse = Component.objects.get()
    assert response.status_code == 302
    assert response.url == reverse("catalog:component_detail", args=[fuse.pk])
    assert fuse.specification == {
        "rating_a": 200.0,
        "breaking_a": 20000.0,
        "series": "class_t",
        "max_v": 125.0,
        "resistance_ohm": 0.0002,
        "min_opening_s_at_2x": 1.0,
    }
    assert (fuse.cost, fuse.mass_kg, fuse.rating) == (Decimal("41.8000"), 0.18, "200 A, breaks 20 kA, high breaking")


@pytest.mark.parametrize(
    ("changes", "entry", "words"),
    [
        ({"cost": "1,500"}, "cost", "“1,500” can mean 1.5 or 1500"),
        ({"cost": "-1"}, "cost", "at least 0.00"),
        ({"cost": "ten"}, "cost", "“ten” is not a number"),
        ({"cost": ""}, "cost", "Enter an amount."),
        ({"name": "  "}, "name", "required"),
        ({"name": "x" * 121}, "name", "at most 120 characters"),
        ({"mass_kg": "3 t"}, "mass_kg", "It is 3 000 kg; it must be at least 0 kg and at most 2 000 kg."),
        ({"stock": "2.5"}, "stock", "whole number"),
        ({"lead_days": "1000"}, "lead_days", "at most 720 d"),
        ({"spec_rating_a": ""}, "spec_rating_a", "Rating is missing; it must be at least 0.5 A and at most 1 000 A."),
        ({"spec_breaking_a": "1 MA"}, "spec_breaking_a", "at most 200 000 A"),
        ({"spec_rating_a": "-5"}, "spec_rating_a", "Rating is −5 A; it must be at least 0.5 A and at most 1 000 A."),
        ({"spec_rating_a": "200 V"}, "spec_rating_a", "“V” is not a unit of this field; use A."),
        ({"spec_rating_a": "=1+1"}, "spec_rating_a", "is not a number"),
        ({"spec_max_v": "9000"}, "spec_max_v", "at most 1 500 V"),
        ({"spec_series": "tin foil"}, "spec_series", "not one of the available choices"),
        ({"supplier": "999"}, "supplier", "not one of the available choices"),
    ],
)
def test_wrong_entry_is_shown_beside_its_field_and_nothing_is_lost(desk, changes, entry, words):
    response = desk.post(reverse("catalog:component_add_kind", args=["fuse"]), {**FUSE, **changes})

    assert response.status_code == 422
    assert not Component.objects.exists()
    form = response.context["form"]
    assert list(form.errors) == [entry]
    message = form.errors[entry][0].replace("\u202f", " ").replace("\xa0", " ")
    assert words in message
    for name, typed in {**FUSE, **changes}.items():
        assert form[name].value() == typed


def test_all_that_is_wrong_is_said_at_once(desk):
    entries = {**FUSE, "cost": "1,500", "spec_rating_a": "-5", "spec_max_v": "", "mass_kg": "heavy"}

    response = desk.post(reverse("catalog:component_add_kind", args=["fuse"]), entries)

    assert set(response.context["form"].errors) == {"cost", "spec_rating_a", "spec_max_v", "mass_kg"}


def test_markup_in_a_name_is_only_text(desk):
    desk.post(
        reverse("catalog:component_add_kind", args=["fuse"]), {**FUSE, "name": '<script>alert("5 A & more")</script>'}
    )

    body = desk.get(reverse("catalog:component_list")).content.decode()

    assert "<script>alert" not in body
    assert "&lt;script&gt;alert" in body


def test_every_kind_has_a_form_and_a_page(desk, estimator):
    for kind in {entry["kind"]: entry for entry in library.COMPONENTS}.values():
        component = add_component(kind["name"], by=estimator)
        assert desk.get(reverse("catalog:component_add_kind", args=[component.kind])).status_code == 200
        detail = text_of(desk.get(reverse("catalog:component_detail", args=[component.pk])))
        assert component.declaration.fields[0].label in detail

        # what the edit form holds can be sent back as it stands and changes nothing
        before = component.specification
        response = desk.post(reverse("catalog:component_edit", args=[component.pk]), entries_of(component))
        assert response.status_code == 302, response.context["form"].errors
        component.refresh_from_db()
        assert component.specification == before


def test_kind_nobody_declared_is_not_there(desk):
    assert desk.get(reverse("catalog:component_add_kind", args=["teapot"])).status_code == 404


def test_same_part_number_twice_is_refused(desk, battery):
    other = {**entries_of(battery), "name": "Another"}

    response = desk.post(reverse("catalog:component_add_kind", args=["battery"]), other)

    assert response.status_code == 422
    assert "This maker's part number is in the catalogue already." in response.context["form"].non_field_errors()[0]
    assert Component.objects.count() == 1


def test_changed_cost_leaves_a_step(desk, battery):
    desk.post(reverse("catalog:component_edit", args=[battery.pk]), {**entries_of(battery), "cost": "815"})
    desk.post(
        reverse("catalog:component_edit", args=[battery.pk]), {**entries_of(battery), "cost": "815", "stock": "2"}
    )

    assert [step.cost for step in PriceChange.objects.filter(component=battery)] == [Decimal("815"), Decimal("798")]
    words = text_of(desk.get(reverse("catalog:component_detail", args=[battery.pk])))
    assert "Mara Quill Changed Cost 798.00 → is now 815.00" in words


def test_changed_specification_is_told_field_by_field(desk, battery):
    desk.post(reverse("catalog:component_edit", args=[battery.pk]), {**entries_of(battery), "spec_max_charge_a": "50"})

    words = text_of(desk.get(reverse("catalog:component_detail", args=[battery.pk])))

    assert "Changed Most charging current 60 A → is now 50 A" in words


def test_copy_is_a_component_of_its_own(desk, battery):
    response = desk.post(reverse("catalog:component_copy", args=[battery.pk]))

    copy = Component.objects.exclude(pk=battery.pk).get()
    assert response.url == reverse("catalog:component_edit", args=[copy.pk])
    assert (copy.name, copy.part_number, copy.stock) == ("Copy of Larkham LF-100", "", 0)
    assert copy.specification == battery.specification


def test_retired_component_leaves_the_list_and_can_come_back(desk, battery):
    listed = reverse("catalog:component_list")

    desk.post(reverse("catalog:component_retire", args=[battery.pk]))
    assert "Larkham LF-100" not in text_of(desk.get(listed)).replace("is retired", "")[2000:]
    assert list(desk.get(listed).context["table"].data) == []
    assert [row.pk for row in desk.get(listed, {"retired": "on"}).context["table"].data] == [battery.pk]

    desk.post(reverse("catalog:component_restore", args=[battery.pk]))
    assert [row.pk for row in desk.get(listed).context["table"].data] == [battery.pk]
    told = text_of(desk.get(reverse("catalog:component_detail", args=[battery.pk])))
    assert "Taken back into use" in told
    assert "Retired" in told


@pytest.mark.parametrize("name", ["retire", "restore", "copy"])
def test_change_of_state_needs_a_post(desk, battery, name):
    assert desk.get(reverse(f"catalog:component_{name}", args=[battery.pk])).status_code == 405


@pytest.mark.parametrize(
    ("query", "names"),
    [
        ({"q": "larkham 160 ah"}, ["Larkham LF-160"]),
        ({"q": "12.8 V"}, ["Larkham LF-100", "Larkham LF-160"]),
        ({"q": "breaks 20 kA"}, ["Ambry HF-200"]),
        ({"kind": "fuse"}, ["Ambry HF-200"]),
        ({"cost_up_to": "500"}, ["Ambry HF-200", "Pellow EC-40"]),
        ({"cost_up_to": "41,80"}, ["Ambry HF-200"]),
        ({"on_shelf": "on"}, ["Larkham LF-100", "Larkham LF-160", "Pellow EC-40"]),
        ({"sort": "-cost"}, ["Larkham LF-160", "Larkham LF-100", "Pellow EC-40", "Ambry HF-200"]),
        ({"sort": "name"}, ["Ambry HF-200", "Larkham LF-100", "Larkham LF-160", "Pellow EC-40"]),
        ({"q": "%' OR 1=1 --"}, []),
    ],
)
def test_list_is_searched_filtered_and_sorted(desk, estimator, query, names):
    for name in ("Larkham LF-160", "Larkham LF-100", "Pellow EC-40", "Ambry HF-200"):
        cost = {"cost": "41.80"} if name == "Ambry HF-200" else {}
        add_component(name, by=estimator, **cost)

    response = desk.get(reverse("catalog:component_list"), query)

    assert [row.record.name for row in response.context["table"].rows] == names


def test_ambiguous_filter_is_refused_beside_its_field(desk, battery):
    response = desk.get(reverse("catalog:component_list"), {"cost_up_to": "1,500"})

    assert list(response.context["table"].data) == []
    assert "can mean 1.5 or 1500" in text_of(response)


def test_list_is_paged(desk, estimator):
    for i in range(31):
        add_component("Larkham LF-100", by=estimator, name=f"Battery {i:02d}", part_number="")

    second = desk.get(reverse("catalog:component_list"), {"page": 2})

    assert [row.record.name for row in second.context["table"].page.object_list] == ["Battery 30"]


@pytest.mark.parametrize("count", [3, 60])
def test_list_asks_the_database_a_fixed_number_of_times(desk, estimator, count, django_assert_num_queries):
    suppliers = [services.save_supplier({"name": f"Supplier {i}"}, by=estimator) for i in range(3)]
    for i in range(count):
        entry = library.COMPONENTS[i]
        add_component(entry["name"], by=estimator, supplier=suppliers[i % 3], sell_price=Decimal("9"))

    with django_assert_num_queries(8):
        desk.get(reverse("catalog:component_list"))


@pytest.mark.parametrize("count", [3, 60])
def test_history_asks_the_database_a_fixed_number_of_times(desk, battery, estimator, count, django_assert_num_queries):
    for i in range(count):
        services.set_stock(battery, i + 10, by=estimator)

    with django_assert_num_queries(13):  # four ask what still uses it
        desk.get(reverse("catalog:component_detail", args=[battery.pk]))


def test_technician_reads_but_sees_no_cost_anywhere(client, technician, estimator, battery):
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
        stock=4,
        lead_days=9,
        component=battery,
        by=estimator,
    )
    secrets = ("798", "815.55", "1133.17", "1 133.17", "1201.44", "1 201.44", "815,55")
    list_url, detail_url = reverse("catalog:component_list"), reverse("catalog:component_detail", args=[battery.pk])

    client.force_login(estimator)
    for_estimator = text_of(client.get(detail_url)) + text_of(client.get(list_url))
    assert "815.55" in for_estimator
    assert "1 201.44" in for_estimator
    assert "798.00" in for_estimator

    client.force_login(technician)
    for url in (list_url, f"{list_url}?sort=cost", f"{list_url}?cost_up_to=800", detail_url):
        words = text_of(client.get(url))
        assert "Larkham LF-100" in words
        assert not [secret for secret in secrets if secret in words]
        assert "Cost" not in words
        assert "selling price" not in words
    history = text_of(client.get(detail_url))
    assert "On the shelf 5 → is now 4" in history  # the same step, without its money


def test_technician_cannot_find_out_a_cost_by_sorting(client, technician, estimator):
    for name, cost in (("A", "900"), ("B", "100"), ("C", "500")):
        add_component("Larkham LF-100", by=estimator, name=name, part_number="", cost=cost)
    client.force_login(technician)

    for sort in ("cost", "-cost"):
        response = client.get(reverse("catalog:component_list"), {"sort": sort})
        assert [row.record.name for row in response.context["table"].rows] == ["A", "B", "C"]


EDIT_PAGES = [
    ("component_add", None),
    ("component_add_kind", "fuse"),
    ("component_edit", Component),
    ("component_copy", Component),
    ("component_retire", Component),
    ("component_restore", Component),
    ("appliance_add", None),
    ("appliance_add_way", "steady"),
    ("appliance_edit", Appliance),
    ("appliance_copy", Appliance),
    ("appliance_retire", Appliance),
    ("appliance_restore", Appliance),
    ("labour_add", None),
    ("labour_edit", LabourOperation),
    ("labour_retire", LabourOperation),
    ("labour_restore", LabourOperation),
    ("supplier_add", None),
    ("supplier_edit", Supplier),
    ("supplier_retire", Supplier),
    ("supplier_restore", Supplier),
    ("site_add", None),
    ("site_edit", Site),
    ("site_retire", Site),
    ("site_restore", Site),
]
READ_PAGES = [
    ("component_list", None),
    ("component_detail", Component),
    ("appliance_list", None),
    ("appliance_detail", Appliance),
    ("labour_list", None),
    ("labour_detail", LabourOperation),
    ("supplier_list", None),
    ("supplier_detail", Supplier),
    ("site_list", None),
    ("site_detail", Site),
]


@pytest.fixture
def one_of_each(battery, estimator):
    services.save_labour(library.LABOUR[0], by=estimator)
    entry = library.APPLIANCES[0]
    values = {"name": entry["name"], "group": entry["group"], "bus": entry["bus"], **entry["values"]}
    services.save_appliance(entry["way"], entry["use"], values, by=estimator)
    row = library.site_rows()[0]
    services.load_sites([row], by=estimator)
    Site.objects.update(is_own=True)


def url_of(name, target):
    if target is None:
        return reverse(f"catalog:{name}")
    if isinstance(target, str):
        return reverse(f"catalog:{name}", args=[target])
    return reverse(f"catalog:{name}", args=[target.objects.get().pk])


@pytest.mark.parametrize(("name", "target"), EDIT_PAGES)
def test_page_that_changes_something_is_for_those_who_may(client, one_of_each, technician, estimator, name, target):
    url = url_of(name, target)
    needs_post = name.rpartition("_")[2] in ("copy", "retire", "restore")
    ask = client.post if needs_post else client.get

    nobody = ask(url)
    assert (nobody.status_code, nobody.url.partition("?")[0]) == (302, reverse("sign_in"))
    client.force_login(technician)
    assert ask(url).status_code == 403
    client.force_login(estimator)
    assert ask(url).status_code == (302 if needs_post else 200)


@pytest.mark.parametrize(("name", "target"), READ_PAGES)
def test_page_that_only_shows_is_for_everybody_of_the_workshop(client, one_of_each, technician, name, target):
    url = url_of(name, target)

    assert client.get(url).status_code == 302
    client.force_login(technician)
    response = client.get(url)
    assert response.status_code == 200
    assert "/add/" not in response.content.decode()
    assert "/edit/" not in response.content.decode()


def test_technician_changes_nothing_even_by_post(client, technician, battery):
    client.force_login(technician)

    refused = client.post(reverse("catalog:component_edit", args=[battery.pk]), {**entries_of(battery), "name": "Mine"})

    assert refused.status_code == 403
    assert Component.objects.get().name == "Larkham LF-100"


def test_addresses_of_records_are_in_a_table():
    """Those of assemblies, of the desk's tools and of all others are in ``tests.every_url``."""
    from catalog.urls import urlpatterns

    sections = ("component", "appliance", "labour", "supplier", "site")
    records = {pattern.name for pattern in urlpatterns if pattern.name.partition("_")[0] in sections}
    assert records == {name for name, _ in EDIT_PAGES + READ_PAGES}


def test_appliance_is_added_and_its_way_changed(desk):
    entries = {
        "name": "Lathe lamp",
        "group": "light",
        "bus": "house",
        "spec_power_w": "18",
        "spec_hours_per_day": "4",
        "spec_duty_ratio": "80",
        "window_start_h": "18",
        "window_end_h": "23",
        "power_factor": "1",
        "start_multiple": "1",
        "start_s": "0",
        "shed_below_ratio": "30 %",
        "at_once": "on",
        "source": "rating plate",
    }
    desk.post(reverse("catalog:appliance_add_way", args=["steady"]), entries)

    lamp = Appliance.objects.get()
    assert lamp.use == {"power_w": 18.0, "hours_per_day": 4.0, "duty_ratio": 0.8}
    assert lamp.shed_below_ratio == 0.3
    assert lamp.line()["window_start_h"] == 18.0
    assert (
        desk.get(reverse("catalog:appliance_edit", args=[lamp.pk])).context["form"]["shed_below_ratio"].value() == "30"
    )

    event = {**entries, "spec_power_w": "18", "spec_minutes": "10", "spec_times_per_day": "2"}
    desk.post(reverse("catalog:appliance_edit", args=[lamp.pk]) + "?way=event", event)
    lamp.refresh_from_db()
    assert (lamp.way, lamp.use) == ("event", {"power_w": 18.0, "minutes": 10.0, "times_per_day": 2.0})


@pytest.mark.parametrize(
    ("changes", "entry", "words"),
    [
        ({"spec_power_w": "-5"}, "spec_power_w", "at least 0.1 W"),
        (
            {"spec_minutes": "60", "spec_times_per_day": "25"},
            "spec_minutes",
            "a day has 1440 min",
        ),
        ({"window_start_h": "25"}, "window_start_h", "at most 24 h"),
        ({"power_factor": "1.2"}, "power_factor", "at most 1"),
        ({"start_multiple": "0.5"}, "start_multiple", "at least 1"),
        ({"min_voltage_v": "11", "restart_voltage_v": "10"}, "restart_voltage_v", "not be below"),
        ({"shed_below_ratio": "120"}, "shed_below_ratio", "at most 95 %"),
    ],
)
def test_impossible_appliance_is_refused(desk, changes, entry, words):
    entries = {
        "name": "Pump",
        "group": "water",
        "bus": "house",
        "spec_power_w": "60",
        "spec_minutes": "3",
        "spec_times_per_day": "10",
        "window_start_h": "0",
        "window_end_h": "24",
        "power_factor": "1",
        "start_multiple": "4",
        "start_s": "0.3",
        "source": "plate",
    }

    response = desk.post(reverse("catalog:appliance_add_way", args=["event"]), {**entries, **changes})

    assert response.status_code == 422
    assert not Appliance.objects.exists()
    assert words in response.context["form"].errors[entry][0].replace("\xa0", " ")


def site_entries(**changes) -> dict[str, str]:
    entries = {"name": "Cinder Ridge", "country": "aus", "latitude_deg": "-33.5", "longitude_deg": "138.2"}
    entries |= {"elevation_m": "610", "source": "own record 2019 to 2025"}
    for series, value in (("ghi_kwh_m2_day", "5,2"), ("tmin_c", "8"), ("tmax_c", "22")):
        entries |= {f"{series}_{month}": value for month in services.MONTHS}
    return entries | changes


def test_own_place_is_added_and_changed(desk):
    desk.post(reverse("catalog:site_add"), site_entries())

    site = Site.objects.get()
    assert (site.country, site.is_own, site.ghi_kwh_m2_day) == ("AUS", True, [5.2] * 12)
    desk.post(reverse("catalog:site_edit", args=[site.pk]), site_entries(tmin_c_jul=f"{chr(0x2212)}3"))
    site.refresh_from_db()
    assert site.tmin_c[6] == -3.0


@pytest.mark.parametrize(
    ("changes", "entry", "words"),
    [
        ({"ghi_kwh_m2_day_jan": "52"}, "ghi_kwh_m2_day_jan", "at most 12 kWh/m²/day"),
        ({"tmin_c_jul": "30"}, None, "jul: the mean minimum 30.0 °C is above the mean maximum 22.0 °C."),
        ({"latitude_deg": "80"}, "latitude_deg", "at most 66.5 °"),
        ({"country": "Australia"}, "country", "at most 3 characters"),
        ({"tmax_c_mar": ""}, "tmax_c_mar", "Enter a number, at least −50 °C and at most 55 °C."),
    ],
)
def test_impossible_place_is_refused(desk, changes, entry, words):
    response = desk.post(reverse("catalog:site_add"), site_entries(**changes))

    assert response.status_code == 422
    assert not Site.objects.exists()
    errors = response.context["form"].errors
    assert words in (errors[entry or "__all__"][0]).replace("\xa0", " ")


def test_place_that_came_with_the_program_stays_as_published(desk, estimator):
    services.load_sites(library.site_rows()[:1], by=estimator)
    site = Site.objects.get()

    assert desk.get(reverse("catalog:site_edit", args=[site.pk])).status_code == 404
    with pytest.raises(services.ValidationError, match="stays as published"):
        services.save_site({"name": "Mine"}, by=estimator, site=site)


def test_labour_and_supplier_are_added(desk):
    desk.post(
        reverse("catalog:labour_add"),
        {"name": "Fit a tank", "code": "fit_tank", "unit": "each", "minutes_per_unit": "1,5 h", "source": "own times"},
    )
    desk.post(
        reverse("catalog:supplier_add"), {"name": "Halt & Marrow", "closes_at": "16:30", "email": "a@halt.example"}
    )

    assert LabourOperation.objects.get().minutes_per_unit == 90.0
    assert str(Supplier.objects.get()) == "Halt & Marrow"


def test_entry_of_library_is_a_good_starting_point():
    assert entry_of("Ambry HF-200")["spec"]["breaking_a"] == 20000.0
