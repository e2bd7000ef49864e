"""An upgrade drawn onto what lies in the vehicle: taken over from our own record, matched by hand, or as found."""

from __future__ import annotations

import html
import json
import re

import pytest
from django.test import Client
from django.urls import reverse

from fitouts.models import Fitout, TaxRate, User
from fitouts.services import fitouts as jobs
from quoting.models import CircuitChange, ExistingCircuit
from quoting.queries.existing import existing_page
from quoting.services import carried, circuit_changes, designs, existing
from quoting.sizing.appraisal import Appraisal
from tests.factories.course import deliver, load_labour, make_people
from tests.factories.wagon import make_vehicle, make_wagon

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def made_upgrade(kept_rows) -> int:
    """Key of an upgrade of the field wagon that we built and delivered, worked out."""
    people = make_people()
    by = people["estimator"]
    TaxRate.objects.create(name="GST", ratio="0.1", valid_from="2020-01-01")
    load_labour(by)
    job = make_wagon(by)
    deliver(job, by, people["licensed"])
    upgrade = jobs.open_from(job, job.vehicle, by=by, title="More of it", kind=Fitout.Kind.UPGRADE)
    designs.work_out(upgrade, by=by)
    return upgrade.pk


@pytest.fixture
def upgrade(made_upgrade, db, files) -> Fitout:
    return Fitout.objects.get(pk=made_upgrade)


@pytest.fixture
def by(upgrade) -> User:
    return User.objects.get(role=User.Role.ESTIMATOR)


@pytest.fixture
def desk(by) -> Client:
    client = Client()
    client.force_login(by)
    return client


def appraisal_of(fitout: Fitout) -> Appraisal:
    return designs.appraisal_of(fitout.designs.first())


def protected(appraisal: Appraisal) -> set[str]:
    return {c.key for c in appraisal.circuits if any(d.what in ("fuse", "breaker") for d in c.devices)}


def said(response) -> str:
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]*>", " ", response.content.decode())))


# --- Taken over --------------------------------------------------------------------------------------


def test_one_press_takes_every_circuit_over_and_what_passes_stays(desk, upgrade, by):
    page = desk.get(reverse("existing", args=[upgrade.pk]))
    assert f"Take over {len(protected(appraisal_of(upgrade)))} circuits of our own" in said(page)

    desk.post(reverse("existing_take_over", args=[upgrade.pk]))

    rows = {row.circuit: row for row in upgrade.existing_circuits.all()}
    assert set(rows) == protected(appraisal_of(upgrade))
    feed = next(c for c in appraisal_of(upgrade).circuits if c.role == "engine_feed")
    row = rows["engine_feed"]
    assert (row.area_mm2, row.insulation_c, row.run_m) == (feed.area_mm2, feed.insulation_c, feed.run_m)
    assert (row.rating_a, row.breaking_a) == (feed.devices[0].rating_a, feed.devices[0].breaking_a)
    assert row.max_v
    assert row.both_ends
    assert row.device_ohm
    assert row.ohm_per_km_20c
    assert row.source.startswith("as built, job ")

    designs.work_out(upgrade, by=by)

    now = appraisal_of(upgrade)
    assert {c.key for c in now.circuits if c.stays} == set(rows)  # the same loads, the same currents
    assert not [line for line in now.bill if line.rule == "protects"]
    again = said(desk.post(reverse("existing_take_over", args=[upgrade.pk]), follow=True))
    assert "Every circuit that matches is on the list already." in again
    assert f"{len(rows)} circuits in the vehicle stay, 0 are replaced." in said(
        desk.get(reverse("circuits", args=[upgrade.pk]))
    )


def test_loads_match_by_name_and_ends_though_the_audit_is_numbered_anew(upgrade):
    built = existing.as_built(existing.systems_before(upgrade))
    circuits = appraisal_of(upgrade).circuits
    now = {c.key for c in circuits if c.role == "load" and c.key.removeprefix("load:").isdigit()}
    assert now
    assert not now & {one.key for one in built}

    pairs = existing.match(built, circuits).pairs

    assert now <= {circuit.key for _one, circuit in pairs}
    assert all((one.role, one.ends) == (c.role, (c.from_position, c.to_position)) for one, c in pairs)


def test_what_moved_or_was_renamed_is_left_to_a_person(upgrade):
    built = existing.as_built(existing.systems_before(upgrade))
    circuits = list(appraisal_of(upgrade).circuits)
    feed = next(i for i, c in enumerate(circuits) if c.role == "engine_feed")
    circuits[feed] = circuits[feed].model_copy(update={"to_position": "elsewhere"})
    lights = next(i for i, c in enumerate(circuits) if "lights" in c.name)
    circuits[lights] = circuits[lights].model_copy(update={"name": "Other lamps"})

    matched = existing.match(built, circuits)

    assert {one.name for one in matched.alone} == {"Engine feed", "Camp and cargo lights"}


