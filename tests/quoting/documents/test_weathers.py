"""What papers say of the trip over many weathers, and that snapshots from before say nothing of it."""

from __future__ import annotations

import pytest

from quoting.documents.render import render
from quoting.documents.text import unmarked
from tests.quoting.documents import sample
from tests.quoting.documents.reading import flat, paper
from tests.quoting.documents.test_content import content


def with_outlook(body_of, **changes):
    """The sample with a trip's outlook as given."""
    body = body_of()
    outlook = body["appraisal"]["outlook"]
    outlook |= {"draws": 200, "low_ratio": 0.05, "lowest_median_ratio": 0.784, "lowest_low_ratio": 0.486}
    outlook["dark"] |= {"draws_dark": 0, "chance_ratio": 0.0, "chance_high_ratio": 0.0188}
    outlook["sheds"] = [
        _shed(0.2, 0.25, "Satellite terminal", 0.0),
        _shed(0.3, 0.35, "Kettle", 0.07),
    ]
    outlook["year"] = [each | {"lowest_low_ratio": 0.3} for each in outlook["year"]]
    outlook |= {"weakest_month": 6, "flat_days": 2.758} | changes
    body["appraisal"]["findings"] = []
    return body


def _shed(below, restore, name, chance):
    found = {"below_ratio": below, "restore_ratio": restore, "keys": [name.lower()], "names": [name]}
    return found | {"chance_ratio": chance, "hours_mean": 0.1, "hours_high": 0.0, "typical": []}


def before(body):
    """As a snapshot was before trips were simulated."""
    got = body["appraisal"]
    got["outlook"] = None
    got["findings"] = [each for each in got["findings"] if each["code"] != "month_fails"]  # it tells of weathers
    return body


def finding(code, level, **params):
    return {"level": level, "code": code, "subject": "trip", "params": params}


DARK = {
    "chance_ratio": 0.04,
    "high_ratio": 0.077,
    "allowed_ratio": 0.02,
    "dark": 8,
    "draws": 200,
    "charge_ratio": 0.04,
    "voltage_ratio": 0.0,
}


def plain(sentences):
    return [unmarked(each).replace("\u202f", " ").replace("\u00a0", " ") for each in sentences]


def test_quote_says_what_to_expect():
    expected = content("quote", with_outlook(sample.quote_body)).expected

    charge, dark, first_off, month = plain(expected)
    assert charge == (
        "Worked out hour by hour in 200 weathers that these places and months may bring, the lowest charge of the trip "
        "is 78 % in the middle one, and 49 % where only 5 % are worse."
    )
    assert dark == (
        "Nothing essential goes dark in any of them. That is no promise: the chance may still be up to 1.9 %."
    )
    assert first_off == "First to go off: Kettle, under 30 %, in 7.0 % of the weathers."
    assert month == (
        "Used like this at Cinder Ridge in any month of the year, what is essential runs; June is the weakest, with a "
        "lowest charge of 30 % in bad weather."
    )


def test_dark_weathers_are_counted():
    body = with_outlook(sample.quote_body)
    body["appraisal"]["outlook"]["dark"] |= {"draws_dark": 3, "chance_ratio": 0.015, "chance_high_ratio": 0.0432}

    expected = plain(content("quote", body).expected)

    assert expected[1] == "Something essential goes dark in 3 of the 200; the chance may be up to 4.3 %."


def test_what_is_not_marked_essential_is_not_promised():
    body = with_outlook(sample.quote_body)
    for load in body["brief"]["loads"]:
        load["essential"] = False

    assert plain(content("quote", body).expected)[1] == (
        "No appliance is marked as essential. The system itself goes dark in none of the 200; the chance may be up to "
        "1.9 %."
    )


def test_a_source_is_named_where_it_gives():
    body = with_outlook(sample.quote_body)
    first, sources = body["appraisal"]["stops"][0], body["appraisal"]["sources"]
    second = {**first, "index": 1, "name": "Salt Creek", "month": 8, "mains_wh": 900.0}
    body["appraisal"]["stops"] = [{**first, "mains_wh": 0.0}, second]
    for source in sources:
        source["stop_index"] = 0
        source["energy_wh_day"] *= source["source"] != "mains"

    said = plain(content("quote", body).runs)

    at = {word: next(line for line in said if line.startswith(word)) for word in ("Driving", "Mains puts")}
    assert "on a day at Cinder Ridge in" in at["Driving"]
    assert "about 900 Wh on a day at Salt Creek in August" in at["Mains puts"]
    body["appraisal"]["stops"][1]["mains_wh"] = 0.0
    assert any("though none is planned on this trip" in line for line in plain(content("quote", body).runs))


