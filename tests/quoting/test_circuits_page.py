"""Circuits in full, settled by hand: tried first, kept with a reason, refused by rule and number, taken back."""

from __future__ import annotations

import html
import re

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse

from fitouts.models import Fitout, User
from fitouts.services import audit
from quoting.documents.builders import content_of, open_for
from quoting.models import CircuitChange, Design
from quoting.queries.circuits import circuit_rows
from quoting.queries.circuits_page import circuits_page
from quoting.services import briefs, circuit_changes, designs
from quoting.sizing.appraisal import Circuit
from quoting.sizing.errors import SizingError
from quoting.views.circuits import circuits_url
from tests.factories.jobs import make_user
from tests.quoting.documents import sample
from tests.quoting.documents.many import design_of
from tests.quoting.sizing.many_circuits import many_made

pytestmark = pytest.mark.django_db


def circuit_of(fitout: Fitout, name: str) -> Circuit:
    """A circuit of the latest design, by a piece of its name."""
    return next(c for c in designs.appraisal_of(fitout.designs.first()).circuits if name in c.name)


def address(fitout: Fitout, circuit: Circuit) -> str:
    return reverse("circuit_change", args=[fitout.pk, circuit.key])


def thicker(circuit: Circuit) -> float:
    """A size over the one it has, that the library has too."""
    return next(a for a in (2.5, 4.0, 6.0, 10.0, 16.0, 25.0, 35.0, 50.0, 70.0) if a > circuit.area_mm2)


def said(response) -> str:
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]*>", " ", response.content.decode())))


@pytest.fixture
def desk(client, estimator):
    client.force_login(estimator)
    return client


# --- The page ----------------------------------------------------------------------------------------


def test_every_circuit_stands_once_in_its_group_with_the_numbers_of_the_design(desk, worked_out):
    text = desk.get(reverse("circuits", args=[worked_out.pk])).content.decode()
    circuits = designs.appraisal_of(worked_out.designs.first()).circuits

    assert sorted(re.findall(r'id="circuit-(\w+)"', text)) == sorted(c.tag for c in circuits)
    for code in ("sources", "boards"):
        assert f'id="{code}"' in text
    feed = next(c for c in circuits if c.role == "engine_feed")
    row = said(desk.get(reverse("circuits", args=[worked_out.pk])))
    assert f"{feed.tag} Engine feed" in row
    assert "fault 3.03 kA, breaks" in row
    assert "By ISO 10133's own formula" in row
    assert "Asked of the licensed person" in row


def test_a_group_is_where_it_is_built(worked_out):
    page = circuits_page(worked_out.designs.first(), [], [])

    of_role = {at.row.role: group.code for group in page.groups for at in group.circuits}
    assert of_role["engine_feed"] == of_role["battery_main"] == of_role["inverter_feed"] == "sources"
    assert of_role["distribution"] == "boards"
    assert of_role["load"].startswith("board-")
    assert {group.title for group in page.groups} >= {"Sources and feeds", "Boards", "Always live", "Away set"}


def test_sixty_circuits_of_every_role_are_each_shown_once(desk, worked_out):
    brief, appraisal = many_made(60, volts=24, converters=1, senses=6)
    design = worked_out.designs.first()
    Design.objects.filter(pk=design.pk).update(
        brief=brief.model_dump(mode="json"), appraisal=appraisal.model_dump(mode="json")
    )

    page = circuits_page(Design.objects.get(pk=design.pk), [], [])

    shown = [at.row.tag for group in page.groups for at in group.circuits]
    assert sorted(shown) == sorted(c.tag for c in appraisal.circuits)
    assert len(shown) >= 60
    assert {"converters", "signals"} <= {group.code for group in page.groups}
    assert desk.get(reverse("circuits", args=[worked_out.pk])).status_code == 200


