"""The engineering policy as a manager sets it: each value explained, checked, told, never in what is issued."""

from __future__ import annotations

import pytest
from django.core.exceptions import ValidationError

from fitouts.models import User, Workshop
from quoting.models import Document, Snapshot
from quoting.services import designs, frozen, policy, quotes
from quoting.sizing.policy import ChemistryPolicy, OfferPolicy, Policy
from quoting.wording.policy import CHEMISTRY, OFFER, SECTIONS
from tests.factories.course import issue
from tests.factories.jobs import make_user

URL = "/workshop/engineering/"


@pytest.fixture
def manager(made_wagon, db) -> User:
    return make_user(User.Role.MANAGER, display_name="Orla Penn")


@pytest.fixture
def boss(client, manager):
    client.force_login(manager)
    return client


def entries(response) -> dict[str, str]:
    """What the form holds, as a browser would send it."""
    form = response.context["form"]
    return {field.html_name: str(field.value() if field.value() is not None else "") for field in form}


def test_every_value_of_the_policy_stands_in_one_part_of_the_page():
    named = [name for _, _, values in SECTIONS for name in values]

    assert sorted(named) == sorted(set(Policy.model_fields) - {"chemistries", "offers"})
    assert set(CHEMISTRY) == set(ChemistryPolicy.model_fields) - {"factors_multiply"}
    assert set(OFFER) == set(OfferPolicy.model_fields)


def test_each_value_says_default_range_effect_and_source(boss):
    form = boss.get(URL).context["form"]

    assert form["drop_other_ratio"].help_text == (
        "Default 5\xa0%, at least 1\xa0% and at most 10\xa0%. Changes area of all other conductors."
    )
    assert form["drop_critical_ratio"].help_text.endswith(" Source: ISO 10133.")
    assert "A default without a source is common practice." in boss.get(URL).content.decode()
    assert form["joint_ohm"].field.unit == "Ω"
    for field in form:
        assert "Default" in field.help_text
        assert "Changes" in field.help_text
        assert not field.help_text.endswith("Source: .")


def test_saving_what_is_there_stores_nothing(boss):
    answer = boss.post(URL, entries(boss.get(URL)))

    assert answer.status_code == 302
    assert Workshop.objects.get().engineering == {}
    assert Workshop.history.count() == 0 or not Workshop.history.first().engineering


def test_only_what_differs_is_stored_and_told(boss):
    values = entries(boss.get(URL)) | {"drop_other_ratio": "4", "wind_m_s": "2,5", "agm.usable_depth_ratio": "60 %"}

    boss.post(URL, values)

    stored = Workshop.objects.get().engineering
    assert stored["drop_other_ratio"] == 0.04
    assert stored["wind_m_s"] == 2.5
    assert stored["chemistries"]["agm"]["usable_depth_ratio"] == 0.6
    assert set(stored) == {"drop_other_ratio", "wind_m_s", "chemistries"}
    page = boss.get(URL)
    words = page.content.decode()
    assert "3 values differ from their defaults" in words
    assert "1 of 6 set here" in words
    assert page.context["form"]["wind_m_s"].help_text.startswith("Set here; default 1\xa0m/s,")
    assert policy.current().drop_other_ratio == 0.04


def test_what_an_offer_asks_is_set_like_everything_else(boss):
    typed = {"roomy.objective": "mass", "lean.spare_outputs": "2", "steady.array_ratio": "150 %"}

    boss.post(URL, entries(boss.get(URL)))
    boss.post(URL, entries(boss.get(URL)) | typed)

    stored = Workshop.objects.get().engineering
    assert set(stored) == {"offers"}
    assert stored["offers"]["roomy"]["objective"] == "mass"
    assert stored["offers"]["roomy"]["battery_ratio"] == 1.3  # the rest of it as it was
    assert policy.current().offers["lean"].spare_outputs == 2
    change = boss.get(URL).context["changes"][0]
    assert [(f.label, f.before, f.after) for f in change.fields] == [
        ("Lean: outputs kept free", "0", "2"),
        ("Steady: array, of what the day asks", "100\xa0%", "150\xa0%"),
        ("Roomy: has least of", "cost per year", "mass"),
    ]


def test_the_history_tells_who_changed_which_value(boss, manager):
    boss.post(URL, entries(boss.get(URL)))
    boss.post(URL, entries(boss.get(URL)) | {"drop_other_ratio": "4"})
    boss.post(URL, entries(boss.get(URL)) | {"drop_other_ratio": "3"})

    change = boss.get(URL).context["changes"][0]

    assert change.by == "Orla Penn"
    assert [(f.label, f.before, f.after) for f in change.fields] == [
        ("Voltage drop limit, other circuits", "4\xa0%", "3\xa0%")
    ]


def _fold_of(answer, name: str) -> str:
    """Title of the part that holds a value."""
    parts = answer.context["form"].folds
    return next(part.title for part in parts if name in [field.name for field in part.fields])


