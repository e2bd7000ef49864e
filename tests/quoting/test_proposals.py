"""A proved system becomes the job's own as it was proved; a swap is proved whole; nothing unsafe is taken or quoted."""

from __future__ import annotations

from datetime import UTC, datetime
from decimal import Decimal

import pytest
from django.urls import reverse

from catalog.kinds.capabilities import Storage
from catalog.models import Component
from catalog.services import retire
from fitouts.models import Fitout, User, Workshop
from fitouts.services import audit
from fitouts.services import steering as wishes
from quoting.archive import reading, restoring, writing
from quoting.models import Design, JobPicks, Proposal, Revision, Selection
from quoting.services import designs, erasure, obstacles, proposals, proposed, quotes, selections
from quoting.services.briefs import BriefIncomplete, check_line, make_brief
from quoting.sizing.appraise import appraise
from quoting.sizing.parts import Catalogue
from quoting.sizing.selecting.swapping import pick_of
from quoting.wording.swaps import worse_words
from tests.factories.jobs import make_user
from tests.quoting.archive.test_archive import everything
from tests.quoting.choosing import made_by_worker
from tests.quoting.test_erasure import said_anywhere

pytestmark = pytest.mark.django_db
D = Decimal


@pytest.fixture(scope="module")
def chosen(made_wagon) -> int:
    """Key of a selection of the field wagon, made once for the module, in few weathers."""
    Workshop.objects.update(engineering={"weather_draws": 50})
    return made_by_worker(selections.ask(Fitout.objects.get(pk=made_wagon), by=None)).pk


@pytest.fixture
def wagon(worked_out) -> Fitout:
    return worked_out


@pytest.fixture
def steady(chosen, wagon) -> Proposal:
    return Selection.objects.get(pk=chosen).proposals.get(offer="steady")


@pytest.fixture
def lean(chosen, wagon) -> Proposal:
    return Selection.objects.get(pk=chosen).proposals.get(offer="lean")


def part_in(proposal: Proposal, role: str) -> str:
    return next(pick.part for pick in proposals.picks_of(proposal) if pick.role == role)


def changed(wagon: Fitout, by: User) -> None:
    line = wagon.requirements.first()
    audit.change_line(line, {"quantity": line.quantity + 1}, by=by, check=check_line)


# --- Taking -----------------------------------------------------------------------------------------------


def test_what_is_taken_is_the_design_as_it_was_proved(steady, wagon, estimator, monkeypatch):
    monkeypatch.setattr(designs, "appraise", lambda brief: pytest.fail("worked out again"))
    before = wagon.designs.count()

    taken = proposals.take(steady, by=estimator)

    assert taken.as_proved
    assert taken.design.appraisal == steady.appraisal
    assert taken.design.key == steady.key
    assert wagon.designs.count() == before + 1
    assert designs.is_current(taken.design, wagon)
    assert make_brief(wagon).picks == proposals.picks_of(steady)
    assert make_brief(wagon).room == proposals.room_of(steady)
    assert make_brief(wagon, held=False).picks == ()


def test_the_job_says_whose_parts_its_design_has(steady, wagon, estimator, client):
    client.force_login(make_user(User.Role.TECHNICIAN, "joss"))
    url = reverse("job", args=[wagon.pk])
    assert "The cheapest single model that meets each need." in client.get(url).content.decode()

    proposals.take(steady, by=estimator)

    assert "The parts of the offer Steady, as it was taken." in client.get(url).content.decode()


def test_working_out_a_job_that_is_held_keeps_to_its_parts(steady, wagon, estimator):
    taken = proposals.take(steady, by=estimator)

    assert designs.work_out(wagon, by=estimator) == taken.design
    chosen = {(c.role, c.part, c.quantity) for c in designs.appraisal_of(taken.design).chosen}
    assert {(p.role, p.part, p.quantity) for p in proposals.picks_of(steady)} <= chosen


def test_a_job_that_moved_on_is_worked_out_anew_with_the_same_parts(steady, wagon, estimator):
    changed(wagon, estimator)

    taken = proposals.take(steady, by=estimator)

    assert not taken.as_proved
    assert "worked out anew" in taken.words
    assert taken.design.appraisal != steady.appraisal
    assert make_brief(wagon).picks == proposals.picks_of(steady)
    assert designs.is_current(taken.design, wagon)


