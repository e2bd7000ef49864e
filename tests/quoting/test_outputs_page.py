"""Switched outputs laid out by hand: tried, kept whole or refused with numbers; taken back; two people at once."""

from __future__ import annotations

import html
import re
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from catalog.library.components import COMPONENTS
from catalog.models import Component
from catalog.services import save_component
from fitouts.models import Fitout, User
from fitouts.services import fitouts, senses
from quoting.models import InputPlace, OutputPlace
from quoting.queries.outputs import outputs_page
from quoting.services import briefs, designs, layouts, package_price, sense_inputs
from tests.factories.jobs import make_user

pytestmark = pytest.mark.django_db


@pytest.fixture
def desk(estimator) -> Client:
    client = Client()
    client.force_login(estimator)
    return client


@pytest.fixture
def design(worked_out):
    return designs.latest_of(worked_out)


def text_of(response) -> str:
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]+>", " ", response.content.decode())))


def places(fitout: Fitout) -> dict[str, tuple[int, int]]:
    """By circuit's name, module and output as the page shows them."""
    page = outputs_page(designs.latest_of(fitout), layouts.rows_of(fitout))
    return {s.on.name: (s.module, s.channel) for block in page.blocks for s in block.slots if s.on}


def spare(fitout: Fitout, least_a: float = 0.0) -> tuple[int, int]:
    page = outputs_page(designs.latest_of(fitout), layouts.rows_of(fitout))
    found = [s for block in page.blocks for s in block.slots if s.on is None and s.limit_a >= least_a]
    return found[0].module, found[0].channel


def hung(fitout: Fitout, held: str = "") -> list:
    page = outputs_page(designs.latest_of(fitout), layouts.rows_of(fitout), held)
    return [s.on for block in page.blocks for s in block.slots if s.on]


def state(fitout: Fitout) -> str:
    return layouts.state_of(layouts.rows_of(fitout))


def send(desk: Client, fitout: Fitout, circuit: str, to: tuple[int, int], seen: str | None = None, **more: str):
    entries = {"circuit": circuit, "module": to[0], "channel": to[1], "seen": state(fitout) if seen is None else seen}
    return desk.post(reverse("output_move", args=[fitout.pk]), entries, follow=True, headers=more)


# --- The page ----------------------------------------------------------------------------------------


def test_the_page_shows_what_the_design_laid_out(desk, worked_out, design):
    shown = {(c["circuit_name"], c["module"], c["channel"]) for c in design.appraisal["channels"]}

    assert {(name, *place) for name, place in places(worked_out).items()} == shown
    answer = text_of(desk.get(reverse("outputs", args=[worked_out.pk])))
    assert all(name in answer for name, *_ in shown)
    assert "laid out by themselves" in answer


def test_the_page_takes_as_many_queries_for_any_number_of_things_watched(
    desk, worked_out, estimator, django_assert_num_queries
):
    at = worked_out.vehicle.positions.first()
    url = reverse("outputs", args=[worked_out.pk])
    desk.get(url)
    for count in (1, 6):
        while worked_out.sense_points.count() < count:
            senses.add(worked_out, by=estimator, name="Fresh water", what="tank", position=at)
        with django_assert_num_queries(31):  # roof areas, battery spaces and the parts the job is held to among them
            desk.get(url)


def test_a_circuit_that_is_held_is_offered_where_it_fits_and_nowhere_else(worked_out):
    largest = max(hung(worked_out), key=lambda one: one.least_a)

    page = outputs_page(designs.latest_of(worked_out), (), largest.key)

    for block in page.blocks:
        for slot in block.slots:
            if slot.limit_a < largest.least_a:
                assert not slot.takes
                assert "too much" in slot.why_not
            assert slot.takes == (not slot.held and not slot.why_not)


def test_a_technician_looks_and_is_offered_nothing_to_press(worked_out):
    client = Client()
    client.force_login(make_user(User.Role.TECHNICIAN, "looker"))

    answer = client.get(reverse("outputs", args=[worked_out.pk])).content.decode()

    assert 'class="slots"' in answer
    assert "output_move" not in answer
    assert "?held=" not in answer
    assert reverse("sense_add", args=[worked_out.pk]) not in answer


# --- Moving ------------------------------------------------------------------------------------------


def test_a_move_is_kept_and_nothing_else_jumps(desk, worked_out):
    before, one = places(worked_out), hung(worked_out)[0]
    to = spare(worked_out, one.least_a)

    answer = text_of(send(desk, worked_out, one.key, to))

    assert f"{one.name} is on output {to[1]} of module {to[0]}." in answer
    assert places(worked_out) == {**before, one.name: to}
    assert worked_out.output_places.count() == len(before)