@pytest.mark.parametrize(
    ("name", "typed", "sentence"),
    [
        ("drop_other_ratio", "40", "It is 40\xa0%; it must be at least 1\xa0% and at most 10\xa0%."),
        ("wind_m_s", "-1", "it must be at least 0\xa0m/s and at most 20\xa0m/s."),
        ("wind_m_s", "gale", "number"),
        ("spare_outputs", "1.5", "whole number"),
        ("unknown_battery_breaking_a", "10000", "at least 20"),
        ("drop_critical_ratio", "", "Enter a number"),
        ("agm.tail_h", "9", "at most 4\xa0h"),
        ("crank_a", "1,500", "1"),
    ],
)
def test_a_wrong_entry_is_refused_with_its_range_and_nothing_is_saved(boss, name, typed, sentence):
    answer = boss.post(URL, entries(boss.get(URL)) | {name: typed, "design_margin_ratio": "120"})

    assert answer.status_code == 422
    assert sentence in " ".join(answer.context["form"][name].errors)
    assert Workshop.objects.get().engineering == {}
    assert 'value="120"' in answer.content.decode()  # what was typed stays
    assert [part.title for part in answer.context["form"].folds if part.refused] == [_fold_of(answer, name)]


def test_an_ordinary_day_must_not_go_deeper_than_the_deepest(boss):
    answer = boss.post(URL, entries(boss.get(URL)) | {"agm.daily_depth_ratio": "70"})

    assert answer.status_code == 422
    assert "an ordinary day (70 %) must not go deeper than the deepest (50 %)" in answer.content.decode()


OFF, BACK = "Voltage at which shed groups go off whatever the monitor reads", "Voltage at which they come back"


@pytest.mark.parametrize(
    ("typed", "low", "high"),
    [
        ({"backstop_restore_v_per_12": "11.5"}, f"“{OFF}, per 12 V” (11.8\xa0V)", f"“{BACK}, per 12 V” (11.5\xa0V)"),
        (
            {"backstop_restore_v_per_12": "13.5", "charging_v_per_12": "13"},
            f"“{BACK}, per 12 V” (13.5\xa0V)",
            "“Highest voltage of a bus, per 12 V” (13\xa0V)",
        ),
        (
            {"low_voltage_v_per_12": "13.2", "charging_v_per_12": "13.1"},
            "“Battery voltage at which appliances must still work, per 12 V” (13.2\xa0V)",
            "“Highest voltage of a bus, per 12 V” (13.1\xa0V)",
        ),
    ],
)
def test_values_that_contradict_one_another_are_refused_by_name(boss, typed, low, high):
    answer = boss.post(URL, entries(boss.get(URL)) | typed)

    assert answer.status_code == 422
    assert f"{low} must be lower than {high}." in answer.content.decode()
    assert any(part.refused for part in answer.context["form"].folds)
    assert Workshop.objects.get().engineering == {}


def test_a_change_reaches_new_designs_and_nothing_issued(worked_out, estimator, manager, files):
    revision = issue(worked_out, estimator)
    before = Snapshot.objects.get(pk=revision.snapshot_id).body
    total = revision.offers.get().total

    policy.set_policy({"drop_other_ratio": 0.02, "design_margin_ratio": 1.5}, {}, by=manager)

    assert Snapshot.objects.get(pk=revision.snapshot_id).body == before
    assert revision.offers.get().total == total
    assert Document.objects.filter(snapshot=revision.snapshot).count() == 1
    design = worked_out.designs.first()
    assert not designs.is_current(design, worked_out)
    newer = designs.work_out(worked_out, by=estimator)
    assert newer.brief["policy"]["drop_other_ratio"] == 0.02
    assert newer.key != design.key
    with pytest.raises(quotes.QuoteNotReady, match="already issued"):
        quotes.reprice(revision)
    assert frozen is not None


def test_an_unknown_chemistry_or_value_is_refused(manager):
    with pytest.raises(ValidationError, match="no chemistry “bricks”"):
        policy.set_policy({}, {"bricks": {"tail_h": 1.0}}, by=manager)
    with pytest.raises(ValidationError):
        policy.set_policy({"wheel": 4}, {}, by=manager)


@pytest.mark.parametrize("role", [User.Role.ESTIMATOR, User.Role.TECHNICIAN])
def test_it_is_the_managers_page(client, made_wagon, db, role):
    user = User.objects.filter(role=role).first() or make_user(role)
    client.force_login(user)

    assert client.get(URL).status_code == 403
    assert client.post(URL, {}).status_code == 403


def test_the_page_asks_as_often_whatever_the_history(boss, django_assert_num_queries):
    for number in range(6):
        boss.post(URL, entries(boss.get(URL)) | {"spare_outputs": str(number)})

    with django_assert_num_queries(11):
        boss.get(URL)


def test_colours_and_the_body_as_a_return_are_picked_from_lists(boss):
    form = boss.get(URL).context["form"]

    assert form["chassis_return_allowed"].help_text.startswith("Default no. Changes whether a circuit")
    assert dict(form["negative_colour"].field.choices)["black_or_yellow"] == "black or yellow"
    values = entries(boss.get(URL)) | {"negative_colour": "blue", "chassis_return_allowed": "True"}

    boss.post(URL, values)

    assert Workshop.objects.get().engineering == {"negative_colour": "blue", "chassis_return_allowed": True}
    page = boss.get(URL)
    assert page.context["form"]["negative_colour"].help_text.startswith("Set here; default black or yellow.")
    assert "black or yellow" in page.content.decode()
    boss.post(URL, entries(page) | {"chassis_return_allowed": "False", "negative_colour": "black_or_yellow"})
    assert Workshop.objects.get().engineering == {}


def test_a_colour_that_is_not_in_the_list_is_refused(boss):
    answer = boss.post(URL, entries(boss.get(URL)) | {"positive_colour": "mauve"})

    assert answer.status_code == 422
    assert answer.context["form"]["positive_colour"].errors
    assert Workshop.objects.get().engineering == {}
