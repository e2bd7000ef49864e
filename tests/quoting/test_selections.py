"""Three offers in the background: asked for once, kept whole or not at all, told when the job has moved on."""

from __future__ import annotations

from decimal import Decimal

import pytest
from django.utils import timezone

from catalog.models import Component, Supplier
from fitouts.models import Fitout, Stage, Workshop
from fitouts.services import audit, trip
from fitouts.services import fitouts as jobs
from fitouts.services import steering as wishes
from quoting.models import BackgroundJob, Selection
from quoting.services import background, designs, pricing, proposals, proposed, quotes, selections
from quoting.services.background import JobFailed
from quoting.services.briefs import BriefIncomplete, check_line, make_brief
from quoting.sizing.appraise import appraise, brief_sha256
from quoting.sizing.selecting.select import select
from tests.quoting.choosing import made_by_worker, worker_of

pytestmark = pytest.mark.django_db
D = Decimal


@pytest.fixture(scope="module")
def chosen(made_wagon) -> int:
    """Key of a selection of the field wagon, made once for the module, in few weathers."""
    Workshop.objects.update(engineering={"weather_draws": 50})
    wagon = Fitout.objects.get(pk=made_wagon)
    designs.work_out(wagon, by=None)
    return made_by_worker(selections.ask(wagon, by=None)).pk


@pytest.fixture
def selection(chosen, worked_out) -> Selection:
    return Selection.objects.get(pk=chosen)


@pytest.fixture
def wagon(worked_out) -> Fitout:
    return worked_out


@pytest.fixture
def asked(chosen, wagon, estimator) -> Selection:
    """The next selection, asked for and not made."""
    trip.set_wishes(wagon, {"autonomy_days": 1.0}, by=estimator, check=lambda job: None)
    return selections.ask(wagon, by=estimator)


def test_each_offer_is_kept_with_the_system_that_proves_it(selection):
    record = selections.record_of(selection)

    assert [offer.offer for offer in record.offers] == ["lean", "steady", "roomy"]
    for row, offer in zip(selection.proposals.order_by("pk"), record.offers, strict=True):
        assert (row.offer, row.number) == (offer.offer, 0)
        assert proposals.picks_of(row) == offer.picks
        assert proposals.facts_of(row) == offer.facts
        assert proposals.refusals_of(proposals.appraisal_of(row)) == []
        assert row.key == brief_sha256(proposals.brief_of(row))


def test_its_price_is_what_a_quote_says_of_the_same_system(selection):
    workshop = Workshop.objects.get()
    for row in selection.proposals.all():
        lines = pricing.price_bill(proposals.appraisal_of(row), workshop)

        assert D(proposals.facts_of(row).price) == sum(x.amount for x in lines if x.group != pricing.SUNDRIES)
        assert row.net == sum(x.amount for x in lines)
        assert row.total == (row.net * D("1.1")).quantize(D("0.01"), "ROUND_HALF_UP")


def test_working_the_kept_brief_out_again_gives_the_kept_appraisal(selection):
    row = selection.proposals.get(offer="lean")

    assert appraise(proposals.brief_of(row)) == proposals.appraisal_of(row)


def test_asking_again_while_nothing_has_moved_gives_the_same(selection, wagon, estimator):
    assert selections.ask(wagon, by=estimator) == selection
    assert not BackgroundJob.objects.filter(kind="select", state="queued").exists()


def test_asking_twice_asks_once(asked, wagon, estimator):
    assert selections.ask(wagon, by=estimator) == asked
    background.claim(asked.job_id, "w1")
    assert selections.ask(wagon, by=estimator) == asked
    assert BackgroundJob.objects.filter(kind="select", state__in=["queued", "running"]).count() == 1
    assert asked.job.queue == BackgroundJob.Queue.HEAVY


def test_a_change_makes_the_next_and_leaves_the_last_as_it_is(selection, asked, wagon):
    assert (asked.number, asked.result) == (selection.number + 1, None)
    assert selections.latest_of(wagon) == asked
    assert selections.made_of(wagon) == selection


def test_what_failed_is_asked_again_under_the_same_number(asked, wagon, estimator):
    assert selections.cancel(asked)

    again = selections.ask(wagon, by=estimator)

    assert (again.pk, again.number) == (asked.pk, asked.number)
    assert again.job_id != asked.job_id
    assert again.job.state == BackgroundJob.State.QUEUED


