"""Pages of tables in and out, in the order a person meets them; who sees what; how often they ask the database."""

from __future__ import annotations

import csv
import io
from decimal import Decimal

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from openpyxl import load_workbook

from catalog.kinds import all_kinds
from catalog.models import Component, Supplier
from fitouts.models import Customer, Vehicle
from quoting.models import BackgroundJob, SheetImport
from quoting.services import background, sheets
from quoting.tasks import run_job
from tests.factories.jobs import make_user, make_workshop
from tests.quoting.test_sheets import GOOD, again, bring, checked, saved

pytestmark = pytest.mark.django_db
PRICES = "Part number,New cost\nCB-160,812.40\nCB-100,{}\n"


@pytest.fixture
def shop(files):
    return make_workshop(currency="AUD")


@pytest.fixture
def by(shop):
    return make_user("estimator", display_name="Mara Quill")


@pytest.fixture
def office(client, by):
    client.force_login(by)
    return client


@pytest.fixture
def bench(shop, client):
    """A technician."""
    client.force_login(make_user("technician"))
    return client


@pytest.fixture
def sent(monkeypatch) -> list[int]:
    ids: list[int] = []
    monkeypatch.setattr(background.run_job, "apply_async", lambda kwargs, **options: ids.append(kwargs["job_id"]))
    return ids


def make_part(number: str, cost: str, kind: str = "label", supplier: Supplier | None = None) -> Component:
    """A part as it stands in the database; prices and lists ask for no more."""
    return Component.objects.create(
        kind=kind,
        kind_version=1,
        specification={"note": "as made for the test"},
        name=f"Corrie {number}",
        maker="Corrie",
        part_number=number,
        cost=Decimal(cost),
        supplier=supplier,
        sort_key=number,
    )


def body(response) -> bytes:
    return b"".join(response.streaming_content)


def lines(response) -> list[list[str]]:
    return list(csv.reader(io.StringIO(body(response).decode("utf-8-sig"))))


def page(client, sheet, query: str = "") -> str:
    return client.get(reverse("sheet", args=[sheet.pk]) + query).content.decode()


# --- The walk ----------------------------------------------------------------------------------------


def test_price_list_from_upload_to_undoable_save(office, by, sent, django_capture_on_commit_callbacks):
    make_part("CB-160", "790"), make_part("CB-100", "540.50")
    upload = SimpleUploadedFile("prices.csv", PRICES.format("dear").encode())

    response = office.post(reverse("table_kind", args=["prices"]), {"table": upload})

    sheet = SheetImport.objects.get()
    assert response.url == reverse("sheet", args=[sheet.pk])
    text = page(office, sheet)
    assert "Where its columns go" in text
    assert "812.40" in text
    office.post(reverse("sheet_check", args=[sheet.pk]), posted(sheet))
    assert "next in line" in page(office, sheet)
    run_job(job_id=again(sheet).job_id)
    text = page(office, sheet)
    assert "Not to be saved yet" in text
    assert "dear" in text
    assert "New cost" in text
    assert "Save " not in text

    upload = SimpleUploadedFile("prices.csv", PRICES.format("540.50").encode())
    office.post(reverse("table_kind", args=["prices"]), {"table": upload})
    sheet = SheetImport.objects.latest("pk")
    office.post(reverse("sheet_check", args=[sheet.pk]), posted(sheet))
    run_job(job_id=again(sheet).job_id)
    text = page(office, sheet)
    assert "Save 1 row" in text
    assert "+2.8" in text  # 812.40 against 790: 22.40 / 790 = 2.835 %
    assert "790.00" in text
    office.post(reverse("sheet_save", args=[sheet.pk]))
    assert "all of it or nothing" in page(office, sheet) or "next in line" in page(office, sheet)
    with django_capture_on_commit_callbacks(execute=True):
        run_job(job_id=again(sheet).job_id)

    assert Component.objects.get(part_number="CB-160").cost == Decimal("812.40")
    text = page(office, sheet)
    assert "0 added, 1 changed. The file is erased." in text
    assert reverse("catalog:bulk_undo", args=[again(sheet).action_id]) in text
    assert "saved" in office.get(reverse("sheet_list")).content.decode()


