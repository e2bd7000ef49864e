"""What a save writes, that it writes all or nothing, and what can be undone."""

from __future__ import annotations

import io
from decimal import Decimal

import pytest
from django.core.exceptions import PermissionDenied
from django.db import connection
from django.test.utils import CaptureQueriesContext
from simple_history.manager import HistoryManager

from catalog import services, services_undo, sheets
from catalog.models import (
    MONTHS,
    Appliance,
    BulkAction,
    BulkChange,
    Component,
    LabourOperation,
    PriceChange,
    Site,
    Supplier,
)
from catalog.sheets import saving
from tests.catalog.bad_sheets import GOOD, HEADS, with_cell
from tests.catalog.conftest import add_component
from tests.catalog.sheet_files import bring, check_file, check_rows, still, table, write
from tests.catalog.test_sheets_bad import FUSES, add_fuse, counts


@pytest.fixture
def fuse(estimator):
    return add_fuse("Ambry HF-200", "HF-200", estimator)


def words_of(plan, kind="changed"):
    return [change for row in plan.rows(0, 20, kind) for change in row.changes]


def test_a_new_component_is_as_if_it_had_been_typed(fuse, estimator, tmp_path):
    Supplier.objects.create(name="Brindle Parts")
    row = with_cell("Name", "Ambry HF-200", with_cell("Supplier", "brindle parts"))
    plan = check_rows(sheets.get(FUSES), tmp_path, estimator, HEADS, row)
    saved = bring(sheets.get(FUSES), plan, estimator)

    made = Component.objects.get(part_number="HF-100")
    assert (saved.added, saved.changed) == (1, 0)
    assert (made.cost, made.mass_kg, made.stock, made.lead_days) == (Decimal("41.80"), 0.18, 3, 2)
    assert made.specification == {**fuse.specification, "rating_a": 100.0}
    assert (made.kind, made.kind_version, made.sort_key) == ("fuse", fuse.kind_version, fuse.sort_key)
    assert made.rating == fuse.rating.replace("200 A", "100 A")
    assert made.supplier.name == "Brindle Parts"
    made.full_clean()
    history = made.history.get()
    assert (history.history_type, history.history_user_id, history.cost) == ("+", estimator.pk, made.cost)
    price = made.price_changes.get()
    assert (price.cost, price.supplier_name, price.changed_by_id) == (made.cost, "Brindle Parts", estimator.pk)
    action = BulkAction.objects.get()
    assert (action.pk, action.about, action.deed, action.by_id) == (
        saved.action_id,
        "component",
        "import",
        estimator.pk,
    )
    assert action.words == "Fuses: 1 added, 0 changed"
    assert BulkChange.objects.get().before is None


def test_an_update_leaves_what_is_blank_or_not_there_and_empties_what_is_dashed(fuse, estimator, tmp_path):
    services.save_component(
        "fuse",
        fuse.specification,
        component=fuse,
        by=estimator,
        name=fuse.name,
        maker="Ambry",
        part_number="HF-200",
        cost=Decimal(30),
        sell_price=Decimal(50),
        mass_kg=0.18,
        stock=4,
        notes="old",
    )
    heads = ("Part number", "Cost", "Own selling price", "Notes", "Rating")
    plan = check_rows(sheets.get(FUSES), tmp_path, estimator, heads, ("hf-200", "31.26", "-", "", "0.25 kA"))

    assert words_of(plan) == [
        ("Part number", "HF-200", "hf-200", ""),
        ("Rating", "200\u00a0A", "250\u00a0A", "+25.0\u00a0%"),
        ("Cost", "30.00", "31.26", "+4.2\u00a0%"),
        ("Own selling price", "50.00", "", ""),
    ]
    bring(sheets.get(FUSES), plan, estimator)
    fuse.refresh_from_db()
    assert (fuse.cost, fuse.sell_price, fuse.notes, fuse.stock) == (Decimal("31.26"), None, "old", 4)
    assert (fuse.specification["rating_a"], "250 A" in fuse.rating) == (250.0, True)
    assert fuse.price_changes.first().cost == Decimal("31.26")
    assert fuse.history.first().history_user_id == estimator.pk
    assert check_rows(sheets.get(FUSES), tmp_path, estimator, heads, ("hf-200", "31.26", "-", "", "250")).same == 1


