"""Inverter losses and what an inverter takes from the battery."""

from __future__ import annotations

from dataclasses import dataclass

from catalog.kinds.capabilities import Inverting
from quoting.sizing.errors import SizingError, require


@dataclass(frozen=True, slots=True)
class LossCurve:
    """Losses over output power: no load, linear, resistive."""

    no_load_w: float
    linear: float
    resistive_per_w: float

    def dc_w(self, ac_w: float) -> float:
        """Direct-current power for this much AC. [W]"""
        return ac_w + self.no_load_w + self.linear * ac_w + self.resistive_per_w * ac_w * ac_w

    def loss_under_load_w(self, ac_w: float) -> float:
        """Losses beyond the no-load draw, which is counted for every hour the inverter is on. [W]"""
        return self.linear * ac_w + self.resistive_per_w * ac_w * ac_w


def loss_curve(
    continuous_w: float, no_load_w: float, efficiency_half_ratio: float, efficiency_full_ratio: float
) -> LossCurve:
    r"""Loss polynomial through the no-load draw and two efficiencies.

    .. math:: P_{dc} = P + p_0 + k_1 P + k_2 P^2

    Parameters
    ----------
    continuous_w : float
        Full power. [W]
    no_load_w : float
        Draw with no load. [W]
    efficiency_half_ratio, efficiency_full_ratio : float
        At half and at full power.

    Raises
    ------
    SizingError
        If the losses at full power are less than the no-load draw.

    Notes
    -----
    A negative coefficient is taken as zero and the other one carries the full-power loss: never milder at full power.

    References
    ----------
    .. [1] H. Schmidt and D. U. Sauer, Sonnenenergie 4 (1996) 43; G. Notton et al., Renewable Energy 35 (2010) 2057.
    """
    full = require("continuous_w", continuous_w, minimum=1, unit="W")
    p0 = require("no_load_w", no_load_w, minimum=0, maximum=full, unit="W")
    half_ratio = require("efficiency_half_ratio", efficiency_half_ratio, minimum=0.3, maximum=1)
    full_ratio = require("efficiency_full_ratio", efficiency_full_ratio, minimum=0.3, maximum=1)
    at_full = full / full_ratio - full - p0
    at_half = full / 2 / half_ratio - full / 2 - p0
    if at_full < 0:
        raise SizingError("no_load_w", value=no_load_w, minimum=0, maximum=round(full / full_ratio - full, 3), unit="W")
    k2 = (at_full - 2 * at_half) / (full * full / 2)
    k1 = at_full / full - k2 * full
    if k2 < 0:
        k1, k2 = at_full / full, 0.0
    elif k1 < 0:
        k1, k2 = 0.0, at_full / full**2
    return LossCurve(p0, k1, k2)


def curve_of(part: Inverting) -> LossCurve:
    """The loss curve of a chosen inverter; data that contradict themselves are taken at their worst."""
    losses_w = part.continuous_w / part.efficiency_full_ratio - part.continuous_w
    return loss_curve(
        part.continuous_w, min(part.no_load_w, losses_w), part.efficiency_half_ratio, part.efficiency_full_ratio
    )


def assumed_curve(continuous_w: float, efficiency_ratio: float) -> LossCurve:
    """Losses before an inverter is chosen: one efficiency at every load and 1 % of the power with no load (C)."""
    return LossCurve(0.01 * continuous_w, 1 / efficiency_ratio - 1, 0.0)