def test_a_job_that_can_no_longer_be_worked_out_keeps_what_it_had(steady, wagon, estimator):
    wagon.requirements.all().delete()

    with pytest.raises(BriefIncomplete):
        proposals.take(steady, by=estimator)

    assert proposals.held(wagon) is None


def test_another_offer_takes_its_place_and_who_did_it_is_told(steady, lean, wagon, estimator, client):
    proposals.take(lean, by=estimator)
    proposals.take(steady, by=estimator)
    client.force_login(estimator)

    assert proposals.held(wagon).proposal == steady
    assert JobPicks.objects.filter(fitout=wagon).count() == 1
    told = [c for c in client.get(reverse("job_changes", args=[wagon.pk])).context["changes"] if "held to" in c.what]
    assert [c.kind for c in told] == ["changed", "added"]
    assert ("Lean", "Steady") in {(f.before, f.after) for f in told[0].fields}
    battery = Component.objects.get(pk=part_in(steady, "battery"))
    assert any(battery.name in f.after for f in told[0].fields)


def test_let_go_it_chooses_freely_again(steady, wagon, estimator):
    free = make_brief(wagon)
    proposals.take(steady, by=estimator)

    assert proposals.let_go(wagon, by=estimator)
    assert make_brief(wagon) == free
    assert not proposals.let_go(wagon, by=estimator)


@pytest.mark.parametrize(
    ("stage", "words"),
    [
        ("on_hold", "set aside"),
        ("cancelled", "set aside"),
        ("lost", "set aside"),
        ("delivered", "what is in the vehicle stays"),
        ("closed", "what is in the vehicle stays"),
    ],
)
def test_a_job_that_rests_or_is_over_takes_quotes_and_lets_go_nothing(steady, wagon, estimator, client, stage, words):
    proposals.take(steady, by=estimator)
    before = (JobPicks.objects.get(fitout=wagon).taken_at, Design.objects.filter(fitout=wagon).count())
    Fitout.objects.filter(pk=wagon.pk).update(stage=stage, held_from="surveyed")
    client.force_login(estimator)

    with pytest.raises(proposals.NotTaken, match=words):
        proposals.take(steady, by=estimator)
    with pytest.raises(proposals.NotTaken, match=words):
        proposals.let_go(wagon, by=estimator)
    for name, key in (("proposal_take", steady.pk), ("offers_quote", wagon.pk), ("offers_let_go", wagon.pk)):
        answer = client.post(reverse(name, args=[key]), {"proposal": [steady.pk]}, follow=True)
        assert words in answer.content.decode()

    assert (JobPicks.objects.get(fitout=wagon).taken_at, Design.objects.filter(fitout=wagon).count()) == before
    assert not Revision.objects.filter(quote__fitout=wagon).exists()


def test_the_page_says_what_is_held_since_a_design(steady, wagon, estimator):
    free = designs.work_out(wagon, by=estimator)
    proposals.take(steady, by=estimator)

    words = {c.part: c.words for c in designs.changes_since(free, wagon)}
    assert words["picks"].startswith("The job is held to parts now: Battery")
    assert words["room"] == "It asks the room of the offer Steady now."
    proposals.let_go(wagon, by=estimator)
    words = {c.part: c.words for c in designs.changes_since(wagon.designs.first(), wagon)}
    assert words == {"picks": "The job is held to no parts any more; it chooses freely."}


def test_a_part_retired_since_stays_and_a_finding_says_so(steady, wagon, estimator):
    proposals.take(steady, by=estimator)
    battery = Component.objects.get(pk=part_in(steady, "battery"))
    retire(battery, by=estimator)

    brief = make_brief(wagon)

    assert str(battery.pk) in {part.key for part in brief.catalogue}
    found = [f for f in appraise(brief).findings if f.code == "picked_retired"]
    assert [f.params["name"] for f in found] == [battery.name]
    assert str(battery.pk) not in {part.key for part in make_brief(wagon, held=False).catalogue}


# --- Quoting ------------------------------------------------------------------------------------------------