def test_a_price_list_moves_costs_across_kinds_and_leaves_strangers_out(fuse, battery, estimator, tmp_path):
    heads = ("Article", "Maker", "Net price", "Lead time")
    rows = [
        ("HF-200", "", "33", "7"),
        (battery.part_number, battery.maker, "999.5", ""),
        ("ZZ-1", "", "on request", ""),
    ]
    plan = check_rows(sheets.get("prices"), tmp_path, estimator, heads, *rows)

    assert (plan.changed, plan.left_out, plan.wrong) == (2, 1, 0)
    assert [row.name for row in plan.rows(0, 5, "left_out")] == ["ZZ-1"]
    bring(sheets.get("prices"), plan, estimator)
    fuse.refresh_from_db()
    battery.refresh_from_db()
    assert (fuse.cost, fuse.lead_days, battery.cost) == (Decimal(33), 7, Decimal("999.5"))
    assert PriceChange.objects.filter(cost=33).count() == 1


def test_a_part_number_of_two_makers_needs_the_maker(fuse, estimator, tmp_path):
    services.save_component(
        "fuse", fuse.specification, name="Copy", maker="Pellow", part_number="HF-200", cost=Decimal(1), by=estimator
    )
    plan = check_rows(sheets.get("prices"), tmp_path, estimator, ("part number", "cost"), ("HF-200", "2"))

    assert plan.problems()[0].words == (
        "Several components have this part number (Ambry Ambry HF-200, Pellow Copy); add the maker."
    )


@pytest.mark.parametrize("step", ["BulkAction", "records", "history", "beside", "BulkChange", "words", "tick"])
def test_whatever_fails_on_the_way_nothing_is_kept(step, fuse, estimator, tmp_path, monkeypatch):
    rows = [with_cell("Part number", f"HF-{n}", with_cell("Name", f"HF-{n}")) for n in range(5)]
    rows.append(with_cell("Cost", "99", with_cell("Part number", "HF-200")))
    type = sheets.get(FUSES)
    plan = check_rows(type, tmp_path, estimator, HEADS, *rows)
    assert (plan.added, plan.changed) == (5, 1)
    before = counts()
    file = io.BytesIO()
    plan.to_json_lines(file)

    def fail(*args, **kwargs):
        raise OSError(step)

    places = {
        "BulkAction": (BulkAction.objects, "create"),
        "records": (Component._default_manager, "bulk_create"),
        "history": (HistoryManager, "bulk_history_create"),
        "beside": (type, "write_beside"),
        "BulkChange": (BulkChange.objects, "bulk_create"),
        "words": (saving, "index_words"),
    }
    if step in places:
        monkeypatch.setattr(*places[step], fail)
    with pytest.raises(OSError, match=step):
        sheets.save(type, file, by=estimator, tick=fail if step == "tick" else still)

    assert counts() == before
    fuse.refresh_from_db()
    assert fuse.cost == Decimal(30)
    monkeypatch.undo()
    assert sheets.save(type, file, by=estimator, tick=still).added == 5


def test_what_changed_since_the_check_is_named_and_nothing_is_saved(fuse, estimator, tmp_path):
    type = sheets.get(FUSES)
    changes = check_rows(type, tmp_path, estimator, ("part number", "cost"), ("HF-200", "31"))
    adds = check_rows(type, tmp_path, estimator, HEADS, GOOD)
    services.set_stock(fuse, 9, by=estimator)
    assert bring(type, changes, estimator).changed == 1  # the stock is not what the plan changes

    with pytest.raises(sheets.SheetRefused, match=r"“Ambry HF-200” .row 2. changed since the check"):
        bring(type, changes, estimator)
    add_fuse("Ambry HF-100", "HF-100", estimator)
    with pytest.raises(sheets.SheetRefused, match=r"“Ambry HF-100” .row 2. is there by now"):
        bring(type, adds, estimator)
    fuse.refresh_from_db()
    services.retire(fuse, by=estimator)
    again = check_rows(type, tmp_path, estimator, ("part number", "cost"), ("HF-200", "31"))
    assert (again.same, again.wrong) == (1, 0)


