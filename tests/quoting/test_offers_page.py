"""The page of the three offers: every number on it comes from the selection, and every state has its words."""

from __future__ import annotations

import html
import re
from decimal import Decimal

import pytest
from django.urls import reverse

from catalog.quantities import format_number
from fitouts.models import Fitout, Stage, User
from quoting.models import BackgroundJob, JobPicks, Proposal, Selection
from quoting.queries.offers import offers_page
from quoting.queries.offers_chart import frontier_picture
from quoting.queries.offers_facts import chance_words, fact_rows, layout_words, part_rows
from quoting.queries.offers_misses import cost_words
from quoting.queries.offers_words import fix_of, room_words
from quoting.services import designs
from quoting.services.easing import ease_of
from quoting.sizing.brief_choosing import Room
from quoting.sizing.selecting.records import Candidate, Miss, Said, WishPrice
from tests.factories.jobs import make_user
from tests.factories.selections import (
    DARK,
    PRICE,
    make_facts,
    make_job_under_way,
    make_proposal,
    make_selection,
)


@pytest.fixture
def office(client, estimator):
    client.force_login(estimator)
    return client


@pytest.fixture
def url(worked_out) -> str:
    return reverse("offers", args=[worked_out.pk])


def text_of(client, url: str, status: int = 200) -> str:
    """What a reader reads, tags left out and blanks of every kind made one."""
    response = client.get(url)
    assert response.status_code == status
    return plain(response.content.decode())


def plain(markup: str) -> str:
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]*>", " ", markup)))


def shown(amount: str) -> str:
    return re.sub(r"\s+", " ", format_number(Decimal(amount), 2))


# --- States ------------------------------------------------------------------------------------------


def test_before_anything_was_made_there_is_one_button(office, url):
    text = text_of(office, url)

    assert "Everything is there" in text
    assert "Work out three offers" in text
    assert "Side by side" not in text


def test_what_is_missing_is_listed_first_with_its_way(office, worked_out, url):
    worked_out.stops.all().delete()

    markup = office.get(url).content.decode()

    assert "The trip has no stop." in plain(markup)
    assert reverse("job", args=[worked_out.pk]) + "#trip" in markup
    assert 'aria-disabled="true"' in markup


def test_progress_is_counted_and_works_without_script(office, worked_out, url, estimator):
    make_job_under_way(worked_out, estimator, progress=3, progress_of=12)

    markup = office.get(url).content.decode()

    assert "3 of 12" in plain(markup)
    assert 'hx-trigger="every 1s"' in markup
    assert f'href="{url}">Look again' in markup
    assert reverse("offers_cancel", args=[worked_out.pk]) in markup
    assert "Work out three offers" not in plain(markup)


def test_a_queued_one_says_its_place(office, worked_out, url, estimator):
    BackgroundJob.objects.create(kind="select", queue="heavy", state="queued", payload={})
    make_job_under_way(worked_out, estimator, state="queued")

    assert "no. 2 in line" in text_of(office, url)


def test_a_failed_one_says_why_and_how_to_go_on(office, worked_out, url, estimator):
    make_job_under_way(worked_out, estimator, state="failed", reason="The worker <b>hung</b>.")

    markup = office.get(url).content.decode()

    assert "The worker &lt;b&gt;hung&lt;/b&gt;." in markup
    assert "Try again" in plain(markup)


def test_a_cancelled_one_says_so(office, worked_out, url, estimator):
    make_job_under_way(worked_out, estimator, state="failed", cancel_asked=True, reason="Cancelled.")

    assert "Cancelled before they were made." in text_of(office, url)


def test_what_was_made_before_stays_while_the_next_is_under_way(office, worked_out, url, estimator):
    make_selection(worked_out, estimator)
    make_job_under_way(worked_out, estimator)

    text = text_of(office, url)

    assert "Choosing and proving" in text
    assert shown(PRICE["steady"]) in text


