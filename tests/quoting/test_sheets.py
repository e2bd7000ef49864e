"""Tables on their way in: every state, every way to be refused, and each save once."""

from __future__ import annotations

import errno
import stat
from datetime import timedelta

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.utils import timezone

from catalog import sheets as core
from catalog.models import BulkAction, Supplier
from quoting.models import BackgroundJob, SheetImport, SheetMapping
from quoting.services import background, sheet_files, sheets
from quoting.services.sheets import SheetRefused
from quoting.tasks import run_job
from tests.factories.jobs import make_user

pytestmark = pytest.mark.django_db
State = SheetImport.State

GOOD = "Name,Contact,Phone\nAmbry Cable Works,Pell,(08) 5550 0141\nHollis Fastenings,Quill,(08) 5550 0199\n"
WRONG = f"Name,Contact,Phone\nAmbry Cable Works,Pell,{'5' * 41}\n,Quill,\n"


@pytest.fixture
def by(files):
    return make_user("estimator")


@pytest.fixture
def known(by) -> Supplier:
    return Supplier.objects.create(name="Ambry Cable Works", contact="Orrin", phone="(08) 5550 0141")


@pytest.fixture
def sent(monkeypatch) -> list[int]:
    """Ids whose message was sent; nothing runs by itself."""
    ids: list[int] = []
    monkeypatch.setattr(background.run_job, "apply_async", lambda kwargs, **options: ids.append(kwargs["job_id"]))
    return ids


def bring(text: str | bytes, by, code: str = "supplier", name: str = "suppliers.csv") -> SheetImport:
    content = text if isinstance(text, bytes) else text.encode()
    return sheets.start(code, SimpleUploadedFile(name, content), by=by)


def again(sheet: SheetImport) -> SheetImport:
    return SheetImport.objects.select_related("job").get(pk=sheet.pk)


def checked(sheet: SheetImport, by) -> SheetImport:
    sheets.ask_check(sheet, by=by)
    run_job(job_id=again(sheet).job_id)
    return again(sheet)


def saved(sheet: SheetImport, by) -> SheetImport:
    sheets.ask_save(sheet, by=by)
    run_job(job_id=again(sheet).job_id)
    return again(sheet)


def kept() -> list[str]:
    folder = sheet_files.path_of(sheet_files.FOLDER)
    return sorted(path.name for path in folder.iterdir()) if folder.exists() else []


# --- The whole way -----------------------------------------------------------------------------------


def test_table_is_matched_checked_and_saved(by, known, sent, django_capture_on_commit_callbacks):
    sheet = bring(GOOD, by)
    assert (sheet.state, sheet.columns) == (State.MAPPING, ["Name", "Contact", "Phone"])
    assert sheet.mapping == {"0": "name", "1": "contact", "2": "phone"}

    sheet = checked(sheet, by)

    assert sheets.standing(sheet) == "checked"
    assert {kind: n for kind, n in sheet.counts.items() if n} == {"added": 1, "changed": 1}
    assert Supplier.objects.count() == 1
    plan = sheet_files.path_of(sheet.plan)
    assert stat.S_IMODE(plan.stat().st_mode) == 0o600

    with django_capture_on_commit_callbacks(execute=True):
        sheet = saved(sheet, by)

    assert (sheet.state, sheet.file.name, sheet.plan.name) == (State.SAVED, "", "")
    assert sheet.saved_at is not None
    assert sorted(Supplier.objects.values_list("name", "contact")) == [
        ("Ambry Cable Works", "Pell"),
        ("Hollis Fastenings", "Quill"),
    ]
    action = BulkAction.objects.get(pk=sheet.action_id)
    assert (action.deed, action.changes.count(), action.by_id) == (BulkAction.Deed.IMPORT, 2, by.pk)
    assert kept() == []


