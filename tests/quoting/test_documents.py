"""Papers from asking to opening, with a small renderer in place of the real one."""

from __future__ import annotations

import errno
import sys
from dataclasses import dataclass
from pathlib import Path
from types import ModuleType

import pytest
from django.urls import reverse
from django.utils import timezone

from fitouts.models import InstalledSystem
from quoting.documents.drawn import DrawingIncomplete
from quoting.models import BackgroundJob, Document, Snapshot
from quoting.services import background, documents, paper_files, snapshots
from quoting.tasks import run_job
from tests.factories.jobs import make_fitout, make_snapshot, make_user, make_workshop

pytestmark = pytest.mark.django_db


@dataclass(frozen=True)
class Rendered:
    pdf: bytes
    pages: int
    version: str


class Renderer:
    """Prints what it was given as plain text; may be told to fail or to differ."""

    def __init__(self) -> None:
        self.calls = 0
        self.version = "1"
        self.differ = b""
        self.form = ""
        self.error: Exception | None = None

    def __call__(self, kind, body, personal, checksum, form="") -> Rendered:
        self.calls += 1
        self.form = form
        if self.error:
            raise self.error
        name = personal["customer"]["name"] if personal else "erased on request"
        pdf = f"%PDF {kind} {body['job']['number']} {name} {checksum}".encode() + self.differ
        return Rendered(pdf=pdf, pages=2, version=self.version)


@pytest.fixture(autouse=True)
def renderer(monkeypatch, files) -> Renderer:
    module, renderer = ModuleType("quoting.documents.render"), Renderer()
    module.render = renderer
    monkeypatch.setitem(sys.modules, "quoting.documents.render", module)
    return renderer


@pytest.fixture
def fitout():
    make_workshop()
    return make_fitout()


@pytest.fixture
def ask(fitout, django_capture_on_commit_callbacks):
    """Ask for a paper and let the worker's task run, once committed."""

    def asks(kind=Document.Kind.QUOTE, snapshot=None, form="") -> Document:
        snapshot = snapshot or make_snapshot(fitout)
        with django_capture_on_commit_callbacks(execute=True):
            document = documents.ask(
                kind=kind, snapshot=snapshot, fitout=fitout, title="Quote 1, revision A", by=None, form=form
            )
        document.refresh_from_db()
        return document

    return asks


def test_paper_is_made_and_kept_with_its_checksum(ask, fitout, files):
    document = ask()

    expected = f"%PDF quote 26-0001 Mira Oakhollow {document.snapshot.sha256}".encode()
    assert documents.content(document) == expected
    assert (document.pages, document.renderer_version, document.size) == (2, "1", len(expected))
    assert document.job.state == BackgroundJob.State.DONE
    made = list((files / "papers").iterdir())
    assert [path.name for path in made] == [Path(document.file.name).name]
    assert made[0].stat().st_mode & 0o777 == 0o600


def test_second_message_makes_nothing(ask, renderer):
    document = ask()

    run_job(job_id=document.job_id)

    assert renderer.calls == 1


def test_same_paper_still_waiting_is_not_asked_for_twice(fitout):
    snapshot = make_snapshot(fitout)

    one = documents.ask(kind="quote", snapshot=snapshot, fitout=fitout, title="Quote", by=None)
    two = documents.ask(kind="quote", snapshot=snapshot, fitout=fitout, title="Quote", by=None)

    assert one == two
    assert BackgroundJob.objects.count() == 1


def test_same_record_and_renderer_give_the_same_bytes_or_the_job_fails(ask, fitout, renderer):
    snapshot = make_snapshot(fitout)
    first, second = ask(snapshot=snapshot), ask(snapshot=snapshot)
    renderer.differ = b" and a clock"

    third = ask(snapshot=snapshot)
    renderer.version = "2"
    fourth = ask(snapshot=snapshot)

    assert first.sha256 == second.sha256
    assert third.job.state == BackgroundJob.State.FAILED
    assert third.job.reason == (
        f"Printed twice from one record, this paper came out differently (papers {second.pk} and {third.pk})."
    )
    assert fourth.job.state == BackgroundJob.State.DONE


def test_failure_is_a_sentence_and_retry_makes_the_paper(ask, renderer, django_capture_on_commit_callbacks):
    renderer.error = RuntimeError("/srv/secret/path and a stack")
    document = ask()
    assert document.job.state == BackgroundJob.State.FAILED
    assert "secret" not in document.job.reason
    assert document.job.reason.startswith("A fault in Loomwright stopped this. Try again")
    assert not document.file

    renderer.error = None
    with django_capture_on_commit_callbacks(execute=True):
        assert documents.retry(document, by=None)

    document.refresh_from_db()
    assert document.job.state == BackgroundJob.State.DONE
    assert not documents.retry(document, by=None)