def test_progress_by_script_leads_to_the_page_once_it_ended(office, worked_out, url, estimator):
    progress = reverse("offers_progress", args=[worked_out.pk])
    make_job_under_way(worked_out, estimator, progress=1, progress_of=4)
    asking = {"HTTP_HX_REQUEST": "true"}

    under_way = office.get(progress, **asking)
    BackgroundJob.objects.update(state="failed", reason="Too hot.")
    ended = office.get(progress, **asking)

    assert "1 of 4" in plain(under_way.content.decode())
    assert "HX-Redirect" not in under_way.headers
    assert ended.headers["HX-Redirect"] == url
    assert office.get(progress).headers["Location"] == url


def test_changed_inputs_are_told(office, worked_out, url, estimator):
    make_selection(worked_out, estimator)
    line = worked_out.requirements.first()
    line.name = "Quartz lamp"
    line.save()

    text = text_of(office, url)

    assert "inputs changed since these offers were worked out" in text
    assert "Quartz lamp" in text
    assert "Work them out again" in text


def test_a_fault_has_nothing_to_choose(office, worked_out, estimator):
    fault = Fitout.objects.create(
        number="26-0777", title="A fuse blows", customer=worked_out.customer, vehicle=worked_out.vehicle, kind="fault"
    )

    text = text_of(office, reverse("offers", args=[fault.pk]))

    assert "there is nothing to choose" in text


def test_a_job_set_aside_cannot_ask(office, worked_out, url):
    Fitout.objects.filter(pk=worked_out.pk).update(stage=Stage.ON_HOLD)

    assert "The job is set aside." in text_of(office, url)


# --- Who ---------------------------------------------------------------------------------------------


def test_technicians_do_not_see_it(client, worked_out, url, estimator):
    selection = make_selection(worked_out, estimator)
    client.force_login(make_user(User.Role.TECHNICIAN, "joss"))
    one = selection.proposals.first()

    assert client.get(url).status_code == 403
    assert client.get(reverse("proposal", args=[one.pk])).status_code == 403
    assert client.post(reverse("proposal_take", args=[one.pk])).status_code == 403
    assert reverse("offers", args=[worked_out.pk]) not in client.get(f"/jobs/{worked_out.pk}/").content.decode()


def test_the_job_leads_to_it(office, worked_out, url):
    assert f'href="{url}"' in office.get(f"/jobs/{worked_out.pk}/").content.decode()


# --- Side by side ------------------------------------------------------------------------------------


def test_every_fact_of_the_selection_is_on_the_page(office, worked_out, url, estimator):
    selection = make_selection(worked_out, estimator)
    text = text_of(office, url)

    for one in selection.proposals.all():
        facts = one.facts
        assert re.sub(r"\s+", " ", format_number(one.total, 2)) in text
        assert shown(facts["price"]) in text
        assert shown(facts["cost_per_year"]) in text
        for name in ("mass_kg", "battery_years", "days_without_charging", "flat_days"):
            assert f" {round(facts[name], 1):g} " in text
        assert facts["waits_for"] in text
    assert "about 1 trip in 9; at most 17 %" in text
    assert "in none of the weathers; at most 1.9 %" in text


@pytest.mark.parametrize(
    ("ratio", "said"),
    [
        (0.0, "in none of the weathers"),
        (0.002, "about 1 trip in 500"),
        (0.013, "about 1 trip in 80"),
        (0.05, "about 1 trip in 20"),
        (0.11, "about 1 trip in 9"),
        (0.5, "about 1 trip in 2"),
        (0.62, "more often than not"),
        (1.0, "on every trip"),
    ],
)
def test_chances_are_counted_in_trips(ratio, said):
    assert chance_words(ratio) == said


def test_a_chance_in_words_is_near_the_chance():
    for k in range(1, 500):
        n = int(chance_words(k / 1000).rsplit(" ", 1)[1])
        assert n == pytest.approx(1000 / k, rel=0.2, abs=0.5)


