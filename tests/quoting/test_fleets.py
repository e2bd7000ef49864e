"""A fleet sized alike: a job, a design and a draft for each vehicle, once each, whatever happens in between."""

from __future__ import annotations

from datetime import timedelta
from types import SimpleNamespace

import pytest
from django.utils import timezone

from fitouts.models import Fitout, Stage, User, Vehicle, VehiclePosition, VehicleRun
from fitouts.services import fitouts as jobs
from fitouts.services import vehicles
from quoting.models import BackgroundJob, Design, FleetItem, JobPicks, Quote, Revision
from quoting.services import background, designs, fleet_work, fleets, quotes, selections
from quoting.sizing.selecting.select import select
from tests.factories.jobs import make_user
from tests.quoting.fleet_rows import another, items, work

pytestmark = pytest.mark.django_db
State = FleetItem.State


@pytest.fixture
def alike(worked_out) -> list[Vehicle]:
    return [another(worked_out.vehicle, f"XW {number}") for number in (501, 502, 503)]


@pytest.fixture
def run_of(worked_out, estimator):
    def begin(rows, **more):
        how = {"name": "Field wagons", "by": estimator, "source": worked_out, **more}
        return fleets.start(rows, **how)

    return begin


def test_each_vehicle_gets_a_job_a_design_and_a_draft(run_of, alike, worked_out):
    run = run_of(alike)

    job = work(run)

    done = items(run)
    assert (job.state, job.progress, job.progress_of) == (BackgroundJob.State.DONE, 3, 3)
    assert [item.state for item in done] == [State.DONE] * 3
    assert [item.fitout.vehicle for item in done] == alike
    assert {item.fitout.title for item in done} == {"Field wagons"}
    first = designs.appraisal_of(worked_out.designs.first())
    for item in done:
        assert item.design == item.fitout.designs.get()
        assert [(c.role, c.name, c.quantity) for c in designs.appraisal_of(item.design).chosen] == [
            (c.role, c.name, c.quantity) for c in first.chosen
        ]
        assert item.revision == Revision.objects.get(quote__fitout=item.fitout)
        assert item.revision.state == Revision.State.DRAFT
        assert item.facts["battery_ah"] == first.value("battery.got_ah")
        assert item.facts["array_w"] == 380  # two of 190 W in tests/examples/field_wagon.json


def test_the_price_is_that_of_the_same_job_drafted_by_hand(run_of, alike, worked_out, estimator):
    by_hand = quotes.draft(worked_out, by=estimator).offers.get()
    run = run_of(alike[:1])

    work(run)

    offer = items(run)[0].revision.offers.get()
    assert (offer.net, offer.total, offer.cost) == (by_hand.net, by_hand.total, by_hand.cost)


def test_a_longer_way_gets_a_thicker_cable_of_its_own(run_of, alike, worked_out):
    starter = worked_out.placements.get(role="starter").position.name
    VehicleRun.objects.filter(vehicle=alike[1], start__name=starter).update(length_m=14)
    run = run_of(alike)

    work(run)

    areas = [item.facts["circuits"]["engine_feed"]["area_mm2"] for item in items(run)]
    assert areas[0] == areas[2] < areas[1]


def test_a_surveyed_vehicle_is_past_the_enquiry(run_of, alike):
    Vehicle.objects.filter(pk=alike[0].pk).update(surveyed_on=timezone.localdate())
    Vehicle.objects.filter(pk=alike[1].pk).update(surveyed_on=None)
    run = run_of(alike[:2])

    work(run)

    assert [item.fitout.stage for item in items(run)] == [Stage.SURVEYED, Stage.ENQUIRY]


def test_what_is_missing_is_a_reason_and_the_others_are_done(run_of, alike, estimator):
    lacking = alike[1]
    spot = lacking.positions.get(name=_place_of(run_of, "battery"))
    VehiclePosition.objects.filter(pk=spot.pk).update(name="Somewhere else")
    run = run_of(alike)

    work(run)

    seen = items(run)
    assert [item.state for item in seen] == [State.DONE, State.FAILED, State.DONE]
    assert "Nobody has said where it sits: auxiliary battery." in seen[1].reason
    assert seen[1].fitout is not None
    VehiclePosition.objects.filter(pk=spot.pk).update(name=spot.name)
    assert fleets.go_on(run, by=estimator) == 1
    work(run)
    mended = items(run)
    assert [item.state for item in mended] == [State.DONE] * 3
    assert mended[1].fitout_id == seen[1].fitout_id
    assert [item.design_id for item in mended[::2]] == [item.design_id for item in seen[::2]]
    assert mended[1].facts["circuits"] == mended[0].facts["circuits"]