def test_the_page_takes_a_fixed_number_of_queries(desk, worked_out, estimator, django_assert_num_queries):
    url = reverse("circuits", args=[worked_out.pk])
    desk.get(url)
    with django_assert_num_queries(QUERIES):
        desk.get(url)
    for circuit in designs.appraisal_of(worked_out.designs.first()).circuits[:6]:
        CircuitChange.objects.create(
            fitout=worked_out, circuit=circuit.key, name=circuit.name, values={"run_m": 2.0}, reason="as measured"
        )

    with django_assert_num_queries(QUERIES):
        desk.get(url)


QUERIES = 32
"""Of the page of circuits: most of them make the Brief that says what has changed since the design."""


def test_a_job_without_a_design_says_so(desk, worked_out):
    worked_out.designs.all().delete()

    assert "Circuits follow when the job is worked out." in said(desk.get(reverse("circuits", args=[worked_out.pk])))


# --- A change that is kept ---------------------------------------------------------------------------


def test_a_change_is_kept_with_who_and_why_and_counts_once_worked_out(desk, worked_out, estimator):
    feed = circuit_of(worked_out, "Engine feed")
    area = thicker(feed)
    form = {"area_mm2": repr(area), "reason": "The old grommet takes it", "seen": "0"}

    answer = desk.post(address(worked_out, feed), form, follow=True)

    assert answer.redirect_chain == [(circuits_url(worked_out, feed.tag), 302)]
    assert "It counts once the job is worked out again." in said(answer)
    assert f"Changed since this design was made: conductor {area:g} mm²" in said(answer).replace("\xa0", " ")
    row = CircuitChange.objects.get()
    assert (row.values, row.reason, row.changed_by) == ({"area_mm2": area}, "The old grommet takes it", estimator)
    assert "was settled by hand" in " ".join(
        c.words for c in designs.changes_since(worked_out.designs.first(), worked_out)
    )

    desk.post(reverse("job_work_out", args=[worked_out.pk]), {"next": "circuits"})

    now = circuit_of(worked_out, "Engine feed")
    assert now.area_mm2 == area
    assert [(c.field, c.before, c.after) for c in now.changed] == [("area_mm2", feed.area_mm2, area)]
    text = said(desk.get(reverse("circuits", args=[worked_out.pk]) + "?show=changed"))
    assert "The old grommet takes it" in text
    assert "Changed by hand 1" in text
    assert "Battery main" not in text


def test_a_change_again_takes_the_place_of_the_first_and_stays_in_the_history(worked_out, estimator):
    feed = circuit_of(worked_out, "Engine feed")
    circuit_changes.settle(worked_out, feed.key, feed.name, {"run_m": feed.run_m + 1}, "along the sill", by=estimator)

    circuit_changes.settle(worked_out, feed.key, feed.name, {"run_m": feed.run_m + 2}, "over the arch", by=estimator)

    row = CircuitChange.objects.get()
    assert row.values == {"run_m": feed.run_m + 2}
    assert [h.reason for h in row.history.all()] == ["over the arch", "along the sill"]


def test_taken_back_the_circuit_is_as_worked_out(desk, worked_out, estimator):
    feed = circuit_of(worked_out, "Engine feed")
    row = circuit_changes.settle(worked_out, feed.key, feed.name, {"area_mm2": thicker(feed)}, "spare", by=estimator)

    answer = desk.post(reverse("circuit_change_remove", args=[worked_out.pk, row.pk]), follow=True)

    assert "the change is taken back" in said(answer)
    assert not CircuitChange.objects.exists()
    assert CircuitChange.history.first().history_user_id == estimator.pk
    assert designs.is_current(worked_out.designs.first(), worked_out)


