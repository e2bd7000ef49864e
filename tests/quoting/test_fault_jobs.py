"""A fault job from the complaint to the handover: no audit, no design; what was found, mended, left and measured."""

from __future__ import annotations

from decimal import Decimal
from functools import partial

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from catalog.library.components import COMPONENTS
from catalog.models import Component, LabourOperation
from catalog.services import save_component
from fitouts.models import (
    Customer,
    Fitout,
    InstalledComponent,
    InstalledSystem,
    Markup,
    Stage,
    TaxRate,
    Workshop,
)
from fitouts.services import fitouts, found
from quoting.documents.render import render
from quoting.documents.tracing import allowed_numbers, numbers_on
from quoting.models import Document
from quoting.services import delivery, documents, fault_readings, hand_lines, proof, quotes, snapshots
from tests.factories.course import load_labour, make_people, prove
from tests.factories.jobs import make_workshop
from tests.factories.wagon import example, make_catalogue, make_vehicle

pytestmark = pytest.mark.django_db


@pytest.fixture
def people():
    return make_people()


@pytest.fixture
def by(people):
    return people["estimator"]


@pytest.fixture
def fault(by) -> Fitout:
    """A wagon that starts badly, its causes found."""
    TaxRate.objects.create(name="GST", ratio=Decimal("0.1"), valid_from="2020-01-01")
    load_labour(by)
    Markup.objects.create(group="storage", ratio=Decimal("0.25"))
    make_workshop()
    make_catalogue(by, without=tuple({part["kind"] for part in example()["catalogue"]} - {"battery"}))
    vehicle, _places = make_vehicle(Customer.objects.create(name="Venn Field Geology"))
    fitout = fitouts.open_job(vehicle.customer, vehicle, "Starts badly, flat by morning", by=by, kind="fault")
    found.add_part(fitout, by=by, name="Second battery, under the seat", plan="keep")
    found.add_defect(
        fitout,
        by=by,
        level="danger",
        words="No fuse at the starter battery on the cable to the rear",
        measured="16 mm², 5 m",
        remedy="Fuse fitted at the source, rated to the cable",
    )
    found.add_defect(fitout, by=by, words="Earth strap corroded", measured="0.4 V dropped", remedy="Strap renewed")
    found.add_defect(fitout, by=by, level="info", words="Rear lamp cracked")
    fitouts.move(fitout, Stage.SURVEYED, by=by)
    return fitout


def priced(fitout: Fitout, by):
    draft = quotes.draft(fitout, by=by)
    battery = Component.objects.filter(kind="battery").first()
    hand_lines.add_part(draft, battery, Decimal(1))
    hand_lines.add_labour(draft, LabourOperation.objects.first(), Decimal(2))
    return draft


def into_bay(fitout: Fitout, by):
    revision = priced(fitout, by)
    quotes.issue(revision, by=by)
    revision.refresh_from_db()
    quotes.accept(revision, accepted_by="Dr Ines Venn", note="by phone", by=by)
    fitout.refresh_from_db()
    proof.start_build(fitout, by=by)
    fitout.refresh_from_db()
    return revision


def test_a_fault_is_quoted_by_hand_and_its_record_holds_what_was_found(fault, by):
    draft = priced(fault, by)
    battery, work = draft.offers.get().lines.all()

    assert draft.design is None
    assert battery.amount == battery.unit_price > battery.unit_cost
    operation = LabourOperation.objects.first()
    assert work.quantity == (Decimal(str(operation.minutes_per_unit)) * 2 / 60).quantize(Decimal("0.01"))
    assert quotes.obstacles(draft) == []

    quotes.issue(draft, by=by)
    draft.refresh_from_db()
    body, _personal = snapshots.read(draft.snapshot)
    assert body["design"] is None
    assert [d["level"] for d in body["as_found"]["defects"]] == ["danger", "warning", "info"]
    assert body["as_found"]["parts"][0]["counted_on"] is False
    fault.refresh_from_db()
    assert fault.stage == Stage.QUOTED


