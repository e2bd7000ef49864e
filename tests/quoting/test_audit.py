"""Lines of the power audit: kept whole or not at all; totals move while somebody types."""

from __future__ import annotations

from typing import Any

import pytest
from django.urls import reverse

from catalog import services as catalog
from fitouts.models import Customer, Fitout, Requirement, User, Workshop
from fitouts.services import audit
from fitouts.services import fitouts as jobs
from quoting.queries.jobs import use_words
from quoting.services import audit_day, designs
from quoting.services.briefs import check_line
from quoting.sizing.errors import SizingError
from tests.factories.jobs import make_user, make_workshop
from tests.factories.wagon import make_vehicle, make_wagon

pytestmark = pytest.mark.django_db

STEADY = {
    "name": "Satellite terminal",
    "quantity": "1",
    "bus": "house",
    "way": "steady",
    "spec_power_w": "38",
    "spec_hours_per_day": "5",
    "spec_duty_ratio": "100",
    "window_start_h": "0",
    "window_end_h": "24",
    "power_factor": "1",
    "start_multiple": "1",
    "start_s": "0",
    "at_once": "on",
}
EVENT = {
    **STEADY,
    "way": "event",
    "name": "Kettle",
    "spec_power_w": "700",
    "spec_minutes": "6",
    "spec_times_per_day": "2",
}
COOLING = {
    **STEADY,
    "way": "cooling",
    "name": "Refrigerator",
    "spec_power_w": "58",
    "spec_rated_duty_ratio": "36",
    "spec_rated_ambient_c": "30",
    "spec_inside_c": "3",
}
RECHARGE = {
    **STEADY,
    "way": "recharge",
    "name": "Drone packs",
    "spec_pack_wh": "77",
    "spec_charges_per_day": "3",
    "spec_charger_efficiency_ratio": "86",
    "spec_power_w": "120",
}


@pytest.fixture
def estimator() -> User:
    make_workshop()
    return make_user()


@pytest.fixture
def fitout(estimator: User) -> Fitout:
    vehicle, _places = make_vehicle(Customer.objects.create(name="Venn Field Geology"))
    return jobs.open_job(vehicle.customer, vehicle, "Field wagon", by=estimator)


@pytest.fixture
def page(client: Any, estimator: User) -> Any:
    client.force_login(estimator)
    return client


def add(page: Any, fitout: Fitout, typed: dict[str, str], **changed: str) -> Any:
    values = {k: v for k, v in {**typed, **changed}.items() if v is not None}
    return page.post(reverse("line_add", args=[fitout.pk]), values, headers={"HX-Request": "true"})


@pytest.mark.parametrize("typed", [STEADY, EVENT, COOLING, RECHARGE], ids=lambda t: t["way"])
def test_all_four_ways_of_use_are_kept(page, fitout, typed):
    answer = add(page, fitout, typed)

    line = Requirement.objects.get()
    spec = {k.removeprefix("spec_") for k in typed if k.startswith("spec_")}
    needed = {"duty_ratio"} if typed["way"] == "steady" else set()
    assert answer.headers["HX-Retarget"] == "#audit-matter"
    assert line.way == typed["way"]
    assert set(line.use) == (spec - {"hours_per_day", "duty_ratio"} if typed["way"] != "steady" else spec | needed)
    assert line.history.get().history_user == User.objects.get()