def test_in_place_the_row_comes_back_with_what_has_changed(desk, worked_out):
    feed = circuit_of(worked_out, "Engine feed")
    form = {"area_mm2": repr(thicker(feed)), "reason": "The old grommet takes it", "seen": "0"}

    opened = desk.get(address(worked_out, feed), headers={"HX-Request": "true"})
    answer = desk.post(address(worked_out, feed), form, headers={"HX-Request": "true"})

    assert b"<form" in opened.content
    assert b"<html" not in opened.content
    assert answer.headers["HX-Retarget"] == "#circuits-state"
    assert f'<tbody id="circuit-{feed.tag}" hx-swap-oob="true">' in answer.content.decode()
    assert b'id="circuits-state"' in answer.content
    assert "Work it out again" in said(answer)


# --- A change that is refused ------------------------------------------------------------------------


def test_what_nothing_overrides_is_refused_with_rule_and_numbers_and_nothing_is_kept(desk, worked_out):
    lights = circuit_of(worked_out, "lights")
    form = {"area_mm2": repr(lights.area_mm2), "rating_a": "100.0", "reason": "Was in the box", "seen": "0"}

    answer = desk.post(address(worked_out, lights), form)

    assert answer.status_code == 422
    text = said(answer).replace("\xa0", " ")
    assert re.search(r"A device of 100 A on a conductor that carries [\d.]+ A where it lies", text)
    assert "Was in the box" in answer.content.decode()  # what was typed is still there
    assert not CircuitChange.objects.exists()
    assert not CircuitChange.history.exists()


@pytest.mark.parametrize(
    ("values", "code"),
    [
        ({"area_mm2": 0.75}, {"least_area", "ampacity", "device_over_cable", "cable_not_in_catalogue", "drop"}),
        ({"rating_a": 5.0}, {"under_current", "device_not_in_catalogue"}),
        ({"area_mm2": 37.0}, {"cable_not_in_catalogue"}),
        ({"drop_limit_ratio": 0.005}, {"drop"}),
        ({"return_by": "chassis"}, {"return_not_allowed"}),
    ],
)
def test_each_refusal_names_its_rule(worked_out, estimator, values, code):
    feed = circuit_of(worked_out, "Engine feed")

    with pytest.raises(circuit_changes.ChangeRefused) as refused:
        circuit_changes.settle(worked_out, feed.key, feed.name, values, "wanted so", by=estimator)

    assert {one.code for one in refused.value.refused} & code, refused.value.refused
    assert not CircuitChange.objects.exists()


def test_no_such_circuit_is_refused_and_has_no_page(desk, worked_out, estimator):
    with pytest.raises(circuit_changes.ChangeRefused) as refused:
        circuit_changes.settle(worked_out, "feed_W99", "Feed", {"run_m": 2.0}, "as measured", by=estimator)

    assert [one.code for one in refused.value.refused] == ["no_such_circuit"]
    assert desk.get(reverse("circuit_change", args=[worked_out.pk, "feed_W99"])).status_code == 404


@pytest.mark.parametrize(
    ("form", "words"),
    [
        ({"reason": "because"}, "Nothing is changed yet"),
        ({"run_m": "3"}, "This field is required"),
        ({"run_m": "300", "reason": "because"}, "It is 300 m; it must be at least 0.1 m and at most 100 m"),
        ({"drop_limit_ratio": "40", "reason": "because"}, "at most 15 %"),
        ({"area_mm2": "nonsense", "reason": "because"}, "Select a valid choice"),
        ({"run_m": "3", "reason": "x"}, "at least 3 characters"),
    ],
)
def test_entries_that_cannot_be_are_named(desk, worked_out, form, words):
    answer = desk.post(address(worked_out, circuit_of(worked_out, "Engine feed")), {"seen": "0", **form})

    assert answer.status_code == 422
    assert words in said(answer).replace("\xa0", " ")
    assert not CircuitChange.objects.exists()


def test_the_service_names_field_value_range_and_unit(worked_out, estimator):
    with pytest.raises(SizingError, match=r"run_m is 300.*m; it must be at least 0.1 m and at most 100 m"):
        circuit_changes.settle(worked_out, "engine_feed", "Engine feed", {"run_m": 300.0}, "measured", by=estimator)
    with pytest.raises((SizingError, ValidationError)):
        circuit_changes.settle(worked_out, "engine_feed", "Engine feed", {"run_m": 3.0}, " ", by=estimator)