def test_hand_lines_follow_todays_prices_when_the_draft_is_priced_again(fault, by):
    draft = priced(fault, by)
    free = quotes.add_line(draft, name="Towing in", quantity=Decimal(1), unit_price=Decimal(90), unit_cost=Decimal(70))
    part = draft.offers.get().lines.get(rule="by_hand_part")
    Component.objects.filter(pk=part.component_id).update(sell_price=Decimal("1234.50"))

    quotes.reprice(draft)

    part.refresh_from_db()
    free.refresh_from_db()
    assert (part.unit_price, part.amount) == (Decimal("1234.50"), Decimal("1234.50"))
    assert free.unit_price == Decimal(90)


def test_a_hand_line_of_fittings_is_marked_up_like_distribution(fault, by):
    """Fittings came later than the workshop's markups: 10.00 at 35 % is 13.50, by hand as on a bill (D)."""
    Markup.objects.create(group="distribution", ratio=Decimal("0.35"))
    spec = next(entry["spec"] for entry in COMPONENTS if entry["kind"] == "label")
    label = save_component("label", spec, name="Label", cost=Decimal(10), by=by)
    assert label.declaration.group == "fittings"

    line = hand_lines.add_part(quotes.draft(fault, by=by), label, Decimal(2))

    assert (line.unit_price, line.amount) == (Decimal("13.50"), Decimal("27.00"))


@pytest.mark.parametrize(("minutes", "hours", "amount"), [(7.5, "0.13", "15.60"), (22.5, "0.38", "45.60")])
def test_half_a_hundredth_of_an_hour_goes_up(fault, by, minutes, hours, amount):
    """7.5 minutes are 0.125 h: written as 0.13 h, at 120.00 an hour 15.60 (D)."""
    Workshop.objects.update(labour_rate=Decimal(120))
    operation = LabourOperation.objects.filter(is_licensed=False).first()
    LabourOperation.objects.filter(pk=operation.pk).update(minutes_per_unit=minutes)
    operation.refresh_from_db()

    line = hand_lines.add_labour(quotes.draft(fault, by=by), operation, Decimal(1))

    assert (line.quantity, line.amount) == (Decimal(hours), Decimal(amount))


@pytest.mark.parametrize(
    ("control", "volts", "least", "most"),
    [("fixed", 12, 13.2, 15.5), ("smart", 12, 12.4, 15.5), ("fixed", 24, 26.4, 31.0), ("none", 12, None, None)],
)
def test_a_charging_voltage_too_high_does_not_pass(fault, control, volts, least, most):
    fault.vehicle.alternator_control, fault.vehicle.nominal_v = control, volts

    found = {e.key: e for e in fault_readings.readings(fault)}.get("starter_charging_v")

    assert (found is None) == (least is None)
    if found is not None:
        assert (found.minimum, found.maximum, found.safety) == (least, most, True)


def test_what_stands_in_the_way_of_a_faults_quote_is_named(fault, by):
    draft = quotes.draft(fault, by=by)
    found.add_part(fault, by=by, name="Lamp bar")

    reasons = " ".join(quotes.obstacles(draft))

    assert "The quote has no line yet." in reasons
    assert "What becomes of “Lamp bar” is not decided" in reasons
    with pytest.raises(quotes.QuoteNotReady):
        quotes.issue(draft, by=by)


def test_each_remedy_is_a_step_and_its_tick_mends(fault, by, people):
    into_bay(fault, by)
    keys = list(fault.ticks.values_list("key", flat=True))
    mending = [key for key in keys if key.startswith("mend:")]

    assert keys.index("disconnect") < keys.index(mending[0]) < keys.index("before_power") < keys.index("power_up")
    assert len(mending) == 2
    assert fault.ticks.get(key=mending[0]).hold_point

    for tick in fault.ticks.order_by("place"):
        proof.tick(tick, by=people["licensed"], at=timezone.now(), note="done so" if tick.key == mending[0] else "")
    danger = fault.defects.first()
    assert (danger.mended_words, danger.mended_by) == ("done so", people["licensed"])

    proof.untick(fault.ticks.get(key=mending[0]))
    danger.refresh_from_db()
    assert danger.mended_at is None


