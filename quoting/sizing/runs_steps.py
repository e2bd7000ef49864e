"""The sum of one circuit, as on paper: from the design current to the fault that its device breaks."""

from __future__ import annotations

from dataclasses import replace

from quoting.sizing import conductors
from quoting.sizing.policy import Policy
from quoting.sizing.runs_ask import Ask
from quoting.sizing.runs_trial import Trial, least_rating, lies_apart
from quoting.sizing.trace import Origin, Step, step


def steps_of(policy: Policy, ask: Ask, t: Trial) -> tuple[Step, ...]:
    """Write the working of one run, in the order in which it is decided."""
    return (*_device(policy, ask, t), *_ampacity(policy, ask, t), *_drop(policy, ask, t), *_fault(ask, t))


def _device(policy: Policy, ask: Ask, t: Trial) -> list[Step]:
    assert t.device is not None
    rating, least = t.device.able.can.rating_a, least_rating(policy, replace(ask, maker_least_a=0.0))
    if ask.least_rating_a is not None:
        start = [step(ask.least_code, ask.least_rating_a, "A", origin="catalogue")]
    else:
        start = [
            step("design_current", ask.current_a, "A"),
            step("continuous_ratio", least / ask.current_a if ask.current_a else 1.0, "", "×", "policy"),
            step("least_rating", least, "A", "="),
        ]
    if ask.maker_least_a:
        start.append(step("maker_minimum", ask.maker_least_a, "A", "max", "catalogue"))
    origin: Origin = "input" if ask.hand is not None and ask.hand.rating_a is not None else "catalogue"
    return [*start, step("device_rating", rating, "A", "≤", origin, name=t.device.able.part.name)]


def _ampacity(policy: Policy, ask: Ask, t: Trial) -> list[Step]:
    c, way = t.cable.can, ask.way
    awg = conductors.next_smaller_awg(c.area_mm2)
    iso = conductors.iso10133_table_a(c.area_mm2, c.insulation_c)
    cfr = conductors.cfr_table_a(awg, c.insulation_c)
    bundle = conductors.bundling_factor(t.bundled)
    lowest = min(iso, cfr)
    return [
        step("iso_table", iso, "A", "", "table", area_mm2=c.area_mm2, insulation_c=c.insulation_c),
        step("cfr_table", cfr, "A", "min", "table", awg=conductors.awg_name(awg)),
        step("ambient_factor", t.ampacity_a / (lowest * bundle), "", "×", "derived", ambient_c=way.ambient_c,
             engine_space=way.engine_space),
        _bundling(policy, ask, t, bundle),
        step("ampacity", t.ampacity_a, "A", "="),
    ]  # fmt: skip


def _bundling(policy: Policy, ask: Ask, t: Trial, factor: float) -> Step:
    """What lies together: by survey, and counted of this design or laid apart from it."""
    said: dict[str, int | float] = {"bundled": t.bundled, "surveyed": ask.way.bundled}
    if lies_apart(policy, ask, t.cable.can.area_mm2):
        return step("bundling_apart", factor, "", "×", "table", **said, apart_mm2=policy.laid_apart_mm2)
    return step("bundling_counted", factor, "", "×", "table", **said, counted=ask.counted)


def _drop(policy: Policy, ask: Ask, t: Trial) -> list[Step]:
    c, way = t.cable.can, ask.way
    flow = "design_current" if ask.drop_a is None else "string_current"
    length = "loop_length" if ask.returns == 2 else "feed_length"
    told = [each.run_m for each in (ask.hand, ask.lies) if each is not None]
    measured: Origin = "input" if any(told) else "survey"
    out = [
        step(length, ask.returns * way.run_m, "m", "", measured, run_m=way.run_m),
        step("ohm_per_m_warm", conductors.conductor_ohm(1, c.ohm_per_km_20c, t.conductor_c), "ohm", "×", "catalogue",
             ohm_per_km_20c=c.ohm_per_km_20c, conductor_c=round(t.conductor_c, 1)),
        step(flow, ask.flows_a, "A", "×", "derived" if ask.drop_a is None else "catalogue"),
        step("conductor_drop", t.conductor_v, "V", "="),
        step("joints_drop", ask.flows_a * (t.joints_ohm - ask.contact_ohm), "V", "+",
             "catalogue" if ask.lugged else "policy", joints_ohm=t.joints_ohm - ask.contact_ohm),
    ]  # fmt: skip
    if ask.contact_ohm:
        lost_v = ask.flows_a * ask.contact_ohm
        out.append(step("coupling_drop", lost_v, "V", "+", "catalogue", contact_ohm=ask.contact_ohm))
    if ask.chassis_ohm is not None:
        body_v = ask.flows_a * ask.chassis_ohm
        out.append(step("chassis_drop", body_v, "V", "+", "policy", chassis_ohm=ask.chassis_ohm))
    if ask.upstream_v:
        out.append(step("feeders_drop", ask.upstream_v, "V", "+"))
    out.append(step("total_drop", t.total_v, "V", "="))
    if ask.reserved_v:
        out.append(step("feeders_reserve", ask.reserved_v, "V", "+"))
    limit_from: Origin = "input" if ask.hand is not None and ask.hand.drop_limit_ratio is not None else "policy"
    out += [
        step("drop_limit", ask.limit_ratio * ask.nominal_v, "V", "≤", limit_from, limit_ratio=ask.limit_ratio),
    ]
    if ask.cutout_v is not None:
        out += [
            step("cutout_with_margin", ask.cutout_v, "V", "", "input", margin_v=policy.cutout_margin_v),
            step("voltage_at_load", t.voltage_v if t.start_v is None else min(t.voltage_v, t.start_v), "V", "≤"),
        ]
    return out


def _fault(ask: Ask, t: Trial) -> list[Step]:
    assert t.device is not None
    out: list[Step] = []
    if t.fault_a is not None and ask.strong.ohm is not None and not ask.limited:
        out += [
            step("charging_voltage", ask.strong.emf_v, "V", "", "policy"),
            step("source_resistance", ask.strong.ohm, "ohm", "÷"),
            step("other_sources", ask.strong.extra_a, "A", "+"),
            step("fault", t.fault_a, "A", "="),
            step("breaking_capacity", t.device.able.can.breaking_a or 0.0, "A", "≤", "catalogue"),
        ]
    if t.fault_end_a is not None and t.clears_s is not None:
        out.append(step("fault_far_end", t.fault_end_a, "A"))
        out.append(step("clears", min(t.clears_s, 1e9), "s", "="))
        out.append(step("disconnection_limit", 5.0, "s", "≤", "constant"))
    return out
