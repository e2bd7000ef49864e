"""What if: what was moved is tried and nothing else, nothing is saved, and what is wrong is said at its entry."""

from __future__ import annotations

import html
import re

import pytest
from django.http import QueryDict
from django.urls import reverse
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from catalog import services as catalog
from fitouts.models import Fitout, User
from fitouts.services import audit
from quoting.forms.what_if import DIALS, WhatIfForm
from quoting.models import Design
from quoting.queries.trial_rows import moved_row
from quoting.services import briefs, designs, trials
from quoting.sizing.brief import Brief, read
from quoting.sizing.outlook import Moved, Trial
from quoting.wording.outlook import IN_RATIO, MOVED
from tests.factories.jobs import make_user
from tests.factories.wagon import example

pytestmark = pytest.mark.django_db
CODES = Moved.model_fields["code"].annotation.__args__


@pytest.fixture(scope="module")
def brief() -> Brief:
    """Two stops that have not one value in common but the month."""
    raw = example()
    other = {"days": 2.0, "driving_h_per_day": 2.0, "mains_h_per_day": 8.0, "shade_ratio": 0.0}
    raw["trip"] = [{**raw["trip"][0], "days": 4.0, "driving_h_per_day": 1.2}, {**raw["trip"][0], **other}]
    return read(raw)


@pytest.fixture
def fridge(estimator):
    use = {"power_w": 60.0, "hours_per_day": 24.0}
    return catalog.save_appliance("steady", use, {"name": "Trial cooler", "bus": "house"}, by=estimator)


def form(brief: Brief, query: str) -> WhatIfForm:
    return WhatIfForm(QueryDict(query), brief=brief)


def text_of(response) -> str:
    return re.sub(r"[ \n]+", " ", html.unescape(response.content.decode()))


def as_sent(shown: WhatIfForm) -> dict[str, str]:
    """What a browser would send of the form as it is shown."""
    sent = {name: str(shown.data[name]) for name in (*DIALS, "quantity")}
    return sent | {"stop": "" if shown.chosen is None else str(shown.chosen), "at": shown.data["at"], "appliance": ""}


# --- What is tried -----------------------------------------------------------------------------------


def test_nothing_moved_is_nothing_tried(brief):
    at_rest = form(brief, "")
    again = WhatIfForm(as_sent(at_rest), brief=brief)

    assert at_rest.trial() == again.trial() == Trial()
    assert not at_rest.is_moved
    assert not again.is_moved
    assert again.address() == ""


@pytest.mark.parametrize(
    ("query", "trial"),
    [
        ("days=6", Trial(days=6.0)),
        ("stop=1&days=6", Trial(stop=1, days=6.0)),
        ("stop=1&days=2", Trial(stop=1)),  # it stays two days as it is
        ("month=12", Trial(month=12)),
        ("shade=45", Trial(shade_ratio=0.45)),
        ("driving=0", Trial(driving_h_per_day=0.0)),
        ("driving=1.25", Trial()),  # a slider of quarters cannot stand nearer to 1.2
        ("mains=24", Trial(mains_h_per_day=24.0)),
        ("sun=50", Trial(sun_ratio=0.5)),
        ("warmer=-10", Trial(warmer_k=-10.0)),
        ("worn=on&drift=on", Trial(worn=True, drift=True)),
    ],
)
def test_what_was_moved_is_tried(brief, query, trial):
    assert form(brief, query).trial() == trial


def test_another_stop_takes_its_own_values_and_keeps_what_was_moved(brief):
    sent = as_sent(form(brief, "sun=50&driving=3")) | {"stop": "1"}

    moved = WhatIfForm(sent, brief=brief)

    assert moved.trial() == Trial(stop=1, driving_h_per_day=3.0, sun_ratio=0.5)
    assert moved.data["days"] == "2"
    assert moved.address() == "stop=1&driving=3&sun=50"


def test_address_says_the_trial_and_nothing_else(brief):
    first = form(brief, "days=6&sun=50&worn=on&month=7")

    assert first.address() == "days=6&sun=50&worn=on"
    assert form(brief, first.address()).trial() == first.trial()


