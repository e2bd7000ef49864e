"""The bill as it is bought and as it is built: the same lines and sums, whole orders, days to order by."""

from __future__ import annotations

import math
from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse

from catalog.kinds.capabilities import Sleeving
from catalog.kinds.capabilities_fitting import Airing, Insulating, Labelling, Mounting
from catalog.library.components.conductors import COVERING
from catalog.library.components.fittings import COMFORT, HOLDING, NAMING, SHIELDING
from catalog.models import Assembly, Component, LabourOperation
from catalog.services import save_component
from catalog.services_assemblies import LineValues, save_assembly
from fitouts.models import Fitout, User, Workshop
from fitouts.services import assemblies as taking
from quoting import money
from quoting.queries.bill import BillPage, bill_page
from quoting.queries.bill_out import table
from quoting.services import assemblies, designs, pricing
from quoting.services.brought import OF_RULE, stands_in
from quoting.sizing.bill_lines import SMALL
from quoting.sizing.bill_uses import STEPS
from quoting.wording.rules_bill import BILL_RULE
from tests.factories.jobs import make_user

pytestmark = pytest.mark.django_db
D = Decimal
TODAY = date(2026, 5, 4)


@pytest.fixture(scope="module")
def made_fitted(made_wagon, kept_rows) -> int:
    """The wagon worked out anew from a catalogue that also has what holds, covers and names."""
    by = User.objects.get(username="estimator")
    for entry in (*HOLDING, *SHIELDING, *NAMING, *COVERING, *COMFORT):
        also = {name: entry[name] for name in ("maker", "part_number", "mass_kg", "lead_days")}
        save_component(entry["kind"], entry["spec"], name=entry["name"], cost=D(entry["cost"]), by=by, **also)
    designs.work_out(Fitout.objects.get(pk=made_wagon), by=by)
    return made_wagon


@pytest.fixture
def job(made_fitted, db, files) -> Fitout:
    return Fitout.objects.get(pk=made_fitted)


def page_of(fitout: Fitout) -> BillPage:
    design = designs.latest_of(fitout)
    assert design is not None
    return bill_page(fitout, design, None, TODAY)


def desk(user: User) -> Client:
    client = Client()
    client.force_login(user)
    return client


def test_bought_and_built_have_the_same_lines_and_mass(job):
    page, bill = page_of(job), designs.appraisal_of(job.designs.first()).bill

    built = [row for step in page.steps for spot in step.spots for row in spot.rows if not row.is_work]
    bought = [row for supply in page.supplies for row in supply.rows]

    names = {x.name for x in bill if x.part}
    assert {row.name for row in built if row.mass_kg or row.name in names} == names == {row.name for row in bought}
    mass_kg = math.fsum(x.mass_kg for x in bill)
    assert math.fsum(row.mass_kg for row in built) == pytest.approx(mass_kg, abs=0.01)
    assert math.fsum(row.mass_kg for row in bought) == pytest.approx(mass_kg, abs=0.01)
    assert page.parts == len(names)


def test_steps_follow_the_order_of_the_build(job):
    codes = [step.code for step in page_of(job).steps]

    assert codes == [code for code in STEPS if code in codes]
    assert {"battery", "charging", "boards", "circuits", "finish"} <= set(codes)


def test_whoever_builds_counts_labels_not_shares_of_a_pack(job):
    bill = designs.appraisal_of(job.designs.first()).bill
    (line,) = [x for x in bill if x.rule == "label_conductor"]

    rows = [row for step in page_of(job).steps for spot in step.spots for row in spot.rows if row.name == line.name]

    assert line.unit == "pack"
    assert sum(int(row.quantity) for row in rows) == line.params["used"] == line.params["labels"]
    assert {row.of for row in rows} == {str(line.params["labels"])}


def test_orders_are_whole_and_beyond_the_shelf(job):
    page = page_of(job)
    bill = designs.appraisal_of(job.designs.first()).bill

    for row in (row for supply in page.supplies for row in supply.rows):
        needed = math.fsum(x.quantity for x in bill if x.name == row.name)
        component = Component.objects.get(name=row.name)
        assert row.quantity == pytest.approx(needed)
        assert row.to_order == max(0, math.ceil(round(needed, 3)) - component.stock)
        assert row.cost == component.cost * row.to_order


