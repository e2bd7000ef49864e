"""The pages of fleets: who begins one, what the summary adds up and tells apart, and no money for technicians."""

from __future__ import annotations

import csv
import io
from decimal import Decimal

import pytest
from django.urls import reverse
from django.utils import timezone
from openpyxl import load_workbook

from catalog.finding import FINDABLE
from catalog.finding_search import find
from fitouts.models import Customer, Fitout, Stage, User, Vehicle, VehiclePosition, VehicleRun
from fitouts.services import fitouts as jobs
from quoting.models import BackgroundJob, Design, FleetItem, FleetRun, Line, Revision
from quoting.queries import fleets as queries
from quoting.queries.fleet_apart import apart
from quoting.services import background, erasure, fleets, quotes
from tests.factories.jobs import make_user
from tests.quoting.fleet_rows import another, items, work

pytestmark = pytest.mark.django_db
State = FleetItem.State


@pytest.fixture(scope="module")
def fleet_run(made_wagon) -> int:
    """Key of a run of four wagons: the second has a longer way to its starter, the fourth no place for its battery."""
    source = Fitout.objects.get(pk=made_wagon)
    by = User.objects.get(username="estimator")
    rows = [another(source.vehicle, f"XW {number}") for number in (501, 502, 503, 504)]
    starter = source.placements.get(role="starter").position.name
    VehicleRun.objects.filter(vehicle=rows[1], start__name=starter).update(length_m=14)
    battery = source.placements.get(role="battery").position.name
    VehiclePosition.objects.filter(vehicle=rows[3], name=battery).update(name="Somewhere else")
    run = fleets.start(rows, name="Field wagons, all", by=by, source=source)
    work(run)
    return run.pk


@pytest.fixture
def run(fleet_run, db, files) -> FleetRun:
    return FleetRun.objects.get(pk=fleet_run)


@pytest.fixture
def desk(client, estimator):
    client.force_login(estimator)
    return client


@pytest.fixture
def bay(client, db):
    client.force_login(make_user(User.Role.TECHNICIAN, "joss"))
    return client


def text_of(response) -> str:
    return " ".join(response.content.decode().split())


# --- Beginning ---------------------------------------------------------------------------------------------


def test_picked_in_the_list_of_vehicles_they_lead_to_a_new_fleet(desk, run):
    rows = [item.vehicle for item in items(run)][:2]
    picked = {"row": [vehicle.pk for vehicle in rows]}

    page = text_of(desk.get(reverse("catalog:bulk", args=["vehicle"]), picked))
    new = desk.get(reverse("fleet_new"), picked)

    assert "Size them alike" in page
    assert f'action="{reverse("fleet_new")}"' in page
    assert [(one.vehicle, one.picked) for one in new.context["candidates"]] == [(v, True) for v in rows]


def test_all_that_a_filter_shows_can_be_picked(desk, run):
    answer = desk.get(reverse("fleet_new"), {"which": "all", "query": "q=XW+503"})

    assert [one.vehicle.registration for one in answer.context["candidates"]] == ["XW 503"]


def test_what_is_left_out_of_the_picked_is_said(desk, run, monkeypatch):
    rows = [item.vehicle for item in items(run)]
    monkeypatch.setattr(fleets, "MOST_VEHICLES", 2)
    Vehicle.objects.filter(pk=rows[0].pk).update(retired_at=timezone.now())

    answer = desk.get(reverse("fleet_new"), {"row": [vehicle.pk for vehicle in rows]})

    assert len(answer.context["candidates"]) == 2
    assert "1 retired vehicle is left out." in text_of(answer)
    assert "One run takes at most 2 vehicles: the first 2 stand here." in text_of(answer)


