"""The trip hour by hour: every number shown comes from the outlook, flows add up, drawings stay inside their box."""

from __future__ import annotations

import html
import re

import pytest
from django.urls import reverse
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from fitouts.models import Fitout, User
from quoting.models import Design
from quoting.queries.outlook_flows import LEAST_WH, balance_of, balances, rounded_to
from quoting.queries.outlook_off import dark_words
from quoting.queries.outlook_page import outlook_page
from quoting.queries.outlook_tables import by_days, by_hours
from quoting.queries.outlook_words import clock_words, per_cent, trip_clock
from quoting.queries.outlook_year import year_of
from quoting.queries.trip_chart import trip_chart
from quoting.services import designs
from quoting.sizing import sun
from quoting.sizing.brief import Brief, read
from quoting.sizing.outlook import OffSpan, TripOutlook
from quoting.words import MONTHS
from tests.factories.jobs import make_user
from tests.factories.outlook import make_outlook
from tests.factories.wagon import example


@pytest.fixture(scope="module")
def brief() -> Brief:
    """The field wagon's, gone on to a second place in the middle of the trip for a day and a half."""
    raw = example()
    raw["trip"] = [*raw["trip"][:1], {**raw["trip"][0], "days": 1.5, "month": 9, "mains_h_per_day": 9.0}]
    return read(raw)


@pytest.fixture(scope="module")
def outlook(brief) -> TripOutlook:
    return make_outlook(brief)


def with_outlook(fitout: Fitout, **changes: object) -> Design:
    """The job's design with an outlook made by hand, as a row."""
    design = designs.latest_of(fitout)
    made = make_outlook(designs.brief_of(design), **changes)
    Design.objects.filter(pk=design.pk).update(appraisal={**design.appraisal, "outlook": made.model_dump(mode="json")})
    return Design.objects.get(pk=design.pk)


def without_outlook(fitout: Fitout) -> None:
    design = designs.latest_of(fitout)
    Design.objects.filter(pk=design.pk).update(appraisal={**design.appraisal, "outlook": None})


def text_of(client, url: str) -> str:
    return re.sub(r"[ \n]+", " ", html.unescape(client.get(url).content.decode()))


# --- The drawing -------------------------------------------------------------------------------------


def points(path: str) -> list[tuple[float, float]]:
    return [(float(x), float(y)) for x, y in re.findall(r"([\d.]+) (\d+)", path)]


def test_lines_are_the_charge_in_thousandths_from_full(outlook, brief):
    chart = trip_chart(outlook, brief, "trip")

    assert points(chart.median) == [
        (k, round(1000 * (1 - charge))) for k, charge in enumerate((1.0, *outlook.charge_median))
    ]
    assert len(points(chart.band)) == 2 * (1 + len(outlook.charge_low))
    assert chart.steps == str(len(outlook.charge_median))


def test_a_stop_alone_begins_where_the_one_before_ended(outlook, brief):
    second = outlook.stops[1]

    chart = trip_chart(outlook, brief, "stop-1", stop=1)

    before = outlook.charge_median[second.first_point - 1]
    assert points(chart.median)[0] == (0, round(1000 * (1 - before)))
    assert len(points(chart.median)) == second.points + 1
    assert [head.name for head in chart.heads] == [second.name]


def test_nights_are_the_suns_at_each_stop(outlook, brief):
    rise = sun.sunrise_h(brief.trip[0].site.latitude_deg, brief.trip[0].month)

    chart = trip_chart(outlook, brief, "trip", stop=0)

    spans = [(float(a), float(b)) for a, b in re.findall(r"M([\d.]+) 0H([\d.]+)V", chart.nights)]
    assert spans[0] == pytest.approx((0, rise), abs=0.01)
    assert spans[1] == pytest.approx((24 - rise, 24 + rise), abs=0.01)
    assert sum(b - a for a, b in spans) == pytest.approx(2 * rise * outlook.stops[0].days, abs=0.1)


def test_bars_over_midnight_stay_on_every_day_and_inside_the_drawing(outlook, brief):
    """Mains from 18:00 for 9 h a day: 3 h of the night before in the morning of each day but the first."""
    chart = trip_chart(outlook, brief, "stop-1", stop=1)

    hours = [(36 * float(b.x) / 100, 36 * float(b.width) / 100) for b in chart.mains.bars]
    assert [(round(a, 1), round(w, 1)) for a, w in hours] == [(0.0, 3.0), (18.0, 9.0)]