WRONG = [
    (STEADY, "spec_power_w", "-38", "−38\N{NO-BREAK SPACE}W", "at least 0.01"),
    (STEADY, "spec_power_w", "1,500", "1.5", "1500"),
    (STEADY, "spec_power_w", "0", "at least 0.01\N{NO-BREAK SPACE}W", "20\u202f000"),
    (STEADY, "spec_power_w", "30000", "at most 20\u202f000\N{NO-BREAK SPACE}W", ""),
    (STEADY, "spec_power_w", "", "must", ""),
    (STEADY, "spec_power_w", "plenty", "“plenty” is not a number", ""),
    (STEADY, "spec_power_w", "38 V", "“V” is not a unit of this field; use W", ""),
    (STEADY, "spec_power_w", "NaN", "not a number", ""),
    (STEADY, "spec_hours_per_day", "25", "25\N{NO-BREAK SPACE}h", "at most 24\N{NO-BREAK SPACE}h"),
    (STEADY, "spec_duty_ratio", "130", "130\N{NO-BREAK SPACE}%", "at most 100\N{NO-BREAK SPACE}%"),
    (STEADY, "shed_below_ratio", "96", "96\N{NO-BREAK SPACE}%", "at most 95\N{NO-BREAK SPACE}%"),
    (STEADY, "window_end_h", "3", "5 h a day, but its window is 3 h long", ""),
    (STEADY, "window_start_h", "30", "30\N{NO-BREAK SPACE}h", "at most 24\N{NO-BREAK SPACE}h"),
    (STEADY, "quantity", "0", "at least 1", ""),
    (STEADY, "quantity", "1.5", "whole number", ""),
    (STEADY, "power_factor", "0", "at least 0.1", ""),
    (STEADY, "start_multiple", "40", "at most 12", ""),
    (STEADY, "min_voltage_v", "120", "at most 60\N{NO-BREAK SPACE}V", ""),
    (STEADY, "bus", "moon", "Select a valid choice", ""),
    (STEADY, "name", "", "required", ""),
    (EVENT, "spec_minutes", "1441", "at most 1\u202f440\N{NO-BREAK SPACE}min", ""),
    (EVENT, "spec_times_per_day", "250", "1500 min a day", "1440"),
    (COOLING, "spec_inside_c", "40", "at most 15\N{NO-BREAK SPACE}°C", ""),
    (COOLING, "spec_rated_duty_ratio", "0", "at least 1\N{NO-BREAK SPACE}%", ""),
    (RECHARGE, "spec_charger_efficiency_ratio", "12", "at least 30\N{NO-BREAK SPACE}%", ""),
    (RECHARGE, "spec_charges_per_day", "60", "its window is 24 h long", ""),
]


@pytest.mark.parametrize(("typed", "field", "entry", "says", "also"), WRONG)
def test_wrong_entries_are_refused_beside_their_field(page, fitout, typed, field, entry, says, also):
    answer = add(page, fitout, typed, **{field: entry})

    text = answer.content.decode()
    assert not Requirement.objects.exists()
    assert "HX-Retarget" not in answer.headers
    assert 'class="writing"' in text
    assert 'class="wrong"' in text
    wrong = text[text.index('class="wrong"') :]
    assert says in wrong
    assert also in wrong
    if entry:
        assert f'value="{entry}"' in text or field == "bus"


def test_quantities_are_typed_as_people_write_them(page, fitout):
    add(page, fitout, STEADY, spec_power_w="0.2 kW", spec_hours_per_day="2,5", shed_below_ratio="20 %")

    line = Requirement.objects.get()
    assert line.use == {"power_w": 200.0, "hours_per_day": 2.5, "duty_ratio": 1.0}
    assert line.shed_below_ratio == 0.2


def test_refused_change_leaves_the_saved_line_alone(page, fitout, estimator):
    add(page, fitout, STEADY)
    line = Requirement.objects.get()
    url = reverse("line_edit", args=[fitout.pk, line.pk])

    answer = page.post(url, {**STEADY, "name": "Renamed", "spec_power_w": "-1"}, headers={"HX-Request": "true"})

    line.refresh_from_db()
    assert (line.name, line.use["power_w"], line.history.count()) == ("Satellite terminal", 38.0, 1)
    assert 'value="Renamed"' in answer.content.decode()


def test_line_is_changed_in_place_with_new_totals(page, fitout):
    add(page, fitout, STEADY)
    line = Requirement.objects.get()
    url = reverse("line_edit", args=[fitout.pk, line.pk])

    opened = page.get(url, headers={"HX-Request": "true"}).content.decode()
    answer = page.post(url, {**STEADY, "spec_power_w": "76"}, headers={"HX-Request": "true"}).content.decode()

    assert 'class="writing"' in opened
    assert 'value="38"' in opened
    assert answer.lstrip().startswith(f'<tr id="line-{line.pk}">')
    assert '<tfoot id="audit-foot" hx-swap-oob="true">' in answer
    assert "<output>380</output>" in answer