def _place_of(run_of, role: str) -> str:
    return Fitout.objects.earliest("pk").placements.get(role=role).position.name


def test_a_mended_line_gets_its_place_again(run_of, alike, worked_out, estimator):
    line = worked_out.requirements.exclude(position=None).last()
    spot = alike[0].positions.get(name=line.position.name)
    VehiclePosition.objects.filter(pk=spot.pk).update(name="Somewhere else")
    run = run_of(alike[:1])
    work(run)

    VehiclePosition.objects.filter(pk=spot.pk).update(name=spot.name)
    FleetItem.objects.update(state=State.FAILED)
    fleets.go_on(run, by=estimator)
    work(run)

    made = items(run)[0].fitout
    assert made.requirements.get(place=line.place).position_id == spot.pk
    assert made.designs.count() == 2


# --- Once, and once only -------------------------------------------------------------------------------


class Killed(BaseException):
    """Stands for a worker that is gone: nothing of the process goes on after it."""


BREAKS = {
    "job opened": ("quoting.services.fleet_work._worked_out", 0),
    "worked out": ("quoting.services.fleet_work._priced", 1),
    "drafted, not committed": ("quoting.services.quotes.draft", 1),
}


@pytest.mark.parametrize("where", BREAKS)
def test_broken_off_anywhere_it_goes_on_and_makes_nothing_twice(where, run_of, alike, monkeypatch):
    run = run_of(alike[:2])
    target, designs_then = BREAKS[where]
    draft = quotes.draft
    with monkeypatch.context() as patch:

        def end(*args, **kwargs):
            if target.endswith("draft"):
                draft(*args, **kwargs)
            raise Killed

        patch.setattr(target, end)
        with pytest.raises(Killed):
            background.run(run.job_id)
    mine = Fitout.objects.filter(title="Field wagons")
    assert (mine.count(), Design.objects.filter(fitout__in=mine).count()) == (1, designs_then)
    assert not Quote.objects.filter(fitout__in=mine).exists()

    BackgroundJob.objects.update(lease_until=timezone.now() - timedelta(seconds=1))
    assert background.sweep().requeued == 1
    work(run)

    assert [item.state for item in items(run)] == [State.DONE] * 2
    assert [item.tries for item in items(run)] == [2, 1]
    assert (mine.count(), Design.objects.filter(fitout__in=mine).count()) == (2, 2)
    assert Revision.objects.filter(quote__fitout__in=mine).count() == 2


def test_a_worker_that_lost_its_lease_changes_nothing(run_of, alike, monkeypatch):
    run = run_of(alike[:1])
    work_out, meanwhile = fleet_work.designs.work_out, []

    def slow(fitout, by):
        if not meanwhile:
            meanwhile.append(fitout)
            BackgroundJob.objects.update(lease_until=timezone.now() - timedelta(seconds=1))
            background.sweep()
            background.run(run.job_id)  # another worker does it all
        return work_out(fitout, by=by)

    monkeypatch.setattr(fleet_work.designs, "work_out", slow)
    background.run(run.job_id)

    run.refresh_from_db()
    assert (run.job.state, run.job.attempts) == (BackgroundJob.State.DONE, 2)
    assert items(run)[0].state == State.DONE
    assert (
        Fitout.objects.filter(title="Field wagons").count()
        == Design.objects.filter(fitout__title="Field wagons").count()
        == Revision.objects.filter(quote__fitout__title="Field wagons").count()
        == 1
    )


def test_a_vehicle_that_ends_its_worker_is_passed_over(run_of, alike):
    run = run_of(alike[:2])
    FleetItem.objects.filter(run=run, place=0).update(tries=2)

    work(run)

    seen = items(run)
    assert [item.state for item in seen] == [State.FAILED, State.DONE]
    assert "broken off 2 times" in seen[0].reason


def test_a_fault_of_ours_stops_one_vehicle_only(run_of, alike, monkeypatch, caplog):
    run = run_of(alike[:2])
    work_out = fleet_work.designs.work_out

    def faulty(fitout, by):
        if fitout.vehicle == alike[0]:
            raise ZeroDivisionError
        return work_out(fitout, by=by)

    monkeypatch.setattr(fleet_work.designs, "work_out", faulty)
    work(run)

    assert [item.state for item in items(run)] == [State.FAILED, State.DONE]
    assert f"job {run.job_id}" in items(run)[0].reason
    assert "ZeroDivisionError" in caplog.text


