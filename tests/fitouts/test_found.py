"""Parts as found and defects: who may write them down, what is refused, what a list costs."""

from __future__ import annotations

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse

from fitouts.models import Stage, VehiclePhoto
from fitouts.services import fitouts, found, vehicles


@pytest.fixture
def job(surveyed, estimator):
    return fitouts.open_job(surveyed.customer, surveyed, "Somebody else's kit", by=estimator, kind="upgrade")


def test_a_technician_writes_down_in_the_bay(as_technician, technician, job, surveyed):
    at = surveyed.positions.get(name="Roof")
    entries = {"name": "Panel", "quantity": "2", "position": at.pk, "plan": "keep", "serial": "P-1"}
    as_technician.post(reverse("found_add", args=[job.pk]), entries)
    part = job.found_parts.get()
    assert (part.quantity, part.position, part.vehicle, part.serial) == (2, at, surveyed, "P-1")
    assert part.history.first().history_user == technician

    entries = {"level": "danger", "words": "No fuse", "remedy": "Fuse it", "part": part.pk, "position": at.pk}
    as_technician.post(reverse("defect_add", args=[job.pk]), entries)
    defect = job.defects.get()
    assert (defect.found_by, defect.part) == (technician, part)

    settle = reverse("defect_settle", args=[job.pk, defect.pk])
    page = as_technician.post(settle, {"what": "mended", "words": ""})
    assert "Say what was done." in page.content.decode()
    as_technician.post(settle, {"what": "mended", "words": "Fuse at the post"})
    defect.refresh_from_db()
    assert (defect.mended_by, defect.mended_words) == (technician, "Fuse at the post")

    as_technician.post(settle, {"what": "left", "words": "The owner will not have it"})
    defect.refresh_from_db()
    assert (defect.mended_at, defect.left_because) == (None, "The owner will not have it")
    page = as_technician.get(reverse("vehicle", args=[surveyed.pk])).content.decode()
    assert "The owner will not have it" in page


def test_a_technician_leaves_the_kind_of_a_job_alone(as_technician, job):
    assert as_technician.post(reverse("job_kind", args=[job.pk]), {"kind": "fault"}).status_code == 403


def test_what_belongs_to_another_vehicle_or_job_is_refused(job, surveyed, estimator):
    other = vehicles.add_vehicle(surveyed.customer, by=estimator, make="Ostler", model="Farrow")
    spot = vehicles.add_position(other, by=estimator, name="Boot")
    photo = VehiclePhoto.objects.create(vehicle=other, file="photos/1.jpg", width=4, height=3)
    second = fitouts.open_job(other.customer, other, "Another", by=estimator)
    strange = found.add_part(second, by=estimator, name="Lamp")

    with pytest.raises(ValidationError) as refused:
        found.add_part(job, by=estimator, name="Battery", position=spot)
    assert "position of another vehicle" in refused.value.messages[0]
    for field, value in (("position", spot), ("photo", photo), ("part", strange)):
        with pytest.raises(ValidationError) as refused:
            found.add_defect(job, by=estimator, words="Loose", **{field: value})
        assert field in refused.value.message_dict


@pytest.mark.parametrize("values", [{"quantity": 0}, {"quantity": 101}, {"name": ""}, {"plan": "burn"}])
def test_a_part_that_cannot_be_is_refused(job, estimator, values):
    with pytest.raises(ValidationError) as refused:
        found.add_part(job, by=estimator, **{"name": "Battery", "plan": "keep", **values})

    assert set(refused.value.message_dict) == set(values)
    assert not job.found_parts.exists()


def test_a_danger_without_remedy_or_reason_is_refused(job, estimator):
    with pytest.raises(ValidationError, match="A danger says what to do"):
        found.add_defect(job, by=estimator, level="danger", words="No fuse")

    assert found.add_defect(job, by=estimator, level="danger", words="No fuse", left_because="Off the road").pk


def test_nothing_is_written_down_once_the_job_is_over(job, estimator):
    part = found.add_part(job, by=estimator, name="Battery")
    defect = found.add_defect(job, by=estimator, words="Loose")
    job.stage = Stage.CANCELLED
    job.save()
    part.refresh_from_db()
    defect.refresh_from_db()

    for act in (
        lambda: found.add_part(job, by=estimator, name="Lamp"),
        lambda: found.change_part(part, by=estimator, plan="keep"),
        lambda: found.remove_part(part, by=estimator),
        lambda: found.mend(defect, "done", by=estimator),
        lambda: found.remove_defect(defect, by=estimator),
    ):
        with pytest.raises(found.FoundRefused, match="is cancelled; what was found stays"):
            act()


def test_a_stranger_is_led_to_the_sign_in_page(client, job):
    for name in ("found_add", "defect_add"):
        assert client.get(reverse(name, args=[job.pk])).url.startswith("/sign-in/")


@pytest.mark.parametrize("count", [3, 60])
def test_the_page_of_a_job_costs_as_much_with_many(count, as_estimator, estimator, job, django_assert_max_num_queries):
    for number in range(count):
        part = found.add_part(job, by=estimator, name=f"Part {number}", plan="keep")
        found.add_defect(job, by=estimator, words=f"Defect {number}", part=part)
    url = reverse("job", args=[job.pk])
    as_estimator.get(url)

    with django_assert_max_num_queries(MOST_QUERIES):
        page = as_estimator.get(url).content.decode()

    assert page.count("Defect ") >= count


MOST_QUERIES = 60
"""Of a job's page without a design; the two counts are held against one number."""
