"""What the services of the catalogue promise."""

from __future__ import annotations

import pytest
from django.core.exceptions import PermissionDenied, ValidationError
from django.db import IntegrityError, transaction

from catalog import library, services
from catalog.finding import keys_with
from catalog.models import Appliance, Component, LabourOperation, PriceChange, Site, Supplier
from catalog.words import labour_time
from quoting.wording.rules import RULE
from tests.catalog.conftest import add_component

LABOUR_CODES = {
    "fit_battery",
    "fit_charger",
    "fit_panel",
    "fit_inverter",
    "run_cable_m",
    "terminate",
    "fit_device",
    "fit_board",
    "program_settings",
    "test_and_handover",
    "survey",
    "licensed_ac",
}


def test_starter_library_loads_once(estimator):
    added = services.load_starter(estimator)

    assert added == {
        "suppliers": 3,
        "components": len(library.COMPONENTS),
        "appliances": len(library.APPLIANCES),
        "labour": len(library.LABOUR),
        "sites": 102,
        "assemblies": len(library.ASSEMBLIES),
    }
    assert added["components"] >= 90
    assert added["appliances"] >= 60
    assert added["labour"] >= 40
    assert set(LabourOperation.objects.values_list("code", flat=True)) >= LABOUR_CODES
    assert LabourOperation.objects.get(code="licensed_ac").is_licensed
    assert PriceChange.objects.count() == Component.objects.count()
    assert not Appliance.objects.exclude(source="common practice").exists()
    assert Component.history.filter(history_user_id=estimator.pk).count() == Component.objects.count()
    assert services.load_starter(estimator) == dict.fromkeys(added, 0)


def test_starter_library_is_found_and_ordered_like_what_a_person_adds(estimator):
    services.load_starter(estimator)
    loaded = Component.objects.get(name="Larkham LF-100")
    entry = next(e for e in library.COMPONENTS if e["name"] == loaded.name)

    typed = services.save_component(
        "battery", entry["spec"], name="Larkham LF-100", cost=loaded.cost, by=estimator, maker="Larkham typed"
    )

    assert (loaded.rating, loaded.sort_key, loaded.specification) == (typed.rating, typed.sort_key, typed.specification)
    assert loaded.history.get().history_user_id == estimator.pk
    found = set(keys_with("component", "larkham").values_list("row_id", flat=True))
    assert {loaded.pk, typed.pk} <= found


def test_library_has_labour_for_all_that_a_bill_asks_for():
    """The codes are those of the bill's rules, ``labour_…`` in ``quoting.wording.rules``."""
    asked = {code.removeprefix("labour_") for code in RULE if code.startswith("labour_")}

    assert {"survey", "fit_battery", "test_and_handover"} <= asked
    assert asked <= {values["code"] for values in library.LABOUR}


@pytest.mark.parametrize(
    ("minutes", "unit", "words"),
    [(6.0, "metre", "6 min a metre"), (150.0, "job", "2.5 h a job"), (15.0, "each", "15 min each")],
)
def test_time_of_labour_is_said_in_words(minutes, unit, words):
    assert labour_time(minutes, unit).replace("\xa0", " ") == words


def test_starter_appliances_are_in_every_group_and_on_every_bus(estimator):
    services.load_starter(estimator)

    assert set(Appliance.objects.values_list("group", flat=True)) == set(Appliance.Group.values)
    assert set(Appliance.objects.values_list("bus", flat=True)) == set(Appliance.Bus.values)
    assert set(Appliance.objects.values_list("way", flat=True)) == set(Appliance.Way.values)


def test_nothing_is_saved_without_the_role(technician, estimator, battery):
    calls = [
        lambda: add_component("Pellow EC-40", by=technician, supplier=None),
        lambda: services.retire(battery, by=technician),
        lambda: services.save_supplier({"name": "X"}, by=technician),
        lambda: services.save_labour(library.LABOUR[0], by=technician),
        lambda: services.load_sites(library.site_rows(), by=technician),
        lambda: services.load_starter(technician),
        lambda: services.set_stock(battery, 9, by=None),
    ]
    for call in calls:
        with pytest.raises(PermissionDenied):
            call()

    assert (Component.objects.count(), Supplier.objects.count(), Site.objects.count()) == (1, 1, 0)
    assert not Component.objects.get().is_retired


def test_refused_specification_leaves_nothing_behind(estimator):
    with pytest.raises(services.SpecificationRefused) as refused:
        add_component("Larkham LF-100", by=estimator, spec={"capacity_ah": -5.0})

    assert refused.value.message_dict["capacity_ah"] == [
        "Capacity is \u22125\xa0Ah; it must be at least 1\xa0Ah and at most 2\u202f000\xa0Ah."
    ]
    assert not Component.objects.exists()
    assert not PriceChange.objects.exists()


def test_component_keeps_its_kind(estimator, battery):
    with pytest.raises(ValidationError, match="keeps its kind"):
        services.save_component("fuse", {}, name="x", cost=battery.cost, by=estimator, component=battery)


def test_faulty_row_of_sites_is_named_and_nothing_is_kept(estimator):
    rows = library.site_rows()[:3]
    rows[2] = {**rows[2], "ghi_may": "52"}

    with pytest.raises(ValidationError, match=r"Line 4 \(Cummins SA\).*may: 52.0 must be at least 0 and at most 12"):
        services.load_sites(rows, by=estimator)

    assert not Site.objects.exists()


def test_every_site_is_what_a_design_accepts(estimator):
    from quoting.sizing import brief

    services.load_sites(library.site_rows(), by=estimator)

    for site in Site.objects.all():
        assert brief.Site(**site.as_brief()).name == site.name


@pytest.mark.parametrize(
    ("changes", "constraint"),
    [
        ({"name": ""}, "component_has_name"),
        ({"mass_kg": -1.0}, "component_mass_0_to_2000_kg"),
        ({"mass_kg": 2001.0}, "component_mass_0_to_2000_kg"),
        ({"lead_days": 721}, "component_lead_at_most_720_days"),
        ({"kind": ""}, "component_has_kind"),
    ],
)
def test_truths_are_kept_by_the_database_too(battery, changes, constraint):
    with pytest.raises(IntegrityError, match=constraint), transaction.atomic():
        Component.objects.filter(pk=battery.pk).update(**changes)


def test_supplier_with_components_cannot_be_deleted(battery):
    with pytest.raises(Exception, match="protected"):
        battery.supplier.delete()


def test_copied_appliance_gets_a_free_name(estimator):
    entry = library.APPLIANCES[0]
    values = {"name": entry["name"], "group": entry["group"], "bus": entry["bus"], **entry["values"]}
    original = services.save_appliance(entry["way"], entry["use"], values, by=estimator)

    first, second = (services.copy_appliance(original, by=estimator) for _ in range(2))

    assert (first.name, second.name) == (f"Copy of {entry['name']}", f"Copy of {entry['name']} 2")
    assert first.line() == {**original.line(), "name": first.name}