def test_a_kept_change_that_no_longer_holds_says_why(desk, worked_out, estimator):
    lights = circuit_of(worked_out, "lights")
    device = next(d for d in lights.devices if d.what in ("fuse", "breaker"))
    circuit_changes.settle(
        worked_out, lights.key, lights.name, {"area_mm2": lights.area_mm2, "rating_a": device.rating_a}, "as drawn",
        by=estimator,
    )  # fmt: skip
    line = worked_out.requirements.get(pk=int(lights.key.removeprefix("load:")))
    audit.change_line(line, {"quantity": 8}, by=estimator, check=briefs.check_line)

    designs.work_out(worked_out, by=estimator)

    text = said(desk.get(reverse("circuits", args=[worked_out.pk]) + "?show=refused"))
    assert "Change refused 1" in text
    assert f"A change to {lights.name} is not taken" in text
    assert CircuitChange.objects.count() == 1  # nobody took it back


def test_a_change_for_a_circuit_that_is_gone_can_be_taken_back(desk, worked_out, estimator):
    lights = circuit_of(worked_out, "lights")
    row = circuit_changes.settle(worked_out, lights.key, lights.name, {"run_m": 3.0}, "as measured", by=estimator)
    audit.remove_line(worked_out.requirements.get(pk=int(lights.key.removeprefix("load:"))), by=estimator)
    designs.work_out(worked_out, by=estimator)

    answer = desk.get(reverse("circuits", args=[worked_out.pk]))

    assert f"“{lights.name}” was changed by hand (as measured); this design has no such circuit." in said(answer)
    assert reverse("circuit_change_remove", args=[worked_out.pk, row.pk]) in answer.content.decode()


# --- Who, and two at once ----------------------------------------------------------------------------


def test_a_technician_sees_what_was_settled_and_changes_nothing(client, worked_out, estimator):
    feed = circuit_of(worked_out, "Engine feed")
    circuit_changes.settle(worked_out, feed.key, feed.name, {"run_m": feed.run_m + 1}, "along the sill", by=estimator)
    designs.work_out(worked_out, by=estimator)
    client.force_login(make_user(User.Role.TECHNICIAN))

    text = client.get(reverse("circuits", args=[worked_out.pk])).content.decode()

    assert "along the sill" in text
    assert "Change by hand" not in text
    assert client.get(address(worked_out, feed)).status_code == 403
    assert client.post(address(worked_out, feed), {"run_m": "3", "reason": "mine"}).status_code == 403


def test_two_people_at_one_circuit_are_told_of_one_another(desk, worked_out, estimator):
    feed = circuit_of(worked_out, "Engine feed")
    mine = {"run_m": "6", "reason": "Along the sill", "seen": "0"}
    manager = make_user(User.Role.MANAGER)
    row = circuit_changes.settle(worked_out, feed.key, feed.name, {"run_m": 7.0}, "over the arch", by=manager)

    first = desk.post(address(worked_out, feed), mine)
    seen = re.search(r'name="seen" value="(\d+)"', first.content.decode())[1]
    circuit_changes.take_back(row, by=manager)
    second = desk.post(address(worked_out, feed), {**mine, "seen": seen})
    third = desk.post(address(worked_out, feed), mine)

    assert "This record was saved elsewhere while it was open here" in said(first)
    assert "was taken back while it was open here" in said(second)
    assert third.status_code == 302
    assert CircuitChange.objects.get().values == {"run_m": 6.0}


