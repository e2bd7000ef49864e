"""A quote of several offers: one leads, each is priced, one is accepted and becomes what is built."""

from __future__ import annotations

from decimal import Decimal

import pytest
from django.urls import reverse

from fitouts.models import Fitout, Stage, User
from quoting.models import JobPicks, Proposal, Revision, Selection
from quoting.services import briefs, offered, pricing, proposals, quotes, snapshots
from quoting.sizing.appraisal import METHOD_VERSION
from quoting.sizing.appraise import appraise, brief_sha256
from quoting.sizing.brief_choosing import Pick, Room
from tests.factories.jobs import make_user

pytestmark = pytest.mark.django_db
ROOMS = {"lean": 0.5, "steady": 1.0, "roomy": 1.0}


@pytest.fixture(scope="module")
def systems(made_wagon) -> list[int]:
    """Keys of three proved systems of the wagon: a battery less, as it is, a battery more."""
    fitout = Fitout.objects.get(pk=made_wagon)
    brief = briefs.make_brief(fitout)
    found = appraise(brief).chosen
    selection = Selection.objects.create(
        fitout=fitout, number=1, key="k", method_version=METHOD_VERSION, brief=brief.model_dump(mode="json")
    )
    keys, larger = [], next(part.key for part in brief.catalogue if part.name == "Larkham LF-160")
    for number, (offer, ratio) in enumerate(ROOMS.items()):
        room = Room(offer=offer, battery_ratio=ratio, spare_outputs=1)
        battery = {"lean": {"quantity": 2}, "roomy": {"part": larger, "quantity": 3}}.get(offer, {})
        picks = tuple(
            Pick(role=c.role, part=c.part, quantity=c.quantity, series=c.series).model_copy(
                update=battery if c.role == "battery" else {}
            )
            for c in found
            if c.role != "sensor"
        )
        whole = briefs.held_to(brief, picks, room)
        made = appraise(whole)
        row = Proposal.objects.create(
            selection=selection, offer=offer, key=brief_sha256(whole), appraisal=made.model_dump(mode="json"),
            room=room.model_dump(mode="json"), picks=[p.model_dump(mode="json") for p in picks],
            facts={"price": "1", "parts_price": "1", "mass_kg": made.mass_kg, "dark_chance_ratio": 0.02 * (number + 1),
                   "spare_outputs": 1, "lead_days": 3, "warnings": 0},
        )  # fmt: skip
        keys.append(row.pk)
    return keys


@pytest.fixture
def three(systems, worked_out) -> dict[str, Proposal]:
    return {one.offer: one for one in Proposal.objects.filter(pk__in=systems).select_related("selection__fitout")}


@pytest.fixture
def draft(three, worked_out, estimator) -> Revision:
    taken = proposals.take(three["steady"], by=estimator)
    assert taken.as_proved
    return quotes.draft(worked_out, by=estimator, systems=list(three.values()))


def test_each_offer_is_priced_by_its_own_system(draft, three):
    offers = offered.offers_of(draft)

    assert [offer.name for offer in offers] == ["lean", "steady", "roomy"]
    assert offered.lead_of(draft).name == "steady"
    batteries = [offer.lines.get(rule="need_storage") for offer in offers]
    assert [(line.component.name, line.quantity) for line in batteries] == [
        ("Larkham LF-100", 2), ("Larkham LF-100", 4), ("Larkham LF-160", 3)
    ]  # fmt: skip
    assert len({offer.total for offer in offers}) == 3
    for offer in offers:
        assert offer.parts + offer.labour + offer.sundries == sum(x.amount for x in offer.lines.all())


def test_priced_again_the_offers_stay_until_the_design_is_another(draft, three, worked_out, estimator):
    again = quotes.draft(worked_out, by=estimator)
    assert [offer.name for offer in offered.offers_of(again)] == ["lean", "steady", "roomy"]

    proposals.let_go(worked_out, by=estimator)
    from quoting.services import designs

    designs.work_out(worked_out, by=estimator)
    alone = quotes.draft(Fitout.objects.get(pk=worked_out.pk), by=estimator)

    assert [(offer.name, offer.proposal) for offer in offered.offers_of(alone)] == [("steady", None)]


def test_a_line_by_hand_stands_in_every_offer_and_leaves_all_of_them(draft):
    before = {offer.name: offer.net for offer in offered.offers_of(draft)}

    line = quotes.add_line(
        draft, name="Ferry", quantity=Decimal(1), unit_price=Decimal("120.00"), unit_cost=Decimal("120.00")
    )
    assert {o.name: o.net - before[o.name] for o in offered.offers_of(draft)} == dict.fromkeys(before, Decimal(120))

    quotes.remove_line(line)

    assert {o.name: o.net for o in offered.offers_of(draft)} == before


def test_a_system_that_is_not_the_jobs_own_cannot_lead(three, worked_out, estimator):
    with pytest.raises(quotes.QuoteNotReady, match="Take one of them"):
        quotes.draft(worked_out, by=estimator, systems=[three["lean"], three["roomy"]])


def test_the_frozen_record_holds_every_offer_and_what_it_was_proved_to_do(draft, estimator):
    quotes.issue(draft, by=estimator)

    body, _personal = snapshots.read(Revision.objects.get(pk=draft.pk).snapshot)

    assert [(one["name"], one["leads"]) for one in body["offers"]] == [
        ("lean", False),
        ("steady", True),
        ("roomy", False),
    ]
    assert body["offer"]["total"] == body["offers"][1]["total"]
    assert all("cost" not in name for one in body["offers"] for line in one["lines"] for name in line)
    assert {one["facts"]["dark_chance_ratio"] for one in body["offers"]} == {0.02, 0.04, 0.06}
    roles = [{c["role"] for c in one["chosen"]} for one in body["offers"]]
    assert all("battery" in each for each in roles)