def posted(sheet: SheetImport, **more: str) -> dict[str, str]:
    """What the page of matches sends when nothing on it is changed."""
    reading = {name: sheet.reading[name] for name in ("encoding", "delimiter", "decimal")}
    return {**reading, **{f"to_{number}": name for number, name in sheet.mapping.items()}, **more}


def test_what_was_chosen_is_shown_again_when_it_is_refused(office, by, sent):
    sheet = bring(GOOD, by)

    response = office.post(reverse("sheet_check", args=[sheet.pk]), posted(sheet, to_1="name"))

    text = response.content.decode()
    assert response.status_code == 422
    assert "Two columns of the file go to “Name”" in text
    assert text.count('<option value="name" selected>') == 2
    assert BackgroundJob.objects.count() == 0


def test_other_reading_is_shown_before_anything_is_checked(office, by, sent):
    sheet = bring(GOOD, by)

    response = office.post(reverse("sheet_check", args=[sheet.pk]), posted(sheet, delimiter=";"))

    assert response.status_code == 422
    assert "Read so, the file has other heads." in response.content.decode()
    assert again(sheet).columns == ["Name,Contact,Phone"]
    assert BackgroundJob.objects.count() == 0
    office.post(reverse("sheet_reading", args=[sheet.pk]), posted(again(sheet), delimiter=","))
    assert again(sheet).mapping == {"0": "name", "1": "contact", "2": "phone"}


def test_uncertain_encoding_is_asked_for(office, by, sent):
    sheet = bring("Name,Contact\nÄmbry,Pell\n".encode("cp1252"), by)
    assert "Read as Windows-1252 it says “Ämbry,Pell”" in page(office, sheet)

    silent = office.post(reverse("sheet_check", args=[sheet.pk]), posted(sheet))
    said = office.post(reverse("sheet_check", args=[sheet.pk]), posted(sheet, encoding="windows-1252"))

    assert (silent.status_code, said.status_code) == (422, 302)
    assert "Encoding: Choose one." in silent.content.decode()


def test_progress_asks_again_only_while_something_goes_on(office, by, sent):
    sheet = bring(GOOD, by)
    sheets.ask_check(sheet, by=by)
    part = reverse("sheet_progress", args=[sheet.pk])
    job = background.claim(again(sheet).job_id, "a:1")
    background.progress(job, 200, 10_000)

    live = office.get(part, headers={"HX-Request": "true"})
    sheets.do_check(job)
    done = office.get(part, headers={"HX-Request": "true"})

    assert 'hx-trigger="every 1s"' in live.content.decode()
    assert "200 of 10" in live.content.decode()
    assert ("HX-Refresh" in live, done["HX-Refresh"]) == (False, "true")
    assert "hx-trigger" not in done.content.decode()


def test_wrong_cells_are_paged_and_can_be_taken_along(office, by, sent):
    rows = "".join(f"=Supplier {number},{'5' * 41}\n" for number in range(120))
    sheet = checked(bring("Name,Phone\n" + rows, by), by)

    first, third = page(office, sheet), page(office, sheet, "?show=wrong&page=3")
    table = lines(office.get(reverse("sheet_problems", args=[sheet.pk])))

    assert first.count('<th scope="row" class="n">') == 50
    assert third.count('<th scope="row" class="n">') == 20
    assert ("page=2" in first, "page=4" in third) == (True, False)
    assert len(table) == 121
    assert table[1][:3] == ["2", "Phone", "5" * 41]


def test_nothing_a_file_holds_runs_in_a_spreadsheet(office, by, sent):
    sheet = checked(
        bring('Name,Phone\nAmbry,"=HYPERLINK(""http://elsewhere.example"",1)+22222222222222222222"\n', by), by
    )

    table = lines(office.get(reverse("sheet_problems", args=[sheet.pk])))

    assert table[1][2].startswith("'=HYPERLINK")


def test_pages_without_script_stop_reopen_and_drop(office, by, sent):
    sheet = bring(GOOD, by)
    office.post(reverse("sheet_check", args=[sheet.pk]), posted(sheet))

    office.post(reverse("sheet_stop", args=[sheet.pk]))
    assert "Somebody pressed Cancel." in page(office, sheet)
    office.post(reverse("sheet_reopen", args=[sheet.pk]))
    assert "Where its columns go" in page(office, sheet)
    office.post(reverse("sheet_drop", args=[sheet.pk]))
    assert "its file is erased" in page(office, sheet)

    assert again(sheet).state == SheetImport.State.DROPPED