def test_offers_in_a_draft_are_in_order_until_the_job_moves(steady, lean, wagon, estimator):
    proposals.take(steady, by=estimator)
    draft = quotes.draft(wagon, by=estimator, systems=[steady, lean])
    assert [why for offer in draft.offers.all() for why in proposals.obstacles_of(offer)] == []

    changed(wagon, estimator)

    for offer in draft.offers.all():
        said = proposals.obstacles_of(offer)
        moved = "the job has changed since it was worked out. Work the offers out again."
        assert said == [f"{offer.get_name_display()}: {moved}"]
    assert any("Lean: the job has changed" in why for why in obstacles.obstacles(draft))


def test_a_system_with_a_danger_or_an_open_need_is_neither_taken_nor_issued(steady, wagon, estimator):
    batteries = Catalogue.of(proposals.brief_of(steady)).having(Storage)
    small = min(batteries, key=lambda able: able.can.capacity_ah).part.key
    swapped = proposals.swap(steady, "battery", small, 1, by=estimator)

    reasons = proposals.refusals_of(proposals.appraisal_of(swapped))

    assert reasons
    with pytest.raises(proposals.NotTaken) as refused:
        proposals.take(swapped, by=estimator)
    assert refused.value.reasons == tuple(reasons)
    assert proposals.held(wagon) is None
    assert not Design.objects.filter(key=swapped.key).exists()


# --- Swapping -----------------------------------------------------------------------------------------------


def test_what_is_said_to_fit_proves_to_fit(steady, estimator):
    tried = 0
    for role in ("battery", "inverter", "monitor", "panel", "solar_controller"):
        for option in [o for o in proposals.swap_options(steady, role) if o.fits][:2]:
            made = proposals.swap(steady, role, option.part, by=estimator)
            appraisal = proposals.appraisal_of(made)

            assert appraisal.shortfalls == (), (role, option.name)
            pick = next(p for p in proposals.picks_of(made) if p.role == role)
            assert (pick.part, pick.quantity, pick.series) == (option.part, option.quantity, option.series)
            assert pick.by_hand
            tried += 1
    assert tried >= 5


def test_a_number_that_is_asked_for_goes_in_the_strings_that_fit(steady, estimator):
    """As the page asks for it: panels in series as their controller needs them, not as any other would."""
    brief, market = proposed.brief_of(steady), proposed.market_of(steady.selection)
    fitting = [o for o in proposals.swap_options(steady, "panel") if o.fits]

    asked = [pick_of(brief, "panel", o.part, o.quantity, market) for o in fitting]

    assert [(p.part, p.quantity, p.series) for p in asked] == [(o.part, o.quantity, o.series) for o in fitting]
    assert any(p.series > 1 for p in asked)
    made = proposals.swap(steady, "panel", fitting[-1].part, fitting[-1].quantity, by=estimator)
    assert proposals.appraisal_of(made).shortfalls == ()


def test_what_is_said_not_to_fit_leaves_a_need_open(steady, estimator):
    options = [o for o in proposals.swap_options(steady, "solar_controller") if not o.fits]
    assert options

    made = proposals.swap(steady, "solar_controller", options[0].part, by=estimator)

    assert proposals.appraisal_of(made).shortfalls
    assert (options[0].more, options[0].more_mass_kg) == (None, None)


def test_a_swap_is_the_next_of_its_offer_and_says_what_was_changed(steady, estimator):
    option = proposals.swap_options(steady, "monitor")[0]

    made = proposals.swap(steady, "monitor", option.part, by=estimator)

    assert (made.offer, made.number, made.swapped_from) == ("steady", 1, steady)
    before = Component.objects.get(pk=part_in(steady, "monitor")).name
    assert made.swapped == f"Battery monitor: {option.name} in place of {before}"
    assert proposals.swap(steady, "monitor", option.part, by=estimator) == made
    worse = proposals.worse_than(made)
    assert any("more, without tax" in words for words in worse)
    assert worse == worse_words(proposals.facts_of(steady), proposals.facts_of(made))
    assert proposals.worse_than(steady) == []


