"""A kind declared while the program runs is there everywhere at once, with nothing else touched."""

from __future__ import annotations

import json
import re
from dataclasses import dataclass
from decimal import Decimal

import pytest
from django.urls import reverse

from catalog import kinds, services, sheets
from catalog.changes import changes_of
from catalog.kinds.base import Field, Kind
from catalog.kinds.capabilities import Capability, Sensing, Switching
from catalog.kinds.channels import INPUTS, OUTPUTS, channels, channels_make_sense
from catalog.kinds.common import choice, number
from catalog.kinds.curves import readable_backwards
from catalog.kinds.schema import json_schema
from catalog.models import Component
from catalog.words import problem_sentence
from tests.catalog.sheet_files import bring, check_file, write

RESPONSE = Field(
    "response_curve_ohm", "Response", "curve", "Ω", 0, 10000, required=False, x_unit="°C", help="20 100; 60 40."
)
TYPED = {
    "name": "Dunmallow Gust 4",
    "maker": "Dunmallow",
    "part_number": "GU-4",
    "cost": "84,50",
    "mass_kg": "120 g",
    "stock": "3",
    "lead_days": "5",
    "spec_gust_m_s": "45 m/s",
    "spec_mast": "folding",
    "spec_response_curve_ohm": "20 100; 60 40",
    "spec_channel_limits_a": "5; 2,5",
    "spec_channels_v": ["12"],
    "spec_digital_inputs": "2",
}


@dataclass(frozen=True, slots=True)
class Gusting(Capability):
    """A capability that nothing in the house has heard of."""

    gust_m_s: float


@pytest.fixture
def gauge():
    kind = kinds.declare(
        Kind(
            code="wind_gauge",
            label="wind gauge",
            plural="wind gauges",
            group="fittings",
            help="Folds the awning before the wind does.",
            fields=(
                number("gust_m_s", "Strongest gust", "m/s", 5, 60, "That it can tell.", rating="to {}"),
                choice("mast", "Mast", (("fixed", "fixed mast"), ("folding", "folding mast")), rating="{}"),
                RESPONSE,
                *INPUTS,
                *OUTPUTS,
            ),
            capabilities=lambda spec: (Gusting(spec["gust_m_s"]), *channels(spec)),
            checks=(readable_backwards(RESPONSE), channels_make_sense),
        )
    )
    yield kind
    kinds.withdraw("wind_gauge")


@pytest.fixture
def add(gauge):
    return reverse("catalog:component_add_kind", args=["wind_gauge"])


def words_of(response) -> str:
    plain = re.sub(r"<[^>]+>", " ", response.content.decode())
    plain = re.sub(r"\s+", " ", plain.replace("\u202f", " ").replace("\xa0", " "))
    return re.sub(r" ([,.;:])", r"\1", plain)


def test_kind_is_offered_and_has_a_form(desk, add):
    offered, form = desk.get(reverse("catalog:component_add")), desk.get(add)

    assert add in offered.content.decode()
    assert "Fittings and comfort" in words_of(offered)
    page = words_of(form)
    assert "Strongest gust" in page
    assert "m/s" in page
    assert "Channels" in page
    assert "That it can tell." in page


def test_component_of_it_is_added_listed_filtered_and_shown(desk, add):
    assert desk.post(add, TYPED).status_code == 302

    gauge = Component.objects.get()
    assert gauge.specification["gust_m_s"] == 45.0
    assert gauge.specification["response_curve_ohm"] == [[20.0, 100.0], [60.0, 40.0]]
    assert gauge.specification["channel_limits_a"] == [5.0, 2.5]
    assert gauge.rating == "to 45 m/s, folding mast, outputs 5 A, 2.5 A"
    listed = words_of(desk.get(reverse("catalog:component_list"), {"kind": "wind_gauge"}))
    assert "wind gauge" in listed
    assert "to 45 m/s, folding mast" in listed
    assert "Dunmallow Gust 4" not in words_of(desk.get(reverse("catalog:component_list"), {"kind": "fuse"}))
    assert "Dunmallow Gust 4" in words_of(desk.get(reverse("catalog:component_list"), {"q": "folding"}))
    shown = words_of(desk.get(reverse("catalog:component_detail", args=[gauge.pk])))
    assert "Strongest gust 45 m/s" in shown
    assert "20 °C: 100 Ω; 60 °C: 40 Ω" in shown
    assert "Switches 2 channels of up to 5 A, 7.5 A in all." in shown
    assert "Reads further inputs: 2 × on or off." in shown


