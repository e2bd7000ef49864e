"""From rows to a Brief: complete, or a list of everything that is missing."""

from __future__ import annotations

from decimal import Decimal

import pytest
from django.urls import reverse

from catalog import services as catalog
from fitouts.models import Customer, Fitout, Requirement, User, VehicleRun, Workshop
from fitouts.services import fitouts as jobs
from fitouts.services import vehicles
from quoting.services import briefs
from quoting.sizing.brief import Brief, Event
from quoting.sizing.errors import SizingError
from quoting.sizing.policy import Policy
from tests.factories.jobs import make_user
from tests.factories.wagon import example, make_wagon

pytestmark = pytest.mark.django_db


@pytest.fixture
def estimator() -> User:
    return make_user()


@pytest.fixture
def wagon(estimator: User) -> Fitout:
    return make_wagon(estimator)


def missing(fitout: Fitout) -> list[str]:
    with pytest.raises(briefs.BriefIncomplete) as caught:
        briefs.make_brief(fitout)
    return [m.code for m in caught.value.missing]


def test_rows_make_the_brief_they_came_from(wagon):
    made = briefs.make_brief(wagon)
    given = Brief.model_validate_json(__import__("json").dumps(example()))

    names = {p.key: p.name for p in made.vehicle.positions}
    wanted = {p.key: p.name for p in given.vehicle.positions}
    assert [load.use for load in made.loads] == [load.use for load in given.loads]
    assert [names.get(load.position) for load in made.loads] == [wanted.get(x.position) for x in given.loads]
    assert made.trip == given.trip
    assert made.wishes == given.wishes
    assert {r: names[k] for r, k in made.vehicle.places.items()} == {
        r: wanted[k] for r, k in given.vehicle.places.items()
    }
    assert [(names[r.a], names[r.b], r.length_m, r.bundled) for r in made.vehicle.runs] == [
        (wanted[r.a], wanted[r.b], r.length_m, r.bundled) for r in given.vehicle.runs
    ]
    assert [(p.name, Decimal(p.cost)) for p in made.catalogue] == [(p.name, Decimal(p.cost)) for p in given.catalogue]


def test_empty_job_lists_everything_at_once(wagon, estimator):
    vehicle = wagon.vehicle
    fitout = jobs.open_job(wagon.customer, vehicle, "Second", by=estimator)

    assert missing(fitout) == [
        "loads",
        "trip",
        "place_starter",
        "place_battery",
        "place_board",
        "place_charger",
        "place_array",
        "place_inlet",
    ]


def test_what_is_missing_leads_to_where_it_goes(wagon):
    wagon.stops.all().delete()
    with pytest.raises(briefs.BriefIncomplete, match="The trip has no stop") as caught:
        briefs.make_brief(wagon)

    assert [m.url for m in caught.value.missing] == [reverse("job", args=[wagon.pk]) + "#trip"]


def test_vehicle_without_positions_leads_to_its_page(wagon, estimator):
    customer = Customer.objects.create(name="Next")
    vehicle = customer.vehicles.create(make="Halvard", model="Tor")
    fitout = jobs.open_job(customer, vehicle, "Second", by=estimator)
    with pytest.raises(briefs.BriefIncomplete) as caught:
        briefs.make_brief(fitout)

    assert [m.code for m in caught.value.missing] == ["loads", "trip", "positions"]
    assert caught.value.missing[2].url == reverse("vehicle", args=[vehicle.pk])


def test_places_are_asked_for_only_where_they_are_needed(wagon):
    wagon.placements.filter(role__in=["inverter", "inlet", "array", "starter", "charger"]).delete()
    assert missing(wagon) == ["place_starter", "place_charger", "place_inverter", "place_array", "place_inlet"]

    wagon.requirements.filter(bus=Requirement.Bus.AC).delete()
    wagon.engine_charging = wagon.mains_charging = wagon.solar_charging = False
    wagon.save()

    assert briefs.make_brief(wagon).vehicle.places.keys() == {"battery", "board"}


def test_positions_that_no_run_joins_are_named(wagon):
    VehicleRun.objects.filter(start__name="Cargo drawer", end__name="Rear door").delete()

    with pytest.raises(briefs.BriefIncomplete, match="No cable way leads to “Rear door”"):
        briefs.make_brief(wagon)


def test_a_place_that_air_passes_through_is_one_in_the_brief(wagon):
    position = wagon.vehicle.positions.get(name="Cargo drawer")
    vehicles.change_position(position, by=None, aired=True)

    made = {p.name: p.aired for p in briefs.make_brief(wagon).vehicle.positions}

    assert made["Cargo drawer"]
    assert not made["Roof"]


def test_no_chemistry_is_missing_not_guessed(wagon):
    wagon.chemistries = []
    wagon.save()

    assert missing(wagon) == ["chemistries"]


def test_policy_of_the_workshop_overrides_by_name(wagon):
    Workshop.objects.update(engineering={"design_margin_ratio": 1.25})

    policy = briefs.make_brief(wagon).policy

    assert policy == Policy(design_margin_ratio=1.25)


def test_impossible_policy_is_refused_with_field_value_and_range(wagon):
    Workshop.objects.update(engineering={"fuse_continuous_ratio": 0.5})

    with pytest.raises(
        SizingError, match=r"policy\.fuse_continuous_ratio is 0\.5; it must be at least 1 and at most 2\."
    ):
        briefs.make_brief(wagon)


def test_retired_components_are_left_out_and_pinned_ones_are_keys(wagon, estimator):
    part = next(iter(briefs.make_brief(wagon).catalogue))
    from catalog.models import Component

    component = Component.objects.get(pk=int(part.key))
    catalog.retire(component, by=estimator)
    wagon.pinned = [component.pk]
    wagon.save()

    brief = briefs.make_brief(wagon)

    assert part.key not in {p.key for p in brief.catalogue}
    assert brief.wishes.pinned == (part.key,)


def test_row_written_past_the_services_is_refused(wagon):
    line = wagon.requirements.get(name="Kettle")
    Requirement.objects.filter(pk=line.pk).update(use={"power_w": 700, "minutes": 90, "times_per_day": 20})

    with pytest.raises(SizingError, match="1440 min"):
        briefs.make_brief(wagon)


def test_check_line_names_the_field_without_its_place_in_the_list(wagon):
    line = Requirement(
        fitout=wagon,
        name="Kettle",
        way="event",
        use={"power_w": 700, "minutes": 6, "times_per_day": 20},
        window_start_h=6,
        window_end_h=7,
    )
    with pytest.raises(SizingError) as caught:
        briefs.check_line(line)

    assert caught.value.field == "use.times_per_day"
    assert "2 h a day, but its window is 1 h long" in caught.value.message


def test_uses_are_validated_by_the_briefs_own_model(wagon):
    use = briefs.make_brief(wagon).loads[6].use

    assert use == Event(power_w=700, minutes=6, times_per_day=2)