def test_what_is_missing_is_asked_for_before_anything_is_queued(wagon, estimator):
    wagon.requirements.all().delete()

    with pytest.raises(BriefIncomplete, match="power audit has no line"):
        selections.ask(wagon, by=estimator)

    assert not Selection.objects.filter(job__state="queued").exists()


@pytest.mark.parametrize(
    ("values", "words"), [({"kind": "fault"}, "fault is mended"), ({"stage": Stage.ON_HOLD}, "set aside")]
)
def test_jobs_that_choose_nothing_are_refused(wagon, estimator, values, words):
    Fitout.objects.filter(pk=wagon.pk).update(**values)
    wagon.refresh_from_db()

    with pytest.raises(selections.NotPossible, match=words):
        selections.ask(wagon, by=estimator)


def test_a_job_that_lost_its_lines_meanwhile_fails_with_what_is_missing(asked, wagon):
    wagon.requirements.all().delete()

    with pytest.raises(JobFailed, match="power audit has no line"):
        selections.make(worker_of(asked))

    asked.refresh_from_db()
    assert asked.result is None
    assert not asked.proposals.exists()


def test_cancelled_half_way_nothing_is_kept(asked, monkeypatch):
    job = worker_of(asked)

    def stopped(brief, market, steer, progress):
        progress(1, 36)
        selections.cancel(asked)
        return select(brief, market, steer, progress)

    monkeypatch.setattr(selections, "select", stopped)
    with pytest.raises(background.Cancelled):
        selections.make(job)

    asked.refresh_from_db()
    assert (asked.result, asked.brief) == (None, None)
    assert not asked.proposals.exists()


def test_a_worker_that_lost_its_lease_keeps_nothing(selection, asked, monkeypatch):
    job = worker_of(asked)
    monkeypatch.setattr(selections, "_choose", lambda *args: _taken_away(job, selection))

    with pytest.raises(background.LeaseLost):
        selections.make(job)

    asked.refresh_from_db()
    assert asked.result is None
    assert not asked.proposals.exists()


def _taken_away(job: BackgroundJob, kept: Selection):
    BackgroundJob.objects.filter(pk=job.pk).update(claimed_by="another")
    return _nothing(kept)


def _nothing(kept: Selection):
    record = selections.record_of(kept)
    by_key = {one.key: proposals.appraisal_of(kept.proposals.first()) for one in record.candidates}
    nothing = selections.Selected(record.model_copy(update={"offers": ()}), by_key)
    return selections._Chosen(nothing, {})


def test_of_somebody_erased_meanwhile_nothing_is_kept(selection, asked, monkeypatch):
    """The Brief that the worker read before still has the job's title."""
    asked.fitout.customer.erased_at = timezone.now()
    asked.fitout.customer.save()
    monkeypatch.setattr(selections, "_choose", lambda *args: _nothing(selection))

    with pytest.raises(JobFailed, match="was erased meanwhile"):
        selections.make(worker_of(asked))

    asked.refresh_from_db()
    assert (asked.result, asked.brief) == (None, None)


def test_the_same_message_twice_does_the_work_once(selection, monkeypatch):
    monkeypatch.setattr(selections, "_choose", lambda *args: pytest.fail("chosen again"))

    selections.make(BackgroundJob(payload={"selection": selection.pk}))

    assert selection.proposals.count() == 3


# --- Within the budget and the payload, assemblies and all ----------------------------------------------


def test_the_dearest_offer_is_quoted_within_the_budget_or_it_is_none(wagon, estimator, chosen):
    free = Selection.objects.get(pk=chosen)
    lean = free.proposals.get(offer="lean")
    budget = lean.total + D("20.00")
    wishes.set_steering(wagon, {"budget": budget}, by=estimator)

    made = made_by_worker(selections.ask(wagon, by=estimator))

    totals = dict(made.proposals.values_list("offer", "total"))
    assert totals["lean"] == lean.total
    assert all(total <= budget for total in totals.values())
    record = selections.record_of(made)
    assert set(totals) | set(record.clashes) == {"lean", "steady", "roomy"}