def test_two_alike_are_nobodys(upgrade):
    built = existing.as_built(existing.systems_before(upgrade))
    circuits = appraisal_of(upgrade).circuits
    lights = next(c for c in circuits if "lights" in c.name)
    twin = lights.model_copy(update={"key": "load:999999"})

    assert "Camp and cargo lights" in {one.name for one in existing.match(built, [*circuits, twin]).alone}


def test_a_record_of_before_without_keys_and_devices_facts_matches_what_it_can(upgrade, monkeypatch):
    read = existing.snapshots.read

    def older(snapshot):
        body, personal = read(snapshot)
        body = json.loads(json.dumps(body))
        for circuit in body["appraisal"]["circuits"]:
            for name in ("key", "passes", "stays", "changed", "drop_a"):
                circuit.pop(name, None)
            for device in circuit["devices"]:
                device.pop("distance_m", None)
                device["breaking_a"] = None
        body["brief"].pop("existing", None)
        body["parts"] = {}
        return body, personal

    monkeypatch.setattr(existing.snapshots, "read", older)

    matched = existing.match(existing.as_built(existing.systems_before(upgrade)), appraisal_of(upgrade).circuits)

    assert {c.key for _one, c in matched.pairs} == protected(appraisal_of(upgrade))
    assert {one.values["breaking_a"] for one, _c in matched.pairs} == {None}  # never taken as enough
    assert {one.values["max_v"] for one, _c in matched.pairs} == {None}


def test_what_returned_through_the_body_is_not_taken_for_two_conductors(upgrade, monkeypatch):
    read = existing.snapshots.read
    lights = next(c for c in appraisal_of(upgrade).circuits if "lights" in c.name)

    def by_the_body(snapshot):
        body, personal = read(snapshot)
        body = json.loads(json.dumps(body))
        next(c for c in body["appraisal"]["circuits"] if c["name"] == lights.name)["return_by"] = "chassis"
        return body, personal

    before = {one.name for one in existing.as_built(existing.systems_before(upgrade))}
    monkeypatch.setattr(existing.snapshots, "read", by_the_body)

    assert before - {one.name for one in existing.as_built(existing.systems_before(upgrade))} == {lights.name}


def test_a_damaged_record_offers_nothing_and_breaks_nothing(desk, upgrade, monkeypatch):
    def damaged(snapshot):
        raise existing.snapshots.SnapshotDamaged

    monkeypatch.setattr(existing.snapshots, "read", damaged)

    assert "Take over" not in said(desk.get(reverse("existing", args=[upgrade.pk])))


def test_without_a_design_it_says_what_comes_first(desk, upgrade):
    upgrade.designs.all().delete()

    answer = desk.post(reverse("existing_take_over", args=[upgrade.pk]), follow=True)

    assert "Work the job out first" in said(answer)
    assert not ExistingCircuit.objects.exists()
    assert desk.get(reverse("existing_add", args=[upgrade.pk])).status_code == 302


# --- As found ----------------------------------------------------------------------------------------

FOUND = {"circuit": "engine_feed", "area_mm2": "6", "insulation_c": "70", "form": "fuse", "rating_a": "60"}


def test_what_was_found_too_thin_is_replaced_and_why_is_said(desk, upgrade, by):
    assert desk.post(reverse("existing_add", args=[upgrade.pk]), FOUND).status_code == 302
    row = ExistingCircuit.objects.get()
    assert (row.name, row.breaking_a, row.max_v, row.both_ends) == ("Engine feed", None, None, False)

    designs.work_out(upgrade, by=by)

    feed = next(c for c in appraisal_of(upgrade).circuits if c.key == "engine_feed")
    assert not feed.stays
    (shown,) = existing_page(upgrade, upgrade.designs.first()).rows
    assert (shown.tag, shown.state) == (feed.tag, "replaced")
    assert shown.why
    text = said(desk.get(reverse("circuits", args=[upgrade.pk]) + "?show=replaced"))
    assert "Replaced 1" in text
    assert "what lies there is replaced" in text
    lies = desk.get(reverse("existing", args=[upgrade.pk])).content.decode()
    under = re.findall(r'<tr class="under"><td colspan="8"><small>(.*?)</small>', lies)
    assert [html.unescape(each) for each in under] == [shown.why]  # across the page, for a phone is narrow