def test_parts_in_which_systems_differ_come_first(worked_out, estimator):
    page = offers_page(make_selection(worked_out, estimator), "AUD")

    first, *rest = page.parts
    assert first.role == "battery"
    assert [cell.same for cell in first.cells] == [False, True, False]
    assert first.cells[2].words.startswith("2 × ") or " × " in first.cells[2].words
    assert all(row.is_same for row in rest)
    assert {row.role for row in page.parts} == {c["role"] for c in designs.latest_of(worked_out).appraisal["chosen"]}


def test_a_system_that_was_not_simulated_says_so(worked_out, estimator):
    selection = make_selection(worked_out, estimator)
    one = selection.proposals.get(offer="lean")
    one.facts = make_facts("900.00", None, flat_days=None, battery_years=None, cost_per_year=None).model_dump(
        mode="json"
    )
    one.save()

    page = offers_page(selection, "AUD")

    chance = next(row for row in page.facts if row.label == "Chance of going dark")
    assert (chance.cells[0].value, chance.cells[0].words) == (None, "not simulated")
    assert fact_rows([]) == ()
    assert part_rows([]) == ()


def test_layouts_are_said():
    assert [layout_words(*at) for at in ((1, 1), (2, 1), (1, 3), (2, 2))] == [
        "", "2 in series", "3 in parallel", "2 in series, 2 such strings",
    ]  # fmt: skip


def test_room_that_the_proof_raised_is_said():
    start = Room(offer="steady", battery_ratio=1.0, array_ratio=1.25)
    room = start.model_copy(update={"battery_ratio": 1.15})

    said = room_words(start, room)

    assert said[0].replace("\N{NO-BREAK SPACE}", " ") == (
        "the battery 115 % of the need, raised by 15 % until the proof held"
    )
    assert "raised" not in said[1]
    assert len(said) == 4


# --- The picture -------------------------------------------------------------------------------------


def test_picture_names_the_offers_and_marks_what_fell_short(worked_out, estimator):
    picture = offers_page(make_selection(worked_out, estimator), "AUD").picture

    assert sorted(p.label for p in picture.points if p.kind == "offer") == ["Lean", "Roomy", "Steady"]
    assert [p.kind for p in picture.points].count("failed") == 2
    prices = [float(re.sub(r"[^\d.]", "", row.price.number)) for row in picture.rows]
    assert prices == sorted(prices)
    assert len(picture.rows) == 3 + 4
    assert [row.name for row in picture.rows if row.name] == ["Lean", "Steady", "Roomy"]
    chance = {row.name: row.chance.number for row in picture.rows if row.name}
    assert chance == {name.title(): f"{100 * dark[0]:g}" for name, dark in DARK.items()}


def test_without_a_simulation_there_is_no_picture():
    one = Candidate(
        key="a", offer="lean", picks=(), room=Room(offer="lean"), facts=make_facts("900.00", None), holds=True
    )

    assert frontier_picture([one], {}) is None


# --- Wishes, near misses, what cannot be had ---------------------------------------------------------


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ("0", "costs nothing"),
        ("640", "640.00 more"),
        ("-12.5", "saves 12.50"),
        (None, "without it there would be no answer either"),
    ],
)
def test_what_a_wish_costs_is_said(more, said):
    assert cost_words(WishPrice(wish=Said(code="x", params={}), more=more)) == said


def test_near_misses_lead_to_a_swap(office, worked_out, url, estimator):
    selection = make_selection(worked_out, estimator)
    lean = selection.proposals.get(offer="lean")
    markup = office.get(url).content.decode()

    assert "Sill 200" in markup
    assert "nothing else would do" in markup
    assert "+84.50" in plain(markup)
    assert reverse("proposal_swap", args=[lean.pk, "battery"]) in markup


def test_what_cannot_be_had_is_told_with_the_smallest_change(office, worked_out, url, estimator):
    make_selection(worked_out, estimator, without=("lean", "steady", "roomy"))

    text = text_of(office, url)

    assert "What cannot be had" in text
    assert "Capacity of the battery at least 260 Ah at least 200 Ah 60 Ah" in text
    assert "at most 4 000.00 at most 5 210.50 1 210.50" in text
    assert "The smallest change that would do:" in text
    assert "Side by side" not in text


