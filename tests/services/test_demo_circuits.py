"""The circuits of every job of the demo hold to the rules, as they were kept: bill and diagram both ways among them."""

from __future__ import annotations

from quoting.sizing.appraisal import Appraisal
from quoting.sizing.brief import Brief
from tests.quoting.sizing.wiring_props.checks import CHECKS
from tests.services import prepared
from tests.services.running import Shop

KEPT = """
import json
from quoting.models import Design
latest = {}
for design in Design.objects.order_by("fitout", "number"):
    latest[str(design.fitout_id)] = {"brief": design.brief, "appraisal": design.appraisal}
print(json.dumps(latest))
"""


def test_every_job_of_the_demo_holds_to_the_rules_of_circuits(tmp_path_factory, tmp_path) -> None:
    shop = Shop(prepared.demo(tmp_path_factory, tmp_path / "home"))
    kept = shop.python(KEPT)
    shop.close()

    wrong, cut = {}, 0
    for job, one in kept.items():
        brief = Brief.model_validate(one["brief"], strict=False)
        made = Appraisal.model_validate(one["appraisal"], strict=False)
        cut += bool(made.pieces)
        if made.circuits:
            wrong |= {(job, c.__name__): found for c in CHECKS if (found := list(c(brief, made)))}
    assert wrong == {}
    assert cut >= 3