def test_from_a_job_the_vehicles_like_its_own_are_offered(desk, run, worked_out):
    another(worked_out.vehicle, "XX 1", model="Another model")
    another(worked_out.vehicle, "XW 505")

    answer = desk.get(reverse("fleet_new"), {"source": worked_out.number})

    seen = {one.vehicle.registration: one for one in answer.context["candidates"]}
    assert list(seen) == ["XW 501", "XW 502", "XW 503", "XW 504", "XW 505"]
    assert [one.picked for one in seen.values()] == [False, False, False, False, True]  # the others have a job
    assert [one.jobs for one in seen.values()] == [*((item.fitout.number,) for item in items(run)), ()]
    lacking = worked_out.placements.get(role="battery").position.name
    assert [one.lacks for one in seen.values()] == [(), (), (), (lacking,), ()]
    assert f"no position “{lacking}”" in text_of(answer)


def test_the_page_of_a_job_leads_to_a_fleet_and_back(desk, run, worked_out):
    source = desk.get(reverse("job", args=[worked_out.pk])).content.decode()
    made = desk.get(reverse("job", args=[items(run)[0].fitout_id])).content.decode()

    assert f"{reverse('fleet_new')}?source={worked_out.number}" in source
    for page in (source, made):
        assert page.count(f'href="{reverse("fleet", args=[run.pk])}"') == 1


def test_from_a_package_the_vehicles_of_its_model_are_offered_and_none_ticked(desk, run, worked_out, estimator):
    package = jobs.keep_as_package(worked_out, "Field wagon", by=estimator)

    answer = desk.get(reverse("fleet_new"), {"package": package.pk})

    assert len(answer.context["candidates"]) == 5
    assert not any(one.picked for one in answer.context["candidates"])
    assert f"?package={package.pk}" in text_of(desk.get(reverse("package_detail", args=[package.pk])))


def entries(rows: list[Vehicle], **more: object) -> dict[str, object]:
    keys = [vehicle.pk for vehicle in rows]
    return {"name": "Trucks", "parts": "free", "offer": "steady", "offered": keys, "row": keys, **more}


def test_a_fleet_is_begun_with_the_ticked_ones_in_their_order(desk, run, worked_out):
    rows = [item.vehicle for item in items(run)][:3]
    asked = entries(rows, source=worked_out.number, row=[rows[2].pk, rows[0].pk])

    answer = desk.post(reverse("fleet_new"), asked)

    made = FleetRun.objects.first()
    assert answer.url == reverse("fleet", args=[made.pk])
    assert [item.vehicle for item in items(made)] == [rows[0], rows[2]]
    assert (made.source, made.parts, made.job.queue) == (worked_out, "free", BackgroundJob.Queue.HEAVY)


def test_looking_starts_nothing(desk, run, worked_out):
    rows = [item.vehicle for item in items(run)]
    before = FleetRun.objects.count()

    answer = desk.post(reverse("fleet_new"), entries(rows, source=worked_out.number, look="1"))

    assert answer.status_code == 200
    assert [bool(one.lacks) for one in answer.context["candidates"]] == [False, False, False, True]
    assert FleetRun.objects.count() == before


WRONG = {
    "nothing ticked": ({"row": []}, "Pick at least one vehicle."),
    "no brief": ({"source": ""}, "Say which job, or which package, has the brief."),
    "no such job": ({"source": "99-9999"}, "There is no job “99-9999”."),
    "no name": ({"name": ""}, "This field is required."),
    "odd parts": ({"parts": "stolen"}, "Select a valid choice."),
    "odd keys": ({"row": ["x", "9" * 30, "-1"]}, "Pick at least one vehicle."),
}


@pytest.mark.parametrize("why", WRONG)
def test_wrong_entries_are_said_and_nothing_is_lost(why, desk, run, worked_out):
    change, words = WRONG[why]
    rows = [item.vehicle for item in items(run)]
    before = FleetRun.objects.count()

    answer = desk.post(reverse("fleet_new"), entries(rows, **{"source": worked_out.number, **change}))

    assert answer.status_code == 422
    assert words in text_of(answer)
    assert len(answer.context["candidates"]) == 4
    assert FleetRun.objects.count() == before


# --- The summary -------------------------------------------------------------------------------------------