def test_off_spans_are_bars_at_their_hours(brief):
    plain = make_outlook(brief)
    shed = plain.sheds[0].model_copy(update={"typical": (OffSpan(start_h=20.0, end_h=30.0),)})
    outlook = plain.model_copy(update={"sheds": (shed,)})
    total = len(outlook.charge_median)

    chart = trip_chart(outlook, brief, "trip")

    (bar,) = chart.sheds[0].bars
    assert (float(bar.x), float(bar.width)) == pytest.approx((100 * 20 / total, 100 * 10 / total), abs=0.001)
    assert chart.sheds_off
    assert not trip_chart(outlook, brief, "stop-1", stop=1).sheds_off


def test_power_is_stacked_under_a_round_top(outlook, brief):
    chart = trip_chart(outlook, brief, "trip")
    most = max(sum(x) for x in zip(outlook.engine_w, outlook.mains_w, outlook.sun_w, strict=True))
    top = float(chart.power_most.number.replace("\u202f", ""))
    heights = [float(y) for y in re.findall(r"V(\d+)", chart.sun_area)]

    assert most <= top <= 2 * most
    assert min(heights) == pytest.approx(1000 * (1 - most / top), abs=1)
    assert chart.load_line.startswith("M0 ")


def test_trip_as_designed_lies_stop_by_stop_behind_the_trial(brief):
    longer = brief.model_copy(update={"trip": (brief.trip[0].model_copy(update={"days": 6.0}), brief.trip[1])})
    before, after = make_outlook(brief), make_outlook(longer)

    chart = trip_chart(after, longer, "tried", before=before)

    first, second = (points(part) for part in chart.before.split("M")[1:])
    assert [x for x, _ in first] == list(range(before.stops[0].points + 1))
    assert second[0][0] == after.stops[1].first_point
    assert len(second) == before.stops[1].points + 1
    assert chart.typical == ""