def test_wrong_cells_are_listed_and_nothing_can_be_saved(by, sent):
    sheet = checked(bring(WRONG, by), by)

    assert sheet.counts["wrong"] == 2
    with sheet_files.path_of(sheet.plan).open(encoding="utf-8") as file:
        found = core.Plan.read(file).problems(0, 10)
    assert [(p.row, p.column, p.value) for p in found] == [(2, "Phone", "5" * 41), (3, "Name", "")]
    with pytest.raises(SheetRefused, match="Nothing is saved while a cell is wrong"):
        sheets.ask_save(sheet, by=by)
    assert Supplier.objects.count() == 0


def test_table_that_changes_nothing_has_nothing_to_save(by, known, sent):
    sheet = checked(bring("Name,Contact\nAmbry Cable Works,Orrin\n", by), by)

    assert sheet.counts["same"] == 1
    with pytest.raises(SheetRefused, match="nothing to save"):
        sheets.ask_save(sheet, by=by)


# --- Reading and matching ----------------------------------------------------------------------------


def test_same_heads_are_matched_as_they_were_the_last_time(by, sent):
    first = bring("Firm,Who\nAmbry,Pell\n", by)
    sheets.ask_check(first, {"0": "name", "1": "contact"}, by=by)

    second = bring("FIRM , who\nHollis,Quill\n", by)

    assert second.mapping == {"0": "name", "1": "contact"}
    assert SheetMapping.objects.count() == 1


def test_reading_another_way_matches_the_new_heads(by, sent):
    sheet = bring("Name;Contact\nAmbry;Pell\n", by)
    assert sheet.reading["delimiter"] == ";"

    sheets.set_reading(sheet, {"delimiter": ","}, {})

    assert (again(sheet).columns, again(sheet).reading["delimiter"]) == (["Name;Contact"], ",")

    sheets.set_reading(again(sheet), {"delimiter": ";"}, {})
    assert again(sheet).mapping == {"0": "name", "1": "contact"}


def test_reading_that_fails_leaves_everything_as_it_was(by, sent):
    sheet = bring(GOOD, by)

    with pytest.raises(SheetRefused):
        sheets.set_reading(sheet, {"encoding": "no-such"}, {"0": "contact"})

    assert (again(sheet).reading, again(sheet).mapping) == (sheet.reading, sheet.mapping)


def test_text_of_uncertain_encoding_is_not_checked_before_somebody_says_which(by, sent):
    sheet = bring("Name,Contact\nÄmbry,Pell\n".encode("cp1252"), by)
    assert sheet.columns == ["Name", "Contact"]

    with pytest.raises(SheetRefused, match="is not UTF-8"):
        sheets.ask_check(sheet, by=by)
    sheets.set_reading(sheet, {"encoding": "windows-1252"}, sheet.mapping)
    sheet = checked(again(sheet), by)

    assert sheet.counts["added"] == 1


def test_the_line_it_was_asked_about_is_not_kept(by, sent, django_capture_on_commit_callbacks):
    """A table of customers that is saved or dropped says nothing of them any more."""
    sheet = bring("Name;Notes\nKühlbox Zebedee;x\n".encode("cp1252"), by)
    assert "Zebedee" in sheet.reading["doubt"]
    sheets.set_reading(sheet, {"encoding": "windows-1252"}, sheet.mapping)
    sheets.ask_check(sheet, by=by)
    assert "Zebedee" not in str(SheetMapping.objects.values())

    with django_capture_on_commit_callbacks(execute=True):
        sheets.drop(again(sheet))

    assert "Zebedee" not in str(SheetImport.objects.values())


@pytest.mark.parametrize(
    ("mapping", "words"),
    [
        ({"0": "name", "1": "name"}, "Two columns of the file go to “Name”"),
        ({"7": "name"}, "no such column"),
        ({"0": "password"}, "no such column"),
        ({"0": "", "1": ""}, "No column is matched yet"),
    ],
)
def test_matches_that_make_no_sense_are_refused(mapping, words, by, sent):
    sheet = bring(GOOD, by)

    with pytest.raises(SheetRefused, match=words):
        sheets.ask_check(sheet, mapping, by=by)

    assert (again(sheet).state, BackgroundJob.objects.count()) == (State.MAPPING, 0)