def test_a_turn_ends_and_the_run_goes_to_the_end_of_the_queue(run_of, alike, monkeypatch):
    run = run_of(alike)
    monkeypatch.setattr(fleets, "TURN_S", -1.0)
    first = run.job_id
    background.run(first)
    assert [item.state for item in items(run)] == [State.WAITING] * 3  # not even one: the next turn does
    monkeypatch.undo()

    run.refresh_from_db()
    assert run.job_id != first
    assert BackgroundJob.objects.get(pk=first).state == BackgroundJob.State.DONE
    work(run)
    assert [item.state for item in items(run)] == [State.DONE] * 3
    background.run(first)  # an old message comes again
    assert Fitout.objects.filter(title="Field wagons").count() == 3


def test_cancelled_between_vehicles_it_keeps_what_is_done(run_of, alike, monkeypatch, estimator):
    run = run_of(alike)
    do = fleet_work.do

    def once(item, job, by):
        do(item, job, by)
        assert fleets.stop(run)

    monkeypatch.setattr(fleet_work, "do", once)
    work(run)
    monkeypatch.undo()

    run.refresh_from_db()
    assert run.job.state == BackgroundJob.State.FAILED
    assert [item.state for item in items(run)] == [State.DONE, State.WAITING, State.WAITING]
    assert not fleets.stop(run)
    assert fleets.go_on(run, by=estimator) == 2
    with pytest.raises(fleets.FleetRefused, match="under way"):
        fleets.go_on(run, by=estimator)
    work(run)
    with pytest.raises(fleets.FleetRefused, match="done"):
        fleets.go_on(run, by=estimator)


def test_what_somebody_took_further_is_left_as_it_is(run_of, alike, estimator):
    run = run_of(alike[:1])
    work(run)
    item = items(run)[0]
    jobs.move(item.fitout, Stage.LOST, by=estimator, reason="went elsewhere")
    FleetItem.objects.update(state=State.FAILED)

    fleets.go_on(run, by=estimator)
    work(run)

    assert "set aside" in items(run)[0].reason


def test_whoever_may_not_open_jobs_any_more_does_not_through_a_run(run_of, alike, estimator):
    run = run_of(alike[:1])
    User.objects.filter(pk=estimator.pk).update(is_active=False)

    job = work(run)

    assert job.state == BackgroundJob.State.FAILED
    assert "may not open jobs" in job.reason
    assert items(run)[0].state == State.WAITING
    manager = make_user(User.Role.MANAGER)
    fleets.go_on(run, by=manager)
    work(run)
    assert items(run)[0].fitout.created_by == manager


# --- What it begins from ---------------------------------------------------------------------------------


def test_the_brief_is_as_it_was_when_the_run_began(run_of, alike, worked_out):
    run = run_of(alike[:1])
    Fitout.objects.filter(pk=worked_out.pk).update(autonomy_days=9.0)
    worked_out.requirements.all().delete()

    work(run)

    made = items(run)[0].fitout
    assert made.autonomy_days != 9.0
    assert made.requirements.count() == len(run.content["lines"]) > 0


def test_from_a_package(alike, worked_out, estimator):
    package = jobs.keep_as_package(worked_out, "Field wagon", by=estimator)
    run = fleets.start(alike[:1], name="Wagons", by=estimator, package=package)

    work(run)

    assert items(run)[0].state == State.DONE
    assert "survey" not in run.content


def test_the_same_parts_in_all(run_of, alike, worked_out):
    run = run_of(alike[:2], parts="same")

    held = run.content["held"]
    chosen = designs.appraisal_of(worked_out.designs.first()).chosen
    assert [(p["role"], p["part"], p["quantity"]) for p in held["picks"]] == [
        (c.role, c.part, c.quantity) for c in chosen
    ]
    work(run)
    assert [(item.state, item.reason) for item in items(run)] == [(State.DONE, "")] * 2
    assert JobPicks.objects.filter(fitout__title="Field wagons").count() == 2
    assert items(run)[0].facts["parts"] == {
        role: [[c.quantity, c.name] for c in chosen if c.role == role] for role in {c.role for c in chosen}
    }


