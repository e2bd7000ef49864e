"""Panels on surveyed roof areas and batteries in their spaces, from a Brief to its Appraisal."""

from __future__ import annotations

from typing import Any

from quoting import words
from quoting.sizing.appraisal import Appraisal, Chosen
from quoting.sizing.appraise import appraise
from tests.quoting.sizing import wagon
from tests.quoting.sizing.systems_case import keeping, read
from tests.quoting.sizing.worded import assert_worded


def measured(*areas: dict[str, Any], spaces: tuple[dict[str, Any], ...] = ()) -> dict[str, Any]:
    raw = wagon.raw()
    raw["vehicle"]["roof"], raw["vehicle"]["battery_spaces"] = list(areas), list(spaces)
    return raw


def area(length_m: float, width_m: float, *taken: dict[str, float], key: str = "canopy") -> dict[str, Any]:
    return {"key": key, "name": key.title(), "length_m": length_m, "width_m": width_m, "taken": list(taken)}


def box(length_mm: float, width_mm: float, height_mm: float) -> dict[str, Any]:
    return {"key": "box", "name": "Box", "length_mm": length_mm, "width_mm": width_mm, "height_mm": height_mm}


def sized(raw: dict[str, Any], length_mm: float = 330, width_mm: float = 172, height_mm: float = 215) -> dict[str, Any]:
    for part in raw["catalogue"]:
        if part["kind"] == "battery":
            part["spec"] |= {"length_mm": length_mm, "width_mm": width_mm, "height_mm": height_mm}
    return raw


def chosen(found: Appraisal, role: str) -> Chosen | None:
    return next((c for c in found.chosen if c.role == role), None)


def codes(found: Appraisal) -> set[str]:
    return {f.code for f in found.findings}


def test_every_panel_of_the_array_has_a_place_on_the_areas():
    found = appraise(read(measured(area(6.0, 2.0), area(1.4, 1.2, key="hood"))))

    panel = chosen(found, "panel")
    assert len(found.panels) == panel.quantity
    assert {p.area for p in found.panels} == {"canopy"}
    assert all(0.03 <= p.x_m <= 6.0 - 0.03 - p.length_m for p in found.panels)
    assert "panels_over_roof" not in codes(found)


def test_areas_hold_in_place_of_length_and_width():
    raw = measured(area(6.0, 2.0))
    raw["vehicle"] |= {"roof_length_m": 0.2, "roof_width_m": 0.2}

    found = appraise(read(raw))

    assert chosen(found, "panel") is not None
    assert "solar_array_over_roof" not in codes(found)


def test_a_roof_that_takes_no_panel_is_a_shortfall():
    found = appraise(read(measured(area(0.4, 0.3))))

    assert chosen(found, "panel") is None
    assert any(s.subject in ("panel", "solar_controller") for s in found.shortfalls)
    assert found.panels == ()


def test_what_stands_on_the_roof_leads_to_other_panels_or_none():
    # 2 x 190 W of 1.48 x 0.68 m lie side by side on 1.54 x 1.44 m to the millimetre; a vent of 0.1 m undoes that
    whole = appraise(read(measured(area(1.54, 1.44))))
    vent = {"x_m": 0.6, "y_m": 0.66, "length_m": 0.1, "width_m": 0.1}

    vented = appraise(read(measured(area(1.54, 1.44, vent))))

    assert (chosen(whole, "panel").part, len(whole.panels)) == ("harrowell-tm-190", 2)
    assert chosen(vented, "panel") is None or chosen(vented, "panel").part != "harrowell-tm-190"
    assert len(vented.panels) == sum(c.quantity for c in vented.chosen if c.role == "panel")


def test_kept_panels_that_do_not_lie_on_the_areas_are_told_of():
    raw = keeping(measured(area(1.6, 0.8)), ("harrowell-tm-190", 2, "panel"))

    found = appraise(read(raw))

    (said,) = [f for f in found.findings if f.code == "panels_over_roof"]
    assert said.params["asked"] == 2
    assert len(found.panels) == said.params["fits"] == 1
    assert_worded(found)


def test_each_battery_stands_in_the_space():
    found = appraise(read(sized(measured(spaces=(box(800, 400, 300),)))))

    bank = chosen(found, "battery")
    assert len(found.batteries) == bank.quantity
    assert all(p.space == "box" and p.x_mm >= 10 and p.y_mm >= 10 for p in found.batteries)
    assert not codes(found) & {"batteries_over_space", "battery_size_unknown"}


def test_a_space_that_takes_no_bank_is_a_shortfall_with_numbers():
    found = appraise(read(sized(measured(spaces=(box(300, 170, 150),)))))

    (lack,) = [s for s in found.shortfalls if s.params.get("rule") == "space"]
    assert (lack.code, lack.params["asked"]) == ("too_large", 0)
    assert lack.params["best_value"] == chosen(found, "battery").quantity
    assert "battery spaces" in words.shortfall_words(lack)
    assert found.batteries == ()
    assert_worded(found)


def test_a_battery_of_unknown_size_is_not_checked_but_told_of():
    found = appraise(read(measured(spaces=(box(300, 170, 150),))))

    assert "battery_size_unknown" in codes(found)
    assert not [s for s in found.shortfalls if s.params.get("rule") == "space"]
    assert_worded(found)


def test_without_a_survey_of_space_nothing_is_placed_and_nothing_said():
    found = appraise(read(wagon.raw()))

    assert (found.panels, found.batteries) == ((), ())
    assert not codes(found) & {"panels_over_roof", "batteries_over_space", "battery_size_unknown"}
