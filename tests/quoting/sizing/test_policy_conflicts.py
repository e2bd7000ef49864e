"""Values of a policy that are allowed each by itself, and not together."""

from __future__ import annotations

import pytest

from quoting.sizing import brief
from quoting.sizing.appraise import appraise
from quoting.sizing.errors import SizingError
from quoting.sizing.policy import DEFAULT_CHEMISTRIES, Policy, check_policy, conflicts
from tests.quoting.documents.sample import EXAMPLE


def test_defaults_agree():
    assert list(conflicts(Policy())) == []


@pytest.mark.parametrize(
    ("values", "field", "other"),
    [
        ({"backstop_v_per_12": 12.6}, "policy.backstop_v_per_12", "policy.backstop_restore_v_per_12 of 12.6"),
        (
            {"backstop_restore_v_per_12": 14.0, "charging_v_per_12": 13.8},
            "policy.backstop_restore_v_per_12",
            "policy.charging_v_per_12 of 13.8",
        ),
        (
            {"low_voltage_v_per_12": 13.5, "charging_v_per_12": 13.0, "backstop_restore_v_per_12": 12.5},
            "policy.low_voltage_v_per_12",
            "policy.charging_v_per_12 of 13",
        ),
        (
            {"chemistries": {"gel": DEFAULT_CHEMISTRIES["gel"].model_copy(update={"daily_depth_ratio": 0.6})}},
            "policy.chemistries.gel.daily_depth_ratio",
            "policy.chemistries.gel.usable_depth_ratio of 0.5",
        ),
    ],
)
def test_the_first_contradiction_is_refused_with_both_names(values, field, other):
    with pytest.raises(SizingError) as refused:
        check_policy(Policy(**values))

    assert refused.value.field == field
    assert other in str(refused.value)


def test_a_brief_with_one_is_refused_before_anything_is_worked_out():
    asked = brief.read(EXAMPLE.read_bytes())
    policy = asked.policy.model_copy(update={"backstop_v_per_12": 12.9})

    with pytest.raises(SizingError, match=r"^policy\.backstop_v_per_12: it is 12\.9, which contradicts"):
        appraise(asked.model_copy(update={"policy": policy}))