def test_totals_follow_the_typing_and_nothing_is_saved(page, fitout):
    add(page, fitout, STEADY)
    line = Requirement.objects.get()
    url = reverse("line_preview", args=[fitout.pk])

    typed = page.post(url, {**STEADY, "line": line.pk, "spec_power_w": "100"}).content.decode()
    new = page.post(url, {**STEADY, "line": ""}).content.decode()
    wrong = page.post(url, {**STEADY, "line": line.pk, "spec_power_w": "1,500"}).content.decode()

    line.refresh_from_db()
    assert "<output>500</output>" in typed
    assert "500 Wh/day as typed, 190 saved" in typed
    assert "<output>380</output>" in new
    assert "<output>190</output>" in wrong
    assert "Totals keep the saved 190 Wh/day until then." in wrong
    assert (line.use["power_w"], Requirement.objects.count()) == (38.0, 1)


def test_library_begins_a_line(page, fitout, estimator):
    pump = catalog.save_appliance(
        "event",
        {"power_w": 60.0, "minutes": 5.0, "times_per_day": 6.0},
        {"name": "Water pump", "group": "water", "bus": "house", "shed_below_ratio": 0.2, "start_multiple": 3.0},
        by=estimator,
    )

    found = page.get(reverse("line_find", args=[fitout.pk]), {"find": "pump"}, headers={"HX-Request": "true"})
    opened = page.get(reverse("line_add", args=[fitout.pk]), {"appliance": pump.pk}, headers={"HX-Request": "true"})
    typed = {**EVENT, "name": "Water pump", "appliance": str(pump.pk), "spec_power_w": "60", "spec_minutes": "5"}
    add(page, fitout, typed, spec_times_per_day="6")

    assert "Water pump" in found.content.decode()
    form = opened.context["audit_form"]
    assert (form["spec_minutes"].value(), form["shed_below_ratio"].value(), form.use) == ("5", "20", "event")
    assert Requirement.objects.get().appliance == pump


def test_another_way_of_use_keeps_what_was_typed(page, fitout):
    url = reverse("line_add", args=[fitout.pk])

    answer = page.get(url, {**STEADY, "name": "Oven", "way": "event"}, headers={"HX-Request": "true"})

    form = answer.context["audit_form"]
    assert (form.use, form["name"].value(), form["spec_power_w"].value()) == ("event", "Oven", "38")
    assert "spec_minutes" in form.fields
    assert "spec_hours_per_day" not in form.fields


def test_lines_are_put_in_order_and_taken_out(page, fitout):
    for name in ("First", "Second", "Third"):
        add(page, fitout, STEADY, name=name)
    third = Requirement.objects.get(name="Third")

    page.post(reverse("line_move", args=[fitout.pk, third.pk]), {"way_to": "up"})
    page.post(reverse("line_remove", args=[fitout.pk, Requirement.objects.get(name="First").pk]))

    assert [line.name for line in fitout.requirements.all()] == ["Third", "Second"]
    assert Requirement.history.filter(name="First", history_type="-").count() == 1


def test_order_must_name_every_line_once(fitout, estimator, page):
    add(page, fitout, STEADY)
    key = Requirement.objects.get().pk

    with pytest.raises(audit.LineRefused, match="changed meanwhile"):
        audit.order_lines(fitout, [key, key], by=estimator)


def test_lines_of_another_job_are_copied_behind(page, fitout, estimator):
    Workshop.objects.all().delete()
    wagon = make_wagon(estimator, catalogue=False)
    add(page, fitout, STEADY, name="Own line")

    page.post(reverse("lines_copy", args=[fitout.pk]), {"number": wagon.number})

    names = [line.name for line in fitout.requirements.all()]
    assert names == ["Own line", *[line.name for line in wagon.requirements.all()]]
    assert fitout.requirements.get(name="Camp and cargo lights").position.vehicle == fitout.vehicle


