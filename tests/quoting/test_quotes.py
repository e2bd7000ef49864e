"""Quotes: priced, issued once, frozen, revised, accepted."""

from __future__ import annotations

import json
from datetime import timedelta
from decimal import Decimal

import pytest
from django.utils import timezone

from catalog.models import Component
from fitouts.models import Fitout, Stage, Workshop
from fitouts.services import audit, customers
from fitouts.services.workshop import set_markups
from quoting.forms.quotes import TermsForm
from quoting.models import BackgroundJob, Document, Line, Revision
from quoting.services import designs, pricing, quotes, snapshots
from quoting.services.briefs import check_line

pytestmark = pytest.mark.django_db
D = Decimal


@pytest.fixture
def wagon(worked_out) -> Fitout:
    return worked_out


@pytest.fixture
def draft(wagon, estimator) -> Revision:
    return quotes.draft(wagon, by=estimator)


def test_a_draft_adds_up_to_the_cent(draft):
    offer = draft.offers.get()

    amounts = list(offer.lines.values_list("amount", flat=True))
    assert offer.parts + offer.labour + offer.sundries == sum(amounts)
    assert offer.net == sum(amounts) + offer.discount
    assert offer.tax == (offer.net * D("0.1")).quantize(D("0.01"), rounding="ROUND_HALF_UP")
    assert offer.net + offer.tax + offer.rounding == offer.total
    assert all(
        line.amount == (line.quantity * line.unit_price).quantize(D("0.01"), "ROUND_HALF_UP")
        for line in offer.lines.all()
    )


def test_days_off_the_road_follow_from_the_labour(draft):
    hours = sum(Line.objects.filter(offer__revision=draft, group="labour").values_list("quantity", flat=True))

    assert 8 * (draft.days_off_road - 1) < hours <= 8 * draft.days_off_road


def test_every_line_of_the_bill_is_priced(draft):
    bill = designs.appraisal_of(draft.design).bill

    rules = sorted(line.rule for line in bill if line.part or line.labour)
    assert {line.rule for line in bill if not line.part and not line.labour} == {"ac_cable"}  # the licensed person's
    priced = sorted(Line.objects.filter(offer__revision=draft).exclude(group="sundries").values_list("rule", flat=True))
    assert priced == rules


def test_markup_goes_on_cost_unless_the_part_has_its_own_price(wagon, estimator):
    workshop_markup = D("0.40")
    set_markups({"storage": workshop_markup}, by=estimator)
    battery = Component.objects.get(pk=int(designs.appraisal_of(wagon.designs.first()).chosen[0].part))

    line = Line.objects.get(offer__revision=quotes.draft(wagon, by=estimator), component=battery)

    assert line.unit_price == (battery.cost * (1 + workshop_markup)).quantize(D("0.01"), "ROUND_HALF_UP")
    assert line.unit_cost == battery.cost


def test_a_discount_and_a_line_by_hand_reach_the_total(draft):
    before = draft.offers.get()

    quotes.add_line(draft, name="Roof rack, moved", quantity=D(2), unit_price=D("45.50"), unit_cost=D(20))
    quotes.set_terms(draft, discount_ratio=D("0.05"), note="Thank you", days_off_road=3)

    after = draft.offers.get()
    lines = before.parts + before.labour + before.sundries + D("91.00")
    assert after.discount == -(lines * D("0.05")).quantize(D("0.01"), "ROUND_HALF_UP")
    assert after.net == lines + after.discount


def test_pricing_again_keeps_lines_by_hand_and_only_those_can_be_removed(draft):
    line = quotes.add_line(draft, name="Roof rack, moved", quantity=D(1), unit_price=D(45), unit_cost=D(20))
    other = Line.objects.filter(offer__revision=draft, by_hand=False).first()

    quotes.reprice(draft)

    assert Line.objects.filter(pk=line.pk, by_hand=True).exists()
    with pytest.raises(quotes.QuoteNotReady, match="comes from the design"):
        quotes.remove_line(Line.objects.filter(offer__revision=draft, rule=other.rule).first())


def test_issuing_freezes_and_queues_one_paper(draft, estimator, wagon, django_capture_on_commit_callbacks):
    with django_capture_on_commit_callbacks(execute=True):
        document = quotes.issue(draft, by=estimator)

    draft.refresh_from_db()
    wagon.refresh_from_db()
    document.refresh_from_db()
    assert draft.state == Revision.State.ISSUED
    assert wagon.stage == Stage.QUOTED
    assert snapshots.verify(draft.snapshot)
    assert document.snapshot == draft.snapshot
    assert document.job.state == BackgroundJob.State.DONE, document.job.reason
    assert document.pages >= 3