def test_a_name_with_a_slash_has_an_address(desk, worked_out, estimator):
    line = worked_out.requirements.get(pk=int(circuit_of(worked_out, "lights").key.removeprefix("load:")))
    audit.change_line(line, {"circuit": "Lamps/left ../ 50%?"}, by=estimator, check=briefs.check_line)
    designs.work_out(worked_out, by=estimator)
    circuit = next(c for c in designs.appraisal_of(worked_out.designs.first()).circuits if "Lamps/left" in c.key)

    page = desk.get(reverse("circuits", args=[worked_out.pk])).content.decode()
    link = next(x for x in re.findall(r'href="([^"]+/circuits/[^"#]+/)"', page) if "Lamps" in x)

    assert ".." not in link.split("/")
    assert f"{circuit.tag} {circuit.name}" in said(desk.get(html.unescape(link)))


def test_who_settles_a_circuit_while_another_is_tried_is_not_overwritten(desk, worked_out, monkeypatch):
    """Trying takes its time: what was looked at before it may be another by then."""
    circuit = circuit_of(worked_out, "Engine feed")
    other = make_user(User.Role.ESTIMATOR, "second")
    tried = circuit_changes.try_change

    def slowly(brief, change):
        monkeypatch.setattr(circuit_changes, "try_change", tried)
        circuit_changes.settle(worked_out, circuit.key, circuit.name, {"run_m": 3.1}, "Measured it", by=other)
        return tried(brief, change)

    monkeypatch.setattr(circuit_changes, "try_change", slowly)
    entries = {"run_m": "3.7", "reason": "Measured again", "seen": "0"}
    first = desk.post(address(worked_out, circuit), entries)

    assert first.status_code == 422
    assert "Somebody else settled this circuit just now" in said(first)
    assert worked_out.circuit_changes.get().values == {"run_m": 3.1}
    again = desk.post(address(worked_out, circuit), entries)  # told by whom and what
    assert "Save again to put your entries in its place" in said(again)
    assert worked_out.circuit_changes.get().values == {"run_m": 3.1}


def test_page_and_paper_say_the_same_of_a_circuit():
    """One technician reads both: the same decimals, the same dash where nothing is claimed."""
    brief, appraisal = many_made(20, senses=4)
    frozen = open_for("wiring", design_of(20, senses=4), sample.PERSONAL, sample.CHECKSUM)
    printed = {row.tag: row for row in content_of("wiring", frozen).schedule}

    assert {row.left for row in printed.values()} & {""}
    for row in circuit_rows(appraisal, brief):
        paper = printed[row.tag]
        assert (row.current.number if row.current else "–") == paper.current
        assert row.run.number == paper.length
        assert (row.drop.number if row.drop else "–") == paper.drop
        assert (row.ampacity.number if row.ampacity else "–") == paper.ampacity
        assert (f"left {row.left.number}" if row.left else "") == paper.left
        assert (row.voltage.number if row.voltage else "–") == paper.volts


def test_each_circuit_names_its_way_before_it_is_opened(desk, worked_out):
    appraisal = designs.appraisal_of(worked_out.designs.latest("number"))
    text = desk.get(reverse("circuits", args=[worked_out.pk])).content.decode()

    rows = circuit_rows(appraisal, designs.brief_of(worked_out.designs.latest("number")))
    assert len({row.way for row in rows}) > 2
    for row in rows:
        start = text.index(f'<tbody id="circuit-{row.tag}"')
        assert html.escape(row.way) in text[start : text.index("<details", start)]


@pytest.mark.parametrize("reason", ["\u202e\u202e\u202e\u202e", "\u200b \u2060 \u200b", "a\u200b\u200b b"])
def test_a_reason_that_nobody_can_read_is_none(desk, worked_out, reason):
    circuit = circuit_of(worked_out, "Engine feed")

    answer = desk.post(address(worked_out, circuit), {"run_m": "3.7", "reason": reason})

    assert answer.status_code == 422
    assert "Say in words why" in said(answer)
    assert not worked_out.circuit_changes.exists()
    with pytest.raises(SizingError, match="letters at least"):
        circuit_changes.change_of(circuit.key, {"run_m": 3.7}, reason)