def test_accepting_names_the_offer_and_its_system_is_what_is_built(draft, three, worked_out, estimator):
    quotes.issue(draft, by=estimator)
    frozen = Revision.objects.get(pk=draft.pk).snapshot.sha256
    with pytest.raises(quotes.QuoteNotReady, match="Say which offer"):
        quotes.accept(draft, accepted_by="M. Oyelaran", note="", by=estimator)

    accepted = quotes.accept(draft, accepted_by="M. Oyelaran", note="", by=estimator, offer_name="roomy")

    fitout = Fitout.objects.get(pk=worked_out.pk)
    assert fitout.stage == Stage.ACCEPTED
    assert accepted.accepted_offer.name == "roomy"
    assert accepted.snapshot.sha256 == frozen
    assert accepted.design.key == three["steady"].key
    assert accepted.built_design.key == three["roomy"].key == fitout.designs.first().key
    assert accepted.built_design.appraisal == three["roomy"].appraisal
    assert JobPicks.objects.get(fitout=fitout).offer == "roomy"
    assert offered.lead_of(accepted).name == "roomy"


@pytest.mark.parametrize("taken", ["lean", "steady", "roomy"])
def test_a_job_let_go_meanwhile_is_held_to_what_was_accepted(draft, three, worked_out, estimator, taken):
    quotes.issue(draft, by=estimator)
    JobPicks.objects.filter(fitout=worked_out).delete()

    quotes.accept(draft, accepted_by="M. Oyelaran", note="", by=estimator, offer_name=taken)

    held = JobPicks.objects.get(fitout=worked_out)
    assert (held.offer, held.picks, held.room) == (taken, three[taken].picks, three[taken].room)


def test_papers_after_acceptance_are_of_the_offer_that_was_taken(draft, three, worked_out, estimator):
    from quoting.services import documents

    quotes.issue(draft, by=estimator)
    quotes.accept(draft, accepted_by="M. Oyelaran", note="", by=estimator, offer_name="roomy")

    paper = documents.ask_latest("diagram", Fitout.objects.get(pk=worked_out.pk), by=estimator)

    body, _personal = snapshots.read(paper.snapshot)
    battery = next(c for c in body["appraisal"]["chosen"] if c["role"] == "battery")
    wanted = next(c for c in three["roomy"].appraisal["chosen"] if c["role"] == "battery")
    assert battery["quantity"] == wanted["quantity"]


def test_a_system_taken_while_it_is_built_moves_nothing_under_the_builders_hands(
    draft, three, worked_out, estimator, client
):
    """Bill, proof and papers go by what was accepted; what is taken since is for the next quote, and says so."""
    from quoting.services import documents, plans

    quotes.issue(draft, by=estimator)
    accepted = quotes.accept(draft, accepted_by="M. Oyelaran", note="", by=estimator, offer_name="lean")

    taken = proposals.take(three["roomy"], by=estimator)
    paper = documents.ask_latest("test_sheet", Fitout.objects.get(pk=worked_out.pk), by=estimator)

    built = accepted.built_design
    assert taken.design.key == three["roomy"].key != built.key
    assert f"built by design {built.number}, which was accepted" in taken.words
    client.force_login(make_user(User.Role.TECHNICIAN, "joss"))
    for name in ("job", "circuits", "plan", "outputs", "diagram"):
        page = client.get(reverse(name, args=[worked_out.pk])).content.decode()
        assert f"built by design {built.number}, which was accepted" in page
    body, _personal = snapshots.read(paper.snapshot)
    assert body["appraisal"]["brief_sha256"] == three["lean"].key == plans.plan_of(accepted).brief_sha256


def test_a_draft_whose_job_has_moved_on_cannot_be_issued(draft, worked_out, estimator):
    worked_out.autonomy_days = 3.0
    worked_out.save()

    with pytest.raises(quotes.QuoteNotReady, match="Roomy: the job has changed"):
        quotes.issue(draft, by=estimator)


def test_the_pages_show_and_accept_several_offers(draft, worked_out, estimator, client):
    client.force_login(estimator)
    page = client.get(reverse("job", args=[worked_out.pk])).content.decode()
    assert "The Steady offer, which leads" in page
    assert "The Roomy offer beside it" in page

    client.post(reverse("quote_issue", args=[draft.pk]))
    issued = client.get(reverse("revision", args=[draft.pk])).content.decode()
    assert issued.index("The Steady offer") < issued.index("The Lean offer")

    url = reverse("quote_accept", args=[draft.pk])
    refused = client.post(url, {"accept-accepted_by": "M. Oyelaran"})
    assert refused.status_code == 422
    client.post(url, {"accept-accepted_by": "M. Oyelaran", "accept-offer_name": "lean"})

    assert Revision.objects.get(pk=draft.pk).accepted_offer.name == "lean"
    assert "Accepted." in client.get(reverse("revision", args=[draft.pk])).content.decode()


def test_tax_rounding_and_deposit_are_each_offers_own(draft):
    for offer in offered.offers_of(draft):
        assert offer.total == offer.net + offer.tax + offer.rounding
        assert pricing.LABOUR in set(offer.lines.values_list("group", flat=True))