def test_what_is_issued_ignores_every_later_change(draft, estimator, wagon):
    quotes.issue(draft, by=estimator)
    draft.refresh_from_db()
    body, personal = snapshots.read(draft.snapshot)
    sha256 = draft.snapshot.sha256

    Component.objects.update(cost=D("99999"))
    customers.change_customer(wagon.customer, by=estimator, name="Somebody Else")
    workshop = Workshop.objects.get()
    workshop.terms = "New terms"
    workshop.save()

    draft.refresh_from_db()
    assert snapshots.read(draft.snapshot) == (body, personal)
    assert draft.snapshot.sha256 == sha256
    assert personal["customer"]["name"] == "Venn Field Geology"


def test_no_cost_is_in_the_frozen_quote(draft, estimator):
    quotes.issue(draft, by=estimator)
    draft.refresh_from_db()

    body, _personal = snapshots.read(draft.snapshot)

    text = json.dumps(body)
    assert '"cost"' not in text
    assert '"unit_cost"' not in text
    assert body["brief"]["catalogue"] == []


def test_an_issued_revision_is_not_issued_again_or_changed(draft, estimator):
    quotes.issue(draft, by=estimator)

    with pytest.raises(quotes.QuoteNotReady, match="already issued"):
        quotes.issue(draft, by=estimator)
    draft.refresh_from_db()
    with pytest.raises(quotes.QuoteNotReady, match="already issued"):
        quotes.set_terms(draft, discount_ratio=D("0.5"), note="", days_off_road=1)
    assert Document.objects.count() == 1


def test_changed_inputs_stop_the_issue_until_worked_out_again(draft, estimator, wagon):
    line = wagon.requirements.first()
    audit.change_line(line, {"quantity": line.quantity + 1}, by=estimator, check=check_line)

    with pytest.raises(quotes.QuoteNotReady, match="inputs have changed"):
        quotes.issue(draft, by=estimator)

    assert Revision.objects.get(pk=draft.pk).snapshot is None


def test_a_job_that_is_not_surveyed_is_not_quoted(wagon, estimator):
    Fitout.objects.filter(pk=wagon.pk).update(stage=Stage.ENQUIRY)
    wagon.refresh_from_db()
    revision = quotes.draft(wagon, by=estimator)

    with pytest.raises(quotes.QuoteNotReady, match="not surveyed"):
        quotes.issue(revision, by=estimator)


def test_a_shortfall_stops_the_issue_and_is_named(wagon, estimator):
    Component.objects.filter(kind="battery").update(retired_at=timezone.now())
    designs.work_out(wagon, by=estimator)
    revision = quotes.draft(wagon, by=estimator)

    with pytest.raises(quotes.QuoteNotReady, match=r"(?i)battery"):
        quotes.issue(revision, by=estimator)


def test_revision_b_replaces_a_and_says_what_is_different(draft, estimator, wagon):
    quotes.issue(draft, by=estimator)
    second = quotes.draft(wagon, by=estimator)
    quotes.add_line(second, name="Second socket", quantity=D(1), unit_price=D(80), unit_cost=D(30))

    quotes.issue(second, by=estimator)

    draft.refresh_from_db()
    second.refresh_from_db()
    assert (draft.letter, draft.state) == ("A", Revision.State.REPLACED)
    assert (second.letter, second.state) == ("B", Revision.State.ISSUED)
    body, _ = snapshots.read(second.snapshot)
    assert body["quote"]["replaces"] == "A"
    changes = quotes.difference(draft, second)
    assert changes[0] == quotes.Change("Second socket", "not in it", "1 each, 80.00")
    assert [c.what for c in changes[1:]] == ["Without tax", "Tax", "To pay"]


def test_acceptance_moves_the_job_and_drops_an_open_draft(draft, estimator, wagon):
    quotes.issue(draft, by=estimator)
    quotes.draft(wagon, by=estimator)

    quotes.accept(draft, accepted_by="Dr Ines Venn", note="signed", by=estimator)

    wagon.refresh_from_db()
    assert wagon.stage == Stage.ACCEPTED
    assert list(wagon.quote.revisions.values_list("letter", "state")) == [("A", "accepted")]