@pytest.mark.parametrize("offer", ["lean", "roomy"])
def test_chosen_anew_for_each_vehicle(offer, run_of, alike, worked_out):
    """By its own survey: what the programme chooses for the same job by itself (``selecting.select``)."""
    Vehicle.objects.filter(pk=alike[1].pk).update(roof_length_m=0.3, roof_width_m=0.3)
    run = run_of(alike[:2], parts="chosen", offer=offer)

    work(run)

    asked = selections.asked_of(worked_out)
    [expected] = select(asked.brief, asked.market, asked.steer, offers=(offer,)).record.offers
    first, no_roof = items(run)
    assert (first.state, first.reason) == (State.DONE, "")
    held = JobPicks.objects.get(fitout=first.fitout)
    assert (held.offer, held.proposal) == (offer, None)
    assert held.picks == [pick.model_dump(mode="json") for pick in expected.picks]
    assert first.facts["dark_ratio"] <= expected.room.dark_chance_ratio
    assert no_roof.state == State.DONE or offer.title() in no_roof.reason
    assert no_roof.facts.get("array_w") != first.facts["array_w"]


def test_no_system_that_is_proved_is_a_reason_that_leads_on(run_of, alike, monkeypatch):
    run = run_of(alike[:1], parts="chosen", offer="roomy")
    nothing = SimpleNamespace(record=SimpleNamespace(offers=()))
    monkeypatch.setattr("quoting.services.fleet_parts.select", lambda *args, **kwargs: nothing)

    work(run)

    item = items(run)[0]
    assert item.state == State.FAILED
    assert "No Roomy system could be chosen and proved for it." in item.reason
    assert f"job {item.fitout.number}" in item.reason
    assert not JobPicks.objects.filter(fitout=item.fitout).exists()


def test_what_the_source_is_held_to_goes_along(run_of, alike, worked_out):
    worked = designs.appraisal_of(worked_out.designs.first())
    battery = next(c for c in worked.chosen if c.role == "battery")
    pick = {"role": "battery", "part": battery.part, "quantity": battery.quantity - 1, "series": 1, "by_hand": True}
    room = {"offer": "roomy", "battery_ratio": 1.3}
    JobPicks.objects.create(fitout=worked_out, offer="roomy", room=room, picks=[pick])
    run = run_of(alike[:1], parts="same")

    work(run)

    item = items(run)[0]
    assert (item.state, item.reason) == (State.DONE, "")
    held = JobPicks.objects.get(fitout=item.fitout)
    assert (held.offer, held.room, held.picks) == ("roomy", room, [pick])
    assert item.facts["parts"]["battery"] == [[battery.quantity - 1, battery.name]]
    assert len(item.facts["open"]) == 1  # one battery fewer is not enough, and it is said


def test_a_vehicle_is_sized_in_one_run_at_a_time(run_of, alike):
    run = run_of(alike[:2])

    with pytest.raises(fleets.FleetRefused, match="XW 502 is being sized already, in the fleet “Field wagons”"):
        run_of(alike[1:])

    work(run)
    assert run_of(alike[1:]).items.count() == 2


REFUSED = {
    "no vehicle": (lambda v, f: ([], {}), "at least one vehicle"),
    "no name": (lambda v, f: (v, {"name": " "}), "Give it a name"),
    "long name": (lambda v, f: (v, {"name": "n" * 121}), "at most 120"),
    "too many": (lambda v, f: (v * 150, {}), "at most 300"),
    "both": (lambda v, f: (v, {"package": jobs.keep_as_package(f, "Kept", by=None)}), "not both"),
    "neither": (lambda v, f: (v, {"source": None}), "not both"),
    "fault": (lambda v, f: (v, {"source": _of_kind(f, "fault")}), "mends a fault"),
    "nothing in it": (lambda v, f: (v, {"source": _emptied(f)}), "nothing to work out"),
    "not worked out": (lambda v, f: (v, {"source": _undesigned(f), "parts": "same"}), "Work it out first"),
    "retired": (lambda v, f: ([_retired(v[0])], {}), "is retired"),
}


def _of_kind(fitout: Fitout, kind: str) -> Fitout:
    fitout.kind = kind
    return fitout


def _emptied(fitout: Fitout) -> Fitout:
    fitout.requirements.all().delete()
    return fitout


def _undesigned(fitout: Fitout) -> Fitout:
    fitout.designs.all().delete()
    return fitout


def _retired(vehicle: Vehicle) -> Vehicle:
    return vehicles.retire_vehicle(vehicle, by=None)


@pytest.mark.parametrize("why", REFUSED)
def test_refused_with_a_reason_and_nothing_begun(why, run_of, alike, worked_out):
    make, words = REFUSED[why]
    rows, more = make(alike, worked_out)

    with pytest.raises(fleets.FleetRefused, match=words):
        run_of(rows, **more)

    assert not FleetItem.objects.exists()
    assert not BackgroundJob.objects.filter(kind="fleet").exists()