def test_what_a_quote_holds_besides_takes_its_share_of_the_budget(wagon, estimator, monkeypatch):
    """Two offers come out over the budget once assemblies are in: choosing begins again with so much less."""
    wishes.set_steering(wagon, {"budget": D(20000)}, by=estimator)
    asked, spent = selections.asked_of(wagon), []

    def over_once(brief, market, steer, progress):
        spent.append(D(steer.budget))
        return "selected"

    monkeypatch.setattr(selections, "select", over_once)
    monkeypatch.setattr(selections, "_quoted", lambda *args: _quote(D(20300) if len(spent) == 1 else D(19990)))

    selections._choose(asked, wagon, BackgroundJob())

    assert spent[1] == spent[0] - 300
    assert len(spent) == 2


def _quote(total: Decimal) -> dict[str, proposed.Quoted]:
    return {"lean": proposed.Quoted(D(9000), D(9900), 40.0), "roomy": proposed.Quoted(total, total, 90.0)}


# --- What has changed since -----------------------------------------------------------------------------


def said(wagon: Fitout) -> list[str]:
    return [f"{change.part}: {change.words}" for change in selections.changes_since(wagon)]


def test_nothing_has_changed_at_first_and_taking_a_system_changes_nothing(selection, wagon, estimator):
    assert said(wagon) == []
    proposals.take(selection.proposals.get(offer="steady"), by=estimator)
    assert said(wagon) == []


def test_each_change_is_told_in_words(selection, wagon, estimator):
    battery = Component.objects.get(pk=proposals.picks_of(selection.proposals.first())[0].part)
    line = wagon.requirements.first()
    audit.change_line(line, {"quantity": line.quantity + 1}, by=estimator, check=check_line)
    Component.objects.filter(pk=battery.pk).update(sell_price=battery.cost * 2)
    Workshop.objects.update(labour_rate=D(131))
    wishes.set_steering(wagon, {"budget": D(9000), "prefer_stock": True}, by=estimator)

    told = said(wagon)

    assert f"loads: “{line.name}” was changed in the power audit." in told
    assert f"prices: Sold at another price: {battery.name}." in told
    assert "prices: What labour takes or costs was changed." in told
    assert "steer: Changed in what to choose from: budget, tax included, prefer what is on the shelf." in told


def test_the_shelf_is_told_where_it_matters(selection, wagon, estimator):
    bought = proposals.picks_of(selection.proposals.first())[0]
    other = Component.objects.exclude(
        pk__in={line["part"] for row in selection.proposals.all() for line in row.appraisal["bill"] if line["part"]}
    ).first()
    Component.objects.filter(pk=other.pk).update(stock=7)
    assert said(wagon) == []

    Component.objects.filter(pk=bought.part).update(stock=50)
    name = Component.objects.get(pk=bought.part).name
    assert said(wagon) == [f"stock: On the shelf now: {name}."]

    wishes.set_steering(wagon, {"prefer_stock": True}, by=estimator)
    assert other.name in "".join(said(wagon))


def test_a_supplier_ruled_out_is_told(selection, wagon, estimator):
    supplier = Supplier.objects.create(name="Coastal Electrical Supply")
    wishes.set_supplier(wagon, supplier, "banned", by=estimator)

    assert said(wagon) == ["steer: Changed in what to choose from: suppliers ruled out."]


def test_a_newer_method_is_told(selection, wagon):
    Selection.objects.filter(pk=selection.pk).update(method_version="2026.10.1", key="-")

    assert any(words.startswith("method:") for words in said(wagon))


def test_a_draft_that_is_discounted_leaves_more_for_the_system(selection, wagon, estimator):
    wishes.set_steering(wagon, {"budget": D(12000)}, by=estimator)
    before = D(selections.asked_of(wagon).steer.budget)
    draft = quotes.draft(wagon, by=estimator)

    quotes.set_terms(draft, discount_ratio=D("0.1"), note="", days_off_road=1)

    assert D(selections.asked_of(wagon).steer.budget) > before


def test_a_copy_of_a_job_chooses_for_itself(selection, wagon, estimator):
    proposals.take(selection.proposals.get(offer="lean"), by=estimator)

    copy = jobs.open_from(wagon, wagon.vehicle, by=estimator)

    assert proposals.held(copy) is None
    assert make_brief(copy).picks == ()
    assert not copy.selections.exists()
