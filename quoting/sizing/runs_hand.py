"""A run as a person settled it, or as it lies in the vehicle already; as worked out where that breaks a rule.

Nothing overrides a rule of :func:`~quoting.sizing.runs.design_run`: a hand change narrows what is tried, and where
nothing passes it is refused whole and the circuit stands as worked out.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from quoting.sizing import protection
from quoting.sizing.appraisal import Circuit, Shortfall
from quoting.sizing.brief import Brief
from quoting.sizing.brief_wiring import CHANGEABLE, Existing, HandChange
from quoting.sizing.policy import Policy
from quoting.sizing.runs import Designed
from quoting.sizing.runs_ask import Ask
from quoting.sizing.topology import position
from quoting.sizing.trace import Finding, Level, Scalar, finding
from quoting.sizing.wiring_records import Changed, RefusedChange

Design = Callable[[Ask], Designed | Shortfall]

MATERIAL = ("area_mm2", "insulation_c", "rating_a", "form", "return_by")
"""Values that make conductors or devices new; the others leave what lies there as it is."""

FIELDS: dict[str, tuple[str, ...]] = {
    "ampacity": ("area_mm2", "insulation_c"),
    "cable_not_in_catalogue": ("area_mm2", "insulation_c"),
    "heat": ("insulation_c", "area_mm2"),
    "adiabatic": ("area_mm2", "rating_a", "form"),
    "disconnection": ("area_mm2", "rating_a", "form", "run_m"),
    "drop": ("area_mm2", "drop_limit_ratio", "run_m", "return_by"),
    "cutout": ("area_mm2", "drop_limit_ratio", "run_m", "return_by"),
    "device_not_in_catalogue": ("rating_a", "form"),
    "return": ("return_by",),
}
"""Rule -> values that it is about, the first that was changed is named. Devices come first where none stands here."""


@dataclass(frozen=True, slots=True)
class Settled:
    """What became of a run."""

    found: Designed | Shortfall
    refused: RefusedChange | None = None
    said: tuple[Finding, ...] = ()


def settle(design: Design, brief: Brief, ask: Ask, change: HandChange | None, lies: Existing | None) -> Settled:
    """Design a run with what a person settled and with what lies there.

    Parameters
    ----------
    design : callable
        Designs an Ask, over the hitch too.
    brief : Brief
        For its policy and vehicle.
    ask : Ask
        The run as worked out.
    change, lies : HandChange, Existing, optional
        For this circuit.

    Returns
    -------
    Settled
        The run; the change that was refused; findings about what stays or must go.
    """
    if change is None and lies is None:
        return Settled(design(ask))
    if change is None:
        return _existing(design, ask, lies, None)
    wrong = return_refused(brief, ask) if change.return_by == "chassis" else ""
    if wrong:
        base = _existing(design, ask, lies, None)
        return replace(base, refused=refused_of(ask, change, wrong, {}))
    asked = changed_ask(brief, ask, change)
    stays = lies if not any(getattr(change, name) is not None for name in MATERIAL) else None
    if stays is not None:
        kept = _existing(design, replace(asked, hand=None), stays, change)
        if isinstance(kept.found, Designed) and kept.found.circuit.stays:
            return _recorded(design, brief, ask, kept, change)
    found = design(asked)
    if isinstance(found, Designed):
        said = (_replaced(ask, lies, "by_hand", {}),) if lies is not None else ()
        return _recorded(design, brief, ask, Settled(found, said=said), change)
    rule, params = _why(found)
    base = _existing(design, ask, lies, None)
    return replace(base, refused=refused_of(ask, change, rule, params))


def changed_ask(brief: Brief, ask: Ask, change: HandChange) -> Ask:
    """The run with its length, limit and return as a person settled them; the rest narrows what is tried."""
    return replace(
        ask,
        way=ask.way if change.run_m is None else replace(ask.way, run_m=change.run_m),
        limit_ratio=ask.limit_ratio if change.drop_limit_ratio is None else change.drop_limit_ratio,
        chassis_ohm=brief.policy.chassis_ohm if change.return_by == "chassis" else ask.chassis_ohm,
        hand=change,
    )


def return_refused(brief: Brief, ask: Ask) -> str:
    """Why the body may not be the return of a run; empty where it may."""
    if not brief.policy.chassis_return_allowed:
        return "return_not_allowed"
    if ask.role != "load":
        return "return_of_feed"
    if not ask.bonded_at:
        return "return_not_bonded"
    on_trailer = position(brief.vehicle, ask.way.positions[0]).on_trailer
    # the body's current ends at the bond: with that on the other side it would pass the towball
    if ask.way.crossings or position(brief.vehicle, ask.bonded_at).on_trailer != on_trailer:
        return "return_over_hitch"
    body = brief.vehicle.trailer_body if on_trailer else brief.vehicle.body
    return "" if body == "steel" else "return_body"


def refused_of(ask: Ask, change: HandChange, rule: str, params: dict[str, Scalar]) -> RefusedChange:
    """A change that is not taken, with the value that the rule is about."""
    about = FIELDS.get("return" if rule.startswith("return") else rule, ("rating_a", "form", "area_mm2"))
    said = [name for name in (*about, *CHANGEABLE) if getattr(change, name) is not None]
    return RefusedChange(
        circuit=change.circuit, tag="", name=ask.name, field=said[0], code=rule, params=params, reason=change.reason
    )


def _why(found: Shortfall) -> tuple[str, dict[str, Scalar]]:
    """Rule and numbers of a bound run that was refused."""
    said = dict(found.params)
    rule = str(said.pop("rule", ""))
    said.pop("best", None)
    if found.code == "refused":
        return rule, said
    numbers = {"asked_a": said.get("asked"), "limit_a": said.get("best_value")} if said.get("unit") == "A" else {}
    known = {"coupling": "pins", "isolating": "isolator"}
    return known.get(found.need.code, "not_possible"), {k: v for k, v in numbers.items() if v is not None}


def _existing(design: Design, ask: Ask, lies: Existing | None, change: HandChange | None) -> Settled:
    """The run as it lies there; designed new, with a finding, where that breaks a rule."""
    if lies is None:
        return Settled(design(ask))
    measured = lies.run_m if change is None or change.run_m is None else None
    way = ask.way if measured is None else replace(ask.way, run_m=measured)
    found = design(replace(ask, way=way, lies=lies))
    if isinstance(found, Designed):
        return Settled(found)
    rule, params = _why(found)
    return Settled(design(ask), said=(_replaced(ask, lies, rule, params),))


def _replaced(ask: Ask, lies: Existing, rule: str, params: dict[str, Scalar]) -> Finding:
    level: Level = "info" if rule == "by_hand" else "warning"
    said: dict[str, Scalar] = {"name": ask.name, "rule": rule}
    return Finding(level=level, code="existing_replaced", subject=ask.key, params=said | params)


def _recorded(design: Design, brief: Brief, ask: Ask, made: Settled, change: HandChange) -> Settled:
    """The run with what was changed: as worked out before, as it is now, why and by whom."""
    assert isinstance(made.found, Designed)
    plain = design(ask)
    before = plain.circuit if isinstance(plain, Designed) else None
    why, by = change.reason, change.by
    changed = tuple(
        Changed(field=name, before=value_of(before, name), after=getattr(change, name), reason=why, by=by)
        for name in CHANGEABLE
        if getattr(change, name) is not None
    )
    circuit = made.found.circuit.model_copy(update={"changed": changed})
    margin = _under_margin(brief.policy, ask, change)
    return Settled(replace(made.found, circuit=circuit), said=(*made.said, *margin))


def value_of(circuit: Circuit | None, name: str) -> Scalar:
    """A changeable value of a circuit as it was worked out; ``None`` where none could be."""
    if circuit is None:
        return None
    device = next((d for d in circuit.devices if d.what in ("fuse", "breaker")), None)
    if name in ("rating_a", "form"):
        return None if device is None else device.rating_a if name == "rating_a" else device.what
    value: Scalar = getattr(circuit, name)
    return value


def _under_margin(policy: Policy, ask: Ask, change: HandChange) -> tuple[Finding, ...]:
    """Said where a person took a device under the policy's margin over the continuous current."""
    if change.rating_a is None or ask.least_rating_a is not None:
        return ()
    ratios = policy.fuse_continuous_ratio, policy.fuse_temperature_ratio
    margin_a = protection.least_rating_a(ask.current_a, *ratios)
    if change.rating_a >= margin_a - 1e-9:
        return ()
    return (
        finding(
            "info", "device_under_margin", ask.key, name=ask.name, rating_a=change.rating_a, margin_a=round(margin_a, 2)
        ),
    )
