"""Where panels lie on the roof areas and batteries stand in their spaces, and what does not fit there."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from catalog.kinds.capabilities import Panel, Storage
from quoting.sizing.appraisal import BatteryPlace, Chosen, PanelPlace, Shortfall
from quoting.sizing.brief import Brief
from quoting.sizing.brief_choosing import RoofArea
from quoting.sizing.packing import Packed, batteries_fit, most_on
from quoting.sizing.parts import Able, Catalogue, short
from quoting.sizing.trace import Finding, finding


@dataclass(frozen=True, slots=True)
class Placed:
    """Places of panels and batteries, and what a person must know of them."""

    panels: tuple[PanelPlace, ...] = ()
    batteries: tuple[BatteryPlace, ...] = ()
    findings: tuple[Finding, ...] = ()


def free_m2(areas: Sequence[RoofArea]) -> float:
    """What roof areas leave free, things that stand in them taken off, as though none overlapped. [m²]"""
    taken = math.fsum(t.length_m * t.width_m for area in areas for t in area.taken)
    return max(0.0, math.fsum(area.length_m * area.width_m for area in areas) - taken)


def roof_m2(brief: Brief) -> float | None:
    """Roof that is free for panels; ``None``: not measured. [m²]"""
    vehicle = brief.vehicle
    if vehicle.roof:
        return free_m2(vehicle.roof)
    if vehicle.roof_length_m and vehicle.roof_width_m:
        return vehicle.roof_length_m * vehicle.roof_width_m
    return None


def laid(brief: Brief, panel: Panel, wanted: int) -> Packed:
    """Panels of one size on the surveyed roof areas, counted as far as ``wanted``."""
    gap_m, edge_m = brief.policy.panel_gap_mm / 1000, brief.policy.roof_edge_mm / 1000
    return most_on(brief.vehicle.roof, panel.length_m, panel.width_m, gap_m, edge_m, wanted)


def stood(brief: Brief, can: Storage, wanted: int) -> Packed | None:
    """Batteries in the surveyed spaces, counted as far as ``wanted``; ``None``: no space, or no size stated."""
    if not brief.vehicle.battery_spaces or can.length_mm is None or can.width_mm is None or can.height_mm is None:
        return None
    gap_mm = brief.policy.battery_gap_mm
    return batteries_fit(brief.vehicle.battery_spaces, can.length_mm, can.width_mm, can.height_mm, wanted, gap_mm)


def stands(brief: Brief, can: Storage, count: int) -> bool:
    """Whether so many batteries stand in the spaces, as far as spaces and their size are known."""
    packed = stood(brief, can, count)
    return packed is None or packed.count >= count


def over_space(brief: Brief, able: Able[Storage], count: int) -> Shortfall | None:
    """A bank that the spaces do not take; ``None`` where they do or nothing is known of either."""
    packed = stood(brief, able.can, count)
    if packed is None or packed.count >= count:
        return None
    return short(
        "too_large", "storage", "battery", best=able, best_value=float(count), asked=float(packed.count), rule="space"
    )


def place(brief: Brief, parts: Catalogue, chosen: Sequence[Chosen]) -> Placed:
    """Lay the chosen panels on the roof and stand the chosen batteries in their spaces.

    Parameters
    ----------
    brief : Brief
        With roof areas and battery spaces of the survey, and the policy's gaps.
    parts : Catalogue
        Its parts, for their sizes.
    chosen : sequence of Chosen
        What the system is made of, kept parts too.

    Returns
    -------
    Placed
        A place for each that fits; of those that do not a finding, with how many fit.
    """
    findings: list[Finding] = []
    panels: tuple[PanelPlace, ...] = ()
    batteries: tuple[BatteryPlace, ...] = ()
    for one in chosen:
        if one.role == "panel" and brief.vehicle.roof:
            on_roof = laid(brief, parts.can(one.part, Panel), one.quantity)
            panels = tuple(
                PanelPlace(area=p.area, x_m=p.x, y_m=p.y, length_m=p.length, width_m=p.width) for p in on_roof.places
            )
            findings += _missed("panels_over_roof", "panel", one, on_roof)
        elif one.role == "battery" and brief.vehicle.battery_spaces:
            in_space = stood(brief, parts.can(one.part, Storage), one.quantity)
            if in_space is None:
                findings.append(finding("warning", "battery_size_unknown", "battery", name=one.name))
                continue
            batteries = tuple(
                BatteryPlace(space=p.area, x_mm=p.x, y_mm=p.y, length_mm=p.length, width_mm=p.width)
                for p in in_space.places
            )
            findings += _missed("batteries_over_space", "battery", one, in_space)
    return Placed(panels, batteries, tuple(findings))


def _missed(code: str, subject: str, one: Chosen, packed: Packed) -> list[Finding]:
    """Say what does not fit; where that is not proved, that no way was found."""
    if packed.count >= one.quantity:
        return []
    return [
        finding("warning", code, subject, name=one.name, asked=one.quantity, fits=packed.count, kept=one.kept,
                proved=packed.proved)
    ]  # fmt: skip