@pytest.mark.parametrize("who", ["", "   "])
def test_acceptance_names_somebody(draft, estimator, who):
    quotes.issue(draft, by=estimator)

    with pytest.raises(quotes.QuoteNotReady, match="who accepted"):
        quotes.accept(draft, accepted_by=who, note="", by=estimator)


def test_a_lapsed_revision_is_not_accepted(draft, estimator):
    quotes.issue(draft, by=estimator)
    Revision.objects.filter(pk=draft.pk).update(valid_until=timezone.localdate() - timedelta(days=1))

    with pytest.raises(quotes.QuoteNotReady, match="ran out"):
        quotes.accept(draft, accepted_by="Dr Venn", note="", by=estimator)


def test_a_part_gone_from_the_database_is_not_priced_at_nothing(wagon, estimator):
    appraisal = designs.appraisal_of(wagon.designs.first())
    part = next(line for line in appraisal.bill if line.part)
    gone = appraisal.model_copy(update={"bill": (part.model_copy(update={"part": "999999"}),)})

    with pytest.raises(pricing.NoPrice, match="no longer in the catalogue"):
        pricing.price_bill(gone, Workshop.objects.get())


def test_revision_letters_go_on_after_z():
    assert [quotes._letter(n) for n in (0, 25, 26, 51, 52)] == ["A", "Z", "AA", "AZ", "BA"]


def test_a_page_read_before_the_issue_changes_nothing_issued(draft, estimator):
    """Two people have the draft open; one issues it, the other then presses a button."""
    stale = Revision.objects.get(pk=draft.pk)
    line = quotes.add_line(draft, name="Carpet cut", quantity=D(1), unit_price=D(88), unit_cost=D(40))
    line = Line.objects.select_related("offer__revision").get(pk=line.pk)
    quotes.issue(draft, by=estimator)
    before = (
        Revision.objects.values().get(pk=draft.pk),
        draft.offers.values().get(),
        list(draft.offers.get().lines.values()),
    )

    for change in (
        lambda: quotes.set_terms(stale, discount_ratio=D("0.5"), note="", days_off_road=9),
        lambda: quotes.add_line(stale, name="Late", quantity=D(1), unit_price=D(1), unit_cost=D(1)),
        lambda: quotes.remove_line(line),
        lambda: quotes.reprice(stale),
    ):
        with pytest.raises(quotes.QuoteNotReady, match="already issued"):
            change()

    after = (
        Revision.objects.values().get(pk=draft.pk),
        draft.offers.values().get(),
        list(draft.offers.get().lines.values()),
    )
    assert after == before


def test_what_was_accepted_meanwhile_is_not_withdrawn(draft, estimator):
    quotes.issue(draft, by=estimator)
    stale = Revision.objects.get(pk=draft.pk)
    quotes.accept(draft, accepted_by="Dr Ines Venn", note="", by=estimator)

    with pytest.raises(quotes.QuoteNotReady, match="Only an issued revision"):
        quotes.withdraw(stale)

    assert Revision.objects.get(pk=draft.pk).state == Revision.State.ACCEPTED


def test_a_discount_is_kept_as_exactly_as_it_is_counted(draft):
    form = TermsForm({"discount_ratio": "12.345", "days_off_road": "2"})

    assert form.errors["discount_ratio"] == ["It has more than two decimals of a percent."]
    assert TermsForm({"discount_ratio": "12.34", "days_off_road": "2"}).is_valid()
    quotes.set_terms(draft, discount_ratio=D("0.1234"), note="", days_off_road=2)
    before = draft.offers.values().get()
    quotes.reprice(Revision.objects.get(pk=draft.pk))
    assert draft.offers.values().get() == before


def test_amounts_that_no_column_holds_are_refused_in_words(draft):
    """One line is too large by itself, the other only in the sum with tax."""
    before = draft.offers.values().get()

    with pytest.raises(quotes.QuoteNotReady, match="the most that one line can hold"):
        quotes.add_line(draft, name="Gold", quantity=D(9999), unit_price=D("99999999"), unit_cost=D(0))
    with pytest.raises(quotes.QuoteNotReady, match="The sums grow too large"):
        quotes.add_line(draft, name="Gold", quantity=D(1), unit_price=D("99999999"), unit_cost=D(0))
    with pytest.raises(quotes.QuoteNotReady, match="The sums grow too large"):
        quotes.add_line(draft, name="Gold", quantity=D(9999), unit_price=D(1), unit_cost=D("99999999"))

    assert draft.offers.values().get() == before
    assert not Line.objects.filter(name="Gold").exists()
