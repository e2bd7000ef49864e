"""After an erasure nothing in the database or among the files tells who the customer was."""

from __future__ import annotations

import pytest
from django.apps import apps
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from PIL import Image

from fitouts.models import (
    BuildTick,
    Commissioning,
    Contact,
    Customer,
    Defect,
    Fitout,
    InstalledSystem,
    User,
    Vehicle,
    VehiclePhoto,
    Workshop,
)
from fitouts.services import customers, found, photos, vehicles
from quoting.models import ExistingCircuit
from quoting.services import circuit_changes, designs, erasure, existing, found_facts, frozen, quotes, snapshots
from tests.factories.course import issue
from tests.factories.jobs import make_user

SECRETS = (
    "Zebedee Quillfeather", "42 Windle Lane", "01632 960 987", "zebedee@quill.example", "ABN 77 123", "likes his tea",
    "Perpetua Quill", "his sister", "ZQ 417 X", "scratch on the left door", "Wants it by Easter, says Zebedee",
    "Zebedee and Perpetua", "his own kettle", "Zebedee's wagon", "by e-mail from Zebedee", "For you, Zebedee",
)  # fmt: skip


@pytest.fixture
def told(worked_out, estimator, files, tmp_path) -> Fitout:
    """A customer who stands everywhere a customer can, then and now."""
    job, by = worked_out, estimator
    customers.change_customer(
        job.customer, by=by, name=SECRETS[0], address=SECRETS[1], phone=SECRETS[2], email=SECRETS[3],
        business_no=SECRETS[4], notes=SECRETS[5],
    )  # fmt: skip
    gone = customers.add_contact(job.customer, by=by, name=SECRETS[6], job_title=SECRETS[7])
    customers.remove_contact(gone, by=by)
    customers.add_contact(job.customer, by=by, name=SECRETS[6], job_title=SECRETS[7])
    vehicles.change_vehicle(job.vehicle, by=by, registration=SECRETS[8], survey_notes=SECRETS[9])
    job.refresh_from_db()
    job.enquiry, job.travellers, job.reused, job.title = SECRETS[10], SECRETS[11], SECRETS[12], SECRETS[13]
    job._history_user = by
    job.save()
    revision = issue(job, by)
    quotes.accept(revision, accepted_by=SECRETS[0], note=SECRETS[14], by=by)
    revision.refresh_from_db()
    revision.note = SECRETS[15]
    revision.save()
    Image.new("RGB", (60, 40)).save(tmp_path / "p.png")
    photos.add_photo(job.vehicle, SimpleUploadedFile("p.png", (tmp_path / "p.png").read_bytes()), by=by)
    job.refresh_from_db()
    return job


def said_anywhere(words: tuple[str, ...]) -> list[tuple[str, str]]:
    """Every table that holds one of the words, by looking at each of its texts."""
    found = []
    for model in apps.get_models(include_auto_created=True):
        with connection.cursor() as cursor:
            cursor.execute(f"SELECT * FROM {connection.ops.quote_name(model._meta.db_table)}")
            text = "\n".join(str(row) for row in cursor.fetchall())
        found += [(model._meta.label, word) for word in words if word.replace("'", "") in text.replace("'", "")]
    return found


@pytest.mark.django_db
def test_nothing_tells_who_they_were(told, estimator, files):
    assert {word for _, word in said_anywhere(SECRETS)} == set(SECRETS)  # the secrets are there to be found
    Fitout.objects.filter(pk=told.pk).update(stage="closed")

    erased = erasure.erase(told.customer, by=estimator)

    assert said_anywhere(SECRETS) == []
    assert erased.erased_at
    assert erased.retired_at
    assert not Contact.objects.exists()
    assert not VehiclePhoto.objects.exists()
    assert Vehicle.objects.get(pk=told.vehicle_id).retired_at


@pytest.mark.django_db
def test_who_erased_and_when_stays(told, estimator):
    Fitout.objects.filter(pk=told.pk).update(stage="closed")

    erased = erasure.erase(told.customer, by=estimator)

    last = erased.history.first()
    assert (last.history_user_id, last.erased_at) == (estimator.pk, erased.erased_at)


@pytest.mark.django_db
@pytest.mark.parametrize("stage", ["enquiry", "quoted", "in_build", "on_hold"])
def test_nobody_is_erased_while_a_job_is_under_way(told, estimator, stage):
    Fitout.objects.filter(pk=told.pk).update(stage=stage)

    with pytest.raises(erasure.NotErased, match=rf"Jobs are under way: {told.number}"):
        erasure.erase(told.customer, by=estimator)

    assert Customer.objects.get(pk=told.customer_id).name == SECRETS[0]


@pytest.mark.django_db
def test_the_page_asks_for_the_name_and_is_the_managers_alone(told, estimator, client):
    Fitout.objects.filter(pk=told.pk).update(stage="closed")
    url = f"/customers/{told.customer_id}/erase/"
    client.force_login(estimator)
    assert client.post(url, {"name": SECRETS[0]}).status_code == 403
    client.force_login(make_user(User.Role.MANAGER))

    refused = client.post(url, {"name": "Zebedee"})
    assert refused.status_code == 422
    assert "Type the name exactly" in refused.content.decode()
    assert Customer.objects.get(pk=told.customer_id).name == SECRETS[0]

    done = client.post(url, {"name": SECRETS[0]}, follow=True)

    assert "is erased" in done.content.decode()
    assert said_anywhere(SECRETS) == []