def test_the_day_to_order_by_is_the_lead_before_the_bay(job):
    Component.objects.update(stock=0, lead_days=6)
    Fitout.objects.filter(pk=job.pk).update(booked_from=TODAY + timedelta(days=4))
    job.refresh_from_db()

    page = page_of(job)

    rows = [row for supply in page.supplies for row in supply.rows]
    assert {row.order_by for row in rows} == {TODAY - timedelta(days=2)}
    assert page.late == len(rows)
    assert page.supplies[0].order_by == TODAY - timedelta(days=2)


def test_without_a_booking_no_day_is_named(job):
    assert {row.order_by for supply in page_of(job).supplies for row in supply.rows} == {None}


@pytest.mark.parametrize("view", ["bought", "built"])
def test_technician_sees_no_cost_on_either_page(job, view):
    Component.objects.update(cost=D("4321.5"), stock=0)
    url = f"{reverse('bill', args=[job.pk])}?view={view}"

    seen = {role: desk(make_user(User.Role(role), f"b-{role}")).get(url) for role in ("technician", "estimator")}

    assert {answer.status_code for answer in seen.values()} == {200}
    assert "4,321.50" not in seen["technician"].content.decode()
    assert "Cost" not in seen["technician"].content.decode()
    if view == "bought":
        assert "Cost of what is to order" in seen["estimator"].content.decode()


def test_table_taken_out_has_no_cost_for_a_technician(job):
    page = page_of(job)

    heads, lines = table(page, with_money=False)
    more, _lines = table(page, with_money=True)

    assert "Cost of the order" not in [h.head for h in heads]
    assert [h.head for h in more][-1] == "Cost of the order"
    assert len(lines) == page.parts
    answer = desk(make_user(User.Role.TECHNICIAN, "taker")).get(reverse("bill_out", args=[job.pk, "csv"]))
    text = b"".join(answer.streaming_content).decode()
    assert text.count("\n") == page.parts + 1
    assert "Cost" not in text


def test_page_says_what_is_missing_before_there_is_a_design(job, estimator):
    job.designs.all().delete()
    answer = desk(estimator).get(reverse("bill", args=[job.pk]))

    assert answer.status_code == 200
    assert "No bill yet" in answer.content.decode()


def test_queries_do_not_grow_with_the_bill(job, django_assert_max_num_queries):
    design = designs.latest_of(job)

    with django_assert_max_num_queries(8):
        bill_page(job, design, None, TODAY)


# --- Sundries ------------------------------------------------------------------------------------------------------


def test_what_is_listed_by_itself_is_not_in_the_sundries_too(job):
    Workshop.objects.update(sundries_ratio=0.05)
    lines = pricing.price_bill(designs.appraisal_of(job.designs.first()), Workshop.objects.get())
    parts = [x for x in lines if x.component_id]
    small = sum((x.amount for x in parts if x.rule in SMALL), D(0))
    others = sum((x.amount for x in parts if x.rule not in SMALL), D(0))

    (sundries,) = [x for x in lines if x.group == pricing.SUNDRIES]

    assert small > 0
    assert sundries.amount + small == money.round_to(others * D("0.05"))
    assert "not listed" in sundries.name


def test_small_parts_that_cost_more_than_their_share_leave_no_sundries(job):
    Workshop.objects.update(sundries_ratio=0.0001)

    lines = pricing.price_bill(designs.appraisal_of(job.designs.first()), Workshop.objects.get())

    assert not [x for x in lines if x.group == pricing.SUNDRIES]


def test_a_workshop_with_the_operations_of_before_is_priced(job):
    """A database from before there were operations for each part: none has gone, and the hours are there."""
    LabourOperation.objects.exclude(
        code__in=(
            "survey", "fit_battery", "fit_charger", "fit_panel", "fit_inverter", "run_cable_m", "terminate",
            "fit_device", "fit_board", "program_settings", "test_and_handover", "licensed_ac", "check_kept_part",
        )
    ).delete()  # fmt: skip
    lines = pricing.price_bill(designs.appraisal_of(job.designs.first()), Workshop.objects.get())
    codes = [x.labour_code for x in lines if x.labour_code]

    assert "fit_device" in codes
    assert len(codes) == len(set(codes))
    assert all(x.quantity > 0 for x in lines if x.labour_code)