def test_record_that_cannot_be_printed_says_why(ask, renderer):
    renderer.error = DrawingIncomplete("No free place on the diagram for: L6 35 mm².")

    document = ask()

    assert document.job.reason == "This record cannot be printed: No free place on the diagram for: L6 35 mm²."


def test_paper_of_the_wrong_record_is_refused(fitout):
    snapshot = make_snapshot(fitout, Snapshot.Kind.DESIGN)

    with pytest.raises(documents.PaperNotPossible, match="“Handover sheet” cannot be printed"):
        documents.ask(kind="handover", snapshot=snapshot, fitout=fitout, title="x", by=None)

    assert not Document.objects.exists()


def test_the_same_paper_on_another_page_is_another_paper(fitout):
    snapshot = make_snapshot(fitout, Snapshot.Kind.DESIGN)

    def asked(form):
        return documents.ask(kind="diagram", snapshot=snapshot, fitout=fitout, title="x", by=None, form=form)

    small, same, large, again = asked(""), asked("a4"), asked("a3"), asked("a3")

    assert (small, large) == (same, again)
    assert small != large
    assert [paper.form for paper in (small, large)] == ["", "a3"]


def test_a_page_the_paper_does_not_have_is_refused_by_name(fitout):
    snapshot = make_snapshot(fitout, Snapshot.Kind.DESIGN)

    with pytest.raises(documents.PaperNotPossible, match="no form “a5” for this paper; there is: A4, A3"):
        documents.ask(kind="diagram", snapshot=snapshot, fitout=fitout, title="x", by=None, form="a5")

    assert not Document.objects.exists()


def test_two_pages_of_one_record_may_differ_in_their_bytes(ask, fitout, renderer):
    snapshot = make_snapshot(fitout, Snapshot.Kind.DESIGN)
    ask("diagram", snapshot)
    renderer.differ = b" on a larger page"

    large = ask("diagram", snapshot, form="a3")

    assert large.job.state == BackgroundJob.State.DONE
    assert renderer.form == "a3"


def test_lease_lost_while_printing_leaves_the_paper_to_the_other_worker(fitout, renderer, monkeypatch):
    monkeypatch.setattr(background.run_job, "apply_async", lambda **options: None)
    snapshot = make_snapshot(fitout)
    document = documents.ask(kind="quote", snapshot=snapshot, fitout=fitout, title="Quote", by=None)
    slow = background.claim(document.job_id, "a:1")
    BackgroundJob.objects.update(lease_until=timezone.now())
    background.sweep()
    quick = background.claim(document.job_id, "b:2")

    with pytest.raises(background.LeaseLost):
        documents.make(slow)
    document.refresh_from_db()
    assert not document.file
    documents.make(quick)

    document.refresh_from_db()
    assert document.job.state == BackgroundJob.State.DONE
    assert document.file


def test_erasure_takes_the_printed_names_and_a_new_print_says_so(
    ask, fitout, files, django_capture_on_commit_callbacks
):
    document = ask()
    assert b"Oakhollow" in documents.content(document)

    with django_capture_on_commit_callbacks(execute=True):
        snapshots.erase_personal(fitout.customer_id)
    document.refresh_from_db()
    assert list((files / "papers").iterdir()) == []
    with django_capture_on_commit_callbacks(execute=True):
        assert documents.retry(document, by=None)

    document.refresh_from_db()
    assert documents.content(document).endswith(b"erased on request " + document.snapshot.sha256.encode())


def test_erasure_while_printing_keeps_no_name(fitout, renderer, files, monkeypatch, django_capture_on_commit_callbacks):
    snapshot = make_snapshot(fitout)
    document = documents.ask(kind="quote", snapshot=snapshot, fitout=fitout, title="Quote", by=None)
    store = documents._store

    def store_then_erase(*args):
        name = store(*args)
        snapshots.erase_personal(fitout.customer_id)
        return name

    monkeypatch.setattr(documents, "_store", store_then_erase)
    with django_capture_on_commit_callbacks(execute=True):
        documents.make(background.claim(document.job_id, "a:1"))

    document.refresh_from_db()
    assert not document.file
    assert list((files / "papers").iterdir()) == []


def test_erasure_finds_what_a_dead_worker_left(ask, fitout, files, django_capture_on_commit_callbacks):
    document = ask()
    for name in (f"{document.pk:08d}-0123456789abcdef.pdf", f".{document.pk:08d}-0123.pdf.ab.part", "00009999-01.pdf"):
        (files / "papers" / name).write_bytes(b"%PDF Oakhollow")

    with django_capture_on_commit_callbacks(execute=True):
        snapshots.erase_personal(fitout.customer_id)

    assert [path.name for path in (files / "papers").iterdir()] == ["00009999-01.pdf"]