@pytest.mark.django_db
def test_what_was_written_on_the_way_goes_too(told, estimator):
    """Notes, defects, titles of systems: in rows, in histories, and in records frozen with them."""
    said = tuple(f"Zebedee {what}" for what in ("notes", "wrong", "remedy", "left", "mended", "ticked", "measured it"))
    Fitout.objects.filter(pk=told.pk).update(stage="surveyed")
    told.refresh_from_db()
    part = found.add_part(told, by=estimator, name="Battery", serial="SN-77", notes=said[0], plan="remove")
    found.add_defect(told, by=estimator, part=part, words=said[1], remedy=said[2], left_because=said[3], level="danger")
    gone = found.add_defect(told, by=estimator, words=said[1], level="info")
    found.mend(gone, said[4], by=estimator)
    found.remove_defect(gone, by=estimator)
    BuildTick.objects.create(fitout=told, key="a", words="Fit it", note=said[5])
    BuildTick.objects.create(fitout=told, key="mend:1", words=f"{said[1]}: {said[2]}")
    Commissioning.objects.update_or_create(fitout=told, defaults={"found": said[6]})
    InstalledSystem.objects.create(
        vehicle=told.vehicle, fitout=told, snapshot_sha256="0" * 64, title=SECRETS[13], delivered_on="2026-11-02",
        retorque_due_on="2027-05-02",
    )  # fmt: skip
    body = {"schema": "x/1", "job": {"number": told.number, "title": SECRETS[13]}, "found": said[6]}
    body["as_found"] = found_facts.found_facts(told)
    body["ticks"] = [{"words": "Fit it", "note": said[5]}, {"words": f"{said[1]}: {said[2]}", "note": ""}]
    record = snapshots.freeze(
        kind="as_built", body=body, personal=frozen.personal(told), customer_id=told.customer_id, by=estimator
    )
    assert snapshots.read(record)[0] == body
    assert {word for _, word in said_anywhere(said)} == set(said)
    Fitout.objects.filter(pk=told.pk).update(stage="closed")

    erasure.erase(told.customer, by=estimator)

    assert said_anywhere((*said, *SECRETS)) == []
    kept, personal = snapshots.read(record)
    assert personal is None
    assert kept["as_found"]["parts"][0]["serial"] == "SN-77"
    assert kept["ticks"][0]["words"] == "Fit it"
    assert kept["as_found"]["defects"][0]["level"] == "danger"
    assert kept["as_found"]["defects"][0]["left_because"]  # that it was settled stays known
    assert all(found.is_settled(defect) for defect in Defect.objects.filter(fitout=told))


@pytest.mark.django_db
def test_nobody_who_was_erased_is_written_to_again(told, client):
    """What was typed over them could never be erased: they count as erased already."""
    Fitout.objects.filter(pk=told.pk).update(stage="closed")
    manager = make_user(User.Role.MANAGER)
    erasure.erase(told.customer, by=manager)
    client.force_login(manager)
    url = f"/customers/{told.customer_id}/"

    assert "Bring back" not in client.get(url).content.decode()
    edited = client.post(f"{url}edit/", {"kind": "person", "name": SECRETS[0]})
    added = client.post(f"{url}contacts/add/", {"name": SECRETS[6]})
    back = client.post(f"{url}retire/", follow=True)

    assert all("This customer was erased" in answer.content.decode() for answer in (edited, added, back))
    assert said_anywhere(SECRETS) == []
    assert Customer.objects.get(pk=told.customer_id).retired_at


@pytest.mark.django_db
def test_why_a_circuit_was_settled_goes_and_that_it_was_stays(told, estimator):
    """Reasons and sources: in rows, histories, designs and frozen records."""
    said = ("Zebedee wants it thick", "says Zebedee himself")
    Fitout.objects.filter(pk=told.pk).update(stage="surveyed")
    told.refresh_from_db()
    feed = designs.appraisal_of(told.designs.first()).circuits[0]
    circuit_changes.settle(told, feed.key, feed.name, {"run_m": feed.run_m + 0.5}, said[0], by=estimator)
    known = {"circuit": "battery_main", "name": "Battery main", "area_mm2": 10.0, "rating_a": 20.0, "source": said[1]}
    existing.write_down(ExistingCircuit(fitout=told), known, by=estimator)
    design = designs.work_out(told, by=estimator)
    body = frozen.design_body(design, Workshop.objects.get())
    record = snapshots.freeze(
        kind="design", body=body, personal=frozen.personal(told), customer_id=told.customer_id, by=estimator
    )
    assert snapshots.read(record)[0] == body
    assert {word for _, word in said_anywhere(said)} == set(said)
    Fitout.objects.filter(pk=told.pk).update(stage="closed")

    erasure.erase(told.customer, by=estimator)

    assert said_anywhere((*said, *SECRETS)) == []
    kept, _personal = snapshots.read(record)
    changed = next(c for c in kept["appraisal"]["circuits"] if c["key"] == feed.key)["changed"]
    assert [one["reason"] for one in changed] == ["erased on request"]
    design.refresh_from_db()
    assert designs.brief_of(design).changes[0].run_m == feed.run_m + 0.5  # it opens still
    assert designs.appraisal_of(design).circuits