def test_trip_as_designed_keeps_its_hours_behind_longer_steps(outlook, brief):
    """Four hours a step in the trial: hour 96, where the second stop began, lies at step 24."""
    names = ("charge_median", "charge_low", "charge_high", "charge_typical", "load_w", "engine_w", "mains_w", "sun_w")
    stops = tuple(
        span.model_copy(update={"first_point": span.first_point // 4, "points": span.points // 4})
        for span in outlook.stops
    )
    coarse = {name: getattr(outlook, name)[3::4] for name in names}
    after = outlook.model_copy(update={**coarse, "stops": stops, "step_h": 4.0})

    chart = trip_chart(after, brief, "tried", before=outlook)

    first, second = (points(part) for part in chart.before.split("M")[1:])
    assert (first[-1][0], second[0][0], second[-1][0]) == (24, 24, 33)
    assert first[1][0] == 0.25


def test_long_stop_says_how_much_of_it_is_drawn(brief):
    long = brief.model_copy(update={"trip": (brief.trip[0].model_copy(update={"days": 60.0}),)})

    chart = trip_chart(make_outlook(long), long, "trip")

    assert chart.heads[0].more.endswith("14 of 60\u00a0days drawn") or "14 of 60 days drawn" in chart.heads[0].more
    assert int(chart.least_px) == 14 * 56


@given(st.lists(st.floats(0, 5000), min_size=1, max_size=8))
def test_rounded_parts_add_up_to_the_rounded_total(values):
    total = round(sum(values))

    parts = rounded_to(values, total)

    assert sum(parts) == total
    assert all(abs(part - value) < 1.0 + 1e-6 for part, value in zip(parts, values, strict=True))


# --- Sections ----------------------------------------------------------------------------------------


def number(shown) -> float:
    return float(shown.number.replace("\u202f", "").replace("\u2212", "-"))


@pytest.mark.django_db
def test_balance_adds_up_to_the_eye(worked_out, brief):
    appraisal = designs.appraisal_of(designs.latest_of(worked_out))
    outlook = make_outlook(brief)

    for balance, span in zip(balances(outlook, appraisal), outlook.stops, strict=True):
        total = number(balance.total.wh)

        assert sum(number(flow.wh) for flow in balance.comes) == total
        assert sum(number(flow.wh) for flow in balance.goes) == total
        assert sum(number(flow.ah) for flow in balance.comes) == pytest.approx(number(balance.total.ah), abs=1e-9)
        assert {flow.label for flow in balance.goes} >= {"Loads", "Own draw of the parts", "Battery heater"}
        taken = span.engine_wh_day + span.mains_wh_day + span.sun_wh_day
        battery = next((f for f in balance.comes if f.label == "Out of the battery"), None)
        assert (battery is not None) == (span.given_wh_day + span.loss_wh_day > taken)
        assert [flow.label for flow in balance.besides] == [
            "Shed: let go on purpose",
            "Asked and not given",
            "Sun offered, not taken",
            "Engine and mains offered, not taken",
        ]


@given(
    flows=st.fixed_dictionaries(
        {
            name: st.floats(0, 6000)
            for name in ("given_wh_day", "engine_wh_day", "mains_wh_day", "sun_wh_day", "own_wh_day", "heater_wh_day")
        }
    )
)
@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_any_balance_adds_up_and_holds_nothing_below_zero(outlook, flows):
    span = outlook.stops[0].model_copy(update=flows)

    balance = balance_of(span, 12.8)

    for side in (balance.comes, balance.goes):
        assert sum(number(flow.wh) for flow in side) == number(balance.total.wh)
        assert all(number(flow.wh) >= 0 for flow in side)
        left_out = 100 * 5 * LEAST_WH / number(balance.total.wh)  # five flows at most, each under half a watt-hour
        assert sum(float(flow.share) for flow in side) == pytest.approx(100, abs=left_out + 0.05)


def test_dark_is_said_with_its_bound(outlook):
    none = outlook.dark.model_copy(update={"chance_ratio": 0.0, "draws_dark": 0, "chance_high_ratio": 0.01884})

    assert dark_words(outlook.dark, 200) == (
        "In 3 of 200 weathers an essential load goes dark; at most 4.3\u00a0% with 95 % confidence."
    )
    assert dark_words(none, 200, has_essential=False).startswith("No load is marked essential; ")
    assert dark_words(none, 200) == (
        "In none of 200 weathers does an essential load go dark; at most 1.9\u00a0% with 95 % confidence."
    )


@pytest.mark.parametrize(
    ("hours", "said"), [(0.0, "day 1, 00:00"), (30.0, "day 2, 06:00"), (24.25, "day 2, 00:15"), (48.0, "day 3, 00:00")]
)
def test_hours_are_said_as_day_and_clock(hours, said):
    assert clock_words(hours) == said


def test_hours_of_a_trip_are_said_at_their_stop(outlook):
    first, second = (span.model_copy(update={"name": name}) for span, name in zip(outlook.stops, "AB", strict=True))

    def said(*stops):
        trip = outlook.model_copy(update={"stops": stops})
        return [trip_clock(trip, 3.0), trip_clock(trip, first.points + 5.0)]

    assert said(first, second) == ["A, day 1, 03:00", "B, day 1, 05:00"]
    assert clock_words(48.0, is_end=True) == "day 2, 24:00"
    back = second.model_copy(update={"name": "A", "month": first.month})
    assert said(first, back) == ["stop 1, A, day 1, 03:00", "stop 2, A, day 1, 05:00"]
    later = back.model_copy(update={"month": first.month % 12 + 1})
    month, next_month = (MONTHS[m - 1] for m in (first.month, later.month))
    assert said(first, later) == [f"A, {month}, day 1, 03:00", f"A, {next_month}, day 1, 05:00"]


def test_shares_under_one_per_cent_keep_a_decimal():
    assert [per_cent(x).number for x in (0.0, 0.005, 0.0349, 0.5, 1.0)] == ["0", "0.5", "3", "50", "100"]


def test_tables_hold_the_charts_numbers(outlook):
    days, hours = by_days(outlook), by_hours(outlook, outlook.stops[0])
    first = days.rows[0]

    assert len(days.rows) == 4 + 2
    assert number(first.median) == round(100 * min(outlook.charge_median[:24]))
    assert number(first.load) == pytest.approx(sum(outlook.load_w[:24]), abs=0.5)
    assert [row.stop for row in days.rows[:2]] == [outlook.stops[0].name, ""]
    assert len(hours.rows) == 4 * 8  # three hours at a time over four days
    assert number(hours.rows[2].low) == round(100 * outlook.charge_low[8])


def test_year_says_which_month_fails_first_or_is_weakest(outlook, brief):
    holding = outlook.model_copy(update={"first_failing_month": None})

    failing, weakest = year_of(outlook, brief), year_of(holding, brief)

    site, more = brief.trip[0].site.name, sum(not month.holds for month in outlook.year) - 1
    assert failing.words.startswith(f"June fails first at {site}, and {more} months more fail: ")
    assert "the workshop's policy allows 5\u00a0%" in failing.words
    assert weakest.words.startswith(f"Every month holds what is essential at {site}. June is the weakest")
    shed = sum(month.shed_chance_ratio > 0 for month in outlook.year)
    assert weakest.words.endswith(f"In {shed} months something is let go in some weathers.")
    assert [c.name for c in failing.columns if c.is_named] == ["June"]
    assert len(failing.columns) == 12


# --- The page ----------------------------------------------------------------------------------------


@pytest.mark.django_db
def test_page_shows_the_outlook_of_the_design(client, worked_out, estimator):
    design = with_outlook(worked_out)
    client.force_login(estimator)

    text = text_of(client, reverse("outlook", args=[worked_out.pk]))

    page = outlook_page(design)
    hour_ah = number(next(lead.value for lead in page.charging if lead.label == "An hour's drive gives"))
    assert hour_ah == pytest.approx(design.appraisal["figures"]["engine.hour_gives_ah"]["value"], abs=0.05)
    for words in (
        page.about,
        "In 3 of 200 weathers an essential load goes dark",
        "Out of the battery",
        "June fails first",
        "It keeps enough to crank all the way.",
    ):
        assert words in text, words
    assert text.count("<title id=") == 1 + len(page.zooms) + 1  # trip, stops, year
    assert text.count("<desc id=") == text.count("<title id=")
    assert " style=" not in text


@pytest.mark.django_db
def test_technician_sees_it_and_no_money(client, worked_out):
    with_outlook(worked_out)
    client.force_login(make_user(User.Role.TECHNICIAN))

    text = text_of(client, reverse("outlook", args=[worked_out.pk]))

    assert "The trip, hour by hour" in text
    assert not re.search(r"\$|margin|cost price", text)


@pytest.mark.django_db
def test_starter_that_may_not_crank_is_said_gravely(client, worked_out, estimator):
    plain = make_outlook(designs.brief_of(designs.latest_of(worked_out)))
    with_outlook(worked_out, starter=plain.starter.model_copy(update={"lowest_ratio": 0.31, "no_crank": True}))
    client.force_login(estimator)

    text = text_of(client, reverse("outlook", args=[worked_out.pk]))

    assert "It falls to 31\u00a0%: the engine may not crank." in text
    assert "big grave" in text


@pytest.mark.django_db
def test_design_without_a_trip_offers_to_work_it_out_again(client, worked_out, estimator):
    without_outlook(worked_out)
    client.force_login(estimator)

    for name in ("outlook", "what_if", "job"):
        text = text_of(client, reverse(name, args=[worked_out.pk]))

        assert "This design has no trip in it" in text
        assert reverse("job_work_out", args=[worked_out.pk]) in text


@pytest.mark.django_db
def test_job_page_shows_the_trip_and_the_way_to_it(client, worked_out, estimator):
    with_outlook(worked_out)
    client.force_login(estimator)

    text = text_of(client, reverse("job", args=[worked_out.pk]))

    assert f'href="{reverse("outlook", args=[worked_out.pk])}"' in text
    assert f'action="{reverse("what_if", args=[worked_out.pk])}"' in text
    assert "Charge and power over the trip" in text


@pytest.mark.django_db
def test_statements_do_not_grow_with_the_trip(client, worked_out, estimator, django_assert_max_num_queries):
    with_outlook(worked_out)
    client.force_login(estimator)
    url = reverse("outlook", args=[worked_out.pk])
    client.get(url)

    with django_assert_max_num_queries(40):
        client.get(url)
