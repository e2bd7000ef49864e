"""Roof areas and battery spaces of a vehicle: typed, checked with numbers, changed, taken out, told in its history."""

from __future__ import annotations

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse

from fitouts.models import BatterySpace, RoofArea
from fitouts.services import space

TAKEN = {"t0-x_m": "0.9", "t0-y_m": "0.4", "t0-length_m": "0.5", "t0-width_m": "400 mm"}


def entries(**changes: str) -> dict[str, str]:
    typed = {"name": "Canopy", "length_m": "2.4 m", "width_m": "1,25", "x_m": "", "y_m": ""}
    return {**typed, "t0-x_m": "", "t0-y_m": "", "t0-length_m": "", "t0-width_m": "", **changes}


def test_a_technician_measures_an_area_with_a_hatch_in_it(as_technician, technician, surveyed):
    page = as_technician.post(reverse("roof_add", args=[surveyed.pk]), entries(**TAKEN), follow=True)

    area = RoofArea.objects.get()
    assert (area.vehicle, area.name, area.length_m, area.width_m) == (surveyed, "Canopy", 2.4, 1.25)
    assert area.taken == [{"x_m": 0.9, "y_m": 0.4, "length_m": 0.5, "width_m": 0.4}]
    assert area.history.first().history_user == technician
    shown = page.content.decode()
    assert "0.5 × 0.4, 0.9 from the front, 0.4 from the left" in shown
    assert "<svg" in shown
    assert "Roof from above" in shown


def test_it_is_changed_and_its_things_taken_out_by_emptying_a_row(as_technician, surveyed, technician):
    area = space.add_area(
        surveyed, by=technician, name="Canopy", length_m=2.4, width_m=1.25,
        taken=[{"x_m": 0.9, "y_m": 0.4, "length_m": 0.5, "width_m": 0.4}],
    )  # fmt: skip

    shown = as_technician.get(reverse("roof_edit", args=[surveyed.pk, area.pk])).content.decode()
    answer = as_technician.post(reverse("roof_edit", args=[surveyed.pk, area.pk]), entries(width_m="1.3"))

    assert 'value="0.9"' in shown
    assert answer.status_code == 302
    area.refresh_from_db()
    assert (area.width_m, area.taken) == (1.3, [])
    told = as_technician.get(reverse("vehicle", args=[surveyed.pk])).content.decode()
    assert "0.5 × 0.4 m at 0.9; 0.4 m" in told


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"length_m": "0"}, "It is 0\u00a0m; it must be"),
        ({"width_m": "6"}, "at most 5\u00a0m"),
        ({"x_m": "1"}, "Give both measures of a place, or neither."),
        ({**TAKEN, "t0-x_m": "2.1"}, "It ends 2.6 m from the front edge; the area is 2.4 m long."),
        ({**TAKEN, "t0-y_m": "1"}, "It ends 1.4 m from the left edge; the area is 1.25 m wide."),
        ({**TAKEN, "t0-y_m": ""}, "Give all four measures of a thing, or none."),
        ({**TAKEN, "t0-length_m": "-1"}, "It is -1\u00a0m; it must be"),
    ],
)
def test_wrong_entries_are_named_with_numbers_and_nothing_is_kept(as_technician, surveyed, changes, words):
    answer = as_technician.post(reverse("roof_add", args=[surveyed.pk]), entries(**changes))

    assert answer.status_code == 422
    assert words.replace("-1", "\u22121") in answer.content.decode() or words in answer.content.decode()
    assert not RoofArea.objects.exists()


def test_an_area_beyond_the_vehicle_is_refused(as_technician, surveyed, technician):
    surveyed.length_m, surveyed.width_m = 5.0, 1.9
    surveyed.save()

    answer = as_technician.post(reverse("roof_add", args=[surveyed.pk]), entries(x_m="3", y_m="0.4"))

    shown = answer.content.decode()
    assert "It ends 5.4 m behind the front; the vehicle is 5 m long." in shown
    assert "It reaches 1.025 m from the middle; the vehicle reaches 0.95 m to each side." in shown


def test_the_service_refuses_what_no_form_checked(surveyed):
    out = [{"x_m": 2.0, "y_m": 0.0, "length_m": 0.5, "width_m": 0.4}]
    with pytest.raises(ValidationError, match=r"Number 1: It ends 2\.5 m"):
        space.add_area(surveyed, by=None, name="Canopy", length_m=2.4, width_m=1.2, taken=out)
    with pytest.raises(ValidationError):
        space.add_area(surveyed, by=None, name="Canopy", length_m=0.0, width_m=1.2)
    assert not RoofArea.objects.exists()


def test_two_areas_of_one_name_are_refused(as_technician, surveyed, technician):
    space.add_area(surveyed, by=technician, name="Canopy", length_m=2.4, width_m=1.25)

    answer = as_technician.post(reverse("roof_add", args=[surveyed.pk]), entries(name="canopy"))

    assert "roof area of that name already" in answer.content.decode()
    assert RoofArea.objects.count() == 1


def test_whoever_saves_later_is_told_what_the_other_changed(as_technician, surveyed, technician, estimator):
    area = space.add_area(surveyed, by=technician, name="Canopy", length_m=2.4, width_m=1.25)
    url = reverse("roof_edit", args=[surveyed.pk, area.pk])
    seen = as_technician.get(url).context["form"].seen
    space.change_area(area, by=estimator, length_m=2.2)

    answer = as_technician.post(url, entries(seen=seen))

    assert answer.status_code == 422
    assert "2.4 → 2.2" in answer.content.decode()
    area.refresh_from_db()
    assert area.length_m == 2.2


def test_a_battery_space_is_kept_changed_and_taken_out(as_technician, surveyed):
    typed = {"name": "Under the bench", "length_mm": "0.8 m", "width_mm": "400", "height_mm": "300"}
    page = as_technician.post(reverse("battery_space_add", args=[surveyed.pk]), typed, follow=True)

    box = BatterySpace.objects.get()
    assert (box.length_mm, box.width_mm, box.height_mm) == (800, 400, 300)
    assert "Battery spaces from above" in page.content.decode()

    edit = reverse("battery_space_edit", args=[surveyed.pk, box.pk])
    answer = as_technician.post(edit, typed | {"height_mm": "10"})
    assert answer.status_code == 422
    assert "at least 50\u00a0mm" in answer.content.decode()

    as_technician.post(reverse("battery_space_remove", args=[surveyed.pk, box.pk]))
    assert not BatterySpace.objects.exists()
    assert BatterySpace.history.first().history_type == "-"


def test_rows_of_another_vehicle_are_not_there(as_technician, surveyed, customer, technician):
    from fitouts.services.vehicles import add_vehicle

    other = add_vehicle(customer, by=technician, make="Brindle", model="Other")
    area = space.add_area(other, by=technician, name="Canopy", length_m=2.4, width_m=1.25)

    assert as_technician.get(reverse("roof_edit", args=[surveyed.pk, area.pk])).status_code == 404
    assert as_technician.post(reverse("roof_remove", args=[surveyed.pk, area.pk])).status_code == 404
    assert RoofArea.objects.exists()
