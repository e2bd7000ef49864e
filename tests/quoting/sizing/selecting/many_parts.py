"""Catalogues of any size: the starter library's models spread in size and price, and beside them all that wires them.

Sizes follow a golden-ratio sequence, so that equal counts give equal catalogues and no two models are quite alike.
"""

from __future__ import annotations

from decimal import Decimal
from itertools import count
from typing import Any

from quoting.sizing.brief import Brief, Part
from quoting.sizing.selecting.records import Market, MarketPart
from tests.quoting.sizing.library_case import catalogue

GOLDEN = 0.6180339887498949
SIZES: dict[str, tuple[str, ...]] = {
    "battery": ("capacity_ah", "max_charge_a", "max_discharge_a", "peak_a"),
    "dcdc_charger": ("output_a",),
    "mains_charger": ("output_a",),
    "multi_charger": ("output_a", "engine_a", "mains_a", "solar_a", "max_isc_a"),
    "solar_controller": ("output_a", "max_isc_a", "max_voc_v"),
    "solar_panel": ("power_w", "imp_a", "isc_a", "length_m"),
    "inverter": ("continuous_w", "continuous_va", "surge_w"),
    "voltage_converter": ("continuous_a", "peak_a"),
    "battery_monitor": ("shunt_a",),
    "switched_output_module": (),
    "shore_inlet": ("rated_a",),
    "residual_current_device": (),
    "sensing_module": (),
}
"""Kinds that are chosen among, with what grows with a model's size."""
SUPPLIERS = ("ashby", "corrie", "harrowell", "pellow", "quoin")


def many_parts(chosen_among: int) -> list[dict[str, Any]]:
    """A catalogue with so many components to choose among, and beside them whatever the library has for wiring."""
    library = catalogue()
    models = [part for part in library if part["kind"] in SIZES]
    found = [part for part in library if part["kind"] not in SIZES]
    numbers = count()
    while True:
        for model in models:
            number = next(numbers)
            if number == chosen_among:
                return found
            found.append(model if number < len(models) else _spread(model, number))


def _spread(model: dict[str, Any], number: int) -> dict[str, Any]:
    """The same model in another size, at a price that does not quite follow it."""
    size = 0.6 + ((number * GOLDEN) % 1)
    worth = 0.85 + 0.3 * ((number * GOLDEN * GOLDEN) % 1)
    spec = dict(model["spec"])
    for name in SIZES[model["kind"]]:
        value = spec.get(name)
        if isinstance(value, int | float):
            spec[name] = round(value * size, 3)
    if spec.get("limit_steps_a"):
        spec["limit_steps_a"] = [round(step * size, 1) for step in spec["limit_steps_a"]]
    if spec.get("resistance_ohm"):
        spec["resistance_ohm"] = round(spec["resistance_ohm"] / size, 6)
    cost = Decimal(model["cost"]) * Decimal(str(round(size**0.9 * worth, 4)))
    return {
        **model,
        "key": f"{model['key']}-{number}",
        "name": f"{model['name']} {number}",
        "part_number": f"{model['part_number']}-{number}",
        "spec": spec,
        "cost": f"{cost:.2f}",
        "mass_kg": round(model["mass_kg"] * size, 2),
        "lead_days": number % 20,
    }


def with_many(brief: Brief, chosen_among: int) -> Brief:
    """The same job with a catalogue of :func:`many_parts`."""
    parts = tuple(Part.model_validate(part) for part in many_parts(chosen_among))
    return brief.model_copy(update={"catalogue": parts})


def market_of(brief: Brief) -> Market:
    """Prices that are what the parts cost, and a quarter of them on the shelf."""
    parts = {
        part.key: MarketPart(
            price=part.cost, supplier=SUPPLIERS[i % len(SUPPLIERS)], stock=3 if i % 4 == 0 else 0,
            lead_days=part.lead_days,
        )
        for i, part in enumerate(sorted(brief.catalogue, key=lambda p: p.key))
    }  # fmt: skip
    labour = {"fit_battery": "60", "fit_panel": "90", "fit_charger": "80", "fit_inverter": "110", "fit_device": "30",
              "program_settings": "25"}  # fmt: skip
    return Market(parts=parts, labour=labour, suppliers={key: key.title() for key in SUPPLIERS})