def test_an_import_is_undone_like_any_other_bulk_action(fuse, estimator, tmp_path):
    rows = [GOOD, with_cell("Cost", "99", with_cell("Part number", "HF-200", with_cell("Rating", "90")))]
    saved = bring(sheets.get(FUSES), check_rows(sheets.get(FUSES), tmp_path, estimator, HEADS, *rows), estimator)
    action = BulkAction.objects.get(pk=saved.action_id)

    plan = services_undo.undo_plan(action)
    services_undo.undo(action, seen=plan.mark, by=estimator)

    before = fuse.specification
    fuse.refresh_from_db()
    assert (fuse.cost, fuse.specification, "200 A" in fuse.rating) == (Decimal(30), before, True)
    assert Component.objects.get(part_number="HF-100").is_retired


def test_technicians_bring_nothing_in_and_see_no_money(battery, technician, estimator, tmp_path):
    type = sheets.get("component:battery")
    text = b"".join(sheets.export(type, technician, "csv")).decode("utf-8-sig")

    assert "Larkham LF-100" in text
    for money in ("Cost", "selling", str(battery.cost), "1133.17"):
        assert money not in text
    assert "1133.17" in b"".join(sheets.export(type, estimator, "csv")).decode()
    plan = check_rows(type, tmp_path, estimator, ("name", "cost"), ("Larkham LF-100", "5"))
    refused = (
        lambda: check_rows(type, tmp_path, technician, ("name",), ("a",)),
        lambda: bring(type, plan, technician),
        lambda: sheets.template(type, technician, "csv"),
        lambda: sheets.export(sheets.get("prices"), technician, "csv"),
    )
    for call in refused:
        with pytest.raises(PermissionDenied):
            call()


def test_a_template_says_what_may_stand_where_and_reads_as_empty(estimator, tmp_path):
    for type in sheets.types():
        for format in sheets.FORMATS:
            path = write(tmp_path, f"t.{format}", sheets.template(type, estimator, format))
            reading = sheets.guess_reading(path, path.name)
            heads = sheets.heads(path, reading)

            assert sheets.propose(type, heads) == {str(n): column.name for n, column in enumerate(type.columns)}
            assert all(column.allowed for column in type.columns), type.code
    names = sheets.sheet_names(path, reading)
    assert len(names) == 2
    told = sheets.sample(path, {**reading, "sheet": names[1]}, 60)
    assert any("mΩ" in cell for row in told for cell in row)


def test_formulas_are_written_so_that_no_program_runs_them(estimator, tmp_path):
    nasty = ["=1+1", "+1", "-x", "@sum", "\tx", "'=1", "it's", "-", "-5"]
    for number, name in enumerate(nasty):
        services.save_supplier({"name": f"S{number}", "contact": name}, by=estimator)
    kept = {row.name: row.contact for row in Supplier.objects.all()}
    type = sheets.get("supplier")
    for format in sheets.FORMATS:
        content = b"".join(sheets.export(type, estimator, format))
        path = write(tmp_path, f"out.{format}", content)
        assert check_file(type, path, estimator).counts["same"] == len(nasty)
        if format == "csv":
            cells = [line.split(",")[1] for line in content.decode("utf-8-sig").split("\r\n")[1:-1]]
            assert [cell for cell in cells if cell[:1] in "=+@\t" and cell] == []
    Supplier.objects.all().delete()
    bring(type, check_file(type, path, estimator), estimator)
    assert {row.name: row.contact for row in Supplier.objects.all()} == kept


