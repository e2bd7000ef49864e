"""One proved system: its page, a swap before and after, taken and quoted. By a selection as the worker makes it."""

from __future__ import annotations

import html
import re

import pytest
from django.urls import reverse

from fitouts.models import Fitout, Workshop
from quoting.models import Design, JobPicks, Offer, Proposal, Selection
from quoting.queries.offers_facts import PartRow
from quoting.services import background, designs, proposals, selections
from quoting.sizing.selecting.records import Facts


@pytest.fixture(scope="module")
def chosen(made_wagon) -> int:
    """Key of a selection of the field wagon, made once for the module, in few weathers."""
    Workshop.objects.update(engineering={"weather_draws": 50})
    asked = selections.ask(Fitout.objects.get(pk=made_wagon), by=None)
    background.run(asked.job_id)
    return asked.pk


@pytest.fixture
def selection(chosen, worked_out) -> Selection:
    return Selection.objects.get(pk=chosen)


@pytest.fixture
def steady(selection) -> Proposal:
    return selection.proposals.get(offer="steady")


@pytest.fixture
def office(client, estimator):
    client.force_login(estimator)
    return client


def plain(response) -> str:
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]*>", " ", response.content.decode())))


def swap_url(one: Proposal, role: str) -> str:
    return reverse("proposal_swap", args=[one.pk, role])


def runner_up(one: Proposal, role: str) -> proposals.SwapOption:
    return next(option for option in proposals.swap_options(one, role) if option.fits)


def test_page_of_the_offers_is_whole(office, selection, worked_out):
    text = plain(office.get(reverse("offers", args=[worked_out.pk])))

    record = selections.record_of(selection)
    assert [offer.offer for offer in record.offers] == ["lean", "steady", "roomy"]
    for code in {said.code for offer in record.offers for said in (offer.why, *offer.lacks)}:
        assert f" {code} " not in text  # every sentence has its words
    assert "inputs changed" not in text
    assert "Proved best of" in text


def test_a_system_shows_what_it_comes_to_and_where_each_part_is_swapped(office, steady):
    markup = office.get(reverse("proposal", args=[steady.pk])).content.decode()

    facts = Facts.model_validate(steady.facts, strict=False)
    assert f"{facts.spare_outputs}" in markup
    roles = {c["role"] for c in steady.appraisal["chosen"]}
    assert {role for role in roles if swap_url(steady, role) in markup} == roles - {"sensor"}
    assert "Throw it away" not in markup


def test_a_swap_is_proved_shown_before_and_after_and_thrown_away(office, steady, worked_out):
    option = runner_up(steady, "battery")

    response = office.post(swap_url(steady, "battery"), {"part": option.part, "quantity": option.quantity}, follow=True)

    made = Proposal.objects.get(swapped_from=steady)
    text = plain(response)
    assert made.swapped in text
    assert "Before and after" in text
    assert "Steady, by hand 1" in text
    for one in (steady, made):
        assert f"{one.total:,.2f}".replace(",", " ") in text.replace("\N{NARROW NO-BREAK SPACE}", " ")
    assert f"By hand {made.number}" in plain(office.get(reverse("offers", args=[worked_out.pk])))

    gone = office.post(reverse("proposal_drop", args=[made.pk]), follow=True)
    assert "Thrown away." in plain(gone)
    assert not Proposal.objects.filter(pk=made.pk).exists()


def test_what_the_programme_chose_is_not_thrown_away(office, steady):
    text = plain(office.post(reverse("proposal_drop", args=[steady.pk]), follow=True))

    assert "It stays:" in text
    assert Proposal.objects.filter(pk=steady.pk).exists()


def test_a_swap_that_will_not_do_is_told_and_cannot_be_taken(office, steady, worked_out):
    small = next(option for option in proposals.swap_options(steady, "inverter") if not option.fits)

    response = office.post(swap_url(steady, "inverter"), {"part": small.part}, follow=True)

    made = Proposal.objects.get(swapped_from=steady)
    text = plain(response)
    assert "it cannot be taken or quoted" in text
    assert reverse("proposal_take", args=[made.pk]) not in response.content.decode()
    refused = plain(office.post(reverse("proposal_take", args=[made.pk]), follow=True))
    assert "It cannot be taken." in refused
    assert not JobPicks.objects.filter(fitout=worked_out).exists()
    offers = office.get(reverse("offers", args=[worked_out.pk])).content.decode()
    assert f'name="proposal" value="{made.pk}"' not in offers
    assert "cannot be taken" in offers