def test_a_wish_that_gives_way_is_one_press(office, worked_out, url, estimator):
    Fitout.objects.filter(pk=worked_out.pk).update(budget=Decimal(4400))
    make_selection(worked_out, estimator, without=("lean",))

    markup = office.get(url).content.decode()
    answer = office.post(reverse("offers_ease", args=[worked_out.pk]), {"offer": "lean", "change": "0"}, follow=True)

    # A budget of 4400 with tax was 4000 without: 5210.50 is needed, 5731.55 with tax; in whole dollars, one to spare
    assert "Raise the budget to $5 733" in plain(markup).replace("\N{NARROW NO-BREAK SPACE}", " ")
    worked_out.refresh_from_db()
    assert worked_out.budget == Decimal(5733)
    assert "The wish is changed." in plain(answer.content.decode())


def test_a_second_press_does_not_raise_a_limit_again(office, worked_out, estimator):
    """What was lacking was lacking to the budget of then; added to the new one it would be added twice."""
    Fitout.objects.filter(pk=worked_out.pk).update(budget=Decimal(4400))
    make_selection(worked_out, estimator, without=("lean",))
    url = reverse("offers_ease", args=[worked_out.pk])

    office.post(url, {"offer": "lean", "change": "0"})
    again = office.post(url, {"offer": "lean", "change": "0"}, follow=True)

    worked_out.refresh_from_db()
    assert worked_out.budget == Decimal(5733)
    assert "That is no wish of this choice any more." in plain(again.content.decode())
    assert "Raise the budget to" not in plain(again.content.decode())


def test_a_wish_may_give_way_so_far_that_every_need_is_met(office, worked_out, url, estimator):
    Fitout.objects.filter(pk=worked_out.pk).update(budget=Decimal(4400))
    make_selection(worked_out, estimator, without=("lean",))

    markup = office.get(url).content.decode()
    office.post(reverse("offers_ease", args=[worked_out.pk]), {"offer": "lean", "change": "1"})

    # 6300 without tax in place of 4000: 6930 with tax, and one to spare
    assert "Or, with every need met:" in plain(markup)
    assert "Raise the budget to $6 931" in plain(markup).replace("\N{NARROW NO-BREAK SPACE}", " ")
    worked_out.refresh_from_db()
    assert worked_out.budget == Decimal(6931)


@pytest.mark.parametrize(
    "asked",
    [{}, {"offer": "lean"}, {"offer": "steady", "change": "0"}, {"offer": "lean", "change": "7"},
     {"offer": "lean", "change": "-1"}, {"offer": "lean\0", "change": "9" * 40}],
)  # fmt: skip
def test_what_is_no_wish_is_not_changed(office, worked_out, estimator, asked):
    Fitout.objects.filter(pk=worked_out.pk).update(budget=Decimal(4400))
    make_selection(worked_out, estimator, without=("lean",))

    answer = office.post(reverse("offers_ease", args=[worked_out.pk]), asked, follow=True)

    assert "That is no wish of this choice any more." in plain(answer.content.decode())
    worked_out.refresh_from_db()
    assert worked_out.budget == Decimal(4400)


@pytest.mark.parametrize(
    ("code", "wish", "eased"),
    [
        ("mass_kg", None, ("most_mass_kg", 92.6)),
        ("wish", Said(code="prefer_stock", params={}), ("prefer_stock", False)),
        ("wish", Said(code="most_lead_days", params={"lead_days": 3}), ("most_lead_days", None)),
        ("wish", Said(code="roof", params={}), None),
        ("capacity_ah:lifepo4", None, None),
    ],
)
def test_what_gives_way_by_one_press(worked_out, code, wish, eased):
    worked_out.most_mass_kg = 80.0
    miss = Miss(code=code, asked=80.0, best=92.55, short_by=12.55, unit="kg", wish=wish)

    made = ease_of(miss, worked_out)

    assert (made and (made.name, made.value)) == eased
    assert fix_of(miss, worked_out, "AUD") is not None