def test_a_built_circuit_is_matched_by_hand(desk, upgrade):
    one = next(b for b in existing.as_built(existing.systems_before(upgrade)) if "lights" in b.name)
    url = f"{reverse('existing_add', args=[upgrade.pk])}?built={one.handle}"

    page = desk.get(url)

    form = page.context["form"]
    assert float(form["area_mm2"].value()) == one.values["area_mm2"]
    assert f"{one.tag} {one.name}" in said(page)
    assert desk.get(url.replace(one.handle, "nonsense")).status_code == 200

    desk.post(url, {**FOUND, **{k: v for k, v in one.values.items() if v is not None}, "circuit": "engine_feed"})
    row = ExistingCircuit.objects.get()
    assert (row.circuit, row.device_ohm) == ("engine_feed", one.values["device_ohm"])
    desk.post(reverse("existing_edit", args=[upgrade.pk, row.pk]), FOUND)
    assert ExistingCircuit.objects.get().device_ohm is None  # another device is there than our record says


@pytest.mark.parametrize(
    ("entries", "words"),
    [
        ({"area_mm2": "900"}, "It is 900 mm²; it must be at least 0.35 mm² and at most 300 mm²"),
        ({"rating_a": ""}, "Enter a number"),
        ({"circuit": "nothing like it"}, "Select a valid choice"),
        ({"max_v": "2"}, "It is 2 V; it must be at least 6 V"),
        ({"distance_m": "-1"}, "at least 0 m"),
    ],
)
def test_wrong_entries_are_named_and_nothing_is_kept(desk, upgrade, entries, words):
    answer = desk.post(reverse("existing_add", args=[upgrade.pk]), FOUND | entries)

    assert answer.status_code == 422
    assert words in said(answer).replace("\xa0", " ")
    assert not ExistingCircuit.objects.exists()


def test_changed_dropped_and_told_in_the_history(desk, upgrade):
    desk.post(reverse("existing_add", args=[upgrade.pk]), FOUND)
    row = ExistingCircuit.objects.get()
    edit = reverse("existing_edit", args=[upgrade.pk, row.pk])

    desk.post(edit, {**FOUND, "breaking_a": "1000", "seen": str(row.history.first().history_id)})
    stale = desk.post(edit, {**FOUND, "breaking_a": "2000", "seen": str(row.history.last().history_id)})
    assert ExistingCircuit.objects.get().breaking_a == 1000
    assert "while it was open here" in said(stale)
    desk.post(reverse("existing_drop", args=[upgrade.pk, row.pk]))

    assert not ExistingCircuit.objects.exists()
    told = said(desk.get(reverse("job_changes", args=[upgrade.pk])))
    assert "Circuit in the vehicle already “Engine feed” removed" in told


def test_a_circuit_is_written_down_once(desk, upgrade):
    desk.post(reverse("existing_add", args=[upgrade.pk]), FOUND)

    assert desk.post(reverse("existing_add", args=[upgrade.pk]), FOUND).status_code == 422
    assert ExistingCircuit.objects.count() == 1


# --- Gone along with a job ---------------------------------------------------------------------------


def test_the_same_vehicles_lengths_and_circuits_go_along(desk, upgrade, by):
    lights = next(c for c in appraisal_of(upgrade).circuits if "lights" in c.name)
    circuit_changes.settle(upgrade, lights.key, lights.name, {"run_m": 4.4}, "as measured", by=by)
    circuit_changes.settle(upgrade, "engine_feed", "Engine feed", {"drop_limit_ratio": 0.04}, "cold mornings", by=by)
    desk.post(reverse("existing_add", args=[upgrade.pk]), FOUND)
    entries = {
        "vehicle": upgrade.vehicle.registration,
        "title": "Once more",
        "source": upgrade.number,
        "kind": "upgrade",
    }

    desk.post(reverse("job_add"), entries)

    copy = Fitout.objects.get(title="Once more")
    line = copy.requirements.get(name=lights.name)
    assert list(copy.circuit_changes.values_list("circuit", "values", "reason")) == [
        (f"load:{line.pk}", {"run_m": 4.4}, "as measured")
    ]
    assert copy.existing_circuits.get().circuit == "engine_feed"


def test_another_vehicle_takes_none_of_it(upgrade, by):
    known = {"circuit": "engine_feed", "name": "Feed", "area_mm2": 6.0, "rating_a": 40.0}
    existing.write_down(ExistingCircuit(fitout=upgrade), known, by=by)
    vehicle, _places = make_vehicle(upgrade.customer)
    other = jobs.open_from(upgrade, vehicle, by=by, title="Its twin")

    assert carried.carry_over(upgrade, other, by=by) == 0
    assert not other.existing_circuits.exists()


def test_history_of_a_change_reads_as_words(desk, upgrade, by):
    for run_m in (4.4, 4.8):
        circuit_changes.settle(upgrade, "engine_feed", "Engine feed", {"run_m": run_m}, f"as measured, {run_m}", by=by)

    told = said(desk.get(reverse("job_changes", args=[upgrade.pk]))).replace("\xa0", " ")

    assert "Circuit by hand “Engine feed” changed" in told
    assert "length one way 4.4 m" in told
    assert "run_m" not in told
    assert CircuitChange.objects.count() == 1