def test_detail_leaves_channels_out_where_there_are_none(desk, add):
    desk.post(add, {k: v for k, v in TYPED.items() if "channel" not in k and "inputs" not in k})

    shown = words_of(desk.get(reverse("catalog:component_detail", args=[Component.objects.get().pk])))

    assert "Strongest gust" in shown
    assert "Switched outputs" not in shown
    assert "Digital inputs" not in shown


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"spec_gust_m_s": "80"}, "Strongest gust is 80 m/s; it must be at least 5 m/s and at most 60 m/s."),
        ({"spec_gust_m_s": ""}, "Strongest gust is missing; it must be at least 5 m/s and at most 60 m/s."),
        ({"spec_gust_m_s": "fast"}, "“fast”"),
        ({"spec_response_curve_ohm": "20 100; 60 100"}, "100 Ω at 20 °C is followed by 100 Ω at 60 °C"),
        ({"spec_channels_total_a": "9"}, "at least 5 A and at most 7.5 A"),
    ],
)
def test_what_is_wrong_is_said_and_kept_on_the_page(desk, add, changes, sentence):
    response = desk.post(add, {**TYPED, **changes})

    assert response.status_code == 422
    assert sentence in words_of(response)
    assert "Dunmallow Gust 4" in response.content.decode()
    assert not Component.objects.exists()


def test_problem_of_data_reads_like_one_of_a_form(gauge):
    with pytest.raises(kinds.SpecError) as refused:
        gauge.clean({"gust_m_s": 80.0, "mast": "folding"})

    words = problem_sentence(gauge, refused.value.problems[0]).replace("\xa0", " ")
    assert words == "Strongest gust is 80 m/s; it must be at least 5 m/s and at most 60 m/s."


def test_schema_describes_it(gauge):
    schema = json.loads(json.dumps(json_schema(gauge)))

    assert schema["required"] == ["gust_m_s", "mast"]
    assert schema["properties"]["gust_m_s"] | {"title": "", "description": ""} == {
        "title": "",
        "description": "",
        "type": "number",
        "unit": "m/s",
        "minimum": 5,
        "maximum": 60,
    }
    assert schema["properties"]["response_curve_ohm"]["items"]["prefixItems"][0] == {"type": "number", "unit": "°C"}


def test_history_tells_its_values_in_words(gauge, estimator):
    spec = {"gust_m_s": 45.0, "mast": "folding"}
    row = services.save_component("wind_gauge", spec, name="Gust", cost=Decimal(9), by=estimator)
    services.save_component(
        "wind_gauge", {**spec, "gust_m_s": 50.0}, name="Gust", cost=Decimal(9), by=estimator, component=row
    )

    last = changes_of(row, reader=estimator)[0]

    plain = [
        (f.label, *(re.sub(r"<[^>]+>", "", x).replace("\xa0", " ") for x in (f.before, f.after))) for f in last.fields
    ]
    assert plain == [("Strongest gust", "45 m/s", "50 m/s")]


def test_its_channels_are_capabilities_like_any_other(gauge):
    spec = gauge.clean({"gust_m_s": 45.0, "mast": "fixed", "channel_limits_a": [5.0], "voltage_inputs": 1})

    assert gauge.capabilities(spec) == (
        Gusting(45.0),
        Switching((5.0,), 5.0, (12.0, 24.0), sheds=False, protects=False),
        Sensing((("voltage", 1),)),
    )


@pytest.mark.parametrize("format", sheets.FORMATS)
def test_tables_take_it_in_and_give_it_out(gauge, estimator, tmp_path, format):
    type = sheets.get("component:wind_gauge")
    assert {c.unit for c in type.columns if c.name.endswith("gust_m_s")} == {"m/s"}
    empty = write(tmp_path, f"empty.{format}", sheets.template(type, estimator, format))
    assert len(sheets.heads(empty, sheets.guess_reading(empty, empty.name))) == len(type.columns)
    spec = {"gust_m_s": 45.0, "mast": "folding", "response_curve_ohm": [[20, 100], [60, 40]], "channel_limits_a": [5.0]}
    row = services.save_component("wind_gauge", spec, name="Gust", cost=Decimal("9.5"), by=estimator, part_number="G")
    out = write(tmp_path, f"out.{format}", b"".join(sheets.export(type, estimator, format)))
    before = dict(Component.objects.get(pk=row.pk).specification)

    same = check_file(type, out, estimator)
    services.save_component(
        "wind_gauge",
        {**spec, "gust_m_s": 20.0},
        name="Gust",
        cost=Decimal(7),
        by=estimator,
        part_number="G",
        component=row,
    )
    back = check_file(type, out, estimator)
    bring(type, back, estimator)

    assert (same.added, same.changed, same.same, same.wrong) == (0, 0, 1, 0)
    assert (back.added, back.changed, back.wrong) == (0, 1, 0)
    row.refresh_from_db()
    assert row.specification == before
    assert row.cost == Decimal("9.5")
    assert row.rating.startswith("to 45 m/s")
