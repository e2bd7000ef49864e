"""Refusals name the place in the JSON that a person wrote."""

import pytest
from pydantic import ValidationError

from quoting.sizing.appraisal import Appraisal
from quoting.sizing.appraise import appraise
from quoting.sizing.brief import WAYS, Brief, Load, Use, from_validation, read
from quoting.sizing.errors import SizingError
from tests.quoting.sizing.wagon import raw, wagon


@pytest.mark.parametrize(
    ("place", "value", "said"),
    [
        (
            "loads.0.use.power_w",
            99999.0,
            r"^loads\[0\]\.use\.power_w is 99999\.0 W; .* at least 1 W and at most 2000 W",
        ),
        ("loads.2.use.hours_per_day", 25.0, r"^loads\[2\]\.use\.hours_per_day is 25\.0 h; .* at most 24 h"),
        ("loads.6.use.minutes", -1.0, r"^loads\[6\]\.use\.minutes is -1\.0 min"),
        ("loads.3.use.pack_wh", 0.0, r"^loads\[3\]\.use\.pack_wh is 0\.0 Wh"),
        ("trip.0.site.latitude_deg", 80.0, r"^trip\[0\]\.site\.latitude_deg is 80\.0 °"),
        ("wishes.panel_tilt_deg", 61.0, r"^wishes\.panel_tilt_deg is 61\.0 °; .* at most 60 °"),
    ],
)
def test_a_refusal_names_the_place_without_the_unions_tag(place, value, said):
    with pytest.raises(SizingError, match=said):
        wagon(**{place: value})


def test_a_missing_value_of_a_way_is_named_as_written():
    found = raw()
    del found["loads"][0]["use"]["power_w"]

    with pytest.raises(SizingError, match=r"^loads\[0\]\.use\.power_w is missing"):
        read(found)


AREA = {"key": "a", "name": "Front", "length_m": 1.0, "width_m": 1.0}
SPACE = {"key": "b", "name": "Bunk", "length_mm": 400.0, "width_mm": 300.0, "height_mm": 250.0}


@pytest.mark.parametrize(
    ("place", "value", "said"),
    [
        ("picks", [{"role": "battery", "part": "nope"}], r"^brief: the picked part 'nope' is not in the catalogue$"),
        ("vehicle.roof", [AREA, AREA], r"two roof areas have the key 'a'$"),
        ("vehicle.battery_spaces", [SPACE, SPACE], r"two battery spaces have the key 'b'$"),
    ],
)
def test_what_does_not_go_together_is_one_sentence(place, value, said):
    with pytest.raises(SizingError, match=said):
        wagon(**{place: value})


def test_a_load_named_like_a_way_keeps_its_place():
    with pytest.raises(ValidationError) as caught:
        Load.model_validate_json('{"key": "event", "name": "x", "use": {"way": "event", "power_w": 0}}')

    assert from_validation(caught.value).field == "use.power_w"


def test_every_way_is_known():
    union = Use.__origin__

    assert {kind.model_fields["way"].default for kind in union.__args__} == WAYS


def test_a_brief_from_before_trailers_and_kept_parts_reads_as_with_their_defaults():
    old = raw()
    new = raw()
    new["kept"] = []
    new["vehicle"]["hitch"] = None
    for position in new["vehicle"]["positions"]:
        position["on_trailer"] = False
    for stop in new["trip"]:
        stop["hitched"] = True

    assert read(old) == read(new)
    assert appraise(read(old)) == appraise(read(new))


def test_schemas_name_what_is_new():
    brief, appraisal = Brief.model_json_schema(), Appraisal.model_json_schema()

    assert {"Hitch", "Kept"} <= set(brief["$defs"])
    assert "kept" not in brief["required"]
    assert "hitched" not in brief["$defs"]["Stop"].get("required", [])
    assert "DeadUnhitched" in appraisal["$defs"]
    assert "kept" in appraisal["$defs"]["BillLine"]["properties"]