@pytest.mark.parametrize(
    ("number", "says"), [("99-9999", "There is no job"), ("", "There is no job"), ("own", "itself")]
)
def test_copy_from_nowhere_is_refused(page, fitout, number, says):
    number = fitout.number if number == "own" else number

    answer = page.post(reverse("lines_copy", args=[fitout.pk]), {"number": number}, follow=True)

    assert says in answer.content.decode()
    assert not Requirement.objects.exists()


def test_service_checks_what_a_form_never_saw(fitout, estimator):
    with pytest.raises(SizingError, match="power_w"):
        audit.add_line(
            fitout,
            {"name": "x", "way": "steady", "use": {"power_w": -5.0, "hours_per_day": 1.0}},
            by=estimator,
            check=check_line,
        )
    with pytest.raises(TypeError, match="no field 'colour'"):
        audit.add_line(fitout, {"colour": "red"}, by=estimator, check=check_line)

    assert not Requirement.objects.exists()


def test_position_of_another_vehicle_is_refused(fitout, estimator):
    _vehicle, places = make_vehicle(Customer.objects.create(name="Somebody else"))

    with pytest.raises(audit.LineRefused, match="position of another vehicle"):
        audit.add_line(
            fitout,
            {"name": "x", "way": "steady", "use": {"power_w": 5.0, "hours_per_day": 1.0}, "position": places["roof"]},
            by=estimator,
            check=check_line,
        )


def test_technician_reads_the_audit_and_changes_nothing(client, fitout, estimator):
    client.force_login(make_user(User.Role.TECHNICIAN))

    answers = [
        client.post(reverse("line_add", args=[fitout.pk]), STEADY),
        client.post(reverse("line_preview", args=[fitout.pk]), STEADY),
        client.get(reverse("line_find", args=[fitout.pk])),
    ]

    assert [a.status_code for a in answers] == [403, 403, 403]
    assert client.get(reverse("job", args=[fitout.pk])).status_code == 200
    assert not Requirement.objects.exists()


def test_line_of_another_job_is_not_there(page, fitout, estimator):
    add(page, fitout, STEADY)
    other = jobs.open_job(fitout.customer, fitout.vehicle, "Another", by=estimator)
    line = Requirement.objects.get()

    assert page.get(reverse("line_edit", args=[other.pk, line.pk])).status_code == 404


def test_live_totals_are_those_of_the_design(estimator):
    Workshop.objects.all().delete()
    fitout = make_wagon(estimator)
    design = designs.work_out(fitout, by=estimator)
    figures = designs.appraisal_of(design).figures

    day = audit_day.add_up(fitout, list(fitout.requirements.all()), list(fitout.stops.all()), design)

    assert day.total_wh == pytest.approx(figures["day.energy_wh"].value)
    assert day.live_wh == pytest.approx(figures["day.live_wh"].value)
    assert day.away_wh == pytest.approx(figures["day.away_wh"].value)
    assert day.peak_a == pytest.approx(figures["day.peak_a"].value)
    assert any(line.own_draw for line in day.lines)


@pytest.mark.parametrize(
    ("way", "use", "words"),
    [
        ("steady", {"power_w": 9, "hours_per_day": 8, "duty_ratio": 1}, "steady, 8 h"),
        ("steady", {"power_w": 9, "hours_per_day": 8, "duty_ratio": 0.25}, "steady, 8 h, on 25 % of them"),
        ("event", {"power_w": 700, "minutes": 6, "times_per_day": 2}, "event, 6 min, 2 times a day"),
        ("event", {"power_w": 700, "minutes": 6, "times_per_day": 1}, "event, 6 min, 1 time a day"),
        (
            "recharge",
            {"pack_wh": 77, "charges_per_day": 1, "charger_efficiency_ratio": 0.86, "power_w": 40},
            "recharge, 3 × 77 Wh a day at 86 %",
        ),
        (
            "cooling",
            {"power_w": 58, "rated_duty_ratio": 0.36, "rated_ambient_c": 30, "inside_c": -18},
            "cools, 36 % at 30 °C, inside −18 °C",
        ),
    ],
)
def test_use_in_words(way, use, words):
    line = Requirement(name="x", way=way, use=use, quantity=3)

    assert use_words(line).replace("\N{NO-BREAK SPACE}", " ") == words