def test_names_are_shown_as_they_were_typed(office, worked_out, url, estimator):
    bad = "<script>alert(1)</script> & “Sill” " + "x" * 60
    make_selection(worked_out, estimator, names=(bad, bad))

    markup = office.get(url).content.decode()

    assert "<script>alert(1)" not in markup
    assert html.escape(bad) in markup


def test_a_page_asks_the_database_as_often_for_many_candidates(worked_out, estimator, django_assert_num_queries):
    selection = make_selection(worked_out, estimator)
    for number in range(1, 9):
        design = designs.latest_of(worked_out)
        make_proposal(
            selection, "steady", make_facts("7100.00"), design.appraisal, by=estimator, number=number, swapped="Another"
        )

    fresh = Selection.objects.select_related("fitout").get(pk=selection.pk)
    with django_assert_num_queries(2):  # proposals, what the job is held to
        page = offers_page(fresh, "AUD")
    assert len(page.cards[1].swapped) == 8


# --- Deeds -------------------------------------------------------------------------------------------


def test_asking_queues_one_and_a_second_press_gives_the_same(
    office, worked_out, url, django_capture_on_commit_callbacks
):
    ask = reverse("offers_ask", args=[worked_out.pk])

    with django_capture_on_commit_callbacks(execute=False):
        first = office.post(ask)
        office.post(ask)

    assert first.headers["Location"] == url
    assert worked_out.selections.count() == 1
    assert BackgroundJob.objects.filter(kind="select", state="queued").count() == 1


def test_cancelling_ends_it(office, worked_out, url, django_capture_on_commit_callbacks):
    with django_capture_on_commit_callbacks(execute=False):
        office.post(reverse("offers_ask", args=[worked_out.pk]))

    office.post(reverse("offers_cancel", args=[worked_out.pk]))

    assert BackgroundJob.objects.get(kind="select").state == "failed"
    assert "Too late" in plain(
        office.post(reverse("offers_cancel", args=[worked_out.pk]), follow=True).content.decode()
    )


def test_what_is_missing_refuses_asking_in_words(office, worked_out):
    worked_out.stops.all().delete()

    text = plain(office.post(reverse("offers_ask", args=[worked_out.pk]), follow=True).content.decode())

    assert "The trip has no stop." in text
    assert worked_out.selections.count() == 0


def test_nothing_ticked_is_said(office, worked_out, estimator):
    make_selection(worked_out, estimator)
    url = reverse("offers_quote", args=[worked_out.pk])

    for ticked in ({}, {"proposal": ["x", "9" * 30, "-1"]}):
        assert "Tick the offers to be quoted first." in plain(office.post(url, ticked, follow=True).content.decode())
    assert not hasattr(worked_out, "quote")


def test_letting_go_frees_the_job(office, worked_out, estimator):
    one = make_selection(worked_out, estimator).proposals.get(offer="lean")
    JobPicks.objects.create(fitout=worked_out, offer="lean", room=one.room, picks=one.picks, proposal=one)

    before = text_of(office, reverse("offers", args=[worked_out.pk]))
    office.post(reverse("offers_let_go", args=[worked_out.pk]))

    assert "The job is held to the parts of Lean." in before
    assert not JobPicks.objects.filter(fitout=worked_out).exists()


def test_a_system_of_another_job_is_not_quoted(office, worked_out, estimator):
    make_selection(worked_out, estimator)
    other = Fitout.objects.create(
        number="26-0778", title="Another", customer=worked_out.customer, vehicle=worked_out.vehicle
    )
    foreign = Proposal.objects.first()

    text = plain(
        office.post(reverse("offers_quote", args=[other.pk]), {"proposal": foreign.pk}, follow=True).content.decode()
    )

    assert "Tick the offers to be quoted first." in text