# --- Kits ----------------------------------------------------------------------------------------------------------


def kit(by: User, *parts: tuple[str, str]) -> Assembly:
    lines = [LineValues(component=Component.objects.get(name=name), per=per) for name, per in parts]
    return save_assembly({"name": "Fixing kit"}, lines, by=by).assembly


def test_a_kit_stands_in_for_the_designs_own_fixings(job, estimator):
    design = job.designs.first()
    appraisal = designs.appraisal_of(design)
    own = {x.rule: x.quantity for x in appraisal.bill if x.rule in OF_RULE}
    taking.add(job, kit(estimator, ("Stannick MT-B-L", "battery"), ("Pimbury LB-SUN", "assembly")), 1, by=estimator)

    bill = assemblies.bill_of(job, appraisal, design)

    assert own["mount_battery"] >= 1
    assert own["label_daylight"] >= 1
    mine = {x.rule: x.quantity for x in bill if x.rule in OF_RULE}
    assert "mount_battery" not in mine
    assert mine.get("label_daylight", 0) == own["label_daylight"] - 1
    assert {k: v for k, v in mine.items() if k not in ("mount_battery", "label_daylight")} == {
        k: v for k, v in own.items() if k not in ("mount_battery", "label_daylight")
    }
    trays = [x.quantity for x in bill if x.name == "Stannick MT-B-L"]
    assert trays == [own["mount_battery"]]


def test_a_kit_that_holds_or_passes_too_little_stands_in_for_nothing(job, estimator):
    design = job.designs.first()
    appraisal = designs.appraisal_of(design)
    own = [x for x in appraisal.bill if x.rule == "mount_battery"]
    small = save_component(
        "mounting",
        {"what": "battery", "carries_kg": 2, "length_mm": 900, "width_mm": 600},
        name="Small tray",
        cost=D(5),
        by=estimator,
    )
    assert [x for x in own if x.params["held_kg"] > small.specification["carries_kg"]] == own
    taking.add(job, kit(estimator, ("Small tray", "battery")), 1, by=estimator)

    bill = assemblies.bill_of(job, appraisal, design)

    assert [x for x in bill if x.rule == "mount_battery"] == own
    assert "Small tray" in [x.name for x in bill]


@pytest.mark.parametrize(("kit", "own", "asked", "would_do"), [
    (Mounting("panel", 15, 1700, 1000), Mounting("panel", 30, 1700, 1000), {"held_kg": 14.2}, True),
    (Mounting("panel", 15, 1700, 1000), Mounting("panel", 30, 1700, 1000), {"held_kg": 22.0}, False),
    (Mounting("panel", 15, 1700, 1000), Mounting("panel", 30, 1700, 1000), {}, False),  # a line of before: as its part
    (Mounting("panel", 15, 1700, 1000), Mounting("panel", 15, 1800, 1000), {"held_kg": 14.2}, False),
    (Sleeving(11, "grommet", 90), Sleeving(29, "grommet", 90), {}, False),
    (Sleeving(29, "grommet", 90), Sleeving(11, "grommet", 90), {}, True),
    (Insulating("post", 8), Insulating("post", 10), {}, False),
    (Airing(40), Airing(40), {}, True),
    (Labelling("", 20, 10, "warning", "mains"), Labelling("", 90, 40, "warning", "mains"), {}, True),
])  # fmt: skip
def test_what_a_kit_brings_must_do_as_much(kit, own, asked, would_do):
    assert stands_in(kit, own, asked) is would_do


def test_what_goes_by_the_metre_or_pack_is_never_stood_in_for():
    assert set(OF_RULE) <= set(BILL_RULE)
    assert not {"heat_shrink", "support", "sealant", "label_conductor", "label_device"} & set(OF_RULE)
