"""Working a job out: kept once under its key, shown with its sums, never silently anew."""

from __future__ import annotations

import json

import pytest
from django.urls import reverse

from catalog import services as catalog
from catalog.models import Component
from fitouts.models import Fitout, User, Workshop
from fitouts.services import audit, trip
from fitouts.services import fitouts as jobs
from quoting import words
from quoting.models import Design
from quoting.queries.charts import stop_charts
from quoting.queries.designs import design_page
from quoting.queries.shown import shown, sum_lines
from quoting.services import briefs, designs
from quoting.sizing.appraisal import METHOD_VERSION
from quoting.sizing.trace import step
from tests.factories.jobs import make_user
from tests.factories.wagon import make_wagon

pytestmark = pytest.mark.django_db


@pytest.fixture
def estimator() -> User:
    return make_user()


@pytest.fixture
def wagon(estimator: User) -> Fitout:
    return make_wagon(estimator)


def change(wagon: Fitout, name: str, by: User, **values: object) -> None:
    audit.change_line(wagon.requirements.get(name=name), values, by=by, check=briefs.check_line)


def said(design: Design, wagon: Fitout) -> list[tuple[str, str]]:
    wagon = Fitout.objects.get(pk=wagon.pk)
    return [(c.part, c.words) for c in designs.changes_since(design, wagon)]


# --- Kept once ---------------------------------------------------------------------------------------


def test_design_keeps_brief_appraisal_key_and_time(wagon, estimator):
    design = designs.work_out(wagon, by=estimator)

    assert (design.number, design.method_version, design.made_by) == (1, METHOD_VERSION, estimator)
    assert design.key == design.appraisal["brief_sha256"]
    assert designs.brief_of(design) == briefs.make_brief(wagon)
    assert designs.appraisal_of(design).model_dump(mode="json") == design.appraisal
    assert design.took_ms > 0


def test_same_inputs_give_the_same_design(wagon, estimator):
    first = designs.work_out(wagon, by=estimator)

    again = designs.work_out(wagon, by=make_user(User.Role.MANAGER))

    assert again == first
    assert Design.objects.count() == 1
    assert again.made_by == estimator


def test_changed_input_makes_the_next_design_and_keeps_the_first(wagon, estimator):
    first = designs.work_out(wagon, by=estimator)
    before = dict(first.appraisal["figures"]["battery.asked_ah"])
    change(wagon, "Camp and cargo lights", estimator, use={"power_w": 44.0, "hours_per_day": 4.0})

    second = designs.work_out(wagon, by=estimator)

    first.refresh_from_db()
    assert (second.number, second.key != first.key) == (2, True)
    assert first.appraisal["figures"]["battery.asked_ah"] == before
    assert second.appraisal["figures"]["battery.asked_ah"]["value"] > before["value"]


def test_incomplete_job_keeps_nothing(wagon, estimator):
    wagon.stops.all().delete()

    with pytest.raises(briefs.BriefIncomplete):
        designs.work_out(wagon, by=estimator)

    assert not Design.objects.exists()


# --- Inputs changed since ----------------------------------------------------------------------------


def test_nothing_changed_is_current(wagon, estimator):
    design = designs.work_out(wagon, by=estimator)

    assert designs.is_current(design, wagon)
    assert said(design, wagon) == []


def test_every_changed_input_is_named(wagon, estimator):
    design = designs.work_out(wagon, by=estimator)
    change(wagon, "Kettle", estimator, quantity=2)
    audit.remove_line(wagon.requirements.get(name="Laptops"), by=estimator)
    stop = wagon.stops.first()
    trip.change_stop(stop, {"month": 8}, by=estimator, check=briefs.check_stop)
    trip.set_wishes(wagon, {"autonomy_days": 2.0}, by=estimator, check=briefs.check_wishes)
    Workshop.objects.update(engineering={"design_margin_ratio": 1.2})
    vehicle = wagon.vehicle
    vehicle.alternator_a = 180.0
    vehicle.save()
    panel = Component.objects.get(name="Harrowell TM-220")
    catalog.retire(panel, by=estimator)

    assert not designs.is_current(design, Fitout.objects.get(pk=wagon.pk))
    assert said(design, wagon) == [
        ("loads", "“Laptops” was taken out of the power audit."),
        ("loads", "“Kettle” was changed in the power audit."),
        ("trip", "The stop “Cinder Ridge” was changed."),
        ("wishes", "Changed in wishes: days of autonomy."),
        ("vehicle", "Changed in the vehicle's survey: alternator rating."),
        ("policy", "Changed in the workshop's policy: design margin ratio."),
        ("catalogue", "No longer in the catalogue: Harrowell TM-220."),
    ]