def test_the_summary_adds_up_the_quotes(desk, run):
    page = desk.get(reverse("fleet", args=[run.pk]))

    summary = page.context["summary"]
    offers = [Revision.objects.get(quote__fitout=item.fitout).offers.get() for item in items(run)[:3]]
    assert summary.counts == {"waiting": 0, "done": 3, "failed": 1}
    assert [row.offer for row in summary.rows] == [*offers, None]
    assert summary.total == sum(offer.total for offer in offers) > 0
    first = summary.rows[0]
    assert first.mass_kg == pytest.approx(sum(line.mass_kg for line in offers[0].lines.all()))
    assert first.payload_kg == pytest.approx(first.vehicle.payload_left_kg - first.mass_kg)
    assert first.facts["dark_ratio"] is not None
    for row in summary.rows[:3]:
        assert row.offer.total in {spread.least for spread in summary.spread} | {s.most for s in summary.spread}


def test_what_is_to_be_bought_is_what_the_quotes_have(run):
    bought = {part.component.pk: part for group in queries.summary(run).buying for part in group.parts}

    lines = Line.objects.filter(offer__revision__quote__fitout__in=[i.fitout for i in items(run)[:3]]).exclude(
        component=None
    )
    assert set(bought) == {line.component_id for line in lines}
    for key, part in bought.items():
        mine = [line for line in lines if line.component_id == key]
        assert part.quantity == sum(line.quantity for line in mine)
        assert part.cost == sum(line.quantity * line.unit_cost for line in mine)
        assert len(part.vehicles) == len({line.offer_id for line in mine})


def test_on_the_shelf_is_not_ordered_again(run):
    part = queries.summary(run).buying[0].parts[0]
    stock = part.component.stock
    assert part.to_order == max(Decimal(0), part.quantity - stock)
    part.component.stock = int(part.quantity) + 5
    assert part.to_order == 0


def test_the_one_with_the_longer_way_is_told_apart_with_the_reason(desk, run):
    page = desk.get(reverse("fleet", args=[run.pk]))

    summary = page.context["summary"]
    assert summary.alike == 2
    [(words, names)] = summary.apart
    assert names == "XW 502"
    here, most = (items(run)[at].facts["circuits"]["engine_feed"] for at in (1, 0))
    feed = next(one for one in words if one.startswith("Engine feed:"))
    assert f"{here['area_mm2']:g}\u00a0mm² in place of {most['area_mm2']:g}\u00a0mm²" in feed
    assert f"longer way, {here['run_m']:g}\u00a0m in place of {most['run_m']:g}\u00a0m" in feed


def test_why_one_is_not_done_stands_on_the_page_with_ways_to_mend_it(desk, run):
    page = text_of(desk.get(reverse("fleet", args=[run.pk])))

    failed = items(run)[3]
    assert "Nobody has said where it sits: auxiliary battery." in page
    assert reverse("vehicle", args=[failed.vehicle_id]) in page
    assert reverse("job", args=[failed.fitout_id]) in page
    assert "Try the one that is not done again" in page


def test_a_design_made_since_is_told(desk, run):
    item = items(run)[0]
    Design.objects.create(
        fitout=item.fitout,
        number=2,
        brief=item.design.brief,
        appraisal=item.design.appraisal,
        key="k",
        method_version="x",
    )

    assert "worked out again since" in text_of(desk.get(reverse("fleet", args=[run.pk])))


def test_a_job_set_aside_is_not_bought_for(run, estimator):
    before = queries.summary(run)
    item = items(run)[0]
    jobs.move(item.fitout, Stage.LOST, by=estimator, reason="went elsewhere")

    after = queries.summary(run)

    assert after.total == before.total - before.rows[0].offer.total
    assert max(len(p.vehicles) for g in after.buying for p in g.parts) == 2


def test_the_newest_revision_counts(run, estimator):
    item = items(run)[0]
    quotes.set_terms(item.revision, discount_ratio=Decimal("0.1"), note="", days_off_road=2)

    assert queries.summary(run).rows[0].offer.discount != 0


def test_any_number_of_vehicles_takes_as_many_queries(run, django_assert_num_queries):
    with django_assert_num_queries(7):
        queries.summary(run)
    FleetItem.objects.filter(run=run, place__gt=0).delete()
    with django_assert_num_queries(7):
        queries.summary(run)


# --- Money is not for everybody -----------------------------------------------------------------------------