def test_damaged_and_unknown_rows_can_be_dropped(office, by, sent):
    gone, unknown, torn = (bring(GOOD, by) for _turn in range(3))
    torn = checked(torn, by)
    from quoting.services import sheet_files

    sheet_files.remove(gone.file)
    SheetImport.objects.filter(pk=unknown.pk).update(sheet="component:gone")
    sheet_files.path_of(torn.plan).write_text("{")

    for sheet in (gone, unknown, torn):
        assert "It cannot go on" in page(office, sheet)
        office.post(reverse("sheet_drop", args=[sheet.pk]))
    assert {again(sheet).state for sheet in (gone, unknown, torn)} == {SheetImport.State.DROPPED}


def test_row_is_in_the_list_with_what_somebody_else_brought_in(office, by, sent):
    """One workshop: estimators and managers go on with each other's tables."""
    sheet = checked(bring(GOOD, make_user("manager")), by)

    office.post(reverse("sheet_save", args=[sheet.pk]))

    assert sheets.standing(again(sheet)) == "saving"
    assert "suppliers.csv" in office.get(reverse("sheet_list")).content.decode()


# --- Out ---------------------------------------------------------------------------------------------


def test_list_gives_what_its_filter_shows(office):
    for name in ("Ambry Cable Works", "Hollis Fastenings", "Ambry Tools"):
        Supplier.objects.create(name=name)

    table = lines(office.get(reverse("list_out", args=["supplier", "csv"]), {"q": "ambry"}))

    assert [row[0] for row in table] == ["Name", "Ambry Cable Works", "Ambry Tools"]


def test_list_of_several_kinds_asks_which(office):
    make_part("L-1", "1"), make_part("L-2", "2"), make_part("C-1", "3", kind="consumable")

    choice = office.get(reverse("list_out", args=["component", "csv"]), {"q": "corrie"}).content.decode()
    query = {"q": "corrie", "table": "component:label"}
    table = lines(office.get(reverse("list_out", args=["component", "csv"]), query))
    one = lines(office.get(reverse("list_out", args=["component", "csv"]), {"kind": "consumable"}))

    assert ("Price list" in choice, "q=corrie&amp;table=component%3Alabel" in choice) == (True, True)
    assert [row[0] for row in table] == ["Name", "Corrie L-1", "Corrie L-2"]
    assert [row[0] for row in one] == ["Name", "Corrie C-1"]


@pytest.mark.parametrize("form", ["csv", "xlsx"])
def test_technician_takes_out_everything_but_money(form, bench):
    make_part("L-1", "731.37")
    url = reverse("list_out", args=["component", form])

    content = body(bench.get(url, {"kind": "label"}))

    if form == "xlsx":
        sheet = load_workbook(io.BytesIO(content)).active
        heads, row = ([cell.value for cell in line] for line in sheet.iter_rows())
    else:
        heads, row = csv.reader(io.StringIO(content.decode("utf-8-sig")))
    assert "Corrie L-1" in row
    assert [head for head in heads if "ost" in head or "rice" in head] == []
    assert not [cell for cell in row if "731" in str(cell)]
    assert bench.get(reverse("table_whole", args=["prices", form])).status_code == 403
    assert "Price list" not in bench.get(reverse("tables")).content.decode()


def test_technician_brings_nothing_in(bench, by, sent):
    sheet = bring(GOOD, by)

    kind = bench.get(reverse("table_kind", args=["supplier"])).content.decode()

    assert ("Take out" in kind, "Bring one in" in kind) == (True, False)
    assert bench.get(reverse("sheet", args=[sheet.pk])).status_code == 403
    assert bench.post(reverse("sheet_save", args=[sheet.pk])).status_code == 403
    assert again(sheet).state == SheetImport.State.MAPPING


