"""An upgrade of what is in the vehicle: ours or somebody else's; kept parts count, dangers are settled."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from catalog import services as catalog
from catalog.library.components import COMPONENTS
from fitouts.models import Fitout, InstalledComponent, InstalledSystem, Stage
from fitouts.services import fitouts, found
from quoting.documents.as_found import kept_words
from quoting.documents.common import Frozen
from quoting.services import briefs, build_steps, delivery, designs, found_facts, kept, proof, quotes, snapshots
from tests.factories.course import prove

pytestmark = pytest.mark.django_db


@pytest.fixture
def by(estimator):
    return estimator


@pytest.fixture
def upgrade(worked_out, by) -> Fitout:
    """The field wagon again, with something in it already."""
    worked_out.kind = Fitout.Kind.UPGRADE
    worked_out.save()
    return worked_out


def chosen_as(fitout: Fitout, role: str) -> dict[str, object]:
    return next(c for c in fitout.designs.first().appraisal["chosen"] if c["role"] == role)


def keep_battery(fitout: Fitout, by, **values: object):
    battery = chosen_as(fitout, "battery")
    values = {"serial": "K-100", "plan": "keep", "quantity": battery["quantity"], **values}
    return found.add_part(fitout, by=by, name="House battery", component_id=int(battery["part"]), **values)


def test_a_kept_part_is_in_the_brief_and_costs_nothing(upgrade, by):
    part = keep_battery(upgrade, by)

    assert briefs.make_brief(upgrade).kept[0].role == "battery"
    designs.work_out(upgrade, by=by)
    draft = quotes.draft(upgrade, by=by)

    line = draft.offers.get().lines.get(component=part.component, unit_price=0)
    assert (line.amount, line.unit_cost, line.mass_kg) == (Decimal(0), Decimal(0), 0)
    assert line.name.endswith("kept in the vehicle")


@pytest.mark.parametrize("keeps", [True, False])
def test_the_quote_says_that_a_kept_part_is_not_a_kept_circuit(upgrade, by, keeps):
    if keeps:
        keep_battery(upgrade, by)
    design = designs.work_out(upgrade, by=by)
    draft = quotes.draft(upgrade, by=by)
    quotes.issue(draft, by=by)
    draft.refresh_from_db()

    body, personal = snapshots.read(draft.snapshot)
    words = " ".join(kept_words(Frozen.open(body, personal, draft.snapshot.sha256)))
    main = next(c for c in designs.appraisal_of(design).circuits if c.role == "battery_main")
    bought = {line.part for line in designs.appraisal_of(design).bill}

    assert ("are made new" in words) == keeps
    assert {main.conductor, *(d.part for d in main.devices)} <= bought  # and so they are, on the bill
    checks = [s.words for s in build_steps.steps(upgrade, designs.appraisal_of(design)) if s.key.startswith("kept:")]
    assert [("old cables and fuses" in words) for words in checks] == [True] * keeps


def test_a_part_that_could_be_several_things_is_asked_about(upgrade, by):
    made = next(part for part in COMPONENTS if part["part_number"] == "MC-50")
    multi = catalog.save_component(made["kind"], made["spec"], by=by, name=made["name"], cost=Decimal(made["cost"]))
    part = found.add_part(upgrade, by=by, name="Box under the seat", component=multi, plan="keep")

    words = [
        m.words for m in briefs.what_is_missing(upgrade, list(upgrade.requirements.all()), list(upgrade.stops.all()))
    ]
    assert any(w.startswith("Say what “Box under the seat” is there for:") for w in words)

    found.change_part(part, by=by, role=kept.roles_of(multi)[0])
    assert kept.questions(kept.kept_parts(upgrade)) == []


def test_a_kept_part_without_a_part_of_the_catalogue_is_said_and_not_counted(upgrade, by):
    found.add_part(upgrade, by=by, name="Unnamed charger", plan="keep")

    assert briefs.make_brief(upgrade).kept == ()
    assert [p.name for p in kept.not_counted_on(kept.kept_parts(upgrade))] == ["Unnamed charger"]
    client = Client()
    client.force_login(by)
    assert "No design counts on: Unnamed charger." in " ".join(
        client.get(reverse("job", args=[upgrade.pk])).content.decode().split()
    )


def test_undecided_parts_and_dangers_hold_the_quote(upgrade, by):
    draft = quotes.draft(upgrade, by=by)
    found.add_part(upgrade, by=by, name="Relay")
    danger = found.add_defect(upgrade, by=by, level="danger", words="Cable without a fuse", remedy="Fuse it")
    type(danger).objects.filter(pk=danger.pk).update(remedy="")

    reasons = " ".join(quotes.obstacles(draft))

    assert "What becomes of “Relay” is not decided" in reasons
    assert "Danger without a remedy: Cable without a fuse" in reasons
    found.leave(danger, "The cable goes with the old battery", by=by)
    assert "Danger" not in " ".join(found_facts.before_issue(upgrade))


def test_our_own_system_is_taken_over_replaced_and_kept(upgrade, by):
    people = make_people_beside(by)
    old = fitouts.open_from(upgrade, upgrade.vehicle, by=by, title="Three years ago")
    system = InstalledSystem.objects.create(
        vehicle=upgrade.vehicle,
        fitout=old,
        title="Three years ago",
        delivered_on=timezone.localdate() - timedelta(days=1000),
        snapshot_sha256="0" * 64,
    )
    battery = chosen_as(upgrade, "battery")
    for name, role, key, serial in (
        ("House battery", "battery", int(battery["part"]), "B-1"),
        ("Old charger", "engine_charger", None, "C-1"),
    ):
        InstalledComponent.objects.create(system=system, component_id=key, role=role, name=name, serial=serial)

    assert found.take_over(upgrade, by=by) == 2
    assert found.take_over(upgrade, by=by) == 0
    kept_part, replaced = upgrade.found_parts.all()
    found.change_part(kept_part, by=by, plan="keep", quantity=battery["quantity"])
    found.change_part(replaced, by=by, plan="replace")
    designs.work_out(upgrade, by=by)
    draft = quotes.draft(upgrade, by=by)
    assert quotes.obstacles(draft) == []
    quotes.issue(draft, by=by)
    draft.refresh_from_db()
    quotes.accept(draft, accepted_by="Dr Ines Venn", note="", by=by)
    upgrade.refresh_from_db()
    proof.start_build(upgrade, by=by)
    assert upgrade.ticks.filter(key=f"out:{replaced.pk}").exists()
    assert upgrade.fitted.filter(role="battery").first().serial == "B-1"

    prove(upgrade, people)
    proof.mark_tested(upgrade, by=people)
    upgrade.refresh_from_db()
    assert upgrade.stage == Stage.TESTED
    delivery.deliver(upgrade, by=by)

    system.refresh_from_db()
    assert system.removed_on == timezone.localdate()
    assert set(system.components.values_list("removed_on", flat=True)) == {timezone.localdate()}
    assert upgrade.installed.components.filter(role="battery").exists()


def make_people_beside(by):
    """The licensed person; the estimator is there already."""
    from tests.factories.jobs import make_user

    return make_user("technician", "licensed", display_name="Tove Marr", licence_no="EC 40417")


@pytest.mark.parametrize(
    ("entries", "words"),
    [
        ({"name": "", "quantity": "1"}, "required"),
        ({"name": "Battery", "quantity": ""}, "Enter a number"),
        ({"name": "Battery", "quantity": "0"}, "It is 0; it must be"),
        ({"name": "Battery", "quantity": "1", "position": "999999"}, "valid choice"),
        ({"name": "Battery", "quantity": "1", "component": "no such thing"}, "Nothing in use is called"),
        ({"name": "Battery", "quantity": "1", "plan": "burn"}, "valid choice"),
    ],
)
def test_wrong_parts_are_refused_in_words(upgrade, by, entries, words):
    client = Client()
    client.force_login(by)

    page = client.post(reverse("found_add", args=[upgrade.pk]), {"plan": "keep", **entries})

    assert page.status_code == 422
    assert words in page.content.decode()
    assert not upgrade.found_parts.exists()


def test_a_danger_without_a_remedy_is_refused(upgrade, by):
    client = Client()
    client.force_login(by)
    page = client.post(reverse("defect_add", args=[upgrade.pk]), {"level": "danger", "words": "No fuse"})

    assert "A danger says what to do about it." in page.content.decode()
    assert not upgrade.defects.exists()
    with pytest.raises(ValidationError):
        found.leave(found.add_defect(upgrade, by=by, words="Chafed"), " ", by=by)


@pytest.mark.parametrize("values", [{"plan": "remove"}, {"quantity": 1}, None])
def test_what_an_accepted_design_keeps_stays_kept(upgrade, by, values):
    part = keep_battery(upgrade, by)
    designs.work_out(upgrade, by=by)
    draft = quotes.draft(upgrade, by=by)
    quotes.issue(draft, by=by)
    draft.refresh_from_db()
    quotes.accept(draft, accepted_by="Dr Ines Venn", note="", by=by)
    part.refresh_from_db()

    with pytest.raises(found.FoundRefused, match=r"its design keeps “House battery”"):
        found.remove_part(part, by=by) if values is None else found.change_part(part, by=by, **values)

    part = upgrade.found_parts.get()
    assert (part.plan, part.quantity) == ("keep", chosen_as(upgrade, "battery")["quantity"])
    found.change_part(part, by=by, serial="K-200", notes="Label read again")