def amounts(run: FleetRun) -> set[str]:
    """Every amount of the quotes as pages and tables write it."""
    from catalog.quantities import format_number

    found = set()
    for offer in (row.offer for row in queries.summary(run).rows if row.offer):
        found |= {f"{value:.2f}" for value in (offer.net, offer.total, offer.cost)}
        found |= {format_number(value, 2) for value in (offer.net, offer.total, offer.cost)}
    return found


def test_a_technician_reads_everything_but_money(bay, run):
    page = text_of(bay.get(reverse("fleet", args=[run.pk])))
    table = bay.get(reverse("fleet_out", args=[run.pk, "csv"]))
    content = b"".join(table.streaming_content).decode()

    assert "XW 502" in page
    assert "To buy for all of them" in page
    assert [one for one in amounts(run) if one in page + content] == []
    assert "To pay" not in page + content
    assert "go-on" not in page


def test_the_table_out_holds_each_vehicle_and_its_price(desk, run):
    answer = desk.get(reverse("fleet_out", args=[run.pk, "csv"]))

    lines = list(csv.DictReader(io.StringIO(b"".join(answer.streaming_content).decode("utf-8-sig"))))
    summary = queries.summary(run)
    assert [line["Registration"] for line in lines] == ["XW 501", "XW 502", "XW 503", "XW 504"]
    assert Decimal(lines[0]["To pay"]) == summary.rows[0].offer.total
    assert float(lines[0]["Capacity (Ah)"]) == summary.rows[0].facts["battery_ah"]
    assert "Engine feed" in lines[1]["Otherwise than the rest"]
    assert "Nobody has said" in lines[3]["Why not"]
    book = desk.get(reverse("fleet_out", args=[run.pk, "xlsx"]))
    sheet = load_workbook(io.BytesIO(b"".join(book.streaming_content))).active
    assert [row[0].value for row in sheet.iter_rows(min_row=2)] == [line["Registration"] for line in lines]
    assert desk.get(reverse("fleet_out", args=[run.pk, "pdf"])).status_code == 404


# --- While it goes on --------------------------------------------------------------------------------------


def test_progress_asks_again_while_it_goes_on_and_then_the_page_comes_anew(desk, run, estimator):
    fleets.go_on(run, by=estimator)
    url, htmx = reverse("fleet_progress", args=[run.pk]), {"HTTP_HX_REQUEST": "true"}

    waiting = desk.get(url, **htmx)
    assert desk.get(url).url == reverse("fleet", args=[run.pk])
    work(run)
    ended = desk.get(url, **htmx)

    assert "every 2s" in waiting.content.decode()
    assert "HX-Refresh" not in waiting
    assert ended["HX-Refresh"] == "true"
    assert "every 2s" not in ended.content.decode()


def test_stopped_and_taken_up_again_by_buttons(desk, run, estimator):
    url = reverse("fleet", args=[run.pk])
    desk.post(reverse("fleet_go_on", args=[run.pk]))
    assert 'id="stop"' in desk.get(url).content.decode()

    desk.post(reverse("fleet_stop", args=[run.pk]))

    run.refresh_from_db()
    assert run.job.state == BackgroundJob.State.FAILED
    assert 'id="go-on"' in desk.get(url).content.decode()
    late = desk.post(reverse("fleet_stop", args=[run.pk]), follow=True)
    assert "Too late to stop it" in text_of(late)
    desk.post(reverse("fleet_go_on", args=[run.pk]))
    twice = desk.post(reverse("fleet_go_on", args=[run.pk]), follow=True)
    assert "under way already" in text_of(twice)


def test_the_list_says_how_each_stands(desk, run):
    page = desk.get(reverse("fleet_list"))

    [row] = page.context["page"]
    assert (row.of, row.done, row.failed) == (4, 3, 1)
    assert "1 not done" in text_of(page)


def test_hostile_names_do_no_harm(desk, run):
    run.name = "<script>alert(1)</script> & “wagons”"
    run.save()
    FleetItem.objects.filter(run=run, place=3).update(reason="<b>bold</b>")

    page = desk.get(reverse("fleet", args=[run.pk])).content.decode()

    assert "<script>alert(1)" not in page
    assert "<b>bold</b>" not in page
    out = desk.get(reverse("fleet_out", args=[run.pk, "csv"]))
    assert out["Content-Disposition"].startswith("attachment")