@pytest.mark.parametrize("form", ["csv", "xlsx"])
def test_every_kind_has_a_whole_and_an_empty_table_and_a_page(form, office, sent):
    from catalog import sheets as core

    for kind in core.types():
        whole = office.get(reverse("table_whole", args=[kind.code, form]))
        empty = office.get(reverse("table_empty", args=[kind.code, form]))
        assert (whole.status_code, empty.status_code) == (200, 200), kind.code
        assert body(whole)
        assert kind.columns[0].head in (
            body(empty).decode("utf-8-sig")
            if form == "csv"
            else load_workbook(io.BytesIO(body(empty))).active["A1"].value
        )
    assert len(core.types()) >= len(list(all_kinds())) + 8


@pytest.mark.parametrize("about", ["component", "appliance", "labour", "supplier", "site", "customer", "vehicle"])
def test_every_list_has_its_ways_out(about, office):
    name = {"customer": "customer_list", "vehicle": "vehicle_list"}.get(about, f"catalog:{about}_list")

    page = office.get(reverse(name), {"q": "am&by"}).content.decode()

    assert f'href="{reverse("list_out", args=[about, "csv"])}?q=am%26by"' in page
    assert f'href="{reverse("list_out", args=[about, "xlsx"])}?q=am%26by"' in page


# --- How often the database is asked -----------------------------------------------------------------


@pytest.mark.parametrize("rows", [3, 60])
def test_list_of_tables_brought_in_asks_as_often_for_many(rows, office, by, sent, django_assert_num_queries):
    for _number in range(rows):
        sheets.ask_check(bring(GOOD, by), by=by)

    with django_assert_num_queries(5):
        office.get(reverse("sheet_list"))


@pytest.mark.parametrize("rows", [3, 60])
def test_page_of_a_checked_table_asks_as_often_for_many(rows, office, by, sent, django_assert_num_queries):
    text = "Name,Contact\n" + "".join(f"Supplier {number},Pell\n" for number in range(rows))
    sheet = checked(bring(text, by), by)

    with django_assert_num_queries(4):
        office.get(reverse("sheet", args=[sheet.pk]))


@pytest.mark.parametrize("rows", [3, 60])
def test_taking_out_asks_as_often_for_many(rows, office, django_assert_num_queries):
    supplier = Supplier.objects.create(name="Ambry Cable Works")
    for number in range(rows):
        make_part(f"L-{number}", "1", supplier=supplier)

    with django_assert_num_queries(5):
        table = lines(office.get(reverse("list_out", args=["component", "csv"]), {"kind": "label"}))

    assert len(table) == rows + 1


@pytest.mark.parametrize("rows", [3, 60])
@pytest.mark.parametrize(("about", "asked"), [("customer", 6), ("vehicle", 5)])
def test_taking_out_people_and_vehicles_asks_as_often_for_many(about, asked, rows, office, django_assert_num_queries):
    for number in range(rows):
        owner = Customer.objects.create(name=f"Mira Oakhollow {number}")
        Vehicle.objects.create(customer=owner, make="Brindle", model="Carrier", registration=f"XX {number}")

    with django_assert_num_queries(asked):
        table = lines(office.get(reverse("list_out", args=[about, "csv"])))

    assert len(table) == rows + 1


# --- Ten thousand rows -------------------------------------------------------------------------------


def test_ten_thousand_rows_go_the_whole_way(office, by, sent, django_capture_on_commit_callbacks):
    heads = "Name,Contact,Phone,Notes\n"
    rows = "".join(f"Supplier {number:05d},Pell,(08) 5550 {number:05d},{'n' * 60}\n" for number in range(10_000))
    office.post(
        reverse("table_kind", args=["supplier"]), {"table": SimpleUploadedFile("s.csv", (heads + rows).encode())}
    )
    sheet = SheetImport.objects.get()

    office.post(reverse("sheet_check", args=[sheet.pk]), posted(sheet))
    run_job(job_id=again(sheet).job_id)
    assert again(sheet).counts["added"] == 10_000
    assert "Save 10" in page(office, sheet)
    assert "Supplier 09999" in page(office, sheet, "?show=added&page=200")
    with django_capture_on_commit_callbacks(execute=True):
        sheet = saved(again(sheet), by)

    assert (sheet.state, Supplier.objects.count(), Supplier.history.count()) == ("saved", 10_000, 10_000)