def test_sliders_say_where_each_stop_has_its_own(brief):
    shown = {dial.field.name: dial for dial in form(brief, "days=6").dials()}
    one = {dial.field.name: dial for dial in form(brief, "stop=0").dials()}

    assert (shown["days"].says, shown["days"].rest) == ("6\u00a0d", "as each has it")
    assert shown["month"].says == "July"
    assert one["days"].says == "4\u00a0d"
    assert shown["warmer"].says == "0\u00a0K"
    assert {dial.field.name: dial for dial in form(brief, "warmer=5").dials()}["warmer"].says == "+5\u00a0K"


def test_appliance_is_tried_with_its_own_values(brief, fridge):
    trial = form(brief, f"appliance=Trial cooler %23{fridge.pk}&quantity=2").trial()

    (load,) = trial.added
    assert (load.name, load.quantity, load.use.power_w, load.use.hours_per_day) == ("Trial cooler", 2, 60.0, 24.0)
    assert load.key not in {x.key for x in brief.loads}


@pytest.mark.parametrize(
    ("query", "field", "words"),
    [
        ("days=99", "days", "It is 99\u00a0d; it must be at least 0.5\u00a0d and at most 60\u00a0d."),
        ("shade=120", "shade", "It is 120\u00a0%"),
        ("month=7.5", "month", "whole number"),
        ("sun=often", "sun", "often"),
        ("warmer=40", "warmer", "It is 40\u00a0K"),
        ("appliance=no such thing", "appliance", "Nothing in use is called “no such thing”."),
        ("quantity=0&appliance=x", "quantity", "It is 0"),
        ("stop=7", "stop", "7"),
    ],
)
def test_wrong_entry_is_named_at_its_field(brief, query, field, words):
    wrong = form(brief, query)

    assert wrong.trial() is None
    assert field in wrong.errors
    assert words in " ".join(wrong.errors[field])


ENTRIES = st.one_of(
    st.text(max_size=12),
    st.sampled_from(["nan", "inf", "-1", "1e400", "2,5", "1,500", "0x10", "٣", "²", "\0", "9" * 400, "6 d", "30 min"]),
    st.floats(allow_nan=True).map(str),
)
NAMES = st.sampled_from([*DIALS, "stop", "at", "appliance", "quantity", "worn", "drift", "alone", "nonsense"])


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(entries=st.dictionaries(NAMES, ENTRIES, max_size=6))
def test_any_address_is_a_trial_or_named_faults(brief, entries):
    tried = WhatIfForm(entries, brief=brief)

    trial = tried.trial()

    assert isinstance(trial, Trial) != bool(tried.errors)
    assert len(tried.dials()) == len(DIALS)
    assert isinstance(tried.address(), str)
    assert isinstance(tried.is_moved, bool)


def test_every_result_that_moves_has_words():
    assert set(MOVED) == set(CODES)
    assert set(CODES) >= IN_RATIO


def test_moved_figures_are_shown_before_and_after():
    share = moved_row(Moved(code="lowest_low", unit="", before=0.62, after=0.41, better=False))
    flat = moved_row(Moved(code="flat_days", unit="day", before=2.54, after=None, better=True))

    assert (share.before.number, share.after.number, share.after.unit, share.way) == ("62", "41", "%", "worse")
    assert (flat.before.number, flat.after, flat.none, flat.way) == ("2.5", None, "over a year", "better")


# --- The page ----------------------------------------------------------------------------------------


def page_url(fitout: Fitout, query: str = "") -> str:
    return reverse("what_if", args=[fitout.pk]) + (f"?{query}" if query else "")


def test_page_without_script_shows_what_moved(client, worked_out, estimator):
    client.force_login(estimator)

    text = text_of(client.get(page_url(worked_out, "driving=0&sun=40&days=9")))

    assert "Lowest, bad weather" in text
    assert re.search(r"worse, was \d+\u00a0%", text)
    assert 'class="was"' in text
    assert 'value="9"' in text
    assert f'href="{page_url(worked_out)}?days=9&driving=0&sun=40"' in text


def test_trial_saves_nothing(client, worked_out, estimator):
    client.force_login(estimator)
    design = designs.latest_of(worked_out)
    before = (Design.objects.count(), worked_out.requirements.count(), design.appraisal)

    client.get(page_url(worked_out, "days=9&worn=on"))

    after = designs.latest_of(worked_out)
    assert (Design.objects.count(), worked_out.requirements.count(), after.appraisal) == before
    assert client.post(page_url(worked_out), {"days": "9"}).status_code == 405


