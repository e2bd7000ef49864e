"""A figure opened: its sum, and what moves it most, as a page and as a part of the job's page."""

from __future__ import annotations

import re
from html import unescape

import pytest
from django.urls import reverse

from quoting import words
from quoting.queries.tornado import MARGIN, WIDE, tornado_table
from quoting.services import designs
from quoting.sizing.outlook import Bar, Tornado
from quoting.sizing.sensitivity import of_figure
from quoting.wording.inputs import INPUT
from tests.factories.jobs import make_user

pytestmark = pytest.mark.django_db
HTMX = {"HTTP_HX_REQUEST": "true"}


@pytest.fixture
def desk(client, estimator):
    client.force_login(estimator)
    return client


def text(response) -> str:
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", response.content.decode())).replace("\xa0", " ").split())


def test_every_figure_of_the_design_opens(desk, worked_out):
    design = designs.latest_of(worked_out)
    figures, names = designs.figures_of(design), {x.key: x.name for x in designs.brief_of(design).loads}

    for code in figures:
        url = reverse("job_figure", args=[worked_out.pk, code])
        for extra in ({}, HTMX):
            response = desk.get(url, **extra)
            assert response.status_code == 200, code
            said = text(response)
            assert words.figure_words(figures[code], names) in said or said.startswith("Nothing"), code
            assert "{" not in said
    assert len(figures) > 20


def test_the_page_shows_sum_method_source_and_what_moves_it(desk, worked_out):
    response = desk.get(reverse("job_figure", args=[worked_out.pk, "battery.asked_ah"]))

    said = text(response)
    assert "× Days of autonomy" in said
    assert "IEEE 1013" in said
    assert "Each input moved by 10 %" in said
    asked_ah = designs.figures_of(designs.latest_of(worked_out))["battery.asked_ah"].value
    # autonomy is a factor: the bank asked follows it
    assert f"Days of autonomy 1.35 to 1.65 days, asked for {0.9 * asked_ah:.0f} {1.1 * asked_ah:.0f}" in said
    assert 'href="{}#sizing"'.format(reverse("job", args=[worked_out.pk])) in response.content.decode()


def test_htmx_gets_the_part_alone(desk, worked_out):
    part = desk.get(reverse("job_figure", args=[worked_out.pk, "battery.days"]), **HTMX).content.decode()

    assert part.lstrip().startswith('<div class="tornado">')
    assert "<html" not in part


@pytest.mark.parametrize("code", ["battery.guess", "battery", "..", "battery.asked_ah/x"])
def test_a_figure_that_is_not_there_is_404(desk, worked_out, code):
    assert desk.get(f"/jobs/{worked_out.pk}/figures/{code}/").status_code == 404


def test_a_job_without_a_design_has_no_figures(desk, worked_out):
    worked_out.designs.all().delete()

    assert desk.get(reverse("job_figure", args=[worked_out.pk, "battery.asked_ah"])).status_code == 404


def test_a_technician_opens_figures_too(client, worked_out):
    client.force_login(make_user("technician", "hands"))

    assert client.get(reverse("job_figure", args=[worked_out.pk, "battery.asked_ah"])).status_code == 200


def test_the_job_page_leads_to_every_sum_it_shows_and_stays_light(desk, worked_out):
    page = desk.get(reverse("job", args=[worked_out.pk])).content

    asks = re.findall(rb'<p class="screen" hx-get="(/jobs/\d+/figures/[^"]+/)".*?</p>', page, re.DOTALL)
    whole = sum(len(m.group(0)) for m in re.finditer(rb'<p class="screen" hx-get="/jobs/\d+/figures/.*?</p>', page))
    assert len(asks) == len(set(asks)) > 20
    assert reverse("job_figure", args=[worked_out.pk, "battery.asked_ah"]).encode() in asks
    assert whole < 0.08 * len(page)


def test_a_page_of_a_figure_asks_few_questions(desk, worked_out, django_assert_num_queries):
    with django_assert_num_queries(5):  # session, person, job, design, and the designer's name
        desk.get(reverse("job_figure", args=[worked_out.pk, "battery.asked_ah"]), **HTMX)


def test_bars_are_drawn_on_one_scale_from_the_figures_own_value(worked_out):
    figures = designs.figures_of(designs.latest_of(worked_out))
    for figure in figures.values():
        tornado = of_figure(figure, figures)
        table = tornado_table(tornado)
        if not table.rows:
            continue
        ends = [x for row in table.rows for span in row.spans for x in (span.x, span.x + span.width)]
        assert min(ends) == pytest.approx(MARGIN)
        assert max(ends) == pytest.approx(WIDE - MARGIN)
        assert all(
            abs(table.middle - x) < 1e-9 or abs(table.middle - span.width - x) < 1e-9
            for row in table.rows
            for span in row.spans
            for x in [span.x]
        )


def test_a_share_is_shown_in_per_cent_and_an_empty_tornado_says_so():
    bar = Bar(
        code="rated_duty", params={"ambient_c": 32.0}, unit="", input_low=0.4, input_base=0.5, input_high=0.6,
        value_low=0.2, value_high=0.3, origin="input",
    )  # fmt: skip

    table = tornado_table(Tornado(code="cooling.x.duty", unit="", base=0.25, bars=(bar,)))
    bare = tornado_table(Tornado(code="x", unit="A", base=3, bars=()))

    (row,) = table.rows
    assert (table.unit, row.lowered.number, row.raised.number, row.in_pen) == ("%", "20", "30", True)
    assert "32 °C" in row.what.replace("\xa0", " ")
    assert bare.rows == ()
    assert bare.words == "Nothing that can be moved leads to it by a sum."


def test_a_figure_of_the_trip_is_simulated_once_and_kept(desk, worked_out, monkeypatch):
    url = reverse("job_figure", args=[worked_out.pk, "trip.flat_days"])
    first = text(desk.get(url))
    monkeypatch.setattr("quoting.views.figure.all_of_trip", lambda *_: pytest.fail("simulated again"))

    again = text(desk.get(url))
    other = text(desk.get(reverse("job_figure", args=[worked_out.pk, "trip.lowest_low_ratio"])))

    assert again == first
    assert "Battery at its end of life no to yes" in other
    assert re.search(r"Every load, times 0\.9 to 1\.1 [\d.]+ [\d.]+", first)
    assert "Battery at its end of life no to yes" in first
    assert "simulated again with one thing changed at a time" in first


def test_a_figure_of_the_trip_that_cannot_be_simulated_again_still_opens(desk, worked_out):
    design = worked_out.designs.first()
    design.brief["catalogue"] = []
    design.key = "0" * 64
    design.save(force_update=True)

    answer = desk.get(reverse("job_figure", args=[worked_out.pk, "trip.flat_days"]))

    assert answer.status_code == 200
    assert "It cannot be simulated again as this design has it." in text(answer)


def test_inputs_of_the_trip_have_words():
    for code, said in INPUT.items():
        bar = Bar(code=code, unit="", input_low=0, input_base=1, input_high=2, value_low=0, value_high=1)
        assert words.input_words(bar) == str(said)