def test_a_danger_keeps_the_vehicle_here(fault, by, people):
    into_bay(fault, by)
    prove(fault, people["licensed"])
    proof.mark_tested(fault, by=people["licensed"])
    fault.refresh_from_db()
    found.open_again(fault.defects.first(), by=by)

    with pytest.raises(proof.NotReady, match="Danger open: No fuse at the starter battery"):
        delivery.deliver(fault, by=by)

    found.leave(fault.defects.first(), "The owner takes the vehicle off the road", by=by)
    paper = delivery.deliver(fault, by=by)
    body, _personal = snapshots.read(paper.snapshot)
    assert body["as_found"]["defects"][0]["left_because"] == "The owner takes the vehicle off the road"


def test_a_failed_safety_reading_keeps_the_vehicle_here(fault, by, people):
    into_bay(fault, by)
    prove(fault, people["licensed"])
    proof.mark_tested(fault, by=people["licensed"])
    fault.refresh_from_db()
    proof.take_reading(fault, "cranking_after_v", value=8.9, by=people["licensed"])

    with pytest.raises(proof.NotReady, match="Safety reading fails: Cranking voltage"):
        delivery.deliver(fault, by=by)


def test_delivery_writes_down_the_parts_that_were_fitted(fault, by, people):
    into_bay(fault, by)
    prove(fault, people["licensed"])
    proof.mark_tested(fault, by=people["licensed"])
    fault.refresh_from_db()
    paper = delivery.deliver(fault, by=by)

    assert paper.kind == Document.Kind.HANDOVER
    fitted = InstalledComponent.objects.filter(system__fitout=fault)
    assert [(part.role, part.serial) for part in fitted] == [("battery", "SN-0"), ("other", "")]
    assert fitted.last().name == "Second battery, under the seat"


def test_a_fault_without_parts_leaves_no_system_behind(by, fault, people):
    draft = quotes.draft(fault, by=by)
    hand_lines.add_labour(draft, LabourOperation.objects.first(), Decimal(1))
    quotes.issue(draft, by=by)
    draft.refresh_from_db()
    quotes.accept(draft, accepted_by="Dr Ines Venn", note="", by=by)
    fault.refresh_from_db()
    proof.start_build(fault, by=by)
    prove(fault, people["licensed"])
    proof.mark_tested(fault, by=people["licensed"])
    fault.refresh_from_db()
    delivery.deliver(fault, by=by)

    assert not InstalledSystem.objects.filter(fitout=fault).exists()
    assert documents.ask_latest(Document.Kind.TEST_SHEET, fault, by=by).snapshot.kind == "as_built"
    with pytest.raises(documents.PaperNotPossible, match="nothing to draw"):
        documents.ask_latest(Document.Kind.DIAGRAM, fault, by=by)


def test_every_number_on_a_faults_papers_is_in_its_record(fault, by, people):
    revision = into_bay(fault, by)
    prove(fault, people["licensed"])
    found.leave(fault.defects.last(), "The owner does it", by=by)
    proof.mark_tested(fault, by=people["licensed"])
    fault.refresh_from_db()
    handover = delivery.deliver(fault, by=by)

    for kind, snapshot in (
        ("quote", revision.snapshot),
        ("handover", handover.snapshot),
        ("test_sheet", handover.snapshot),
    ):
        body, personal = snapshots.read(snapshot)
        made = render(kind, body, personal, snapshot.sha256)
        allowed = allowed_numbers(body, personal)
        assert [(page, number) for page, number in numbers_on(made.pdf) if number not in allowed] == []
        assert render(kind, body, personal, snapshot.sha256).pdf == made.pdf


def test_the_page_of_a_fault_shows_no_audit_and_turns_into_an_upgrade(fault, by):
    client = Client()
    client.force_login(by)
    page = client.get(reverse("job", args=[fault.pk])).content.decode()
    assert "Earth strap corroded" in page
    assert 'id="audit"' not in page
    assert 'id="sizing"' not in page
    for name in ("outlook", "what_if"):
        assert "A fault has no trip" in client.get(reverse(name, args=[fault.pk])).content.decode()

    client.post(reverse("job_kind", args=[fault.pk]), {"kind": "upgrade"})
    fault.refresh_from_db()
    assert fault.kind == Fitout.Kind.UPGRADE
    assert 'id="audit"' in client.get(reverse("job", args=[fault.pk])).content.decode()


