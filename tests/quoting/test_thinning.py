"""A large catalogue thinned to few of each kind, against the same one whole: several jobs, one choice, one bill."""

from __future__ import annotations

import copy
import random
from decimal import Decimal
from typing import Any

import pytest

from catalog import kinds, library
from catalog.models import Component
from fitouts.models import Fitout
from quoting.services import brief_catalogue, briefs
from quoting.sizing.appraise import appraise
from tests.factories.jobs import make_user
from tests.factories.wagon import make_wagon

pytestmark = pytest.mark.django_db

SCALED = (
    "battery",
    "dcdc_charger",
    "mains_charger",
    "solar_panel",
    "solar_controller",
    "inverter",
    "voltage_converter",
)
RATINGS = (
    "capacity_ah", "max_charge_a", "max_discharge_a", "peak_a", "output_a", "continuous_w", "continuous_va", "surge_w",
    "no_load_w", "power_w", "imp_a", "isc_a", "continuous_a",
)  # fmt: skip


def variant(entry: dict[str, Any], chance: random.Random, number: int) -> Component:
    """Another maker's part: a size beside it where that can be, and a price of its own."""
    spec, size = copy.deepcopy(entry["spec"]), chance.choice((0.8, 0.9, 1.1, 1.25)) if entry["kind"] in SCALED else 1.0
    for name in RATINGS:
        if isinstance(spec.get(name), int | float):
            spec[name] = round(spec[name] * size, 2)
    if spec.get("limit_steps_a"):
        spec["limit_steps_a"] = [step for step in spec["limit_steps_a"] if step < spec["output_a"]]
    return row(entry, spec, f"{entry['name']} {number}", float(entry["cost"]) * size * chance.uniform(0.85, 1.3), size)


def row(entry: dict[str, Any], spec: dict[str, Any], name: str, cost: float, size: float = 1.0) -> Component:
    return Component(
        kind=entry["kind"], kind_version=kinds.get(entry["kind"]).version, name=name, specification=spec,
        cost=Decimal(f"{cost:.2f}"), mass_kg=round(entry["mass_kg"] * size, 3), lead_days=entry["lead_days"],
    )  # fmt: skip


def fill(seed: int, copies: int) -> None:
    chance = random.Random(seed)
    own = [row(entry, entry["spec"], entry["name"], float(entry["cost"])) for entry in library.COMPONENTS]
    more = [variant(entry, chance, n) for entry in library.COMPONENTS for n in range(copies)]
    Component.objects.bulk_create([*own, *more])


def result_of(wagon: Fitout) -> tuple[list[Any], int]:
    brief = briefs.make_brief(wagon)
    found = appraise(brief)
    chosen = [(c.role, c.part, c.quantity, c.series, c.parallel, c.setting) for c in found.chosen]
    return chosen + [(line.part, line.quantity, line.rule) for line in found.bill], len(brief.catalogue)


@pytest.mark.parametrize(("seed", "most"), [(1, 40), (2, 40), (3, brief_catalogue.MOST_OF_A_KIND)])
def test_the_choice_of_few_is_the_choice_of_all_for_several_jobs(seed, most, monkeypatch):
    """From 40 of a kind on; with 20 a conductor may lose its negative and a need is told as not met (measured)."""
    wagon = make_wagon(make_user(), catalogue=False)
    fill(seed, copies=3)
    monkeypatch.setattr(brief_catalogue, "MOST_OF_A_KIND", most)
    for system_v, chemistries in ((12, ["lifepo4"]), (12, ["agm", "gel"]), (24, ["lifepo4"])):
        wagon.system_v, wagon.chemistries = system_v, chemistries
        wagon.vehicle.nominal_v = system_v
        monkeypatch.setattr(brief_catalogue, "WHOLE_UP_TO", 0)
        few, looked_at = result_of(wagon)
        assert brief_catalogue.cuts(wagon)
        monkeypatch.setattr(brief_catalogue, "WHOLE_UP_TO", 100_000)
        whole, there = result_of(wagon)

        assert looked_at < there == Component.objects.count()
        assert few == whole