def test_limits_that_a_swap_goes_beyond_are_told(steady, wagon, estimator):
    option = proposals.swap_options(steady, "monitor")[0]
    made = proposals.swap(steady, "monitor", option.part, by=estimator)
    facts = proposals.facts_of(made)
    Proposal.objects.filter(pk=made.pk).update(
        facts=facts.model_copy(update={"dark_chance_ratio": 0.2, "mass_kg": 120.5}).model_dump(mode="json")
    )
    Fitout.objects.filter(pk=wagon.pk).update(budget=made.total - 1)
    Selection.objects.filter(pk=steady.selection_id).update(steer={"most_mass_kg": 120.0})

    told = proposals.worse_than(Proposal.objects.get(pk=made.pk))

    assert told[-3].startswith("It goes dark in 20")
    assert told[-3].endswith("its offer allows 5\u00a0%.")
    assert "over the budget of" in told[-2]
    assert told[-1] == "It weighs 0.5\u00a0kg more than the 120\u00a0kg that may be carried."


def test_a_swap_of_a_swap_keeps_both(steady, estimator):
    first = proposals.swap(steady, "monitor", proposals.swap_options(steady, "monitor")[0].part, by=estimator)
    option = next(o for o in proposals.swap_options(first, "inverter") if o.fits)

    second = proposals.swap(first, "inverter", option.part, by=estimator)

    assert (second.number, second.swapped_from) == (2, first)
    assert {p.role for p in proposals.picks_of(second) if p.by_hand} == {"monitor", "inverter"}
    assert "Inverter" in second.swapped
    assert "Battery monitor" in second.swapped


def test_a_swap_that_is_taken_holds_and_is_a_wish_of_the_next_choice(steady, wagon, estimator):
    option = next(o for o in proposals.swap_options(steady, "monitor") if o.fits)
    made = proposals.swap(steady, "monitor", option.part, by=estimator)

    assert proposals.take(made, by=estimator).as_proved
    asked = selections.asked_of(wagon)

    assert [(pick.role, pick.part) for pick in asked.steer.swaps] == [("monitor", option.part)]
    assert selections.changes_since(wagon) == ()


@pytest.mark.parametrize(
    ("role", "words"),
    [
        ("converter", "has no part for this"),
        ("nonsense", "Nothing is chosen"),
    ],
)
def test_a_role_that_has_nothing_to_swap_is_refused(steady, estimator, role, words):
    assert proposals.swap_options(steady, role) == []
    with pytest.raises(proposals.NotSwapped, match=words):
        proposals.swap(steady, role, part_in(steady, "battery"), by=estimator)


def test_parts_that_cannot_be_put_there_are_refused_and_nothing_is_kept(steady, estimator):
    battery, monitor = part_in(steady, "battery"), part_in(steady, "monitor")
    before = steady.selection.proposals.count()

    with pytest.raises(proposals.NotSwapped, match="does nothing of the sort"):
        proposals.swap(steady, "battery", monitor, by=estimator)
    with pytest.raises(proposals.NotSwapped, match="was not looked at"):
        proposals.swap(steady, "battery", "987654", by=estimator)
    with pytest.raises(proposals.NotSwapped, match="How many is 201; it must be from 1 to 200"):
        proposals.swap(steady, "battery", battery, 201, by=estimator)
    with pytest.raises(proposals.NotSwapped, match="counts on one piece"):
        proposals.swap(steady, "monitor", monitor, 2, by=estimator)

    assert steady.selection.proposals.count() == before


def test_only_what_nobody_goes_by_can_be_thrown_away(steady, wagon, estimator):
    option = next(o for o in proposals.swap_options(steady, "monitor") if o.fits)
    made = proposals.swap(steady, "monitor", option.part, by=estimator)
    assert not proposals.throw_away(steady)
    proposals.take(made, by=estimator)
    assert not proposals.throw_away(made)
    proposals.let_go(wagon, by=estimator)

    assert proposals.throw_away(made)
    assert not Proposal.objects.filter(pk=made.pk).exists()