def test_full_disk_is_a_sentence_and_leaves_nothing(ask, files, monkeypatch, django_capture_on_commit_callbacks):
    def full(number):
        raise OSError(errno.ENOSPC, "No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr(paper_files.os, "fsync", full)
        document = ask()
    left = list((files / "papers").iterdir())
    reason, state = document.job.reason, document.job.state
    with django_capture_on_commit_callbacks(execute=True):
        assert documents.retry(document, by=None)

    assert (left, bool(document.file), state) == ([], False, BackgroundJob.State.FAILED)
    assert reason == "The server's disk is full; nothing was kept. Make room, then press Retry."
    document.refresh_from_db()
    assert documents.content(document)


def test_changed_or_missing_file_is_not_handed_out(ask):
    document = ask()
    path = Path(document.file.path)

    path.write_bytes(b"%PDF something else")
    with pytest.raises(documents.PaperNotPossible, match="changed after it was made"):
        documents.content(document)
    path.unlink()
    with pytest.raises(documents.PaperNotPossible, match="missing on the server"):
        documents.content(document)


def test_latest_paper_names_the_step_that_is_missing(fitout):
    by = make_user()

    with pytest.raises(documents.PaperNotPossible, match="Issue the quote first"):
        documents.ask_latest("quote", fitout, by=by)
    with pytest.raises(documents.PaperNotPossible, match="There is no design yet"):
        documents.ask_latest("diagram", fitout, by=by)
    with pytest.raises(documents.PaperNotPossible, match="Mark the job delivered first"):
        documents.ask_latest("handover", fitout, by=by)


def test_handover_is_printed_from_what_was_fitted(fitout):
    as_built = make_snapshot(fitout, Snapshot.Kind.AS_BUILT)
    InstalledSystem.objects.create(
        vehicle=fitout.vehicle,
        fitout=fitout,
        snapshot_sha256=as_built.sha256,
        title="Coffee trailer",
        delivered_on=timezone.localdate(),
    )

    document = documents.ask_latest("handover", fitout, by=make_user())

    assert (document.snapshot, document.title) == (as_built, "Handover sheet, as built")


# --- The pages ---------------------------------------------------------------------------------------


@pytest.fixture
def estimator(client):
    user = make_user("estimator")
    client.force_login(user)
    return client


def partial(client, url, **data):
    return client.post(url, data, headers={"HX-Request": "true"})


def test_list_asks_again_only_while_something_is_under_way(estimator, fitout, ask):
    url = reverse("papers", args=[fitout.pk])
    waiting = documents.ask(kind="quote", snapshot=make_snapshot(fitout), fitout=fitout, title="Quote", by=None)

    live = estimator.get(url, headers={"HX-Request": "true"}).content.decode()
    background.cancel(waiting.job)
    still = estimator.get(url, headers={"HX-Request": "true"}).content.decode()

    assert 'hx-trigger="every 1.5s"' in live
    assert "next in line" in live
    assert "every 1.5s" not in still
    assert "Cancelled. Press Retry to make it after all." in still
    assert reverse("paper_retry", args=[waiting.pk]) in still


def test_running_paper_shows_how_far_it_is(estimator, fitout):
    document = documents.ask(kind="quote", snapshot=make_snapshot(fitout), fitout=fitout, title="Quote", by=None)
    background.progress(background.claim(document.job_id, "a:1"), 2, 3)

    page = estimator.get(reverse("papers", args=[fitout.pk]), headers={"HX-Request": "true"}).content.decode()

    assert '<progress max="3" value="2" aria-label="Progress of Quote"></progress>' in page
    assert "2 of 3" in page


def test_finished_paper_opens_as_a_private_pdf(estimator, ask):
    document = ask()

    response = estimator.get(reverse("paper_open", args=[document.pk]))

    assert b"".join(response.streaming_content) == documents.content(document)
    assert response["Content-Type"] == "application/pdf"
    assert response["Content-Disposition"] == 'inline; filename="26-0001 Quote 1, revision A.pdf"'
    assert response["X-Content-Type-Options"] == "nosniff"
    assert response["Cache-Control"] == "private, no-store"


def test_ask_says_what_is_missing(estimator, fitout):
    answer = partial(estimator, reverse("paper_ask", args=[fitout.pk]), kind="diagram")

    assert "There is no design yet. Work the job out first." in answer.content.decode()
    assert not Document.objects.exists()


def test_cancel_and_retry_buttons(estimator, fitout):
    document = documents.ask(kind="quote", snapshot=make_snapshot(fitout), fitout=fitout, title="Quote", by=None)

    cancelled = partial(estimator, reverse("paper_cancel", args=[document.pk])).content.decode()
    too_late = partial(estimator, reverse("paper_cancel", args=[document.pk])).content.decode()
    retried = partial(estimator, reverse("paper_retry", args=[document.pk])).content.decode()

    assert "Cancelled" in cancelled
    assert "Failed" not in cancelled
    assert "Too late to cancel: this paper is finished." in too_late
    assert "Queued" in retried
    assert BackgroundJob.objects.get().state == BackgroundJob.State.QUEUED


def test_technician_meets_no_quote_paper(client, ask, fitout):
    document = ask()
    client.force_login(make_user("technician"))

    page = client.get(reverse("papers", args=[fitout.pk])).content.decode()
    opened = client.get(reverse("paper_open", args=[document.pk]))
    retried = partial(client, reverse("paper_retry", args=[document.pk]))
    asked = partial(client, reverse("paper_ask", args=[fitout.pk]), kind="quote")

    assert document.title not in page
    assert 'id="paper-ask-test_sheet"' in page
    assert 'id="paper-ask-quote"' not in page
    assert (opened.status_code, retried.status_code, asked.status_code) == (403, 403, 403)


def test_technician_makes_the_papers_to_build_from(client, fitout):
    client.force_login(make_user("technician"))
    url = reverse("paper_ask", args=[fitout.pk])

    answers = [partial(client, url, kind=kind) for kind in ("diagram", "wiring", "plan", "labels", "fuse_map")]

    assert {answer.status_code for answer in answers} == {200}
    assert all("There is no design yet. Work the job out first." in answer.content.decode() for answer in answers)


def test_papers_stand_in_groups_with_the_sizes_they_are_made_for(estimator, fitout):
    page = estimator.get(reverse("papers", args=[fitout.pk])).content.decode()

    assert page.index("To build from") < page.index('id="paper-ask-wiring"') < page.index("For the owner")
    assert page.index("For the owner") < page.index('id="paper-ask-fuse_map"')
    for kind, code in (("diagram", "a3"), ("wiring", "a3"), ("fuse_map", "a5"), ("labels", "a4-5x13-flag")):
        select = page.split(f'id="paper-form-{kind}"')[1].split("</select>")[0]
        assert f'<option value="{code}">' in select
    assert 'id="paper-form-test_sheet"' not in page
    assert 'id="paper-first-labels"' in page


@pytest.mark.parametrize(
    ("entered", "words"),
    [
        ({"labels-form": "a4-3x7", "labels-first": "22"}, "first free label is 22; this sheet has labels 1 to 21."),
        ({"labels-form": "a4-3x7", "labels-first": "−1"}, "is a whole number, counted from the upper left; “−1” is"),
        ({"labels-form": "a4-9x9"}, "There is no form “a4-9x9” for this paper"),
    ],
)
def test_a_label_that_is_not_on_the_sheet_is_said_by_number(estimator, fitout, entered, words):
    answer = partial(estimator, reverse("paper_ask", args=[fitout.pk]), kind="labels", **entered)

    assert words in answer.content.decode()
    assert not Document.objects.exists()


def test_a_fault_offers_no_papers_of_circuits(estimator, fitout):
    type(fitout).objects.filter(pk=fitout.pk).update(kind="fault")

    page = estimator.get(reverse("papers", args=[fitout.pk])).content.decode()

    offered = {kind for kind in Document.Kind.values if f'id="paper-ask-{kind}"' in page}
    assert offered == {"quote", "test_sheet"}


def test_stranger_is_sent_to_sign_in(client, ask):
    document = ask()

    response = client.get(reverse("paper_open", args=[document.pk]))

    assert response.status_code == 302
    assert response["Location"].startswith(reverse("sign_in"))


def test_name_typed_by_somebody_is_escaped(estimator, fitout):
    documents.ask(kind="quote", snapshot=make_snapshot(fitout), fitout=fitout, title="<script>x</script>", by=None)

    page = estimator.get(reverse("papers", args=[fitout.pk]), headers={"HX-Request": "true"}).content.decode()

    assert "<script>x" not in page
    assert "&lt;script&gt;x" in page


@pytest.mark.parametrize("count", [3, 60])
def test_list_takes_a_fixed_number_of_queries(estimator, fitout, count, django_assert_num_queries):
    snapshot = make_snapshot(fitout)
    by = make_user("manager")
    for number in range(count):
        job = BackgroundJob.objects.create(kind="document", by=by, state=("queued", "failed", "done")[number % 3])
        Document.objects.create(fitout=fitout, kind="quote", snapshot=snapshot, title="Quote", job=job, asked_by=by)
    url = reverse("papers", args=[fitout.pk])

    with django_assert_num_queries(8):
        estimator.get(url, headers={"HX-Request": "true"})