def test_script_gets_the_answer_alone_with_faults_for_each_entry(client, worked_out, estimator):
    client.force_login(estimator)
    asks = {"HTTP_HX_REQUEST": "true", "HTTP_HX_TARGET": "what-if-answer"}

    good = text_of(client.get(page_url(worked_out, "sun=40"), **asks))
    wrong = client.get(page_url(worked_out, "sun=40&appliance=nothing such"), **asks)

    assert 'id="what-if-answer"' in good
    assert "<html" not in good
    assert '<input type="range"' not in good
    assert 'id="what-if-sun-wrong" hx-swap-oob="true"' in good
    assert wrong.status_code == 200  # a script puts it in its place
    assert "Nothing in use is called “nothing such”." in text_of(wrong)
    assert client.get(page_url(worked_out, "appliance=nothing such")).status_code == 422


def test_script_gets_the_sliders_of_another_stop(client, worked_out, estimator):
    client.force_login(estimator)

    text = text_of(client.get(page_url(worked_out, "stop=0"), HTTP_HX_REQUEST="true", HTTP_HX_TARGET="what-if-matter"))

    assert "<html" not in text
    assert text.count('type="range"') == len(DIALS)


def test_added_appliance_is_worse_for_the_battery(client, worked_out, estimator, fridge):
    client.force_login(estimator)

    response = client.get(page_url(worked_out, f"appliance=Trial cooler %23{fridge.pk}&quantity=3"))

    rows = {row.label: row for row in response.context["answer"].moved}
    assert rows["Used"].way == "worse"
    added_wh = float(rows["Used"].after.number.replace("\u202f", "")) - float(
        rows["Used"].before.number.replace("\u202f", "")
    )
    assert added_wh == pytest.approx(3 * 60 * 24, rel=0.02)  # by hand: 3 × 60 W × 24 h


def test_changed_inputs_are_said(client, worked_out, estimator):
    audit.change_line(
        worked_out.requirements.get(name="Kettle"), {"quantity": 2}, by=estimator, check=briefs.check_line
    )
    client.force_login(estimator)

    text = text_of(client.get(page_url(worked_out)))

    assert "inputs changed since design 1, which is shown here" in text
    assert "“Kettle” was changed in the power audit." in text


def test_whoever_sees_the_design_may_try(client, worked_out):
    client.force_login(make_user(User.Role.TECHNICIAN))

    response = client.get(page_url(worked_out, "days=9"))

    assert response.status_code == 200
    assert "Lowest, bad weather" in text_of(response)


def test_job_without_a_design_says_so(client, worked_out, estimator):
    worked_out.designs.all().delete()
    client.force_login(estimator)

    text = text_of(client.get(page_url(worked_out, "days=9")))

    assert "Not worked out yet" in text


def test_what_the_sizing_refuses_is_said_at_its_entry(client, worked_out, estimator):
    """Fifty degrees over a hot month is no air that can be: the sizing knows, and names the field."""
    design = designs.latest_of(worked_out)
    raw = {**design.brief}
    raw["trip"] = [{**stop, "site": {**stop["site"], "tmax_c": [50.0] * 12}} for stop in raw["trip"]]
    Design.objects.filter(pk=design.pk).update(brief=raw, key="f" * 64)
    client.force_login(estimator)

    response = client.get(page_url(worked_out, "warmer=20"))

    assert response.status_code == 422
    assert list(response.context["form"].errors) == ["warmer"]


def test_records_of_a_few_designs_stay_read(worked_out, monkeypatch):
    """A slider's next step reads no record again; another design's are another's."""
    design = designs.latest_of(worked_out)
    monkeypatch.setattr(trials, "_READ", {})
    first = trials.records_of(design)

    monkeypatch.setattr(designs, "brief_of", lambda design: pytest.fail("a kept design was read again"))

    assert trials.records_of(design) is first
    assert first[0].title == design.brief["title"]


def test_an_erased_title_is_not_shown_from_what_stays_read(worked_out):
    design = worked_out.designs.first()
    trials.records_of(design)
    design.brief["title"] = "Job 26-0001"

    assert trials.records_of(design)[0].title == "Job 26-0001"