def test_a_kind_declared_at_run_time_has_a_table_at_once(estimator, tmp_path):
    from catalog import kinds

    new = kinds.Kind(
        "shade", "shade", "shades", "storage", (kinds.Field("area_m2", "Area", "number", "m²", 0, 9),), tuple
    )
    kinds.declare(new)
    try:
        type = sheets.get("component:shade")
        assert type in sheets.types()
        row = ("Fly", "12", "1 kg", "2500 cm2")
        plan = check_rows(type, tmp_path, estimator, ("name", "cost", "mass", "area"), row)
        bring(type, plan, estimator)
        assert Component.objects.get().specification == {"area_m2": 0.25}
    finally:
        kinds.withdraw("shade")
    with pytest.raises(LookupError):
        sheets.get("component:shade")


def test_the_other_records_come_in_too(estimator, tmp_path):
    months = {"ghi_kwh_m2_day": "5,5", "tmin_c": "10", "tmax_c": "25 °C"}
    series = {f"{name}_{m}": value for name, value in months.items() for m in MONTHS}
    site = {"name": "Tarn", "country": "aus", "latitude_deg": "-30", "longitude_deg": "135", "elevation_m": "100"}
    tables = {
        "site": {**site, "source": "own", **series},
        "labour": {"code": "fit_shade", "name": "Fit a shade", "unit": "each", "minutes_per_unit": "1.5 h"},
        "supplier": {"name": "Brindle", "closes_at": "16:30", "email": "b@brindle.example"},
        "appliance:steady": {
            "name": "Lamp",
            "group": "Light",
            "bus": "house bus",
            "power_w": "5",
            "hours_per_day": "4",
        },
    }
    for code, values in tables.items():
        plan = check_rows(sheets.get(code), tmp_path, estimator, tuple(values), tuple(values.values()))
        assert plan.problems() == [], code
        bring(sheets.get(code), plan, estimator)
    made = Site.objects.get(name="Tarn")
    assert (made.country, made.is_own, made.ghi_kwh_m2_day, made.tmax_c) == ("AUS", True, [5.5] * 12, [25.0] * 12)
    assert LabourOperation.objects.get().minutes_per_unit == 90.0
    assert Supplier.objects.get().closes_at.isoformat() == "16:30:00"
    lamp = Appliance.objects.get()
    assert (lamp.way, lamp.use, lamp.at_once) == (
        "steady",
        {"power_w": 5.0, "hours_per_day": 4.0, "duty_ratio": 1.0},
        True,
    )
    series["tmin_c_jan"] = "30"
    plan = check_rows(sheets.get("site"), tmp_path, estimator, ("name", "tmin_c_jan"), ("Tarn", "30"))
    assert plan.problems()[0].words == "jan: the mean minimum 30.0 °C is above the mean maximum 25.0 °C."


def test_a_check_asks_as_few_questions_for_many_rows(estimator, tmp_path):
    asked = []
    for count in (3, 60):
        rows = [with_cell("Part number", f"HF-{n}", with_cell("Name", f"HF-{n}")) for n in range(count)]
        path = write(tmp_path, "t.csv", table(HEADS, *rows))
        with CaptureQueriesContext(connection) as queries:
            check_file(sheets.get(FUSES), path, estimator)
        asked.append(len(queries))

    assert asked[0] == asked[1] <= 5


def test_decimal_signs_are_read_as_the_table_has_them(fuse, estimator, tmp_path):
    for decimal, typed_cost, cost in (("comma", "1.234,50", "1234.50"), ("point", "1,234.5", "1234.50")):
        plan = check_rows(
            sheets.get(FUSES), tmp_path, estimator, ("part number", "cost"), ("HF-200", typed_cost), decimal=decimal
        )
        assert words_of(plan)[0][2] == f"1\u202f{cost[1:]}"
    plan = check_rows(
        sheets.get(FUSES), tmp_path, estimator, ("part number", "cost"), ("HF-200", "2.5"), decimal="comma"
    )
    assert plan.problems()[0].words == "“2.5” has a point, but this table is read with a decimal comma."


def test_a_battery_of_the_library_is_not_disturbed(estimator, tmp_path):
    battery = add_component("Larkham LF-100", by=estimator)
    plan = check_rows(sheets.get("component:battery"), tmp_path, estimator, ("name", "cells"), ("Larkham LF-100", "3"))

    assert "cells of 3.2 V in series make 9.6 V" in plan.problems()[0].words
    assert battery.history.count() == 1