def test_added_line_place_run_and_title_are_named(wagon, estimator):
    design = designs.work_out(wagon, by=estimator)
    audit.add_line(
        wagon,
        {"name": "Fan", "way": "steady", "use": {"power_w": 12.0, "hours_per_day": 6.0}},
        by=estimator,
        check=briefs.check_line,
    )
    wagon.vehicle.runs.filter(length_m=0.9).update(length_m=1.4)
    trip.set_places(wagon, {"board": wagon.vehicle.positions.get(name="Behind the seats")})
    jobs.change_details(wagon, {"title": "Field wagon again"}, by=estimator)

    assert said(design, wagon) == [
        ("loads", "“Fan” was added to the power audit."),
        ("vehicle", "The vehicle's cable ways were changed."),
        ("vehicle", "What sits where was changed."),
        ("title", "The job's title was changed."),
    ]


def test_newer_method_is_named(wagon, estimator, monkeypatch):
    design = designs.work_out(wagon, by=estimator)
    Design.objects.filter(pk=design.pk).update(method_version="2025.1", key="0" * 64)
    design.refresh_from_db()

    assert said(design, wagon) == [
        ("method", f"The method is now version {METHOD_VERSION}; this design was made by 2025.1.")
    ]


def test_fields_newer_than_a_design_are_not_called_changed(wagon, estimator):
    design = designs.work_out(wagon, by=estimator)
    design.key, design.method_version = "of an older method", "2026.11.8"
    for position in design.brief["vehicle"]["positions"]:
        del position["aired"]
    for name in ("weather_draws", "spread_low_ratio"):
        del design.brief["policy"][name]
    for name in [name for name in design.brief["vehicle"] if name.startswith("usual_")]:
        del design.brief["vehicle"][name]

    assert [part for part, _words in said(design, wagon)] == ["method"]


def test_what_todays_limits_refuse_is_compared_as_it_was_kept(wagon, estimator):
    design = designs.work_out(wagon, by=estimator)
    design.key = "of an older method"
    design.brief["wishes"]["autonomy_days"] = 900

    assert [part for part, _words in said(design, wagon)] == ["wishes"]


def test_page_says_so_and_computes_nothing(client, wagon, estimator, monkeypatch):
    design = designs.work_out(wagon, by=estimator)
    change(wagon, "Kettle", estimator, quantity=2)
    monkeypatch.setattr(designs, "appraise", lambda brief: pytest.fail("a page view worked a design out"))
    client.force_login(estimator)

    text = client.get(reverse("job", args=[wagon.pk])).content.decode()

    assert f"inputs changed since design {design.number}" in text
    assert "“Kettle” was changed in the power audit." in text
    assert Design.objects.count() == 1


# --- The button --------------------------------------------------------------------------------------


def test_button_works_it_out_once(client, wagon, estimator):
    client.force_login(estimator)
    url = reverse("job_work_out", args=[wagon.pk])

    first = client.post(url, follow=True).content.decode()
    second = client.post(url, follow=True).content.decode()

    assert client.get(url).status_code == 405
    assert "Design 1 was worked out." in first
    assert "Nothing has changed: design 1 stands." in second
    assert Design.objects.count() == 1


def test_button_says_what_is_missing_and_who_may(client, wagon, estimator):
    wagon.stops.all().delete()
    url = reverse("job_work_out", args=[wagon.pk])
    client.force_login(make_user(User.Role.TECHNICIAN))
    assert client.post(url).status_code == 403
    client.force_login(estimator)

    text = client.post(url, follow=True).content.decode()

    assert "The trip has no stop" in text
    assert not Design.objects.exists()


def test_job_set_aside_is_not_worked_out(client, wagon, estimator):
    jobs.move(wagon, "on_hold", by=estimator, reason="away")
    client.force_login(estimator)

    text = client.post(reverse("job_work_out", args=[wagon.pk]), follow=True).content.decode()

    assert "The job is set aside" in text
    assert not Design.objects.exists()


# --- What the page shows -----------------------------------------------------------------------------


def test_every_figure_opens_to_the_sum_it_was_made_by(wagon, estimator):
    page = design_page(designs.work_out(wagon, by=estimator))

    rows = {row.code: row for row in page.rows}
    battery = rows["battery"]
    asked, got = page.appraisal.figure("battery.asked_ah"), page.appraisal.figure("battery.got_ah")
    assert set(rows) >= {"battery", "engine", "engine_idle", "mains", "sun", "inverter"}
    assert (battery.asked, battery.got) == (shown(asked.value, "Ah"), shown(got.value, "Ah"))
    assert [line.words for line in battery.sums[0].lines] == [words.step_words(s) for s in asked.steps]
    assert battery.sums[0].lines[-1].is_result
    assert {code for code in page.appraisal.figures} - {"sun.day_wh"} <= {  # noqa: C416
        code for row in page.rows for code in _codes(row.code)
    } | {row.code for row in page.singles}