def test_kind_of_table_that_is_no_longer_known_can_only_be_dropped(by, sent):
    sheet = bring(GOOD, by)
    SheetImport.objects.update(sheet="component:gone")
    sheet = again(sheet)

    with pytest.raises(SheetRefused, match="knows no table of the kind"):
        sheets.ask_check(sheet, by=by)
    sheets.drop(sheet)

    assert again(sheet).state == State.DROPPED


# --- Once --------------------------------------------------------------------------------------------


def test_two_clicks_save_once(by, known, sent):
    sheet = checked(bring(GOOD, by), by)
    twin = again(sheet)

    sheets.ask_save(sheet, by=by)
    with pytest.raises(SheetRefused, match="Somebody has gone on"):
        sheets.ask_save(twin, by=by)

    assert BackgroundJob.objects.filter(kind="sheet_save").count() == 1


def test_message_that_comes_twice_saves_once(by, known, sent):
    sheet = saved(checked(bring(GOOD, by), by), by)

    run_job(job_id=sheet.job_id)

    assert (BulkAction.objects.count(), Supplier.objects.count()) == (1, 2)


def test_worker_that_lost_its_lease_saves_nothing(by, known, sent, monkeypatch):
    """Two workers with one job: the one whose job was taken away undoes all it did."""
    sheet = checked(bring(GOOD, by), by)
    sheets.ask_save(sheet, by=by)
    job, real = again(sheet).job, core.save

    def slow(*args, **kwargs):
        result = real(*args, **kwargs)
        BackgroundJob.objects.filter(pk=job.pk).update(claimed_by="another:1", attempts=2)
        return result

    monkeypatch.setattr(core, "save", slow)
    background.run(job.pk)
    assert (again(sheet).state, BulkAction.objects.count(), Supplier.objects.count()) == (State.SAVING, 0, 1)

    monkeypatch.setattr(core, "save", real)
    BackgroundJob.objects.update(state="queued", claimed_by="")
    background.run(job.pk)

    assert (again(sheet).state, BulkAction.objects.count(), Supplier.objects.count()) == (State.SAVED, 1, 2)


def test_check_nobody_waits_for_any_more_is_thrown_away(by, sent):
    sheet = bring(GOOD, by)
    sheets.ask_check(sheet, by=by)
    old = again(sheet).job
    sheets.drop(again(sheet))
    BackgroundJob.objects.update(state="queued", cancel_asked=False)

    run_job(job_id=old.pk)

    assert (again(sheet).state, again(sheet).counts) == (State.DROPPED, {})


def test_what_changed_in_the_meantime_is_refused_with_the_first_difference(by, known, sent):
    sheet = checked(bring(GOOD, by), by)
    known.contact = "Somebody else"
    known.save()

    sheet = saved(sheet, by)

    assert sheets.standing(sheet) == "save_failed"
    assert "Ambry Cable Works" in sheet.job.reason
    assert (Supplier.objects.count(), BulkAction.objects.count()) == (1, 0)
    sheet = saved(checked(sheet, by), by)
    assert (sheet.state, Supplier.objects.get(pk=known.pk).contact) == (State.SAVED, "Pell")


# --- Stopping, failing, dropping ---------------------------------------------------------------------


def test_check_is_stopped_at_its_next_sign_of_life_and_can_be_asked_for_again(by, sent, monkeypatch):
    sheet = bring(GOOD, by)
    sheets.ask_check(sheet, by=by)
    real = background.progress

    def pressed(job, done, of):
        assert sheets.stop(again(sheet))
        real(job, done, of)

    with monkeypatch.context() as patch:
        patch.setattr(background, "progress", pressed)
        run_job(job_id=again(sheet).job_id)

    assert sheets.standing(again(sheet)) == "check_failed"
    assert again(sheet).plan.name == ""
    assert sheets.standing(checked(again(sheet), by)) == "checked"


