"""The sum of one circuit, as on paper: from the design current to the fault that its device breaks."""

from __future__ import annotations

from typing import TYPE_CHECKING

from quoting.sizing import conductors
from quoting.sizing.policy import Policy
from quoting.sizing.runs_ask import Ask
from quoting.sizing.trace import Step, step

if TYPE_CHECKING:  # runs imports this file; the sum only reads what runs has made
    from quoting.sizing.runs import Trial


def steps_of(policy: Policy, ask: Ask, t: Trial) -> tuple[Step, ...]:
    """Write the working of one run, in the order in which it is decided."""
    return (*_device(policy, ask, t), *_ampacity(ask, t), *_drop(policy, ask, t), *_fault(ask, t))


def _device(policy: Policy, ask: Ask, t: Trial) -> list[Step]:
    assert t.device is not None
    rating = t.device.able.can.rating_a
    if ask.least_rating_a is not None:
        start = [step(ask.least_code, ask.least_rating_a, "A", origin="catalogue")]
    else:
        start = [
            step("design_current", ask.current_a, "A"),
            step("continuous_ratio", policy.fuse_continuous_ratio, "", "×", "policy"),
            step("least_rating", t.least_a, "A", "="),
        ]
    return [*start, step("device_rating", rating, "A", "≤", "catalogue", name=t.device.able.part.name)]


def _ampacity(ask: Ask, t: Trial) -> list[Step]:
    c, way = t.cable.can, ask.way
    awg = conductors.next_smaller_awg(c.area_mm2)
    iso = conductors.iso10133_table_a(c.area_mm2, c.insulation_c)
    cfr = conductors.cfr_table_a(awg, c.insulation_c)
    bundle = conductors.bundling_factor(way.bundled)
    lowest = min(iso, cfr)
    return [
        step("iso_table", iso, "A", "", "table", area_mm2=c.area_mm2, insulation_c=c.insulation_c),
        step("cfr_table", cfr, "A", "min", "table", awg=conductors.awg_name(awg)),
        step("ambient_factor", t.ampacity_a / (lowest * bundle), "", "×", "derived", ambient_c=way.ambient_c,
             engine_space=way.engine_space),
        step("bundling_factor", bundle, "", "×", "table", bundled=way.bundled),
        step("ampacity", t.ampacity_a, "A", "="),
    ]  # fmt: skip


def _drop(policy: Policy, ask: Ask, t: Trial) -> list[Step]:
    c, way = t.cable.can, ask.way
    out = [
        step("loop_length", 2 * way.run_m, "m", "", "survey", run_m=way.run_m),
        step("ohm_per_m_warm", conductors.conductor_ohm(1, c.ohm_per_km_20c, t.conductor_c), "ohm", "×", "catalogue",
             ohm_per_km_20c=c.ohm_per_km_20c, conductor_c=round(t.conductor_c, 1)),
        step("design_current", ask.current_a, "A", "×"),
        step("conductor_drop", t.conductor_v, "V", "="),
        step("joints_drop", ask.current_a * (t.joints_ohm - ask.contact_ohm), "V", "+",
             "catalogue" if ask.lugged else "policy", joints_ohm=t.joints_ohm - ask.contact_ohm),
    ]  # fmt: skip
    if ask.contact_ohm:
        lost_v = ask.current_a * ask.contact_ohm
        out.append(step("coupling_drop", lost_v, "V", "+", "catalogue", contact_ohm=ask.contact_ohm))
    if ask.upstream_v:
        out.append(step("feeders_drop", ask.upstream_v, "V", "+"))
    out.append(step("total_drop", t.total_v, "V", "="))
    if ask.reserved_v:
        out.append(step("feeders_reserve", ask.reserved_v, "V", "+"))
    out += [
        step("drop_limit", ask.limit_ratio * ask.nominal_v, "V", "≤", "policy", limit_ratio=ask.limit_ratio),
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
