"""Frozen designs of any size: the invented systems of ``tests/quoting/sizing/many_circuits`` as snapshots."""

from __future__ import annotations

import json
from typing import Any

from tests.quoting.documents import sample
from tests.quoting.sizing.many_circuits import many_made


def design_of(circuits: int, **more: Any) -> dict[str, Any]:
    """A frozen design with so many appliance circuits; parameters as ``many``."""
    asked, made = many_made(circuits, **more)
    brief, got = json.loads(asked.model_dump_json()), json.loads(made.model_dump_json())
    used = {line["part"] for line in got["bill"]} | {each["part"] for each in got["chosen"]}
    parts = {
        part["key"]: {name: part[name] for name in ("kind", "name", "part_number", "spec", "mass_kg")}
        for part in brief["catalogue"]
        if part["key"] in used
    }
    body = sample.design_body()
    return {**body, "brief": {**brief, "catalogue": []}, "appraisal": got, "parts": parts}