def test_what_a_finding_says_is_not_said_twice():
    body = with_outlook(sample.quote_body)
    month = {"name": "Cinder Ridge", "month": 6, "chance_ratio": 0.1, "allowed_ratio": 0.02, "months": 2}
    shed = {"names": "Kettle", "chance_ratio": 0.6, "below_ratio": 0.3, "off_h": 7.0}
    body["appraisal"]["findings"] = [
        finding("dark_likely", "warning", **DARK),
        finding("month_fails", "warning", **month),
        finding("shed_likely", "info", **shed),
    ]

    made = content("quote", body)

    said = " ".join([*plain(made.expected), *plain(made.runs_not), *(n.title for n in made.notices)])
    assert said.count("goes dark in 4 %") == 1
    assert "An essential load goes dark" in " ".join(plain(made.runs_not))
    assert "Nothing essential goes dark" not in said
    assert "June fails first at Cinder Ridge" in " ".join(plain(made.runs_not))
    assert "in any month of the year" not in said
    assert "will probably be shed" not in said  # the sentence of what goes off first says it


def test_curve_of_the_quote_is_the_outlooks():
    body = with_outlook(sample.quote_body)
    outlook = body["appraisal"]["outlook"]

    chart = content("quote", body).spread

    assert [list(each) for each in (chart.low, chart.median, chart.high)] == [
        outlook["charge_low"],
        outlook["charge_median"],
        outlook["charge_high"],
    ]
    assert [each.name for each in chart.stops] == ["Cinder Ridge, July", "Cinder Ridge, November"]
    assert sum(each.points for each in chart.stops) == len(chart.median)
    assert chart.levels == (0.2, 0.3)
    assert "90 % of them stay in the band" in plain([chart.words])[0]


def test_handover_says_what_an_owner_lives_by():
    body = with_outlook(sample.as_built_body)
    figures = body["appraisal"]["figures"]
    figures["battery.got_ah"]["value"] = 400.0
    figures["engine.hour_gives_ah"]["value"] = 20.0
    for span, costs in zip(body["appraisal"]["outlook"]["stops"], (40.0, 72.0), strict=True):
        span["grey_day_ah"] = costs

    made = content("handover", body)

    assert lived(made.living) == {
        "An hour’s drive": "Puts back about 20 Ah, 5 % of the battery, while the battery is not nearly full.",
        "A grey day": (
            "Costs about 72 Ah, 18 % of the battery, against a usual one, reckoned for Cinder Ridge in November. "
            "Drive or plug in."
        ),
        "Nothing charging": (
            "From full it is flat after about 2.8 days of the most demanding use of your trip, things going off as "
            "they do."
        ),
        "Weakest month": "June, at Cinder Ridge: least is left then.",
    }
    back = "Comes back once the charge is over"
    assert list(lived(made.off_and_on).items()) == [
        ("Kettle", f"{back} 35 %. On a trip like yours it goes off in 7.0 % of the weathers."),
        ("Satellite terminal", f"{back} 25 %. On a trip like yours it does not go off in any of 200 weathers."),
    ]


def lived(entries):
    """Sentences by their headings."""
    return {each.heading: " ".join(plain(each.sentences)) for each in entries}


def test_owner_is_told_the_parked_days_that_the_alternator_leaves():
    """An alternator that never fills the starter battery leaves it fewer days than a full one has."""
    body = with_outlook(sample.as_built_body)
    body["appraisal"]["figures"]["starter.days_parked"]["value"] = 38.1
    body["appraisal"]["outlook"]["starter"]["days_parked"] = 19.05

    now = content("handover", body).parked
    then = content("handover", before(body)).parked

    assert "may not crank after 19 days" in " ".join(plain(s for each in now for s in each.sentences))
    assert "may not crank after 38 days" in " ".join(plain(s for each in then for s in each.sentences))


@pytest.mark.parametrize(
    ("kind", "body_of", "heads"),
    [("quote", sample.quote_body, ["What to expect"]), ("handover", sample.as_built_body, ["Weather and road"])],
)
def test_snapshots_from_before_say_nothing_of_it(kind, body_of, heads):
    old = flat(render(kind, before(body_of()), sample.PERSONAL, sample.CHECKSUM).pdf)
    new = flat(paper(kind).pdf)

    for words in [*heads, "weathers"]:
        assert words in new
        assert words not in old
