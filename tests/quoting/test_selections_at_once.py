"""Several people at the offers of one job in the same moment: threads on PostgreSQL, one by one on SQLite."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from threading import Barrier
from typing import Any

import pytest
from django.db import connection

from catalog.library.labour import LABOUR
from catalog.services import save_labour
from fitouts.models import Fitout, User
from quoting.models import BackgroundJob, JobPicks, Proposal, Selection
from quoting.services import background, proposals, selections
from quoting.services.briefs import held_to, make_brief
from quoting.sizing.appraise import appraise
from quoting.sizing.brief_choosing import Pick, Room
from quoting.sizing.selecting.facts import facts_of
from tests.factories.jobs import make_user
from tests.factories.wagon import make_wagon

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def wagon(monkeypatch) -> Fitout:
    monkeypatch.setattr(background, "_send", lambda job_id, queue: True)  # no worker takes anything here
    by = make_user(User.Role.ESTIMATOR)
    for operation in LABOUR:
        save_labour(operation, by=by)
    return make_wagon(by)


def at_once(*deeds: Callable[[], Any]) -> list[Any]:
    """What each deed answers, all begun in one moment, each on a connection of its own; one by one on SQLite."""
    if connection.vendor != "postgresql":
        return [deed() for deed in deeds]
    gate = Barrier(len(deeds))

    def do(deed: Callable[[], Any]) -> Any:
        gate.wait(timeout=30)
        try:
            return deed()
        finally:
            connection.close()

    with ThreadPoolExecutor(len(deeds)) as pool:
        return list(pool.map(do, deeds))


def job(wagon: Fitout) -> Fitout:
    return Fitout.objects.get(pk=wagon.pk)


def proposed(wagon: Fitout, selection: Selection) -> list[Proposal]:
    """Two systems made without the programme: the greedy choice held to its battery, with another room each."""
    asked = selections.asked_of(wagon)
    battery = next(one for one in appraise(asked.brief).chosen if one.role == "battery")
    selection.brief = asked.brief.model_dump(mode="json")
    selection.market = asked.market.model_dump(mode="json")
    selection.save()
    made = []
    for offer in ("lean", "steady"):
        pick = Pick(role="battery", part=battery.part, quantity=battery.quantity, series=battery.series)
        brief = held_to(asked.brief, (pick,), Room(offer=offer, spare_outputs=1))  # type: ignore[arg-type]
        appraisal = appraise(brief)
        made.append(
            Proposal.objects.create(
                selection=selection,
                offer=offer,
                room=brief.room.model_dump(mode="json"),
                picks=[pick.model_dump(mode="json")],
                facts=facts_of(brief, appraisal, asked.market).model_dump(mode="json"),
                appraisal=appraisal.model_dump(mode="json"),
                key=appraisal.brief_sha256,
            )
        )
    return made


def test_offers_asked_for_by_many_at_once_are_asked_for_once(wagon):
    answers = at_once(*[lambda: selections.ask(job(wagon), by=None).pk] * 4)

    assert len(set(answers)) == 1
    assert Selection.objects.count() == 1
    assert BackgroundJob.objects.filter(kind="select").count() == 1


def test_systems_taken_and_swapped_at_once_leave_one_held_and_each_design_numbered(wagon):
    lean, steady = proposed(wagon, Selection.objects.create(fitout=wagon, number=1, key="-", method_version="-"))
    option = proposals.swap_options(steady, "battery")[0]

    taken = at_once(
        lambda: proposals.take(Proposal.objects.get(pk=lean.pk), by=None).design.number,
        lambda: proposals.take(Proposal.objects.get(pk=steady.pk), by=None).design.number,
        lambda: proposals.swap(Proposal.objects.get(pk=steady.pk), "battery", option.part, by=None).number,
        lambda: proposals.swap(Proposal.objects.get(pk=steady.pk), "battery", option.part, by=None).number,
    )

    assert JobPicks.objects.count() == 1
    assert sorted(taken[:2]) == [1, 2]
    assert taken[2:] == [1, 1]
    held, newest = proposals.held(wagon), wagon.designs.first()
    assert held.proposal.key == newest.key


def test_a_system_is_taken_while_the_next_offers_are_worked_out(wagon):
    lean, _steady = proposed(wagon, Selection.objects.create(fitout=wagon, number=1, key="-", method_version="-"))
    running = selections.ask(job(wagon), by=None)
    assert background.claim(running.job_id, "a worker") is not None

    taken, again = at_once(
        lambda: proposals.take(Proposal.objects.get(pk=lean.pk), by=None).as_proved,
        lambda: selections.ask(job(wagon), by=None).pk,
    )

    assert taken
    assert again == running.pk
    assert make_brief(job(wagon)).picks == proposals.picks_of(lean)