def _codes(code: str) -> tuple[str, ...]:
    return {
        "battery": ("battery.asked_ah", "battery.got_ah"),
        "engine": ("engine.asked_a", "engine.output_a"),
        "engine_idle": ("engine.headroom_idle_a", "engine.input_a", "engine.headroom_speed_a"),
        "mains": ("mains.hours_to_full", "mains.asked_a", "mains.outlet_a"),
        "sun": ("sun.asked_wh", "sun.got_wh", "sun.array_w", "sun.cold_voc_v"),
        "inverter": ("inverter.asked_w", "inverter.got_w", "inverter.input_a", "inverter.surge_w"),
    }[code]


def test_missing_inverter_is_a_named_danger_never_a_substitute(estimator):
    wagon = make_wagon(estimator, without=("inverter",))

    page = design_page(designs.work_out(wagon, by=estimator))

    named = [f for f in page.findings if f.level == "danger" and "inverter" in f.words]
    inverter = next(row for row in page.rows if row.code == "inverter")
    assert named
    assert "No quote is issued with it." in named[0].words
    assert (inverter.got, inverter.level) == (None, "warning")
    assert page.dangers >= 1


def test_findings_come_gravest_first(wagon, estimator):
    page = design_page(designs.work_out(wagon, by=estimator))

    levels = [("danger", "warning", "info").index(f.level) for f in page.findings]
    assert levels == sorted(levels)
    assert all(f.words and f.title for f in page.findings)


def test_chart_is_the_stops_charge_hour_by_hour(wagon, estimator):
    page = design_page(designs.work_out(wagon, by=estimator))

    charts = stop_charts(page.appraisal, page.brief)

    stop, chart = page.appraisal.stops[0], charts[0]
    points = chart.line.removeprefix("M").split(" ")
    assert len(charts) == 2
    assert (points[24 * 2], float(points[24 * 2 + 1])) == ("24", round(100 - 100 * stop.charge_ratio[23], 1))
    assert [h.hour for h in chart.hours] == [f"{h:02d}:00" for h in range(24)]
    assert chart.driving[0].x == pytest.approx(8 / 24 * 100, abs=0.01)
    assert chart.driving[0].width == pytest.approx(2.5 / 24 * 100, abs=0.01)
    assert [limit.y for limit in chart.limits] == [pytest.approx(70), pytest.approx(80)]


def test_circuits_show_every_device_against_its_fault(wagon, estimator):
    page = design_page(designs.work_out(wagon, by=estimator))

    protected = [d for c in page.circuits for d in c.devices if d.fault and d.breaking]
    assert [c.tag for c in page.circuits] == [c.tag for c in page.appraisal.circuits]
    assert protected
    assert not any(d.is_short for d in protected)
    assert all(c.lines for c in page.circuits)


def test_bill_by_group_has_every_line_once(wagon, estimator):
    page = design_page(designs.work_out(wagon, by=estimator))

    lines = [line for group in page.bill for line, _name, _quantity, _mass, _why in group.lines]
    assert sorted(x.model_dump_json() for x in lines) == sorted(x.model_dump_json() for x in page.appraisal.bill)


def test_sum_on_paper_keeps_pen_for_what_people_put_there():
    lines = sum_lines(
        [
            step("power", 60, "W", origin="input"),
            step("hours", 2.5, "h", "×", "survey"),
            step("depth", 0.9, "", "÷", "policy"),
            step("line_energy", 166.7, "Wh", "="),
        ]
    )

    assert [(x.op, x.number, x.unit, x.in_pen, x.is_result) for x in lines] == [
        ("", "60", "W", True, False),
        ("×", "2.5", "h", True, False),
        ("÷", "0.9", "", False, False),
        ("=", "167", "Wh", False, True),
    ]


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (1792.4, "1\u202f792"),
        (306.2, "306"),
        (12.84, "12.8"),
        (0.904, "0.9"),
        (0.0132, "0.0132"),
        (-28.0, "−28"),
        (0, "0"),
    ],
)
def test_numbers_are_shown_to_what_a_workshop_reads(value, text):
    assert shown(value).number == text


def test_stored_design_survives_json_as_it_was(wagon, estimator):
    design = designs.work_out(wagon, by=estimator)

    assert json.loads(json.dumps(Design.objects.get().appraisal)) == design.appraisal


def test_battery_says_what_a_day_more_would_ask(wagon, estimator):
    # by hand: the sum is a product, so 1.5 days to 2.5 days is times 2.5 / 1.5
    page = design_page(designs.work_out(wagon, by=estimator))

    row = next(row for row in page.rows if row.code == "battery")
    asked = page.appraisal.value("battery.asked_ah")
    assert f"One more day of autonomy would ask {asked * 2.5 / 1.5:.0f}\N{NO-BREAK SPACE}Ah" in row.note
    assert "Refrigerator-freezer, 60 L alone accounts for" in row.note
    assert "Days of autonomy" in row.sums[0].changes_with
    assert "Capacity asked" not in row.sums[0].changes_with