def test_what_somebody_threw_away_meanwhile_is_neither_taken_nor_quoted(steady, lean, wagon, estimator):
    """Its page was open before: a sentence, and nothing half saved."""
    fits = [option for option in proposals.swap_options(lean, "monitor") if option.fits]
    gone = proposals.swap(lean, "monitor", fits[0].part, by=estimator)
    stale = Proposal.objects.get(pk=gone.pk)
    proposals.throw_away(gone)

    with pytest.raises(proposals.NotTaken, match="thrown it away meanwhile"):
        proposals.take(stale, by=estimator)
    proposals.take(steady, by=estimator)
    with pytest.raises(quotes.QuoteNotReady, match="thrown one of the systems away meanwhile"):
        quotes.draft(wagon, by=estimator, systems=[steady, stale])
    on = proposals.swap(stale, "battery", part_in(stale, "battery"), 2, by=estimator)

    assert (on.number, on.swapped_from) == (1, None)
    assert JobPicks.objects.get(fitout=wagon).proposal == steady
    assert not Revision.objects.filter(quote__fitout=wagon).exists()


@pytest.mark.parametrize("price", [D("90000000"), D("50000000")])
def test_a_sum_that_no_column_can_hold_is_said_and_nothing_is_kept(steady, wagon, estimator, client, price):
    """Of a line of many, or of the whole quote."""
    option = next(o for o in proposals.swap_options(steady, "monitor") if o.fits)
    proposals.take(steady, by=estimator)
    Component.objects.filter(pk__in=[pick.part for pick in proposals.picks_of(steady)]).update(sell_price=price)
    client.force_login(estimator)

    with pytest.raises(proposals.NotSwapped, match="the most that can be held is 99999999"):
        proposals.swap(steady, "monitor", option.part, by=estimator)
    answer = client.post(reverse("quote_draft", args=[wagon.pk]), follow=True)

    assert answer.status_code == 200
    assert not steady.selection.proposals.filter(number=1).exists()
    assert not Revision.objects.filter(quote__fitout=wagon).exists()


def test_technicians_see_none_of_it(steady, wagon, client):
    client.force_login(make_user(User.Role.TECHNICIAN, "joss"))

    assert client.get(reverse("offers", args=[wagon.pk])).status_code == 403
    assert client.get(reverse("proposal", args=[steady.pk])).status_code == 403
    assert client.post(reverse("proposal_take", args=[steady.pk])).status_code == 403
    assert proposals.held(wagon) is None


# --- Kept, brought back, forgotten ----------------------------------------------------------------------------


def test_a_workshop_comes_back_with_its_selections_and_what_jobs_are_held_to(steady, wagon, estimator, files, tmp_path):
    option = next(o for o in proposals.swap_options(steady, "monitor") if o.fits)
    swapped = proposals.swap(steady, "monitor", option.part, by=estimator)
    proposals.take(swapped, by=estimator)
    wishes.set_steering(wagon, {"budget": D("15000.50"), "most_lead_days": 9}, by=estimator)
    before, brief = everything(), make_brief(wagon)
    archive = writing.write(tmp_path / "kept" / "shop.zip", made_at=datetime(2026, 11, 25, 8, 30, tzinfo=UTC)).path
    JobPicks.objects.all().delete()
    Selection.objects.all().delete()
    Fitout.objects.update(budget=None)

    restoring.restore(reading.check(archive), replace=Workshop.objects.get().name)

    assert everything() == before
    back = Fitout.objects.get(pk=wagon.pk)
    assert make_brief(back) == brief
    assert proposals.held(back).proposal.swapped_from == Proposal.objects.get(pk=steady.pk)
    assert back.budget == D("15000.50")


def test_erased_nothing_in_a_selection_tells_who_it_was(steady, wagon, estimator, files):
    secrets = ("Zebedee", "his own reason", "his father")
    selection = steady.selection
    selection.brief |= {"title": secrets[0], "changes": [{"circuit": "engine_feed", "reason": secrets[1]}]}
    selection.brief["existing"] = [{"circuit": "engine_feed", "source": secrets[2]}]
    selection.save()
    steady.appraisal["circuits"][0] |= {"changed": [{"reason": secrets[1]}], "stays_source": secrets[2]}
    steady.appraisal["refused"] = [{"reason": secrets[1]}]
    steady.save()
    proposals.hold(wagon, steady, by=estimator)
    assert {word for _table, word in said_anywhere(secrets)} == set(secrets)
    Fitout.objects.filter(pk=wagon.pk).update(stage="closed")

    erasure.erase(wagon.customer, by=estimator)

    assert said_anywhere(secrets) == []
    assert Proposal.objects.filter(pk=steady.pk, total=steady.total).exists()