def test_the_design_takes_the_layout_and_says_before_that_it_is_older(desk, worked_out, estimator):
    one = hung(worked_out)[0]
    to = spare(worked_out, one.least_a)
    send(desk, worked_out, one.key, to)

    assert not designs.is_current(designs.latest_of(worked_out), worked_out)
    again = designs.appraisal_of(designs.work_out(worked_out, by=estimator))

    row = next(c for c in again.channels if c["key"] == one.key)
    assert (row["module"], row["channel"], row["laid"]) == (*to, True)
    assert not [f for f in again.findings if f.code.startswith("laid_")]


def test_what_hangs_there_changes_places(desk, worked_out):
    before = places(worked_out)
    first, second = sorted(hung(worked_out), key=lambda one: one.least_a)[:2]

    answer = text_of(send(desk, worked_out, first.key, before[second.name]))

    assert f"{second.name} changed places with it." in answer
    assert places(worked_out) == {**before, first.name: before[second.name], second.name: before[first.name]}


def test_a_move_that_does_not_fit_says_why_with_numbers_and_keeps_nothing(desk, worked_out, design):
    one = max(hung(worked_out), key=lambda each: each.least_a)
    limits = design.appraisal["modules"][0]["limits_a"]
    small = next(c for c, limit in enumerate(limits, start=1) if limit < one.least_a)

    answer = text_of(send(desk, worked_out, one.key, (1, small)))

    assert re.search(rf"output {small} of module 1 carries {limits[small - 1]:g}\s?A: [\d.]+\s?A too much", answer)
    assert not worked_out.output_places.exists()


@pytest.mark.parametrize(
    ("circuit", "to", "words"),
    [
        ("load:nosuch", (1, 1), "no such circuit"),
        ("", (1, 1), "no such circuit"),
        (None, (9, 1), "there is no output 1 on module 9"),
        (None, (1, 64), "there is no output 64 on module 1"),
        (None, (0, 1), "Choose a circuit and an output"),
        (None, ("x", "²"), "Choose a circuit and an output"),
        (None, (10**30, 1), "Choose a circuit and an output"),
    ],
)
def test_a_move_to_nowhere_is_refused_in_words(desk, worked_out, circuit, to, words):
    one = hung(worked_out)[0]

    answer = text_of(send(desk, worked_out, one.key if circuit is None else circuit, to))

    assert words in answer
    assert not worked_out.output_places.exists()


def test_with_htmx_only_the_outputs_come_back(desk, worked_out):
    one = hung(worked_out)[0]

    answer = send(desk, worked_out, one.key, spare(worked_out, one.least_a), **{"HX-Request": "true"})

    body = answer.content.decode()
    assert "<html" not in body
    assert body.lstrip().startswith('<div id="outputs"')
    assert 'id="messages"' in body


# --- Taken back, laid out by itself, two at once ------------------------------------------------------


def test_the_last_move_is_taken_back(desk, worked_out):
    before, one = places(worked_out), hung(worked_out)[0]
    send(desk, worked_out, one.key, spare(worked_out, one.least_a))

    answer = text_of(desk.post(reverse("outputs_undo", args=[worked_out.pk]), follow=True))
    again = text_of(desk.post(reverse("outputs_undo", args=[worked_out.pk]), follow=True))

    assert "The last move is taken back." in answer
    assert "no move of yours to take back" in again
    assert places(worked_out) == before
    assert not worked_out.output_places.exists()


def test_laid_out_by_itself_again_and_that_too_is_taken_back(desk, worked_out):
    before, one = places(worked_out), hung(worked_out)[0]
    to = spare(worked_out, one.least_a)
    send(desk, worked_out, one.key, to)

    desk.post(reverse("outputs_clear", args=[worked_out.pk]), {"seen": state(worked_out)})
    assert places(worked_out) == before
    desk.post(reverse("outputs_undo", args=[worked_out.pk]))

    assert places(worked_out)[one.name] == to


def test_a_move_on_a_page_that_is_older_than_somebody_elses_move_is_refused(desk, worked_out):
    other = make_user(User.Role.MANAGER, "odile", first_name="Odile", last_name="Fenn")
    one, second = hung(worked_out)[:2]
    seen = state(worked_out)
    layouts.move(
        worked_out, designs.latest_of(worked_out), one.key, spare(worked_out, one.least_a), seen=seen, by=other
    )
    kept = layouts.rows_of(worked_out)

    answer = text_of(send(desk, worked_out, second.key, spare(worked_out, second.least_a), seen=seen))

    assert f"{other} moved circuits while this page was open" in answer
    assert layouts.rows_of(worked_out) == kept


def test_a_move_is_not_taken_back_over_somebody_elses(desk, worked_out):
    one, second = hung(worked_out)[:2]
    send(desk, worked_out, one.key, spare(worked_out, one.least_a))
    other = make_user(User.Role.MANAGER, "odile")
    to = spare(worked_out, second.least_a)
    layouts.move(worked_out, designs.latest_of(worked_out), second.key, to, seen=state(worked_out), by=other)

    answer = text_of(desk.post(reverse("outputs_undo", args=[worked_out.pk]), follow=True))

    assert "laid out anew since your move" in answer
    assert places(worked_out)[second.name] == to