@pytest.mark.parametrize(
    ("entries", "said"),
    [
        ({}, "Choose a part of the list, or type one."),
        ({"typed": "no such thing"}, "Nothing in use is called “no such thing”."),
        ({"part": "999999"}, "That part was not looked at for these offers."),
        ({"part": "x<b>"}, "That part was not looked at for these offers."),
        ({"typed": "#0"}, "Nothing in use has the number #0."),
    ],
)
def test_what_is_typed_wrongly_is_said_and_kept(office, steady, entries, said):
    response = office.post(swap_url(steady, "battery"), entries | {"quantity": ""})

    assert response.status_code == 422
    assert said in plain(response)
    assert not Proposal.objects.filter(swapped_from=steady).exists()


@pytest.mark.parametrize("quantity", ["0", "-2", "1e9", "two", "201"])
def test_a_number_out_of_range_is_refused(office, steady, quantity):
    option = runner_up(steady, "battery")

    response = office.post(swap_url(steady, "battery"), {"part": option.part, "quantity": quantity})

    assert response.status_code == 422
    assert "needs another look" in plain(response)


def test_a_role_that_is_none_is_404(office, steady):
    assert office.get(swap_url(steady, "nosuchrole")).status_code == 404


def test_the_runner_up_of_a_near_miss_is_marked_where_it_leads(office, steady):
    option = runner_up(steady, "battery")

    text = plain(office.get(swap_url(steady, "battery"), {"part": option.part}))

    assert f"{option.name} the runner-up" in text


def test_taken_it_is_the_jobs_design_as_it_was_proved(office, steady, worked_out):
    text = plain(office.post(reverse("proposal_take", args=[steady.pk]), follow=True))

    design = designs.latest_of(worked_out)
    assert design.key == steady.key
    assert f"The job’s design is now number {design.number}: the system as it was proved." in text
    assert "The job is held to the parts of Steady." in text


def test_ticked_offers_go_into_the_quote_and_one_becomes_the_design(office, selection, worked_out):
    rows = list(selection.proposals.exclude(offer="lean"))

    response = office.post(
        reverse("offers_quote", args=[worked_out.pk]), {"proposal": [row.pk for row in rows]}, follow=True
    )

    text = plain(response)
    assert "The draft has 2 offers. Steady is the job’s design now, from which papers are drawn." in text
    drafted = Offer.objects.filter(revision__quote__fitout=worked_out)
    assert {(offer.name, offer.proposal_id) for offer in drafted} == {(row.offer, row.pk) for row in rows}
    assert {offer.total for offer in drafted} == {row.total for row in rows}
    assert Design.objects.filter(fitout=worked_out).count() == 2


def test_a_job_that_was_let_go_is_held_again_by_what_it_quotes(office, steady, worked_out):
    office.post(reverse("proposal_take", args=[steady.pk]))
    office.post(reverse("offers_let_go", args=[worked_out.pk]))
    assert not JobPicks.objects.filter(fitout=worked_out).exists()

    office.post(reverse("offers_quote", args=[worked_out.pk]), {"proposal": [steady.pk]})

    assert JobPicks.objects.get(fitout=worked_out).proposal_id == steady.pk
    assert designs.is_current(designs.latest_of(worked_out), Fitout.objects.get(pk=worked_out.pk))


def test_offers_that_a_job_has_left_behind_are_not_quoted(office, selection, worked_out):
    worked_out.requirements.first().delete()

    text = plain(
        office.post(
            reverse("offers_quote", args=[worked_out.pk]), {"proposal": selection.proposals.first().pk}, follow=True
        )
    )

    assert "Work them out again, then quote them." in text
    assert not JobPicks.objects.filter(fitout=worked_out).exists()
    assert Design.objects.filter(fitout=worked_out).count() == 1
    assert not Offer.objects.exists()


def test_two_of_one_name_are_not_quoted_together(office, steady, worked_out):
    made = proposals.swap(steady, "battery", runner_up(steady, "battery").part, by=None)

    text = plain(
        office.post(reverse("offers_quote", args=[worked_out.pk]), {"proposal": [steady.pk, made.pk]}, follow=True)
    )

    assert "Quote one of each name." in text
    assert not Offer.objects.exists()
    assert not JobPicks.objects.filter(fitout=worked_out).exists()


def test_a_part_that_stays_has_no_swap():
    assert not PartRow("battery", "Battery", (), True, is_kept=True).can_swap
    assert PartRow("battery", "Battery", (), True).can_swap
    assert not PartRow("sensor", "Sensors", (), True).can_swap