def test_save_can_be_stopped_only_before_it_begins(by, known, sent):
    sheet = checked(bring(GOOD, by), by)
    sheets.ask_save(sheet, by=by)
    sheet = again(sheet)
    assert sheets.can_stop(sheet)
    BackgroundJob.objects.filter(pk=sheet.job_id).update(state="running")
    assert not sheets.can_stop(again(sheet))
    with pytest.raises(SheetRefused):
        sheets.drop(again(sheet))
    BackgroundJob.objects.filter(pk=sheet.job_id).update(state="queued")

    assert sheets.stop(again(sheet))

    assert sheets.standing(again(sheet)) == "save_failed"
    assert saved(again(sheet), by).state == State.SAVED


def test_file_that_is_gone_is_said(by, sent):
    sheet = bring(GOOD, by)
    sheet_files.remove(sheet.file)

    with pytest.raises(SheetRefused, match="no longer on the server"):
        sheets.ask_check(sheet, by=by)


def test_disk_that_fills_up_in_the_check_is_said_and_leaves_nothing(by, sent, monkeypatch):
    sheet = bring(GOOD, by)

    def full(self, file):
        file.write("half a plan")
        raise OSError(errno.ENOSPC, "No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr(core.Plan, "to_json_lines", full)
        sheet = checked(sheet, by)

    assert "disk is full" in sheet.job.reason
    assert len(kept()) == 1


def test_somebody_who_lost_the_right_changes_nothing(by, known, sent):
    sheet = checked(bring(GOOD, by), by)
    by.role = "technician"
    by.save()

    sheet = saved(sheet, by)

    assert sheets.standing(sheet) == "save_failed"
    assert "may not bring this table in any more" in sheet.job.reason
    assert Supplier.objects.count() == 1


def test_dropped_table_leaves_its_row_alone(by, sent, django_capture_on_commit_callbacks):
    sheet = checked(bring(GOOD, by), by)
    assert len(kept()) == 2

    with django_capture_on_commit_callbacks(execute=True):
        sheets.drop(sheet)

    assert (again(sheet).state, again(sheet).file_name, kept()) == (State.DROPPED, "suppliers.csv", [])
    with pytest.raises(SheetRefused):
        sheets.ask_check(again(sheet), by=by)


def test_old_tables_and_strays_go_and_young_ones_stay(by, sent, django_capture_on_commit_callbacks):
    import os

    old, young = bring(GOOD, by), bring(GOOD, by)
    SheetImport.objects.filter(pk=old.pk).update(asked_at=timezone.now() - timedelta(days=8))
    folder = sheet_files.path_of(sheet_files.FOLDER)
    for name, age_s in (("stray.plan", 7 * 3600), (".begun.part", 60)):
        (folder / name).write_text("left by a dead worker")
        os.utime(folder / name, (timezone.now().timestamp() - age_s,) * 2)

    with django_capture_on_commit_callbacks(execute=True):
        dropped = sheets.tidy()

    assert dropped == 1
    assert [again(sheet).state for sheet in (old, young)] == [State.DROPPED, State.MAPPING]
    assert set(kept()) == {young.file.name.split("/")[1], ".begun.part"}


def test_save_holds_its_lease_for_as_long_as_its_rows_may_take(by, known, sent, monkeypatch, settings):
    sheet = checked(bring(GOOD, by), by)
    SheetImport.objects.update(counts={**sheet.counts, "added": 60_000})
    sheets.ask_save(again(sheet), by=by)
    seen = []

    def look(*args, **kwargs):
        seen.append(BackgroundJob.objects.get(kind="sheet_save").lease_until - timezone.now())
        raise SheetRefused("seen enough")

    monkeypatch.setattr(core, "save", look)
    run_job(job_id=again(sheet).job_id)

    assert timedelta(seconds=600) < seen[0] < timedelta(seconds=background.SLOWEST_S)