def test_history_says_who_laid_a_circuit(desk, worked_out, estimator):
    one = hung(worked_out)[0]
    send(desk, worked_out, one.key, spare(worked_out, one.least_a))

    row = OutputPlace.history.filter(fitout_id=worked_out.pk, circuit=one.key).first()
    assert (row.history_user, row.history_type) == (estimator, "+")


# --- What is watched ---------------------------------------------------------------------------------


def watched(**change: object) -> dict[str, object]:
    return {"name": "Fresh water", "what": "tank", "component": "", "input": "", **change}


def test_something_to_watch_is_added_changed_and_taken_out(desk, worked_out):
    at = worked_out.vehicle.positions.first()
    desk.post(reverse("sense_add", args=[worked_out.pk]), watched(position=at.pk))
    point = worked_out.sense_points.get()
    assert (point.name, point.what, point.position) == ("Fresh water", "tank", at)

    desk.post(reverse("sense_edit", args=[worked_out.pk, point.pk]), watched(position=at.pk, name="Grey water"))
    point.refresh_from_db()
    assert point.name == "Grey water"

    desk.post(reverse("sense_remove", args=[worked_out.pk, point.pk]))
    assert not worked_out.sense_points.exists()


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"name": ""}, "This field is required"),
        ({"what": "smell"}, "not one of the available choices"),
        ({"position": ""}, "This field is required"),
        ({"position": "999999"}, "not one of the available choices"),
        ({"input": "resistance.99.1"}, "not one of the available choices"),
    ],
)
def test_a_wrong_entry_is_said_at_its_field_and_nothing_is_kept(desk, worked_out, change, words):
    at = worked_out.vehicle.positions.first()

    answer = desk.post(reverse("sense_add", args=[worked_out.pk]), watched(position=at.pk) | change)

    assert answer.status_code == 422
    assert words in text_of(answer)
    assert not worked_out.sense_points.exists()


def test_a_component_that_does_not_tell_what_is_watched_is_refused(worked_out, estimator):
    battery = Component.objects.filter(kind="battery").first()
    at = worked_out.vehicle.positions.first()

    with pytest.raises(ValidationError, match="does not tell this: level of a tank"):
        senses.add(worked_out, by=estimator, name="Water", what="tank", position=at, component=battery)


def test_an_input_is_given_once(worked_out, estimator):
    at = worked_out.vehicle.positions.first()
    values = {"what": "tank", "position": at, "component": None}
    fresh = sense_inputs.add(worked_out, place=(1, 1), by=estimator, name="Fresh", **values)

    with pytest.raises(ValidationError, match="“Fresh” was given that input"):
        sense_inputs.add(worked_out, place=(1, 1), by=estimator, name="Grey", **values)
    sense_inputs.change(fresh, place=None, by=estimator, name="Fresh", **values)

    assert not InputPlace.objects.exists()


def test_a_sensor_named_by_a_person_is_counted_on_though_it_was_retired_since(worked_out, estimator):
    made = next(c for c in COMPONENTS if c["kind"] == "tank_sender")
    sensor = save_component(made["kind"], made["spec"], name="Sender", cost=Decimal(30), by=estimator)
    assert senses.tells(sensor, "tank")
    assert not senses.tells(sensor, "temperature")
    at = worked_out.vehicle.positions.first()
    point = senses.add(worked_out, by=estimator, name="Fresh", what="tank", position=at, component=sensor)
    Component.objects.filter(pk=sensor.pk).update(retired_at=timezone.now())

    brief = briefs.make_brief(worked_out)

    assert [(s.key, s.part) for s in brief.senses] == [(str(point.pk), str(sensor.pk))]
    assert str(sensor.pk) in {part.key for part in brief.catalogue}


def test_a_package_carries_what_is_watched_into_its_price_and_its_jobs(worked_out, estimator):
    at = worked_out.vehicle.positions.first()
    senses.add(worked_out, by=estimator, name="Fresh", what="tank", position=at)
    package = fitouts.keep_as_package(worked_out, "Wagon", by=estimator)

    priced, _which = package_price.brief_of(package)
    job = fitouts.open_from_package(package, worked_out.vehicle, by=estimator)

    assert [(s.name, s.what) for s in priced.senses] == [("Fresh", "tank")]
    assert list(job.sense_points.values_list("name", "position")) == [("Fresh", at.pk)]


def test_a_job_opened_from_another_watches_the_same_where_the_place_is_there(worked_out, estimator):
    first, second = worked_out.vehicle.positions.all()[:2]
    for name, at in (("Fresh", first), ("Grey", second)):
        senses.add(worked_out, by=estimator, name=name, what="tank", position=at)

    copy = fitouts.open_from(worked_out, worked_out.vehicle, by=estimator, title="Again")

    assert list(copy.sense_points.values_list("name", "position")) == [("Fresh", first.pk), ("Grey", second.pk)]
    assert not copy.output_places.exists()