# --- Found, and forgotten ------------------------------------------------------------------------------------


def test_it_is_found_by_its_name(run, estimator):
    assert [(one.about, one.pk) for one in find(estimator, "field wagons all").hits if one.about == "fleet"] == [
        ("fleet", run.pk)
    ]
    assert FINDABLE["fleet"].page == "fleet"


def test_erasing_the_owner_takes_the_name_and_the_reasons(run, estimator):
    Fitout.objects.update(stage="closed")

    erasure.erase(items(run)[0].vehicle.customer, by=estimator)

    run.refresh_from_db()
    assert run.name == f"Fleet {run.pk}"
    assert {item.reason for item in items(run)} == {"", "Erased"}
    assert not [one for one in find(estimator, "field wagons all").hits if one.about == "fleet"]


def test_erasing_whose_job_it_follows_takes_the_name_too(run, estimator):
    """It is called as that job was; that its vehicles are somebody else's does not matter."""
    other = Customer.objects.create(name="Zebedee Quill")
    Fitout.objects.filter(pk=run.source_id).update(customer=other, stage="closed")

    erasure.erase(other, by=estimator)

    run.refresh_from_db()
    assert run.name == f"Fleet {run.pk}"


# --- Told apart ----------------------------------------------------------------------------------------------


def facts(area_mm2: float = 16.0, run_m: float = 4.0, rating_a: float = 60.0, **more):
    feed = {"name": "Engine feed", "run_m": run_m, "area_mm2": area_mm2, "rating_a": rating_a}
    return {
        "vehicle": {"nominal_v": 24, "alternator_a": 110, "alternator_control": "fixed"},
        "parts": {"battery": [[2, "LF-100"]]},
        "circuits": {"engine_feed": feed},
        **more,
    }


def test_most_are_the_rule_and_the_first_of_equally_many():
    assert apart([facts(), facts(25.0), facts()])[0::2] == [[], []]
    assert apart([facts(), facts(25.0)])[0] == []
    assert apart([facts(25.0), facts()])[0] == []
    assert apart([facts()]) == [[]]
    assert apart([]) == []


@pytest.mark.parametrize(
    ("other", "said"),
    [
        (facts(run_m=9.0), []),  # a longer way with the same cable is no difference
        (facts(25.0, run_m=9.0), ["Engine feed: 25 mm² in place of 16 mm²; longer way, 9 m in place of 4 m."]),
        (facts(10.0, run_m=2.0), ["Engine feed: 10 mm² in place of 16 mm²; shorter way, 2 m in place of 4 m."]),
        (facts(25.0, run_m=4.1), ["Engine feed: 25 mm² in place of 16 mm²."]),
        (facts(rating_a=80.0), ["Engine feed: protected by 80 A in place of 60 A."]),
        (facts(circuits={}), ["“Engine feed”: no such circuit."]),
        (facts(parts={"battery": [[1, "AG-200"]]}), ["Battery: AG-200 in place of 2 × LF-100."]),
        (facts(parts={}), ["Battery: nothing in place of 2 × LF-100."]),
        (
            facts(vehicle={"nominal_v": 24, "alternator_a": 80, "alternator_control": "smart"}),
            ["Alternator: 80 A in place of 110 A.", "The alternator is controlled otherwise."],
        ),
    ],
)
def test_each_difference_in_a_sentence(other, said):
    assert [words.replace("\u00a0", " ") for words in apart([facts(), facts(), other])[2]] == said


def test_a_circuit_that_only_one_has():
    more = facts()
    more["circuits"] = {**more["circuits"], "extra": {"name": "Winch", "run_m": 1, "area_mm2": 50, "rating_a": None}}

    assert apart([facts(), facts(), more])[2] == ["“Winch”: a circuit that the others do not have."]


def test_an_old_message_after_the_end_does_nothing(run):
    background.run(run.job_id)

    assert queries.summary(run).counts["done"] == 3