def test_a_technician_writes_defects_down_and_sees_no_price(fault, by, people):
    priced(fault, by)
    client = Client()
    client.force_login(people["technician"])
    entries = {"level": "warning", "words": "Cable chafed through", "measured": "", "remedy": "Sleeve and clip"}
    client.post(reverse("defect_add", args=[fault.pk]), entries)
    assert fault.defects.last().found_by == people["technician"]

    page = client.get(reverse("job", args=[fault.pk])).content.decode()
    line = fault.quote.revisions.get().offers.get().lines.first()
    assert "Cable chafed through" in page
    assert f"{line.unit_price:.2f}" not in page
    assert client.post(reverse("quote_part_add", args=[fault.quote.revisions.get().pk])).status_code == 403


@pytest.mark.parametrize(
    ("name", "entries", "words"),
    [
        ("quote_part_add", {"part-component": "nothing such", "part-quantity": "1"}, "Nothing in use is called"),
        ("quote_part_add", {"part-component": "", "part-quantity": "1"}, "required"),
        ("quote_part_add", {"part-component": "nothing such", "part-quantity": "0"}, "0.001"),
        ("quote_work_add", {"work-operation": "999999", "work-quantity": "1"}, "valid choice"),
        ("quote_work_add", {"work-operation": "", "work-quantity": "many"}, "number"),
    ],
)
def test_wrong_lines_are_refused_in_words(fault, by, name, entries, words):
    draft = quotes.draft(fault, by=by)
    client = Client()
    client.force_login(by)

    page = client.post(reverse(name, args=[draft.pk]), entries)

    assert page.status_code == 422
    assert words in page.content.decode()
    assert not draft.offers.get().lines.exists()


def test_an_accepted_job_keeps_its_kind(fault, by):
    into_bay(fault, by)

    with pytest.raises(fitouts.JobNotOpened, match="its kind stays"):
        fitouts.turn_into(fault, "upgrade", by=by)


def test_a_part_of_ours_that_a_fault_job_keeps_stays_on_the_books(fault, by, people):
    """It moves from its earlier system to the new one with its serial number: neither lost nor in both."""
    old = fitouts.open_from(fault, fault.vehicle, by=by, title="Three years ago")
    system = InstalledSystem.objects.create(
        vehicle=fault.vehicle, fitout=old, title="Three years ago", delivered_on="2023-11-02", snapshot_sha256="0" * 64
    )
    battery = Component.objects.filter(kind="battery").last()
    InstalledComponent.objects.create(system=system, component=battery, role="battery", name="House", serial="B-1")
    found.take_over(fault, by=by)
    found.change_part(fault.found_parts.get(serial="B-1"), by=by, plan="keep")
    into_bay(fault, by)
    prove(fault, people["licensed"])
    proof.mark_tested(fault, by=people["licensed"])
    fault.refresh_from_db()

    delivery.deliver(fault, by=by)

    now = InstalledComponent.objects.filter(serial="B-1", removed_on=None)
    assert [(part.system.fitout_id, part.component_id) for part in now] == [(fault.pk, battery.pk)]


@pytest.mark.parametrize("how", ["lowered", "removed"])
def test_a_danger_on_an_accepted_quote_does_not_just_go_away(fault, by, how):
    into_bay(fault, by)
    danger = fault.defects.get(level="danger")

    deed = partial(found.change_defect, level="info") if how == "lowered" else found.remove_defect

    with pytest.raises(found.FoundRefused, match="this stays a danger"):
        deed(danger, by=by)

    assert fault.defects.filter(level="danger").count() == 1
    found.change_defect(fault.defects.get(level="info"), by=by, words="Rear lamp cracked, left")
    found.leave(fault.defects.get(level="danger"), "Seen again: there is a fuse under the seat", by=by)
